"""What is asked to be recorded and looks like a slip of a key: asked about once, written all the same when it is so.

Stage      records, above facts
Units      m
Safe side  nothing is refused for good: what was really done is kept, whatever the plan says
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from routecut.model.finding import Finding
from routecut.model.job import Job
from routecut.model.record import Fact, Record, What
from routecut.survey.faults import Collector
from routecut.units import format_length

TIMES: Final = 2.0
"""A cut that is so many times what is planned, or as little of it, is asked about (common practice, no source)."""

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
        for option, message, allowed in _of(job, fact, facts, record, planned):
            faults.add(
                "out-of-range",
                f"cable {fact.name}: {message}; likely is {allowed}. Read it again; if it is so, add --sure.",
                table=option,
                found=format_length(fact.length_m or 0.0, job.length_unit),
                allowed=allowed,
            )
    return tuple(faults.findings)


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
