"""``routecut view``: the 3D preview."""

from __future__ import annotations

import json
import os
import sys
from typing import Annotated

import typer

from routecut.cli.arguments import JobArgument, JsonOption
from routecut.cli.exits import ExitCode
from routecut.cli.plan import PLAN_FOLDER, cannot_draw, exit_incomplete, plan_and_write, reasons
from routecut.cli.printing import Progress, data, note, print_findings, result


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(view)


def view(
    job: JobArgument,
    as_json: JsonOption = False,
    pictures: Annotated[
        bool, typer.Option("--pictures", help="Make pictures, also where there is a screen.")
    ] = False,
) -> None:
    """Show the planned job in 3D.

    A window where there is a screen, pictures where there is none. The job is
    planned as it stands now. Pictures belong to JOB/plan, which is then written anew.

    Example: routecut view routecut-demo
    """
    if has_screen() and not pictures and not as_json:
        from routecut import preview
        from routecut.planning import make_plan

        if not preview.can_draw():
            note(cannot_draw())
            raise typer.Exit(ExitCode.NOT_AS_ASKED)
        with Progress() as progress:
            planned, body = make_plan(job, progress=progress)
        if not planned.complete:
            print_findings(reasons(planned))
        preview.show(planned, body)
    else:
        planned = plan_and_write(job)
        views = sorted((job / PLAN_FOLDER / "views").glob("*.png"))
        if as_json:
            data(json.dumps({"views": [str(p) for p in views]}, indent=1))
        else:
            for picture in views:
                result(str(picture))
        if not views:
            raise typer.Exit(ExitCode.NOT_AS_ASKED)
    exit_incomplete(planned)


def has_screen() -> bool:
    """Whether a window could be opened here, as far as the environment tells."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
