"""The bundles of the job pack: what is tied together, what is kept apart."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.figures import Lengths, millimetres
from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import fold, table
from routecut.documents.part_words import spoken
from routecut.documents.reading import holes_left, natural
from routecut.model.company import Beside, Bundle, Member
from routecut.model.job import HoleState
from routecut.model.plan import Plan, Route
from routecut.model.running import along, curve_m

_HERE_M: Final = 0.15
"""A bundle that begins or ends this near to a hole or a port does so there. [m]"""

_SAME_M: Final = 0.0005
_FREE: Final = "in a free span"

_RULE: Final = (
    "Cables of one kind that run within 30 mm of each other are tied together (common practice, no source). The "
    "diameter is that of a circle that holds them side by side. The bend radius is what the cable on the inside needs, "
    "to the middle of the bundle; where there is no room for it, untie the bundle and lay the cables flat. "
    "The sleeve is the least inside of one for the whole bundle, where its space asks for a sleeve."
)
_APART: Final = (
    "These run alongside each other, nearer than asked. Clip them apart where you can, and let them cross at a right "
    "angle. Inside a hole that both go through that can't be done: fan them out right before it and behind it, or send "
    "one of them through another hole. What crosses, and what has metal between, is not listed."
)


def bundles(plan: Plan) -> Element:
    """Which cables run together, from where to where, and which should not."""
    return el("div", _together(plan), _beside(plan))


def _together(plan: Plan) -> list[Child]:
    if not plan.bundles:
        return [el("p", "No cables run together far enough to be tied.")]
    lengths = Lengths(plan.job.length_unit)
    headers = ("bundle", "cables", "from", "to", "length", "diameter", "bend radius", "sleeve")
    rows = [
        [
            b.name,
            ", ".join(m.cable for m in b.members),
            *(_place(plan, m, start=start) for m in b.members[:1] for start in (True, False)),
            lengths.text(_long(plan, b)),
            _up(b.diameter_m),
            lengths.up(b.bend_radius_m),
            f"{_up(b.sleeve_m)} or more",
        ]
        for b in plan.bundles
    ]
    return [
        fold(el("h3", "Tied together"), el("p", _RULE), table(headers, rows, kind="bundles"), _bought(plan))
    ]


def _shown(plan: Plan) -> dict[str, Callable[[float], float]]:
    """By cable: what a place on its curve is along it, as its card tells it."""
    return {c.cable.name: along(c) for c in plan.cables}


def _long(plan: Plan, bundle: Bundle) -> float:
    """Length of a bundle as the cards of its cables tell it: along its first cable. [m]"""
    lead = bundle.members[0]
    shown = _shown(plan)[lead.cable]
    by_card = abs(shown(lead.to_m) - shown(lead.from_m))
    return by_card if abs(by_card - abs(lead.to_m - lead.from_m)) > _SAME_M else bundle.length_m


def _up(diameter_m: float) -> str:
    """A diameter that is never printed smaller than it is, to a tenth of a millimetre."""
    return millimetres(math.ceil(diameter_m * 1e4 - 1e-6) / 1e4)


def _place(plan: Plan, lead: Member, *, start: bool) -> str:
    """Where a bundle begins or ends, in words, and how far along its first cable that is."""
    route = next((c.route for c in plan.cables if c.cable.name == lead.cable), None)
    cable = next(c.cable for c in plan.cables if c.cable.name == lead.cable)
    at = lead.from_m if start else lead.to_m
    shown = _shown(plan)[lead.cable]
    told = f"{Lengths(plan.job.length_unit).text(shown(at))} along {lead.cable}"
    if route is None:
        return told
    named = [(abs(at - p.at_route_m), f"at {p.name}") for p in route.passages]
    named += [(at, f"at {cable.from_port}"), (curve_m(route) - at, f"at {cable.to_port}")]
    gap, where = min(named)
    return (
        f"{where if gap <= _HERE_M else _part(route, at, [s.name for s in plan.job.spaces]) or _FREE}, {told}"
    )


def _part(route: Route, at_m: float, spaces: list[str]) -> str:
    return next(
        (f"on {spoken(part, spaces=spaces)}" for part, first, last in route.parts if first <= at_m <= last),
        "",
    )


def _bought(plan: Plan) -> Element | None:
    bought = plan.bought
    if bought is None or not plan.bundles:
        return None
    lengths = Lengths(plan.job.length_unit)
    longer = bought.length_after_m - bought.length_before_m
    size = f"{lengths.text(abs(longer))} {'more' if longer >= 0 else 'less'} cable in all"
    return el(
        "p",
        f"Like is laid with like: {size}, for which {lengths.text(bought.shared_after_m)} share their run with their "
        f"own kind instead of {lengths.text(bought.shared_before_m)}, and {lengths.text(bought.beside_after_m)} run "
        f"alongside another kind instead of {lengths.text(bought.beside_before_m)}. Pulled tight, bundles are "
        f"{lengths.text(sum(b.length_m for b in plan.bundles))} long, and "
        f"{lengths.text(sum(b.length_m for b in plan.beside))} run alongside another kind or a noise source.",
    )


def _beside(plan: Plan) -> list[Child]:
    if not plan.beside:
        return [el("p", "No cable runs alongside one of another kind, or a noise source, nearer than asked.")]
    rows = table(_HEADERS, _rows(plan), kind="apart")
    return [el("p", _APART), *_shared(plan), fold(el("h3", "To be kept apart"), rows)]


def _inside(beside: Beside) -> str:
    """The holes both go through on this stretch."""
    return f"partly in {' and '.join(beside.holes)}" if beside.holes else ""


def _shared(plan: Plan) -> list[Child]:
    """What lies together inside holes, how wide each is, and which free one joins the same spaces."""
    by_name = {hole.pass_through.name: hole.pass_through for hole in plan.holes}
    told: list[Child] = []
    for name in dict.fromkeys(hole for b in plan.beside for hole in b.holes):
        cables = {c for b in plan.beside if name in b.holes for c in (b.cable, b.other)}
        here = by_name[name]
        free = [
            other.pass_through.name
            for other in holes_left(plan)
            if other.state is HoleState.EXISTING and set(other.pass_through.joins) == set(here.joins)
        ]
        together = ", ".join(sorted(cables, key=natural))
        text = f"Inside {name}, {millimetres(here.diameter_m)} wide, {together} lie together."
        told.append(el("p", f"{text} Free beside it: {', '.join(free)}." if free else text))
    return told


_HEADERS: Final = ("cable", "alongside", "from", "to", "for", "nearest", "asked")


def _rows(plan: Plan) -> Iterator[list[Child]]:
    lengths, shown = Lengths(plan.job.length_unit), _shown(plan)
    for b in plan.beside:
        start, end = shown[b.cable](b.from_m), shown[b.cable](b.to_m)
        yield [
            b.cable,
            el("div", b.other, el("br"), el("small", inside)) if (inside := _inside(b)) else b.other,
            f"{lengths.text(start)} along {b.cable}",
            lengths.text(end),
            lengths.text(end - start if abs(end - start - b.length_m) > _SAME_M else b.length_m),
            lengths.text(b.least_m, "down"),
            lengths.text(b.wanted_m),
        ]
