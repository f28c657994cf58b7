"""Everything out: the order of the cables, the devices, the holes that are left.

Units      m in; the job's unit out
Source     last in, first out; blanking plugs: common practice, no source
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from typing import Final

from routecut.documents.figures import Lengths, count, millimetres
from routecut.documents.pull_words import clips_along, clips_of
from routecut.documents.reading import pulling_order
from routecut.documents.service_cautions import drawn_cautions
from routecut.documents.service_reach import Section, reach_text
from routecut.documents.service_short import joints_of, odd_lengths
from routecut.model.plan import Plan, PlannedCable
from routecut.model.record import NO_RECORD, Kind, Record, What
from routecut.model.service import Answer, PlaceKind, Plug

_OUTSIDE: Final = "outside"
"""A space of this name is not said to be one that something is in."""

_UNDONE: Final = {
    "unbolt": frozenset(["ring", "rings", "lug", "lugs", "stud", "eyelet"]),
    "unscrew": frozenset(["ferrule", "ferrules", "bare", "screw"]),
}
"""How an end comes off by the words of its termination; any other is a plug."""


def strip_sections(plan: Plan, answer: Answer, record: Record = NO_RECORD) -> Iterator[Section]:
    """What follows once the trim is off: cables, devices, holes."""
    lengths = Lengths(plan.job.length_unit)
    shut = {p.name for p in answer.blocked if p.kind is PlaceKind.CONNECTOR}
    yield Section("Not in the minutes of the trim", (_not_counted(plan),))
    yield Section("Mind, where cables are drawn out", tuple(drawn_cautions(plan)))
    out = [
        f"{c.cable.name}: {_undone(plan, c, shut)}{_unclipped(plan, c)}{_drawn(c)}"
        + _joined(plan, c, record)
        + _long(plan, lengths, c, record)
        for c in reversed(pulling_order(plan))
        if c.route is not None
    ]
    yield Section("Then the cables, last in first out; mark what is used again", tuple(out), numbered=True)
    left = [
        f"{p.name} ({', '.join(p.cables)}): {reach_text(plan, p)}"
        for p in answer.blocked
        if p.kind is PlaceKind.CONNECTOR
    ]
    yield Section("What no hand gets to: it stays in, or is cut off where it comes out", tuple(left))
    stays = () if plan.service is None else plan.service.stays
    out_of = [
        f"{d.name}, {d.space if d.space == _OUTSIDE else f'in {d.space}'}" + _held(plan, d.name, shut)
        for d in plan.job.devices
        if d.name not in stays
    ]
    yield Section("Then the devices", tuple(out_of))
    yield Section("What was there before stays", (", ".join(stays),) if stays else ())
    yield Section(
        "Holes to plug", tuple(_plug(p) for p in answer.plugs if p.drilled) or ("None was drilled.",)
    )
    there = [_plug(p) for p in answer.plugs if not p.drilled]
    yield Section("Holes that were there, to close as they were", tuple(there))
    yield Section(
        "Not known here",
        (
            *(
                f"What came with {line.fact.fitted}, fitted in place of {line.fact.name}: its own parts and leads."
                for line in record.standing
                if line.fact.what is What.SWAPPED and line.fact.kind is Kind.DEVICE
            ),
            "Holes antennas sit in, screw holes of devices and clips: look for them, and plug or seal each.",
            "What stays in: insulate each cut end of a conductor, one by one, and label it (common practice).",
        ),
    )


def _not_counted(plan: Plan) -> str:
    """What the minutes leave out, with how much of it there is: no job says how long it takes."""
    clips, ties = len(clips_of(plan)), len(plan.bundles)
    left = [f"opening {count(clips, 'clip')}"] if clips else []
    left += [f"untying {count(ties, 'bundle')}"] if ties else []
    left += ["undoing plugs", "drawing cables out", "taking devices off"]
    return f"Not counted, the job gives no time for them: {', '.join(left)}."


def _unclipped(plan: Plan, planned: PlannedCable) -> str:
    """How many clips hold it; a clip that several cables lie under is told with each of them."""
    clips = len(clips_along(plan, planned.cable.name))
    return f", open its {count(clips, 'clip')}" if clips else ""


def _held(plan: Plan, device: str, shut: Set[str]) -> str:
    """That a device hangs on cables no hand gets to; empty where one of its ends comes off."""
    cables = [c.cable for c in plan.cables if c.route is not None]
    own = {end for c in cables for end in (c.from_port, c.to_port) if plan.job.device_of(end).name == device}
    return ": it comes out with its cables cut off, or stays (see above)" if own and own <= shut else ""


def _undone(plan: Plan, planned: PlannedCable, shut: Set[str]) -> str:
    """Both ends, each by how it is fixed: ``unbolt battery.positive, unplug voice radio.power``."""
    ends = (planned.cable.from_port, planned.cable.to_port)
    if set(ends) <= shut:
        return "stays where it is: no hand gets to either end"
    if set(ends) & shut:
        (held,), (free,) = [e for e in ends if e in shut], [e for e in ends if e not in shut]
        way = undone_by(plan.job.port(free).termination)
        return f"{way or 'undo'} {free}; {held} stays, or the cable is cut off where it comes out"
    ways = [undone_by(plan.job.port(end).termination) for end in ends]
    if ways[0] == ways[1] and ways[0]:
        return f"{ways[0]} {ends[0]} and {ends[1]}"
    return ", ".join(
        f"{way} {end}" if way else f"{end} stays on its device" for way, end in zip(ways, ends, strict=True)
    )


def undone_by(termination: str) -> str:
    """How an end comes off, by what the job calls its termination; empty where it does not.

    Examples
    --------
    >>> undone_by("ring M6"), undone_by("ferrule"), undone_by("moulded plug"), undone_by("moulded on")
    ('unbolt', 'unscrew', 'unplug', '')
    >>> undone_by("")
    'disconnect'
    """
    words = set(termination.casefold().split())
    if "moulded on" in termination.casefold():
        return ""
    found = [way for way, ends in _UNDONE.items() if ends & words]
    return found[0] if found else ("unplug" if words else "disconnect")


def _long(plan: Plan, lengths: Lengths, planned: PlannedCable, record: Record) -> str:
    lies_m = record.lies_m(planned.cable.name)
    if lies_m is not None:
        odd = odd_lengths(plan, planned.cable.name)
        return "; ".join(
            ["", f"{lengths.text(lies_m)} long by the record", *(f"MIND ITS LENGTH: {m}" for m in odd)]
        )
    if planned.lead is not None and planned.lead.lengths_m:
        return f"; lead of {' + '.join(lengths.text(x) for x in planned.lead.lengths_m)}"
    return "" if planned.cut is None else f"; {lengths.text(planned.cut.length_m)} long"


def _joined(plan: Plan, planned: PlannedCable, record: Record) -> str:
    """Where it comes apart on its way."""
    at = joints_of(plan, planned.cable.name, record)
    return f", part it at its joint {' and '.join(at)}" if at else ""


def _drawn(planned: PlannedCable) -> str:
    holes = [p.name for p in planned.route.passages] if planned.route is not None else []
    return f", draw it out of {', '.join(holes)}" if holes else ""


def _plug(plug: Plug) -> str:
    sheets = f", one in each of {plug.sheets} sheets" if plug.sheets > 1 else ""
    told = f"{plug.hole} ({' / '.join(plug.joins)}): "
    if plug.in_use_m > 0.0:
        told += (
            f"{millimetres(plug.size_m)} hole; about {millimetres(plug.in_use_m)} of other cables stay in it: "
            "fit their grommet or boot again"
        )
    else:
        told += f"blanking plug for {millimetres(plug.size_m)}{sheets}"
    if plug.wet:
        told += f"; watertight, with sealant: {', '.join(plug.wet)} is wet"
    return told
