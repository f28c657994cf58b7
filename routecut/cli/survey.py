"""``routecut survey``: a page to point at the vehicle with."""

from __future__ import annotations

import json
import shlex
from pathlib import Path
from typing import Annotated

import typer

from routecut.cli.arguments import JobArgument, JsonOption
from routecut.cli.printing import Progress, count, data, print_findings, result


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(survey)


def survey(
    job: JobArgument,
    to: Annotated[
        Path | None,
        typer.Option("--to", metavar="FILE", help="Where to write it.", show_default="JOB/survey.html"),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Write one page to survey the vehicle with: tap it, say what it is, save, add it to the job.

    The page works offline, on a phone and at a desk. Landmarks, ports, holes, keep-outs and hinges are picked on
    the body; three taps on the rim of a round hole give its middle, diameter and axis. What is saved
    goes into the job with `routecut add`.

    Example: routecut survey routecut-demo
    """
    from routecut.cli.order import refuse_to_replace
    from routecut.documents import is_survey_page, survey_html
    from routecut.planning.output import write_file
    from routecut.survey import find_rims
    from routecut.survey import survey_job as read

    target = to or job / "survey.html"
    ours = target.is_file() and not target.is_symlink() and is_survey_page(target.read_bytes())
    if job.is_dir():
        refuse_to_replace([target], force=ours, instead="--to another name")
    with Progress() as progress:
        progress("reading the job and its mesh")
        surveyed = read(job)
        progress("looking for round rims")
        rims = find_rims(surveyed.body)
        progress("writing the page")
        text = survey_html(surveyed.job, surveyed.body, rims)
        write_file(target, text.encode("utf-8"))
    print_findings(f for f in surveyed.findings if f.code.startswith("mesh-"))
    if as_json:
        data(json.dumps({"page": str(target), "rims": len(rims), "bytes": len(text.encode())}, indent=1))
        return
    result(f"open this in a browser   {target}")
    if rims:
        result(f"{count(len(rims), 'round rim')} found in the mesh: three taps on one place a hole")
    else:
        result("no round rim found in the mesh: tap where the middle of a hole is, and type its diameter")
    result(f"what you save there      routecut add {shlex.quote(str(job))} picks.toml")
