"""The cut list of the job pack, one card for each cable, and how each length is made up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.built import as_fitted, deviation_text, fitted_order
from routecut.documents.cautions import Placed, at
from routecut.documents.cut_list import notes
from routecut.documents.draw_words import new_one
from routecut.documents.figures import BAND_SOURCE, Lengths
from routecut.documents.keep_out_words import close_by_text
from routecut.documents.markup import Child, el
from routecut.documents.pack_as_built import cut_text, recorded, recorded_texts
from routecut.documents.pack_parts import (
    anchor,
    caution_lines,
    class_mark,
    fold,
    in_3d,
    in_full,
    steps,
    table,
    tick,
)
from routecut.documents.pull_words import LEADS, bare_text, leading_end, minutes_text, off_in_order, support_m
from routecut.documents.qr import qr
from routecut.documents.reading import (
    NO_ROUTE,
    PULLING_ORDER,
    bare_ends,
    fitted_text,
    pulling_order,
    reasons_for,
    revision_mark,
    type_mark,
)
from routecut.documents.run_words import run_steps
from routecut.documents.service_short import joined_text, lies_text, odd_lengths, planned_type
from routecut.documents.why_way import why_way
from routecut.model.company import Beside
from routecut.model.plan import Plan, PlannedCable
from routecut.model.record import NO_RECORD, Kind
from routecut.model.running import along
from routecut.scene.palette import insulation

_HOW_TO_READ = (
    "Lengths along a run are measured from its first end. A clip that holds several cables stands with each of "
    f"them, and says which they are. Which end leads is {LEADS}."
)

_OVER_FREE = (
    ", but over a free span: there no clip fits. A longer one is held on the way, on a panel or in a hole, too shortly "
    "for a clip of its own: its row says where. See that it lies on there."
)

_FOLDED = "how it runs, clips, what comes off"

_HEADERS = ("pull", "cable", "from", "to", "length", "through", "done")
_AS_BUILT = "as built"


def _headers(plan: Plan) -> tuple[str, ...]:
    return _HEADERS if recorded(plan) is None else (*_HEADERS[:5], _AS_BUILT, *_HEADERS[5:])


def cut_list(plan: Plan) -> Element:
    """One line for each cable: what to cut and where it goes."""
    cables = pulling_order(plan)
    rows = [_row(plan, number, planned) for number, planned in enumerate(cables, start=1)]
    return el(
        "div",
        el("p", el("b", "Pull in this order: "), _in_line(cables), class_="in-line"),
        el("p", PULLING_ORDER),
        el("p", f"\N{MINUS SIGN}0 / +150 mm and the like: {BAND_SOURCE}. Ready-made leads are not cut."),
        table(_headers(plan), rows, kind="cut-list"),
    )


def _in_line(cables: Sequence[PlannedCable]) -> Iterator[Child]:
    """The names alone, in one line: what the puller reads over the shoulder."""
    for number, planned in enumerate(cables, start=1):
        if number > 1:
            yield ", "
        yield el("a", planned.cable.name, href=f"#{anchor('cable', number)}")
        if planned.route is None:
            yield " (no route)"


def _row(plan: Plan, number: int, planned: PlannedCable) -> list[Child]:
    cable = planned.cable
    link = el("a", el("b", cable.name), href=f"#{anchor('cable', number)}")
    through = (
        "" if planned.route is None else " \N{RIGHTWARDS ARROW} ".join(p.name for p in planned.route.passages)
    )
    return [
        str(number),
        el(
            "div",
            link,
            in_3d(number),
            el("br"),
            class_mark(str(cable.cable_class), insulation(cable.type)),
            el("br"),
            _type(plan, planned),
        ),
        _end(plan, planned, cable.from_port),
        _end(plan, planned, cable.to_port),
        el("div", _length(plan, planned)),
        *([] if recorded(plan) is None else [_built(plan, cable.name)]),
        through or ("" if planned.route is None else "no hole"),
        el("div", [tick(done, anchor("cable", number)) for done in _done(planned)])
        if planned.route is not None
        else "",
    ]


def _built(plan: Plan, name: str) -> Child:
    told = cut_text(plan, name)
    return el("div", [el("div", text) for text in told]) if told else "\N{EN DASH}"


def _done(planned: PlannedCable) -> tuple[str, ...]:
    """What is ticked off: a lead is not cut, and its ends are on."""
    return ("here", "pulled", "plugged") if planned.cable.ready_made else ("cut", "pulled", "ends on")


def _type(plan: Plan, planned: PlannedCable) -> Element:
    mark = type_mark(plan, planned.cable)
    doubt: list[Child] = [] if mark is None else [" ", el("b", mark[0], class_="none")]
    return el("small", planned.cable.type.name, doubt)


def _end(plan: Plan, planned: PlannedCable, port_name: str) -> Element:
    port = plan.job.port(port_name)
    lengths = Lengths(plan.job.length_unit)
    facts = [fitted_text(port, ready_made=planned.cable.ready_made)]
    if port.service_loop_m > 0.0:
        facts.append(f"loop {lengths.text(port.service_loop_m)}")
    return el("div", port_name, el("br"), el("small", ", ".join(facts)))


def _length(plan: Plan, planned: PlannedCable) -> list[Child]:
    lengths = Lengths(plan.job.length_unit)
    cut, lead = planned.cut, planned.lead
    if planned.route is None or cut is None:
        return [el("b", "NO SAFE ROUTE" if planned.route is None else "NO LENGTH", class_="none")]
    verb = "order" if planned.cable.ready_made else "cut"
    sure = planned.verified is not None and planned.verified.ok
    doubt = None if sure else el("b", f"NOT VERIFIED: don't {verb}", class_="none")
    bare = [el("b", "BARE END: settle it before you cut", class_="none")] if _is_bare(plan, planned) else []
    if planned.cable.ready_made:
        order = " + ".join(lengths.up(m) for m in lead.lengths_m) if lead is not None else ""
        return [
            el("small", "order, don't cut:"),
            el("b", order or "NO LEAD REACHES", class_="cut" if order else "none"),
            el("small", f"must reach {lengths.both(cut.length_m, 'up')}"),
            doubt,
        ]
    coax = plan.sizing.coax.get(planned.cable.name) if plan.sizing is not None else None
    half_wave_m = coax.half_wave_m if coax is not None and coax.half_waves is not None else None
    return [
        el("b", lengths.up(cut.length_m), class_="cut"),
        el("small", f"{lengths.band(cut.length_m, half_wave_m)}; {lengths.other(cut.length_m, 'up')}"),
        doubt,
        *bare,
    ]


def _is_bare(plan: Plan, planned: PlannedCable) -> bool:
    return planned.cable.name in {name for name, _ in bare_ends(plan)}


def cable_cards(plan: Plan, placed: Sequence[Placed]) -> Element:
    """One card for each cable, in the order of pulling."""
    every = Lengths(plan.job.length_unit).text(support_m(plan))
    fitted = as_fitted(plan)
    return el(
        "div",
        el("p", f"{_HOW_TO_READ} No further than {every} from clip to clip{_OVER_FREE}"),
        in_full(),
        el(
            "div",
            [_card(plan, fitted, placed, n, c) for n, c in enumerate(fitted_order(plan), start=1)],
            class_="cards",
        ),
    )


def _lies(plan: Plan, name: str) -> list[Child]:
    """How long a cable is that was recorded, before what was planned for it, and what in the record contradicts it."""
    built, lengths = recorded(plan), Lengths(plan.job.length_unit)
    lies_m = None if built is None else built.record.lies_m(name)
    cut = next(c.cut for c in plan.cables if c.cable.name == name)
    if built is None or lies_m is None:
        return []
    told: list[Child] = [
        el("b", lengths.text(lies_m), class_="cut"),
        el("small", f"{lies_text(lengths, built.record, name).partition(', ')[2]}: this is what lies there"),
        el("small", f"planned: cut {lengths.up(cut.length_m)}") if cut is not None else None,
    ]
    return told + [el("small", el("b", message, class_="none")) for message in odd_lengths(plan, name)]


def _in_another(plan: Plan, name: str) -> list[Child]:
    """What a cable in another type asks for, before what was planned; nothing where its type is the planned one."""
    was, lengths = planned_type(plan, name), Lengths(plan.job.length_unit)
    relaid = None if plan.as_built is None else plan.as_built.relaid.get(name)
    if not was or relaid is None or relaid.cut is None or relaid.cable is None or relaid.cable.ready_made:
        return []
    cut = next(c.cut for c in plan.cables if c.cable.name == name)
    return [
        el("b", lengths.up(relaid.cut.length_m), class_="cut"),
        el("small", f"asked for by {relaid.cable.type.name} as it lies; nobody recorded what lies there"),
        el("small", f"planned: cut {lengths.up(cut.length_m)} of {was}") if cut is not None else None,
    ]


def _deviation(plan: Plan, name: str) -> Element | None:
    """The mark of a card whose cable does not lie as planned."""
    told = deviation_text(plan, name)
    return el("p", el("b", f"DEVIATES, as built: {told}", class_="none")) if told else None


def _recorded(plan: Plan, name: str) -> Element | None:
    """What the record says of a cable, on its card."""
    told = recorded_texts(plan, Kind.CABLE, name)
    return el("p", el("b", "Recorded: "), f"{'; '.join(told)}.", class_="recorded") if told else None


def _joined(plan: Plan, name: str) -> Element:
    """Where its joints and its fuse holder are, or that it is in one piece."""
    record = NO_RECORD if plan.as_built is None else plan.as_built.record
    return el("p", el("b", "Joints: "), f"{joined_text(plan, name, record)}.", class_="joined")


def _card(plan: Plan, fitted: Plan, placed: Sequence[Placed], number: int, planned: PlannedCable) -> Element:
    cable = planned.cable
    head = el(
        "div",
        el(
            "div",
            el("h3", cable.name, " ", el("small", f"pull {number}"), in_3d(number)),
            el("p", class_mark(str(cable.cable_class), insulation(cable.type)), " ", _type(plan, planned)),
        ),
        el("p", cable.from_port, " \N{RIGHTWARDS ARROW} ", cable.to_port, class_="ends"),
        el(
            "p",
            _lies(plan, cable.name) or _in_another(plan, cable.name) or _length(plan, planned),
            class_="length",
        ),
        class_="card-head",
    )
    return el(
        "article",
        head,
        qr(f"{cable.name}, revision {revision_mark(plan)}: pack.html#{anchor('cable', number)}"),
        caution_lines(at(placed, "cable", cable.name)),
        _deviation(plan, cable.name),
        _recorded(plan, cable.name),
        _joined(fitted, cable.name),
        _close_by(plan, planned),
        _notes(fitted, planned)
        if planned.route is None
        else fold(_FOLDED, _notes(fitted, planned), _run(fitted, planned)),
        id=anchor("cable", number),
        class_="card",
    )


def _close_by(plan: Plan, planned: PlannedCable) -> Element | None:
    """Keep-outs without a caution of the trade that a cable all but touches."""
    told = close_by_text(plan, planned)
    return el("p", el("strong", "CAUTION: "), told, class_="close-by") if told else None


def _notes(plan: Plan, planned: PlannedCable) -> Element | None:
    if planned.route is None:
        reasons = [f.message for f in reasons_for(plan, planned.cable.name)]
        found = el("ul", [el("li", r) for r in reasons]) if reasons else el("p", "See the findings.")
        return el(
            "div", el("p", el("strong", f"{NO_ROUTE.capitalize()}. Do not cut.")), found, class_="errors"
        )
    found_notes = notes(plan, planned) + kept_apart(plan, planned.cable.name)
    return el("ul", [el("li", note) for note in found_notes], class_="notes") if found_notes else None


_ONE_STRETCH_M: Final = 0.15
"""Stretches nearer to each other than this are told as one. [m]"""


def kept_apart(plan: Plan, name: str) -> list[str]:
    """What a cable lies too near to, where, and what is to be done about it.

    The stretch with each single cable stands under "Together and apart".
    """
    lengths = Lengths(plan.job.length_unit)
    own = [b for b in plan.beside if b.cable == name]
    told = []
    if own:
        shown = next(along(c) for c in plan.cables if c.cable.name == name)
        at = " and ".join(
            f"{lengths.number(shown(a))} to {lengths.text(shown(b))}" for a, b in _stretches(own)
        )
        told.append(f"{', '.join(dict.fromkeys(b.other for b in own))} at {at} of the run")
    others = list(dict.fromkeys(b.cable for b in plan.beside if b.other == name and not b.noise))
    told += [f"{', '.join(others)} (from where: on their cards)"] if others else []
    if not told:
        return []
    asked = max(b.wanted_m for b in plan.beside if name in (b.cable, b.other))
    holes = list(dict.fromkeys(h for b in plan.beside if name in (b.cable, b.other) for h in b.holes))
    inside = (
        f"; in {' and '.join(holes)} it can't be, so fan them out right before and behind" if holes else ""
    )
    return [f"keep {lengths.up(asked)} away from {'; '.join(told)}{inside}"]


def _stretches(own: Sequence[Beside]) -> list[tuple[float, float]]:
    """Where along its run, whatever lies beside it: from and to. [m]"""
    found: list[tuple[float, float]] = []
    for start, end in sorted((b.from_m, b.to_m) for b in own):
        if found and start - found[-1][1] < _ONE_STRETCH_M:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found


def _run(plan: Plan, planned: PlannedCable) -> Element | None:
    if planned.route is None:
        return None
    lengths = Lengths(plan.job.length_unit)
    spaces = " \N{RIGHTWARDS ARROW} ".join(planned.route.spaces)
    leads, why = leading_end(plan, planned)
    off = [f"{o.trim} ({minutes_text(o.minutes)})" for o in off_in_order(plan, planned)]
    in_order = "Comes off, in this order: " if len(off) > 1 and plan.service is not None else "Comes off: "
    return el(
        "div",
        el("p", el("b", "Lead with: "), f"{leads}: {why}." if leads else f"either end: {why}."),
        el("p", el("b", "Ends: "), bare) if (bare := bare_text(plan, planned)) else None,
        el("p", el("b", in_order), f"{', '.join(off)}." if off else "no trim."),
        el("h4", f"Run, measured from {planned.cable.from_port}: "),
        el("p", f"{spaces}; {lengths.text(planned.route.length_m)} in all."),
        steps((step.at, el("span", el("b", step.strong), step.rest)) for step in run_steps(plan, planned)),
        el("p", el("b", "Years later, to draw a new one: "), f"{new_one(plan, planned)}."),
        el("p", el("b", "Why this way: "), f"{why_way(plan, planned)}."),
        class_="run-of",
    )
