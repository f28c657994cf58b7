"""Before any route is known: which measurement would shorten the cuts of a job most.

Stage      cutlist, from the job alone; once there are routes `measure_first` says it better
Units      m; errors are one sigma and independent of each other
Safe side  an estimate for ranking, never for cutting: a run is taken as `DETOUR` straight lines
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

from routecut.cutlist.errors import (
    WORTH_M,
    quantile,
    scale_sigma,
    string_sigma_m,
    tape_baselines_m,
)
from routecut.model.finding import Finding, Severity
from routecut.model.job import Cable, Job, Section
from routecut.units import format_length

DETOUR: Final = 1.5
"""A run along panels and through holes by the straight line between its ends (common practice, no source). [-]"""

MOST_TIPS: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    """What the length of one cable hangs on. [m]"""

    cable: Cable
    length_m: float
    scale: float
    points_m: float
    noise_m: float
    lay_m: float
    sections_m: tuple[tuple[Section, float], ...] = ()
    string: bool = False

    def sigma_m(self) -> float:
        if self.string:
            return math.hypot(string_sigma_m(self.length_m), self.lay_m)
        return math.hypot(
            self.scale * self.length_m,
            self.points_m,
            self.noise_m,
            self.lay_m,
            *(error for _, error in self.sections_m),
        )


def measure_next(job: Job) -> tuple[Finding, ...]:
    """Notes that name measurements, the one that saves most first; none where none is worth it.

    Parameters
    ----------
    job : Job
        Its cables need not be routable; those that are measured already are left out.
    """
    runs = [_run(job, cable) for cable in job.cables if not cable.measured]
    z = quantile(job)
    now = sum(run.sigma_m() for run in runs)
    tips = [
        (z * (now - sum(run.sigma_m() for run in after)), text, fix) for text, fix, after in _tips(job, runs)
    ]
    found = [tip for tip in sorted(tips, key=lambda tip: (-tip[0], tip[1])) if tip[0] > WORTH_M]
    return tuple(
        Finding(
            code="measure-next",
            severity=Severity.NOTE,
            where="all cuts together",
            message=f"{number}. {text}: saves about {format_length(saves, job.length_unit, 'down')} of what is cut for "
            f"safety. Type: {fix}.",
            found=format_length(saves, job.length_unit, "down"),
            allowed=fix,
        )
        for number, (saves, text, fix) in enumerate(found[:MOST_TIPS], start=1)
    )


def _tips(job: Job, runs: list[_Run]) -> Iterator[tuple[str, str, list[_Run]]]:
    """What could be measured, what to type then, and the runs as they would be."""
    if (tape := _longest_pair(job)) is not None:
        length, first, second = tape
        squares = math.fsum(b * b for b in (*tape_baselines_m(job), length))
        scale = math.sqrt(2.0) * job.vehicle.point_error_m / math.sqrt(squares)
        if scale < scale_sigma(job):
            fix = f'[[vehicle.tape_check]] from = "{first}" to = "{second}" distance = .. and rescale = true'
            yield f"Tape from {first} to {second}", fix, [replace(run, scale=scale) for run in runs]
    for section in job.vehicle.sections:
        if not section.measured:
            after = [
                replace(run, sections_m=tuple(s for s in run.sections_m if s[0] is not section))
                for run in runs
            ]
            fix = (
                f'[[vehicle.section]] "{section.name}" measured = true and error = .., with what was measured'
            )
            yield f"Measure {section.measure or section.name}", fix, after
    for number, run in enumerate(runs):
        name, first, last = run.cable.name, run.cable.from_port, run.cable.to_port
        fix = f'[[cable]] "{name}" measured = [{{ from = "{first}", to = "{last}", length = .. }}]'
        after = [*runs[:number], replace(run, string=True), *runs[number + 1 :]]
        yield f"Lay a string where {name} is to run, from {first} to {last}", fix, after


def _run(job: Job, cable: Cable) -> _Run:
    first, last = (job.port(end).position.at_m for end in (cable.from_port, cable.to_port))
    length = DETOUR * math.dist(first, last)
    return _Run(
        cable=cable,
        length_m=length,
        scale=scale_sigma(job),
        points_m=math.sqrt(2.0) * job.vehicle.point_error_m,
        noise_m=job.vehicle.noise_m * length,
        lay_m=job.lengths.lay_sigma * length,
        sections_m=tuple(_sections(job, first, last)),
    )


def _sections(job: Job, first: tuple[float, ...], last: tuple[float, ...]) -> Iterator[tuple[Section, float]]:
    """How far each section of the vehicle lets a straight run be off: as much of it as the run goes along. [m]"""
    for section in job.vehicle.sections:
        axis = section.axis
        low = max(min(first[axis], last[axis]), section.low_m[axis])
        high = min(max(first[axis], last[axis]), section.high_m[axis])
        if high > low and section.size_m > 0.0:
            yield section, section.error_m * (high - low) / section.size_m


def _longest_pair(job: Job) -> tuple[float, str, str] | None:
    """The two landmarks furthest apart that no tape check is between."""
    marks = [mark for mark in job.landmarks if not mark.position.taped]
    checked = {frozenset((c.from_landmark, c.to_landmark)) for c in job.vehicle.tape_checks}
    return max(
        (
            (math.dist(a.position.at_m, b.position.at_m), a.name, b.name)
            for a, b in combinations(marks, 2)
            if frozenset((a.name, b.name)) not in checked
        ),
        default=None,
    )
