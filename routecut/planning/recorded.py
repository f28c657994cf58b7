"""Plans of several jobs with their records: read back where they still hold, made where they do not.

Stage      planning
Safe side  a stored plan counts only while job and mesh are as they were; where the record lays anything anew it
           is made again, unless the differences alone are wanted and were written from the same record
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from routecut.model.as_built import AsBuilt
from routecut.model.finding import Finding
from routecut.model.plan import Plan
from routecut.planning.as_built import lays_anew, plan_recorded
from routecut.planning.stored import stored_plan, stored_rows
from routecut.records.deviations import rows
from routecut.records.standing import read_record
from routecut.survey import survey_job


def recorded_plans(
    jobs: Sequence[Path],
    plan_folder: str,
    *,
    laid: bool = True,
    progress: Callable[[str], None] | None = None,
    long: Callable[[str], None] | None = None,
) -> tuple[tuple[Plan, ...], tuple[Finding, ...]]:
    """The plan of each job with its record.

    Parameters
    ----------
    jobs : sequence of Path
        Job folders.
    plan_folder : str
        Name of the plan folder in each; not changed.
    laid : bool
        What was laid again is wanted too, not its rows of differences alone.
    progress : callable, optional
    long : callable, optional
        Told before something is planned, and why: that takes its time.

    Returns
    -------
    tuple of Plan
        As long as `jobs`.
    tuple of Finding
        Of the records.
    """
    say = progress or (lambda _stage: None)
    plans: list[Plan] = []
    findings: list[Finding] = []
    for folder in jobs:
        say(f"reading {folder}")
        surveyed = survey_job(folder)
        record, found = read_record(surveyed.job)
        findings += found
        again = any(lays_anew(line.fact) for line in record.standing)
        stored = None if again and laid else stored_plan(folder / plan_folder, surveyed)
        kept = stored_rows(folder / plan_folder, record) if again and stored is not None else None
        if stored is None or (again and kept is None):
            if long is not None:
                long(_why(folder, plan_folder, again=again))
            plan, _ = plan_recorded(surveyed, progress=say)
        else:
            built = AsBuilt(record=record)
            built = replace(built, rows=rows(stored, built) if kept is None else kept)
            plan = replace(stored, as_built=built if record.lines else None)
        plans.append(plan)
    return tuple(plans), tuple(findings)


def _why(folder: Path, plan_folder: str, *, again: bool) -> str:
    if again:
        return (
            f"{folder}: the record has cables laid anew, and {folder / plan_folder} was not made with this record: "
            f"planning, which takes its time; after routecut plan {folder} it is quick"
        )
    return f"{folder}: {folder / plan_folder} holds no plan of the job as it stands: planning, which takes its time"
