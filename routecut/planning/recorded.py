"""Plans of several jobs with their records: read back where they still hold, made where they do not.

Stage      planning
Safe side  a stored plan counts only while job and mesh are as they were; where the record lays anything anew it
           is made again, for that is not read back
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from routecut.model.as_built import AsBuilt
from routecut.model.finding import Finding
from routecut.model.plan import Plan
from routecut.planning.as_built import lays_anew, plan_recorded
from routecut.planning.stored import stored_plan
from routecut.records.deviations import rows
from routecut.records.standing import read_record
from routecut.survey import survey_job


def recorded_plans(
    jobs: Sequence[Path], plan_folder: str, *, progress: Callable[[str], None] | None = None
) -> tuple[tuple[Plan, ...], tuple[Finding, ...]]:
    """The plan of each job with its record.

    Parameters
    ----------
    jobs : sequence of Path
        Job folders.
    plan_folder : str
        Name of the plan folder in each; not changed.
    progress : callable, optional

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
        stored = None if again else stored_plan(folder / plan_folder, surveyed)
        if stored is None:
            plan, _ = plan_recorded(surveyed, progress=say)
        else:
            built = AsBuilt(record=record)
            built = replace(built, rows=rows(stored, built))
            plan = replace(stored, as_built=built if record.lines else None)
        plans.append(plan)
    return tuple(plans), tuple(findings)
