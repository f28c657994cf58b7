"""Everything out: the order of the cables, the devices, the holes that are left.

Units      m in; the job's unit out
Source     last in, first out; blanking plugs: common practice, no source
"""

from __future__ import annotations

from collections.abc import Iterator

from routecut.documents.figures import Lengths, millimetres
from routecut.documents.reading import pulling_order
from routecut.documents.service_reach import Section, reach_text
from routecut.model.plan import Plan, PlannedCable
from routecut.model.service import Answer, PlaceKind, Plug


def strip_sections(plan: Plan, answer: Answer) -> Iterator[Section]:
    """What follows once the trim is off: cables, devices, holes."""
    lengths = Lengths(plan.job.length_unit)
    out = [
        f"{c.cable.name}: unplug {c.cable.from_port} and {c.cable.to_port}{_drawn(c)}" + _long(lengths, c)
        for c in reversed(pulling_order(plan))
        if c.route is not None
    ]
    yield Section("Then the cables, last in first out; mark what is used again", tuple(out), numbered=True)
    left = [f"{p.name}: {reach_text(plan, p)}" for p in answer.blocked if p.kind is PlaceKind.CONNECTOR]
    yield Section("What nobody gets at: cut it off where it comes out, or leave it", tuple(left))
    stays = () if plan.service is None else plan.service.stays
    out_of = [f"{d.name}, in {d.space}" for d in plan.job.devices if d.name not in stays]
    yield Section("Then the devices", tuple(out_of))
    yield Section("What was there before stays", (", ".join(stays),) if stays else ())
    yield Section(
        "Holes to plug", tuple(_plug(p) for p in answer.plugs if p.drilled) or ("None was drilled.",)
    )
    there = [_plug(p) for p in answer.plugs if not p.drilled]
    yield Section("Holes that were there, to close as they were", tuple(there))
    yield Section(
        "Not known here",
        ("Holes antennas sit in, screw holes of devices and clips: look for them, and plug or seal each.",),
    )


def _long(lengths: Lengths, planned: PlannedCable) -> str:
    if planned.lead is not None and planned.lead.lengths_m:
        return f"; lead of {' + '.join(lengths.text(x) for x in planned.lead.lengths_m)}"
    return "" if planned.cut is None else f"; {lengths.text(planned.cut.length_m)} long"


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
