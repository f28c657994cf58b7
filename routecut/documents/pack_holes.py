"""The holes of the job pack: to drill, used, and left alone, each with its cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.built import moved_m, moved_text
from routecut.documents.caution_texts import CAUTIONS, Topic
from routecut.documents.cautions import Placed, at
from routecut.documents.figures import Lengths, count, millimetres, share
from routecut.documents.look_first import NOT_SEEN, mounting_text, seen_mark
from routecut.documents.markup import Child, el
from routecut.documents.pack_as_built import recorded_texts
from routecut.documents.pack_drill import LINING, card_of, drill_entries, sign_off
from routecut.documents.pack_parts import (
    anchor,
    caution_lines,
    caution_list,
    fold,
    in_3d,
    in_full,
    pairs,
    tick,
)
from routecut.documents.reading import hole_numbers, holes_left, holes_to_drill, holes_used, state_text
from routecut.documents.service_leak import seal_lines
from routecut.documents.service_reach import NOTHING_OFF, reach_text
from routecut.model.drilled import was_drilled
from routecut.model.job import ANY, HoleState, PassThrough, Vec3
from routecut.model.plan import Plan, PlannedHole
from routecut.model.record import Kind
from routecut.model.service import PlaceKind

_NOT_FROM_HERE: Final = (
    "Mark a hole with the tape, from landmarks on the real panel, and look behind it. The position in vehicle axes "
    "(X to the rear, Y to the right, Z up) is only as good as the 3D model: never mark from it alone."
)

_THERE: Final = (
    "Pass the plugs first: they need more room than their cables. A grommet is there where the job says so, and then "
    "none is on the order list. Look at it: where it is missing, cracked or loose, fit one with the bore of the card, "
    "hole and groove as measured on the sheet."
)

_MORE: Final = frozenset(
    [
        *("error", "trust", "better", "why that size", "passage", "other cables in it", "filled"),
        *("only for", "why", "position", "against water"),
    ]
)
"""What is asked once, not while the hand is at the hole."""

_DRILLED: Final = (
    "Drilled, by the record. What follows is how it was planned, for the grommet and for who looks behind it."
)

NOT_KNOWN_BEHIND: Final = "not known - probe by hand before drilling"


def holes(plan: Plan, placed: Sequence[Placed]) -> Element:
    """All holes, those to drill first."""
    drill, used, left = holes_to_drill(plan), holes_used(plan), holes_left(plan)
    numbers = hole_numbers(plan)
    return el(
        "div",
        el("h3", _drilling_told(plan, drill)),
        el("p", _NOT_FROM_HERE) if drill else _nothing(plan),
        _mounting(plan),
        [_card(plan, placed, h, numbers[h.pass_through.name]) for h in drill],
        el("h3", f"There already and used: {len(used)}", id="holes-there"),
        el("p", _THERE) if used else None,
        in_full() if used else None,
        el("div", [_card(plan, placed, h, numbers[h.pass_through.name]) for h in used], class_="pairwise"),
        _left(plan, left) if left else None,
    )


def _drilling_told(plan: Plan, drill: Sequence[PlannedHole]) -> str:
    """How many are still to drill, and how many are drilled by now."""
    done = sum(was_drilled(plan, h) for h in drill)
    return f"To drill: {len(drill) - done}" + (f"; drilled by the record: {done}" if done else "")


def _nothing(plan: Plan) -> Element:
    """That no hole is drilled: for a cable, where antennas ask for holes of their own."""
    return el(
        "p", f"{'No hole for a cable' if mounting_text(plan.job) else 'Nothing'} is drilled in this job."
    )


def _mounting(plan: Plan) -> Element | None:
    """The holes antennas sit in: not planned, but drilled, so the caution stands here."""
    told = mounting_text(plan.job)
    if not told:
        return None
    placed = Placed("hole", "", CAUTIONS[Topic.DRILLING], "")
    return el("div", el("p", el("strong", told)), caution_lines([placed]))


def _card(plan: Plan, placed: Sequence[Placed], hole: PlannedHole, number: int) -> Element:
    through, lengths = hole.pass_through, Lengths(plan.job.length_unit)
    card = card_of(plan, through.name) if hole.drill else None
    drilled = "" if card is None else f" once the grommet is in; drill {millimetres(card.size.drill_m)}"
    entries: list[tuple[str, Child]] = [
        ("between", " and ".join(through.joins)),
        ("diameter", f"{millimetres(through.diameter_m)} clear hole{drilled}"),
        ("cables", _cables(plan, hole)),
    ]
    if card is None:
        entries += [("grommet", _grommet(through)), *_behind(lengths, hole)]
    else:
        entries += drill_entries(plan, card)
    if hole.drill or hole.cables:
        entries += _reached(plan, through.name, sheets=0 if card is None else card.size.sheets)
    if hole.cables and (seal := list(seal_lines(plan, hole))):
        entries.append(("against water", el("div", [el("div", line) for line in seal])))
    if through.depth_m > 0.0:
        entries.append(("passage", _depth(lengths, through.depth_m, drilled=card is not None)))
    if through.in_use_m > 0.0:
        entries.append(
            ("other cables in it", f"the vehicle's own take {millimetres(through.in_use_m)} of it")
        )
    if hole.cables:
        entries.append(("filled", _filled(hole)))
    if ANY not in through.classes:
        entries.append(("only for", ", ".join(through.classes)))
    if hole.why and hole.drill:
        entries.append(("why", hole.why))
    if hole.refused:
        entries.append(("refused", hole.refused))
    entries.append(("position", _position(lengths, hole.at_m)))
    told = hole.drill or hole.state is not HoleState.EXISTING  # the heading over the others says it
    cautions, key = at(placed, "hole", through.name), anchor("hole", number)
    done = (
        ("measured twice", "looked behind", "drilled", "primed, sealed") if hole.drill else ("grommet sound",)
    )
    return el(
        "article",
        el(
            "h4",
            f"{number}: {through.name}",
            " ",
            el("span", state_text(plan, hole), class_="tag") if told else None,
            None if through.confirmed else el("span", NOT_SEEN, class_="tag"),
            in_3d(number, "hole"),
        ),
        el("p", el("strong", _DRILLED)) if hole.drill and was_drilled(plan, hole) else None,
        _as_built(plan, hole),
        pairs(entry for entry in entries if entry[0] not in _MORE),
        fold("why, and how sure", pairs(entry for entry in entries if entry[0] in _MORE)),
        # the drill decides over the panel: there the cautions stand in full
        caution_list(cautions) if hole.drill else caution_lines(cautions),
        el("p", [tick(d, key) for d in done]) if card is None else sign_off(key, sheets=card.size.sheets),
        id=key,
        class_="card drill" if hole.drill else "card",
    )


def _as_built(plan: Plan, hole: PlannedHole) -> Element | None:
    """What the record says of a hole, and how far it is from where the card has it."""
    name = hole.pass_through.name
    told = recorded_texts(plan, Kind.HOLE, name)
    if not told:
        return None
    moved = moved_text(plan, name, "pass-through")
    mark = (
        el("b", f"DEVIATES, as built: {moved}; tapes and template are of the plan", class_="none")
        if moved
        else None
    )
    beyond = _beyond_check(plan, name)
    return el(
        "div",
        mark,
        el("p", el("b", beyond, class_="none")) if beyond else None,
        el("p", el("b", "Recorded: "), f"{'; '.join(told)}."),
        class_="recorded",
    )


def _beyond_check(plan: Plan, name: str) -> str:
    """That a hole is further off than where the check on its card stops; empty where it is not."""
    far_m, card = moved_m(plan, name, "pass-through"), card_of(plan, name)
    if far_m is None or card is None or card.fix is None or far_m <= card.fix.check_within_m:
        return ""
    within = Lengths(plan.job.length_unit).text(card.fix.check_within_m, "up")
    return (
        f"That is more than the {within} at which the check on this card stops. Unless it was set there on purpose, "
        "the tape, a landmark or the 3D model is wrong: find out which before the next hole is marked."
    )


def _reached(plan: Plan, name: str, *, sheets: int) -> Iterator[tuple[str, Child]]:
    """What has to come off to get at a hole, side by side; of several sheets, what a look between asks for besides."""
    sides = () if plan.service is None else plan.service.places
    told = []
    for p in (p for p in sides if p.kind is PlaceKind.HOLE and p.name == name):
        reach = reach_text(plan, p)
        told.append(f"from {p.space}: {reach}" + (LINING if sheets > 1 and reach == NOTHING_OFF else ""))
    if told:
        yield "to get at it", el("div", [el("div", side) for side in told])


def _grommet(through: PassThrough) -> str:
    """What to look for in a hole that is there, what fits it, and whether it is on order."""
    size = millimetres(through.diameter_m)
    if through.has_grommet:
        return f"there already{seen_mark(through)}; if it has to be changed, one with {size} bore"
    return (
        f"none in it: what its {size} rim takes is on the order list; measure hole and sheet before you order"
    )


def _depth(lengths: Lengths, depth_m: float, *, drilled: bool) -> str:
    """How deep the passage is; where it is drilled, why that is not how far the drill goes."""
    told = f"{lengths.text(depth_m)} deep, from where the cable goes in to where it is free on the other side"
    return f"{told}. NOT how deep to drill: that is the stop" if drilled else told


def _cables(plan: Plan, hole: PlannedHole) -> str:
    sizes = {c.cable.name: c.cable.type.diameter_m for c in plan.cables}
    named = [f"{n} ({millimetres(sizes[n])})" if n in sizes else n for n in hole.cables]
    return ", ".join(named) or "none"


def _filled(hole: PlannedHole) -> str:
    """Whether they fit; a plug may need more than its cable."""
    verdict = "fits" if hole.filled <= hole.fill_most else "does not fit"
    return (
        f"{share(round(hole.filled, 2))} by these cables, at most {share(hole.fill_most)} (NEC chapter 9 table 1): "
        f"{verdict}"
    )


def _behind(lengths: Lengths, hole: PlannedHole) -> Iterator[tuple[str, Child]]:
    """How far a drill may come out on each side; a hole that is there asks nobody to look for it."""
    for space in hole.pass_through.joins:
        free = hole.behind_m.get(space)
        if free is not None:
            yield (
                f"behind, in {space}",
                f"{lengths.free(free)} free" if free < float("inf") else "nothing met",
            )
        elif hole.drill:
            yield f"behind, in {space}", el("strong", NOT_KNOWN_BEHIND)


def _position(lengths: Lengths, at_m: Vec3) -> str:
    return ", ".join(f"{axis} {lengths.text(value)}" for axis, value in zip("XYZ", at_m, strict=True))


def _left(plan: Plan, left: Sequence[PlannedHole]) -> Element:
    entries = [
        el(
            "li",
            f"{h.pass_through.name} ({state_text(plan, h)}){seen_mark(h.pass_through)}",
            f": {h.refused}" if h.refused else "",
        )
        for h in left
    ]
    return el("div", el("h3", f"Not used: {count(len(left), 'hole')}"), el("ul", entries, class_="brief"))
