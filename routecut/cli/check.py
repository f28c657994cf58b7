"""``routecut check``: reads and judges a job; changes nothing."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from routecut.cli.arguments import JobArgument, JsonOption
from routecut.cli.exits import ExitCode
from routecut.cli.printing import Progress, as_parts, count, data, grouped, result


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(check)


def check(
    job: JobArgument,
    places: Annotated[
        bool, typer.Option("--places", help="Print as well where devices, ports and holes came to lie.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Read and judge a job and its mesh; change nothing.

    Prints every finding at once, worst first: what is wrong, what can't be true, what a plan would lack, and
    what to measure first; each with what to type. Exit code 2 when there are errors.

    With --places every device, port and hole is listed with its coordinates as they are planned with: tapes solved,
    points moved onto the mesh. In JSON it is then an object of findings and places.

    Example: routecut check routecut-demo --places
    """
    from routecut.cutlist import measure_next
    from routecut.documents import places_json, places_text
    from routecut.errors import JobError
    from routecut.geometry.sheets import Sheets
    from routecut.model.finding import Severity
    from routecut.ordering import missing_leads
    from routecut.planning.open_sizes import first_sizes, without_stand_ins
    from routecut.survey import first_bends, judge, survey_job

    with Progress() as progress:
        progress("reading the job and its mesh")
        try:
            surveyed = survey_job(job)
            progress("judging it")
            sheets = Sheets(surveyed.body.routing_triangles_m)
            fitted = surveyed.job
            sizes = first_sizes(fitted)
            findings = (
                *without_stand_ins(surveyed.findings, sizes),
                *judge(surveyed.job, surveyed.body, sheets=sheets),
                *first_bends(surveyed.job, surveyed.body, sizes, sheets=sheets),
                *missing_leads(surveyed.job),
                *measure_next(surveyed.job),
            )
        except JobError as error:
            findings, fitted = error.findings, None
    errors = sum(f.severity is Severity.ERROR for f in findings)
    if as_json:
        parts = as_parts(findings)
        told = {"findings": parts, "places": None if fitted is None else places_json(fitted)}
        data(json.dumps(told if places else parts, indent=1))
    else:
        if places and fitted is not None:
            result(places_text(fitted) + "\n")
        for line in grouped(findings):
            result(line)
        result(f"{count(errors, 'error')} to mend before this job can be planned" if errors else "no errors")
    if errors:
        raise typer.Exit(ExitCode.BAD_INPUT)
