"""``routecut order``: the order list of one job or of many, reels cut across all."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from routecut.cli.arguments import JsonOption, job_folder
from routecut.cli.exits import ExitCode
from routecut.cli.plan import PLAN_FOLDER
from routecut.cli.printing import Progress, data, note, print_findings, result
from routecut.errors import OutputError

JobsArgument = Annotated[
    list[Path], typer.Argument(metavar="JOB...", help="Job folders, or their job.toml.", show_default=False)
]


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(order)


def order(
    jobs: JobsArgument,
    csv_file: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write the list as CSV.", show_default=False)
    ] = None,
    xlsx_file: Annotated[
        Path | None,
        typer.Option("--xlsx", metavar="FILE", help="Write the list as a workbook.", show_default=False),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace files that are there.")] = False,
    as_json: JsonOption = False,
) -> None:
    """List everything to order, for one job or for many together.

    Cable is cut from the reels on the shelf and to buy with the least to pay and the least waste, across
    all jobs. A job named twice is two vehicles alike. The plan in JOB/plan is used while job and mesh are
    unchanged; otherwise the job is planned as it stands now. Plan folders are not changed.

    Exit code 1 when a cable has no route or no lead reaches: the order is not complete.

    Example: routecut order routecut-demo --csv order.csv
    """
    from routecut import documents
    from routecut.model.finding import Severity
    from routecut.planning.order import order_jobs
    from routecut.planning.output import write_files

    refuse_to_replace([f for f in (csv_file, xlsx_file) if f is not None], force=force)
    with Progress() as progress:
        labels, lines, findings, plans = order_jobs(
            [job_folder(job) for job in jobs], PLAN_FOLDER, progress=progress
        )
    unit = plans[0].job.length_unit  # as in the reasons of the lines
    files: dict[Path, bytes] = {}
    if csv_file is not None:
        files[csv_file] = documents.order_list_csv(lines, unit).encode()
    if xlsx_file is not None:
        files[xlsx_file] = documents.order_list_xlsx(lines, unit)
    write_files(files)
    if as_json:
        data(documents.order_json(labels, lines))
    else:
        result(documents.order_text(lines, unit))
    if findings:
        print_findings(findings)
    for file in files:
        note(f"written: {file}")
    left = [
        f"{label}: {planned.cable.name}"
        for label, plan in zip(labels, plans, strict=True)
        for planned in plan.cables
        if planned.route is None or (planned.lead is not None and not planned.lead.lengths_m)
    ]
    if left or any(f.severity is Severity.ERROR for f in findings):
        note(f"not complete: nothing is ordered for {', '.join(left)}" if left else "not complete")
        raise typer.Exit(ExitCode.NOT_AS_ASKED)


def refuse_to_replace(
    files: Sequence[Path], *, force: bool, instead: str = "another name, or --force to replace it"
) -> None:
    """Say before any work that a file can't be written.

    Raises
    ------
    OutputError
        One is there and may not be replaced, or is what a job or a plan is made of, or no ordinary file, or
        its folder is not there, or two are one.
    """
    from routecut.planning.kept import of_a_plan
    from routecut.survey.mesh_files import READERS

    for file in files:
        if file.name in {"job.toml", "record.jsonl"} or file.suffix.lower() in READERS:
            raise OutputError(f"{file} can't be written: a job is made of such files; give another name")
        if file.is_dir():
            raise OutputError(f"{file} can't be written: it is a folder")
        if of_a_plan(file):
            raise OutputError(f"{file} can't be written: it belongs to the plan; give another name")
        if file.exists() and not force:
            raise OutputError(f"{file} is there already; give {instead}")
        if file.exists() and not file.is_file():
            raise OutputError(f"{file} can't be written: it is no ordinary file")
        if not file.parent.is_dir():
            raise OutputError(f"{file} can't be written: there is no folder {file.parent}")
    if len({file.resolve() for file in files}) < len(files):
        raise OutputError(f"{files[0]} is named twice; the table and the workbook are two files")
