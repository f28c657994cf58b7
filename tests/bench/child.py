"""One planner on one job folder, as a process of its own: ``python -m tests.bench.child PLANNER FOLDER OUT``.

Writes the ways and, as JSON on standard output, the seconds of its own work (reading the job and
importing libraries are not in it) and the peak of its memory.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from routecut.model.job import Job, Position
from routecut.planning import KeptPlan
from routecut.planning.chart_cache import OFF, VARIABLE
from routecut.survey import Survey, survey_job
from tests.bench.paths import Paths, ends_m

PITCHES_M = {"lattice 25": 0.025, "lattice 50": 0.05, "wavefront 25": 0.025}
MOVED_M = 0.03


def _ours(seen: Survey, told: dict[str, float]) -> Paths:
    """The whole plan with verification, then what moving one device costs."""
    before = time.process_time()
    kept = KeptPlan.make(seen)
    told["seconds"] = time.process_time() - before
    moved = replace(seen, job=_one_moved(seen.job))
    before = time.process_time()
    answer = kept.what_if(moved)
    told["what_if_seconds"] = time.process_time() - before
    told["what_if_relaid"] = len(answer.relaid)
    told["verified"] = sum(c.verified is not None and c.verified.ok for c in kept.plan.cables)
    return {c.cable.name: c.route.points_m for c in kept.plan.cables if c.route is not None}


def _one_moved(job: Job) -> Job:
    device = job.devices[0]

    def shifted(position: Position) -> Position:
        x, y, z = position.at_m
        return replace(position, at_m=(x + MOVED_M, y, z))

    ports = tuple(replace(p, position=shifted(p.position)) for p in device.ports)
    return replace(
        job, devices=(replace(device, position=shifted(device.position), ports=ports), *job.devices[1:])
    )


def _work(planner: str, seen: Survey, out: Path) -> tuple[Callable[[], Paths], dict[str, float]]:
    told: dict[str, float] = {}
    if planner == "routecut":
        return (lambda: _ours(seen, told)), told
    if planner.startswith("lattice"):
        from tests.bench.lattice import plan as lattice

        return (lambda: lattice(seen, PITCHES_M[planner])), told
    if planner.startswith("wavefront"):
        from tests.bench.wavefront import plan as wavefront

        return (lambda: wavefront(seen, PITCHES_M[planner])), told
    from tests.bench.sampling import plan as sampling

    seconds = float(os.environ["BENCH_SECONDS"])
    ours = np.load(os.environ["BENCH_OURS"])
    some = int(os.environ["BENCH_SAMPLED"])
    return (lambda: sampling(seen, planner, _stops(seen, dict(ours)), seconds, cables=some)), told


def _stops(seen: Survey, ours: Paths) -> Paths:
    """Port, middles of the holes on our own way in its order, port."""
    stops = {}
    for name, ends in ends_m(seen).items():
        middles = [np.array(h.position.at_m) for h in seen.job.pass_throughs]
        near = [np.linalg.norm(ours[name] - m, axis=1) for m in middles] if name in ours else []
        taken = sorted((int(d.argmin()), k) for k, d in enumerate(near) if d.min() < 0.06)
        stops[name] = np.array([ends[0], *(middles[k] for _, k in taken), ends[1]])
    return stops


def main(planner: str, folder: Path, out: Path) -> None:
    """Plan, time, write."""
    os.environ[VARIABLE] = OFF
    seen = survey_job(folder)
    work, told = _work(planner, seen, out)
    before = time.process_time()
    found = work()
    told.setdefault("seconds", time.process_time() - before)
    told["peak_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    np.savez(out, **found)  # type: ignore[arg-type]
    print(json.dumps(told))  # noqa: T201  read by the parent


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]))
