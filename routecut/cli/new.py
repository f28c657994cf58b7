"""``routecut new``: a job folder to begin with. One way in for each source of geometry."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

import typer

from routecut.cli.arguments import JsonOption
from routecut.cli.printing import data, result
from routecut.errors import OutOfRangeError


@dataclass(frozen=True, slots=True)
class NewJob:
    """What a way in has made: files by name, what to say of it, the same for programs."""

    files: Mapping[str, bytes]
    said: tuple[str, ...] = ()
    parts: Mapping[str, object] = field(default_factory=dict)


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command(hidden=True)(new)


def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to make.", show_default=False)],
    pattern: Annotated[
        str | None, typer.Option("--pattern", metavar="NAME", help="From a vehicle pattern and a tape.")
    ] = None,
    as_json: JsonOption = False,
    force: Annotated[
        bool,
        typer.Option("--force", help="Use a folder that is not empty: files of the same name are replaced."),
    ] = False,
) -> None:
    """Make a job folder to begin with.

    Example: routecut new van-7 --pattern "panel van"
    """
    from routecut.planning.new_folder import refuse_taken, write_job_folder

    # One line for each way in: its option, whether it was given, what makes the files.
    ways: dict[str, tuple[bool, Callable[[], NewJob]]] = {
        "--pattern": (pattern is not None, lambda: _from_pattern(pattern or "")),
    }
    make = _the_one_asked_for(ways)
    refuse_taken(folder, force=force, example=f"{folder}-2")
    made = make()
    write_job_folder(folder, made.files)
    if as_json:
        data(json.dumps({"job": str(folder), "files": sorted(made.files), **made.parts}, indent=1))
        return
    for line in made.said:
        result(line)
    result(f"the new job is in {folder}; next: routecut check {shlex.quote(str(folder))}")


def _the_one_asked_for(ways: Mapping[str, tuple[bool, Callable[[], NewJob]]]) -> Callable[[], NewJob]:
    """The way in that was given.

    Raises
    ------
    OutOfRangeError
        None, or more than one.
    """
    given = [name for name, (asked, _) in ways.items() if asked]
    if len(given) != 1:
        found = f"{' and '.join(given)} are given" if given else "nothing says where the vehicle comes from"
        raise OutOfRangeError(f"{found}; give one of {', '.join(ways)}")
    return ways[given[0]][1]


def _from_pattern(name: str) -> NewJob:
    raise OutOfRangeError(f"--pattern {name!r}: there is no such pattern")
