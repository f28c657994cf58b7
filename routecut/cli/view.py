"""``routecut view``: the 3D preview."""

from __future__ import annotations

import json
import os
import shlex
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routecut.cli.arguments import JobArgument, JsonOption
from routecut.cli.exits import ExitCode
from routecut.cli.plan import PLAN_FOLDER, cannot_draw, exit_incomplete, plan_and_write, reasons
from routecut.cli.printing import Progress, data, note, print_findings, result

if TYPE_CHECKING:
    from routecut.model.plan import Plan
    from routecut.survey import Survey


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(view)


def view(
    job: JobArgument,
    as_json: JsonOption = False,
    pictures: Annotated[
        bool, typer.Option("--pictures", help="Make pictures, also where there is a screen.")
    ] = False,
    picks: Annotated[
        Path | None,
        typer.Option(
            "--picks", metavar="FILE", help="Where to save what is picked in the window; else it is printed."
        ),
    ] = None,
) -> None:
    """Show the planned job in 3D.

    A window where there is a screen, pictures where there is none. The plan in JOB/plan is shown when
    it is of this job and this mesh; otherwise the job is planned as it stands now. Pictures that have
    to be made belong to JOB/plan, which is then written anew.

    In the window: boxes show and hide names and classes of cables, a slider takes the body away, a click on
    the body picks a point; keys 1 to 6 say what it is, as on the page of `routecut survey`. Enter asks for its
    name and what else it needs, Delete takes it back. Once the window is closed what was picked is the same TOML
    as that page saves, for `routecut add`: in the file of --picks, or printed.

    Example: routecut view routecut-demo --picks picks.toml
    """
    from routecut import preview
    from routecut.cli.order import refuse_to_replace
    from routecut.documents import picks_toml
    from routecut.errors import RoutecutError
    from routecut.planning import plan_survey
    from routecut.scene.naming import faults
    from routecut.survey import find_rims

    in_window = has_screen() and not pictures and not as_json
    if picks is not None:
        if not in_window:
            raise RoutecutError(
                "--picks: nothing is picked without a window; routecut survey makes a page for it"
            )
        refuse_to_replace([picks], force=False, instead="--picks with another name")
    if in_window:
        if not preview.can_draw():
            note(cannot_draw())
            raise typer.Exit(ExitCode.NOT_AS_ASKED)
        with Progress() as progress:
            surveyed, stored = look_at(job, progress)
            planned = stored or plan_survey(surveyed, progress=progress)[0]
        say_what_is_shown(job, planned, stored)
        tags = preview.show(planned, surveyed.body, find_rims(surveyed.body))
        keep_picks(job, picks, picks_toml(planned.job, surveyed.body.digest, tags))
        for told in faults(tags, planned.job):
            note(f"not yet for routecut add: {told}")
    else:
        with Progress() as progress:
            _, stored = look_at(job, progress)
        if stored is not None and (own_pictures(job) or not preview.can_draw()):
            planned = stored
            say_what_is_shown(job, planned, stored)
        else:  # to write the folder anew takes the whole plan, which is not read back
            planned = plan_and_write(job, tell=True)
        views = own_pictures(job)
        if as_json:
            data(json.dumps({"views": [str(p) for p in views]}, indent=1))
        else:
            for picture in views:
                result(str(picture))
        if not views:
            if stored is not None:
                note(cannot_draw())
            raise typer.Exit(ExitCode.NOT_AS_ASKED)
    exit_incomplete(planned)


def keep_picks(job: Path, file: Path | None, toml: str) -> None:
    """Save what was picked, or print it; printed as well where it can't be saved, so that it isn't lost."""
    from routecut.errors import OutputError
    from routecut.planning.output import write_file

    if not toml:
        return
    if file is None:
        result(toml.rstrip())
        return
    try:
        write_file(file, toml.encode("utf-8"))
    except OutputError:
        result(toml.rstrip())
        raise
    result(f"what was picked           {file}")
    result(f"put it into the job       routecut add {shlex.quote(str(job))} {shlex.quote(str(file))}")


def look_at(job: Path, progress: Callable[[str], None]) -> tuple[Survey, Plan | None]:
    """The job as it stands now, and its plan if there is one that still holds."""
    from routecut.planning import stored_plan
    from routecut.planning.stored_built import with_record
    from routecut.records.standing import read_record
    from routecut.survey import survey_job

    progress("reading the job")
    surveyed = survey_job(job)
    stored = stored_plan(job / PLAN_FOLDER, surveyed)
    if stored is None:
        return surveyed, None
    built, told = with_record(stored, read_record(surveyed.job)[0], job, job / PLAN_FOLDER)
    if told:
        note(f"warning: {told}")
    return surveyed, built


def say_what_is_shown(job: Path, planned: Plan, stored: Plan | None) -> None:
    """Say where the plan comes from, and what is wrong with it."""
    if stored is not None:
        note(f"this is the plan in {job / PLAN_FOLDER}; job and mesh are unchanged since it was made")
    if broken := reasons(planned):
        print_findings(broken)


def own_pictures(job: Path) -> list[Path]:
    """The pictures in the plan folder that are there as they were made."""
    from routecut.planning.kept import own_files

    folder = job / PLAN_FOLDER
    return [
        folder / name for name in own_files(folder) if name.startswith("views/") and name.endswith(".png")
    ]


def has_screen() -> bool:
    """Whether a window could be opened here, as far as the environment tells."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
