"""``routecut drill``: which holes to drill, what lies behind each, how to find it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from routecut.cli.arguments import JobArgument, JsonOption
from routecut.cli.exits import ExitCode
from routecut.cli.plan import PLAN_FOLDER
from routecut.cli.printing import Progress, data, note, result
from routecut.errors import OutOfRangeError


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(drill)


def drill(
    job: JobArgument,
    at_most: Annotated[
        int | None, typer.Option("--at-most", min=0, max=50, help="No more new holes than this.")
    ] = None,
    without: Annotated[
        list[str] | None,
        typer.Option("--without", help="A hole that is not to be used, there or not; may be repeated."),
    ] = None,
    move: Annotated[
        list[str] | None,
        typer.Option(
            "--move",
            metavar="NAME=X,Y,Z",
            help="What if a device or a candidate were there? In the job's unit and axes; may be repeated.",
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Say where to drill, and whether to drill at all.

    Weighs the candidates of the job and places found on its panels for all cables together, and prints
    what each number of new holes buys. For each hole of the best choice: what lies behind, its size,
    and how to find it with a tape. Nothing is written; `routecut plan` puts the cards into the job pack.

    Where nothing is to be drilled the plan in JOB/plan is used while job and mesh are unchanged; else the best choice
    is planned here. With --move the study is made twice, as the job is and with the move, and the difference comes
    first.

    Exit code 1 when a cable can't be reached or laid with the holes allowed.

    Example: routecut drill routecut-demo --at-most 1
    """
    from routecut.documents import moved_text, study_json, study_text
    from routecut.planning import stored_plan
    from routecut.planning.drill import study_survey
    from routecut.planning.whatif import compare
    from routecut.survey import survey_job, survey_moved

    what = None
    barred = tuple(without or ())
    with Progress() as progress:
        progress("reading the job")
        if move:
            before, after, moved = survey_moved(job, move)
            asked = after.job
            refuse_unknown(job, barred, [h.name for h in before.job.pass_throughs])
            kept = stored_plan(job / PLAN_FOLDER, before)
            told, planned, what = compare(
                before, after, moved, at_most=at_most, without=barred, progress=progress, kept=kept
            )
        else:
            surveyed = survey_job(job)
            asked = surveyed.job
            refuse_unknown(job, barred, [h.name for h in surveyed.job.pass_throughs])
            kept = stored_plan(job / PLAN_FOLDER, surveyed)
            told, planned = study_survey(
                surveyed, at_most=at_most, without=barred, progress=progress, kept=kept
            )
    if as_json:
        data(study_json(told, planned, what))
    else:
        if what is not None:
            result(moved_text(what, planned))
        result(study_text(told, planned, asked=asked).rstrip())
    left = [c.cable.name for c in planned.cables if c.route is None]
    if left or not planned.complete:
        note(f"not done: {', '.join(left)}" if left else "a route breaks a rule: see the findings of a plan")
        raise typer.Exit(ExitCode.NOT_AS_ASKED)


def refuse_unknown(job: Path, names: Sequence[str], known: Sequence[str]) -> None:
    """Say which names after --without are of no hole.

    Raises
    ------
    OutOfRangeError
        With all of them, and the names there are.
    """
    from routecut.planning.whatif import FOUND_NAME

    wrong = [n for n in names if n not in known and not FOUND_NAME.fullmatch(n)]
    if wrong:
        there = ", ".join(repr(n) for n in known) or "none"
        raise OutOfRangeError(
            f"{job}: --without {', '.join(repr(n) for n in wrong)}: no hole of that name; known are {there}, "
            "and the places found ('place 1' and so on)"
        )
