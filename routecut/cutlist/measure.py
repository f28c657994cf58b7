"""Which one measurement, of a stretch or of the whole vehicle, would shorten the cuts of a job most.

Stage      cutlist, once every cable has its length
Units      m
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations

from routecut.cutlist.errors import WORTH_M, quantile, section_name, tape_baselines_m
from routecut.model.finding import Finding, Severity
from routecut.model.job import Job, Section
from routecut.model.plan import CutLength
from routecut.units import format_length

SCALE = "scale of the mesh"


def measure_first(job: Job, cuts: Mapping[str, CutLength]) -> Finding | None:
    """A note that names the measurement; None where none is worth it.

    Parameters
    ----------
    job : Job
    cuts : mapping of str to CutLength
        By the names of the cables.
    """
    unit = job.length_unit
    best = max(
        ((cut.measure.saves_m, name) for name, cut in sorted(cuts.items()) if cut.measure is not None),
        default=(0.0, ""),
        key=lambda found: found[0],
    )
    section = _section(job, cuts)
    if section is not None and section[0] > max(best[0], WORTH_M, (_tape(job, cuts) or (0.0,))[0]):
        saves, which = section
        text = (
            f"measure {which.measure or which.name} and put it into the job: it was not measured, and would "
            f"shorten all cuts together by {format_length(saves, unit, 'down')}"
        )
        return _note("vehicle", text)
    tape = _tape(job, cuts)
    if tape is not None and tape[0] > max(best[0], WORTH_M):
        saves, first, second = tape
        text = (
            f"a tape check from {first} to {second}, with rescale = true, would shorten all cuts together by "
            f"{format_length(saves, unit, 'down')}"
        )
        return _note("vehicle", text)
    if not best[1]:
        return None
    measure = cuts[best[1]].measure
    assert measure is not None  # noqa: S101 - chosen among those that have one
    text = (
        f"measure {measure.from_name} to {measure.to_name} of {best[1]} with a string: saves "
        f"{format_length(measure.saves_m, unit, 'down')}"
    )
    return _note(f"cable {best[1]}", text)


def _section(job: Job, cuts: Mapping[str, CutLength]) -> tuple[float, Section] | None:
    """What a tape along one section that was not measured would save in all, and which; None without one."""
    z, point = quantile(job), job.vehicle.point_error_m
    best: tuple[float, Section] | None = None
    for section in job.vehicle.sections:
        if section.measured:
            continue
        saved = 0.0
        for cut in cuts.values():
            error = next((e for e in cut.errors if e.what == section_name(section)), None)
            if error is not None:
                rest = cut.sigma_m**2 - error.sigma_m**2
                taped = min(error.sigma_m, math.sqrt(2.0) * point / section.size_m * error.over_m)
                saved += z * (cut.sigma_m - math.sqrt(max(rest, 0.0) + taped**2))
        if saved > (best[0] if best is not None else 0.0):
            best = (saved, section)
    return best


def _note(where: str, text: str) -> Finding:
    return Finding(code="measure-first", severity=Severity.NOTE, where=where, message=f"{text}.")


def _tape(job: Job, cuts: Mapping[str, CutLength]) -> tuple[float, str, str] | None:
    """What one more tape check over the longest baseline would save in all, and between which landmarks."""
    marks = [m for m in job.landmarks if not m.position.taped]
    if len(marks) < 2:
        return None
    checked = {frozenset((c.from_landmark, c.to_landmark)) for c in job.vehicle.tape_checks}
    pairs = [
        (math.dist(a.position.at_m, b.position.at_m), a.name, b.name)
        for a, b in combinations(marks, 2)
        if frozenset((a.name, b.name)) not in checked
    ]
    if not pairs:
        return None
    longest, first, second = max(pairs)
    z = quantile(job)
    squares = math.fsum(b * b for b in (*tape_baselines_m(job), longest))
    scale = math.sqrt(2.0) * job.vehicle.point_error_m / math.sqrt(squares) if squares > 0.0 else math.inf
    saved = 0.0
    for cut in cuts.values():
        now = next((e.sigma_m for e in cut.errors if e.what == SCALE), 0.0)
        over = next((e.over_m for e in cut.errors if e.what == SCALE), 0.0)
        rest = cut.sigma_m**2 - now**2
        saved += z * (cut.sigma_m - math.sqrt(max(rest, 0.0) + (scale * over) ** 2))
    return (saved, first, second) if saved > 0.0 else None
