"""OMPL's planners with our own test of clearance, leg by leg through the holes of our own route (a gift to them)."""

from __future__ import annotations

import time
from itertools import pairwise

import numpy as np
from ompl import base, geometric, util

from routecut.geometry.keep_out import KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.model.body import Floats
from routecut.survey import Survey
from tests.bench.paths import Paths

_REACH_M = 0.045
_STEP_M = 0.005
PLANNERS = {"BIT*": geometric.BITstar, "RRT*": geometric.RRTstar}


class _Free:
    """Whether a place is clear of sheets and keep-outs and no further from a panel than a clip reaches."""

    def __init__(self, seen: Survey) -> None:
        self.sheets = Sheets(seen.body.triangles_m)
        self.radius_m = max(c.type.diameter_m for c in seen.job.cables) / 2
        self.keep_outs = [KeepOutField(k, seen.body) for k in seen.job.keep_outs]
        self.holes = [
            (np.array(h.position.at_m), np.array(h.axis), h.diameter_m) for h in seen.job.pass_throughs
        ]

    def __call__(self, at_m: Floats) -> bool:
        for centre, axis, diameter in self.holes:
            off = at_m - centre
            along = float(off @ axis)
            if abs(along) < _REACH_M and np.linalg.norm(off - along * axis) < diameter / 2 - self.radius_m:
                return True
        distance, _, _ = self.sheets.closest(at_m[None], _REACH_M)
        if not self.radius_m <= distance[0] < np.inf:
            return False
        wanted = ((k, k.clearance_m + self.radius_m) for k in self.keep_outs)
        return all(float(k.distance_m(at_m[None])[0]) >= least for k, least in wanted)


def plan(seen: Survey, planner: str, stops: Paths, seconds: float, *, cables: int) -> Paths:
    """The best way found in the time, shared out evenly; `stops` are port, holes, port of each cable.

    Only the first so many cables are planned, each leg in its share of the time for all.
    """
    util.noOutputHandler()
    util.RNG.setSeed(1)
    free = _Free(seen)
    low, high = seen.body.vertices_m.min(axis=0), seen.body.vertices_m.max(axis=0)
    each = seconds / max(1, sum(len(s) - 1 for s in stops.values()))
    found: Paths = {}
    for name, places in list(stops.items())[:cables]:
        legs = [_leg(free, planner, one, other, (low, high), each) for one, other in pairwise(places)]
        whole = [leg for leg in legs if leg is not None]
        if len(whole) == len(legs):
            found[name] = np.concatenate(whole)
    return found


def _leg(
    free: _Free, planner: str, one_m: Floats, other_m: Floats, box: tuple[Floats, Floats], seconds: float
) -> Floats | None:
    space = base.RealVectorStateSpace(3)
    bounds = base.RealVectorBounds(3)
    for axis in range(3):
        bounds.setLow(axis, float(box[0][axis]))
        bounds.setHigh(axis, float(box[1][axis]))
    space.setBounds(bounds)
    setup = geometric.SimpleSetup(space)
    setup.setStateValidityChecker(lambda state: free(np.array([state[0], state[1], state[2]])))
    info = setup.getSpaceInformation()
    info.setStateValidityCheckingResolution(_STEP_M / space.getMaximumExtent())
    start, goal = space.allocState(), space.allocState()
    for axis in range(3):
        start[axis], goal[axis] = float(one_m[axis]), float(other_m[axis])
    setup.setStartAndGoalStates(start, goal)
    setup.setOptimizationObjective(base.PathLengthOptimizationObjective(info))
    setup.setPlanner(PLANNERS[planner](info))
    # Processor time, as ours is counted: on a busy machine a clock would cut a planner short.
    end = time.process_time() + seconds
    setup.solve(base.PlannerTerminationCondition(lambda: time.process_time() > end))
    if not setup.haveExactSolutionPath():
        return None
    states = setup.getSolutionPath().getStates()
    return np.array([[s[0], s[1], s[2]] for s in states])
