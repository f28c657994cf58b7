"""What one cable really took, beside what was planned for it: the figures that learning rests on.

Stage      records; plans with their records in
Units      m
"""

from __future__ import annotations

import math
from typing import Final

from routecut.model.learnt import Taken
from routecut.model.plan import CutLength, Plan, PlannedCable, Route
from routecut.model.record import What

SHORTEST_M: Final = 0.5
"""Of a shorter run the reading of the tape is more than what laying takes: left out (no source). [m]"""

LOOPS: Final = ("drip loop", "hinge loop", "service loop")
"""Lines of a sum that are loops."""

NO_LAY: Final = ("lay", "uncertainty", "rounding up")
"""Lines of a sum that are not fixed beforehand."""


def taken_of(vehicle: str, plan: Plan, planned: PlannedCable) -> Taken | str:
    """A cable as it came out, or why it says nothing."""
    built, name = plan.as_built, planned.cable.name
    if built is None or built.record.told(What.CUT, name) is None:
        return "no cut recorded"
    if planned.cable.ready_made:
        return "a ready-made lead is not cut"
    cut, over = built.record.told(What.CUT, name), built.record.told(What.LEFT_OVER, name)
    if cut is None or cut.length_m is None or over is None or over.length_m is None:
        return "no left-over recorded: what it took is not known"
    relaid = built.relaid.get(name)
    route = planned.route if relaid is None else relaid.route
    summed = planned.cut if relaid is None else relaid.cut
    if route is None or summed is None:
        return "no route to compare with"
    open_m = _open_m(route, summed)
    if open_m < SHORTEST_M:
        return f"less than {SHORTEST_M * 1000:g} mm of it was computed"
    loops, loops_m = _loops(summed)
    return Taken(
        vehicle=vehicle,
        cable=name,
        cable_class=str(planned.cable.cable_class),
        used_m=cut.length_m - over.length_m,
        planned_m=math.fsum(x.length_m for x in summed.lines if x.what not in NO_LAY[1:]),
        open_m=open_m,
        fixed_m=math.fsum(x.length_m for x in summed.lines if x.what not in NO_LAY),
        trim=_share_behind_trim(planned, route),
        loops=loops,
        loops_m=loops_m,
    )


def _open_m(route: Route, cut: CutLength) -> float:
    """What of the route was computed: what the error of the lay is a share of. [m]"""
    over = [e.over_m for e in cut.errors if e.what == "lay"]
    return over[0] if over else route.length_m - math.fsum(s.measured_m for s in route.measured)


def _loops(cut: CutLength) -> tuple[dict[str, int], dict[str, float]]:
    number, length = dict.fromkeys(LOOPS, 0), dict.fromkeys(LOOPS, 0.0)
    for line in cut.lines:
        for loop in LOOPS:
            if line.what.startswith(f"{loop} at "):
                number[loop] += 1
                length[loop] += line.length_m
    return number, length


def _share_behind_trim(planned: PlannedCable, route: Route) -> float:
    """Share of the route with trim in front of it; stretches may overlap."""
    reached, behind = 0.0, 0.0
    for start, end in sorted((c.from_m, c.to_m) for c in planned.covered):
        behind += max(0.0, end - max(start, reached))
        reached = max(reached, end)
    return min(1.0, behind / route.length_m) if route.length_m > 0.0 else 0.0
