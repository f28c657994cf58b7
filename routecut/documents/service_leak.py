"""Water at a hole: what seals it, the drip loop of each cable, what lies behind, and what to do.

Stage      documents
Units      m in; the job's unit out; diameters in mm
Source     the steps: common practice, no source; drip loops and grommets as planned and ordered
Safe side  a drip loop is told as planned: nobody recorded whether it hangs there
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from routecut.documents.figures import Lengths, millimetres
from routecut.documents.pack_drill import LINING
from routecut.documents.reading import hole_numbers, natural
from routecut.documents.service_reach import NOTHING_OFF, Section, reach_text
from routecut.model.job import Exposure, HoleState
from routecut.model.plan import Plan, PlannedHole
from routecut.model.record import Record
from routecut.model.service import Answer, Asked, PlaceKind

STEPS: Final = (
    (
        "Battery off before wet plugs or fuses are touched. Dry side first: wipe dry, then somebody sprays from the "
        "wet side, low first and upward slowly, while you look where the first drop comes."
    ),
    (
        "Water along the jacket: the drip loop is missing or hangs too high; its lowest point has to lie below the "
        "hole, on the wet side. Water round the grommet: the grommet or its sealant. Water from elsewhere runs along "
        "panels: follow it up."
    ),
    (
        "New seal: cable held, old sealant off, edge dry and clean, rust off; primer and paint where metal is bare; "
        "grommet or gland of the bore told, no cut through its lip; neutral-cure sealant round it on the wet side, "
        "both sheets where there are two. Let it cure, then spray again."
    ),
    (
        "Look at what the water ran to: undo the plugs told, dry them, green or white on a pin means a new end; then "
        "compare the readings."
    ),
)
"""In the order of the work."""


def wet_sides(plan: Plan, hole: PlannedHole) -> tuple[str, ...]:
    """The wet spaces a hole joins, where the other one is not; empty where water does not come in there."""
    wet = {s.name for s in plan.job.spaces if Exposure.WET in s.exposure}
    sides = tuple(s for s in hole.pass_through.joins if s in wet)
    return sides if len(sides) == 1 else ()


def seal_lines(plan: Plan, hole: PlannedHole) -> Iterator[str]:
    """What keeps water out at a hole, and where it runs to; nothing where no side, or both, are wet."""
    wet = wet_sides(plan, hole)
    if not wet:
        return
    if not hole.drill and hole.state is not HoleState.EXISTING:
        yield "not drilled in this plan: there is nothing that leaks"
        return
    lengths, through = Lengths(plan.job.length_unit), hole.pass_through
    dry = next(s for s in through.joins if s not in wet)
    yield f"wet side: {wet[0]}, dry side: {dry}"
    plug = next((p for p in (plan.service.plugs if plan.service else ()) if p.hole == through.name), None)
    bore = f"grommet or gland with {millimetres(through.diameter_m)} bore"
    if hole.drill and plug is not None:
        sheets = f", one in each of {plug.sheets} sheets" if plug.sheets > 1 else ""
        yield f"seal: {bore} in a {millimetres(plug.size_m)} hole{sheets}, with sealant; bare edge primed and painted"
    elif through.has_grommet:
        yield f"seal: {bore}, the vehicle's own"
    else:
        yield f"seal: {bore}; the job says none was in it, so one was ordered"
    cables = {c.cable.name: c for c in plan.cables}
    for name in sorted(hole.cables, key=natural):
        planned = cables[name]
        loop = next(
            (
                x.length_m
                for x in (planned.cut.lines if planned.cut is not None else ())
                if x.what == f"drip loop at {through.name}"
            ),
            0.0,
        )
        ends = (planned.cable.from_port, planned.cable.to_port)
        inside = [e for e in ends if plan.job.device_of(e).space == dry]
        to = f"; water along it gets to {' and '.join(inside)}" if inside else ""
        told = (
            f"drip loop of {lengths.text(loop)} planned on the wet side"
            if loop > 0.0
            else "NO DRIP LOOP planned: see that it comes up to the hole from below"
        )
        yield f"{name}: {told}{to}"
    for place in plan.service.places if plan.service is not None else ():
        if place.kind is PlaceKind.HOLE and place.name == through.name:
            reach = reach_text(plan, place)
            layers = plug.sheets if hole.drill and plug is not None else 1
            between = LINING if place.space == dry and layers > 1 and reach == NOTHING_OFF else ""
            yield f"from {place.space}: {reach}{between}"


def only_leak(plan: Plan, answer: Answer, _record: Record) -> list[Section]:
    """Of one hole, or of each that joins a wet space to a dry one."""
    asked = [p.name for p in answer.places if p.kind is PlaceKind.HOLE]
    names = [answer.name] if answer.asked is Asked.HOLE else asked or list(wet_holes(plan))
    numbers = hole_numbers(plan)
    found = []
    for hole in plan.holes:
        name = hole.pass_through.name
        if name in names:
            number = f" (H{numbers[name]})" if name in numbers else ""
            none = (
                f"not between wet and dry ({', '.join(hole.pass_through.joins)}): the water is from elsewhere"
            )
            found.append(Section(f"{name}{number}", tuple(seal_lines(plan, hole)) or (none,)))
    if not found:
        found = [Section("Holes between wet and dry", ("None with a cable of this job.",))]
    return [*found, Section("In this order (common practice, no source)", STEPS, numbered=True)]


def wet_holes(plan: Plan) -> tuple[str, ...]:
    """The used holes that water may come in by."""
    return tuple(h.pass_through.name for h in plan.holes if h.cables and wet_sides(plan, h))
