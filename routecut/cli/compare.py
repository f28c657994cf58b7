"""``routecut compare``: plan and as-built, or two jobs, as a table of differences."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routecut.cli.arguments import JobArgument, JsonOption, job_folder
from routecut.cli.plan import PLAN_FOLDER
from routecut.cli.printing import Progress, data, note, print_findings, result


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(compare)


def compare(
    job: JobArgument,
    other: Annotated[
        Path | None,
        typer.Argument(
            metavar="[OTHER]", help="Another job; left out: the record of JOB.", show_default=False
        ),
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Also what is the same, or was not planned.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Show how what was built differs from the plan, or how two jobs differ, as a table.

    With one job: planned and as built, from its record. With two: devices, holes and cables that one has and
    the other has not, places, types, lengths and the holes cables go through. A plan in JOB/plan is used while
    job, mesh and record are as it was made with; otherwise the job is planned as it stands, which is said first.
    Nothing is changed.

    Example: routecut compare van-1 van-2
    """
    from routecut.documents.compare_text import compare_json, compare_text
    from routecut.planning.recorded import recorded_plans
    from routecut.records.two_jobs import differences

    folders = [job, *([] if other is None else [job_folder(other)])]
    with Progress() as progress:
        plans, findings = recorded_plans(folders, PLAN_FOLDER, laid=False, progress=progress, long=note)
    first, second = plans[0], plans[-1]
    built = first.as_built
    if other is not None:
        rows, heads = differences(first, second), (str(folders[0]), str(folders[1]))
    else:
        rows, heads = (() if built is None else built.rows), ("planned", "as built")
    rows = tuple(row for row in rows if everything or row.marked)
    if as_json:
        data(compare_json(rows, heads))
    elif other is None and built is None:
        result("nothing is recorded yet")
    else:
        result(compare_text(rows, heads, first.job))
    if findings:
        print_findings(findings)
