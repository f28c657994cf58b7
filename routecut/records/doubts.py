"""What is asked to be recorded and looks like a slip of a key: asked about once, written all the same when it is so.

Stage      records, above facts
Units      m
Safe side  nothing is refused for good: what was really done is kept, whatever the plan says
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

import numpy as np

from routecut.model.finding import Finding
from routecut.model.job import Job
from routecut.model.record import Fact, Kind, Record, What
from routecut.survey.faults import Collector
from routecut.units import format_length

TIMES: Final = 2.0
"""A cut that is so many times what is planned, or as little of it, is asked about (common practice, no source)."""

FAR_M: Final[Mapping[Kind, float]] = {Kind.HOLE: 0.15, Kind.DEVICE: 0.5}
"""What is said to be further from its planned place is asked about (common practice, no source). [m]"""

_SAME_M: Final = 0.001

Planned = Mapping[str, tuple[float | None, float | None]]
"""By cable: its run and its cut as planned [m]; None where there is none."""


def doubtful(job: Job, facts: Sequence[Fact], record: Record, planned: Planned) -> tuple[Finding, ...]:
    """What of some facts can hardly be, each with what is likely.

    Parameters
    ----------
    job : Job
    facts : sequence of Fact
        About to be written.
    record : Record
        As it stands.
    planned : mapping
        Empty where there is no plan.
    """
    faults = Collector(file="record")
    for fact in facts:
        if fact.what is What.MOVED and fact.position is not None:
            _far(job, fact, faults)
        for option, message, allowed in _of(job, fact, facts, record, planned):
            faults.add(
                "out-of-range",
                f"cable {fact.name}: {message}; likely is {allowed}. Read it again; if it is so, add --sure.",
                table=option,
                found=format_length(fact.length_m or 0.0, job.length_unit),
                allowed=allowed,
            )
    return tuple(faults.findings)


def _far(job: Job, fact: Fact, faults: Collector) -> None:
    """Ask about a hole or a device that is said to be further from its planned place than it can well be."""
    things = job.devices if fact.kind is Kind.DEVICE else job.pass_throughs
    planned_m = next((thing.position.at_m for thing in things if thing.name == fact.name), None)
    if planned_m is None or fact.position is None:
        return
    far_m, most_m = math.dist(planned_m, fact.position.at_m), FAR_M[fact.kind]
    if far_m <= most_m:
        return
    by_axis = ", ".join(
        f"{axis} {'+' if d > 0 else '-'}{format_length(abs(d), job.length_unit)}"
        for axis, d in zip("XYZ", np.subtract(fact.position.at_m, planned_m).tolist(), strict=True)
        if abs(d) > _SAME_M
    )
    allowed = f"within {format_length(most_m, job.length_unit)} of its planned place"
    faults.add(
        "out-of-range",
        f"{fact.kind} {fact.name}: {format_length(far_m, job.length_unit)} from its planned place ({by_axis}); likely "
        f"is {allowed}. Read it again; if it is so, add --sure.",
        table="--moved",
        found=format_length(far_m, job.length_unit),
        allowed=allowed,
    )


def _of(
    job: Job, fact: Fact, facts: Iterable[Fact], record: Record, planned: Planned
) -> Iterator[tuple[str, str, str]]:
    """Option, what is odd, what is likely."""
    if fact.length_m is None:
        return
    unit = job.length_unit
    run_m, cut_m = planned.get(fact.name, (None, None))
    said = [f for f in facts if f.what is What.CUT and f.name == fact.name]
    told = said[-1] if said else record.told(What.CUT, fact.name)
    was_cut = None if told is None else told.length_m
    if fact.what is What.LEFT_OVER:
        most, whose = (was_cut, "cut") if was_cut is not None else (cut_m, "planned to be cut")
        if most is not None and abs(fact.length_m) > most + _SAME_M:
            over = "left over" if fact.length_m > 0.0 else "too short"
            text = f"{format_length(abs(fact.length_m), unit)} {over}, {format_length(most, unit)} {whose}"
            yield "--left-over", text, f"up to {format_length(most, unit)}"
    elif fact.what is What.JOINT:
        most = max((m for m in (run_m, was_cut) if m is not None), default=None)
        if most is not None and fact.length_m > most + _SAME_M:
            text = f"a joint {format_length(fact.length_m, unit)} along a run of {format_length(most, unit)}"
            yield "--joint", text, f"up to {format_length(most, unit)}"
    elif fact.what is What.CUT and cut_m is not None and not cut_m / TIMES <= fact.length_m <= cut_m * TIMES:
        text = f"cut to {format_length(fact.length_m, unit)}, planned are {format_length(cut_m, unit)}"
        low, high = format_length(cut_m / TIMES, unit), format_length(cut_m * TIMES, unit)
        yield "--cut", text, f"{low} to {high}"
