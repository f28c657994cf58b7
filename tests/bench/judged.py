"""Ways of any planner by one measure: length, and what our verifier says of sheets and keep-outs."""

from __future__ import annotations

import numpy as np

from routecut.model.body import Floats
from routecut.model.job import Cable, Job
from routecut.model.plan import Passage, Route
from routecut.survey import Survey
from routecut.verify import verify_plan
from tests.bench.paths import Paths

HARD = frozenset({"verify-crossing", "verify-clearance", "verify-ends"})
"""What a peer can be held to: it knows nothing of bends and of clips."""

_TAKEN_M = 0.07


def length_m(points_m: Floats) -> float:
    """Length of a polyline. [m]"""
    return float(np.linalg.norm(np.diff(points_m, axis=0), axis=1).sum())


def faults(seen: Survey, paths: Paths) -> dict[str, int]:
    """Cables with a way that meets a sheet, comes too near to something or ends elsewhere: how many findings each."""
    routed = [(c, _route(seen.job, c, paths[c.name])) for c in seen.job.cables if c.name in paths]
    judged = verify_plan(job=seen.job, body=seen.body, routed=routed)
    return {name: sum(f.code in HARD for f in v.findings) for name, v in judged.items()}


def _route(job: Job, cable: Cable, points_m: Floats) -> Route:
    """A polyline as a route through the holes it comes near to."""
    run = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(points_m, axis=0), axis=1))]
    fine = np.linspace(0.0, run[-1], max(2, int(run[-1] / 0.005)))
    curve = np.stack([np.interp(fine, run, points_m[:, k]) for k in range(3)], axis=1)
    taken = []
    for hole in job.pass_throughs:
        off = np.linalg.norm(curve - np.array(hole.position.at_m), axis=1)
        if off.min() < _TAKEN_M:
            taken.append((float(fine[off.argmin()]), hole))
    spaces = [job.device_of(cable.from_port).space]
    passages = []
    for at, hole in sorted(taken, key=lambda pair: pair[0]):
        if spaces[-1] not in hole.joins:
            continue
        to = next(name for name in hole.joins if name != spaces[-1])
        passages.append(Passage(name=hole.name, at_route_m=at, from_space=spaces[-1], to_space=to))
        spaces.append(to)
    return Route(
        points_m=points_m,
        length_m=length_m(points_m),
        spaces=tuple(spaces),
        bend_radius_m=cable.type.min_bend_radius_m,
        passages=tuple(passages),
    )
