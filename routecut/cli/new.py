"""``routecut new``: a job folder to begin with. One way in for each source of geometry."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

import typer

from routecut.cli.arguments import JsonOption, job_folder
from routecut.cli.printing import data, result
from routecut.errors import OutOfRangeError
from routecut.plain import shown
from routecut.units import UNIT_NAMES


def _everything(_name: str, _old: bytes) -> bool:
    """Of what would be replaced, keep all."""
    return True


@dataclass(frozen=True, slots=True)
class NewJob:
    """What a way in has made: files by name, what to say of it, the same for programs."""

    files: Mapping[str, bytes]
    said: tuple[str, ...] = ()
    parts: Mapping[str, object] = field(default_factory=dict)
    keep: Callable[[str, bytes], bool] = _everything


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(new)


def new(  # noqa: PLR0917 - typer hands them over by name
    folder: Annotated[
        Path | None, typer.Argument(metavar="DIR", help="The folder to make.", show_default=False)
    ] = None,
    pattern: Annotated[
        str | None,
        typer.Option(
            "--pattern",
            metavar="NAME",
            help="From a vehicle pattern and a tape: panel van, estate car, four-door pickup, ambulance box, small "
            "boat or tractor.",
        ),
    ] = None,
    example: Annotated[
        bool,
        typer.Option("--example", help="With --pattern: with a small fit-out in it, to change to yours."),
    ] = False,
    like: Annotated[
        Path | None,
        typer.Option(
            "--like",
            metavar="JOB",
            help="From the job and the as-built record of the last vehicle with the same fit-out.",
        ),
    ] = None,
    settings: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="KEY=LENGTH",
            help="With --pattern: a measurement; once for each. Asked on a terminal without.",
        ),
    ] = None,
    mesh: Annotated[
        Path | None,
        typer.Option("--mesh", metavar="FILE", help="Round a scan or model: up to 300 MB, 3 million faces."),
    ] = None,
    mesh_unit: Annotated[
        str,
        typer.Option(
            help="With --mesh: the unit of the file; found by the tape without.", show_default=False
        ),
    ] = "",
    axes: Annotated[
        str,
        typer.Option(
            help='With --mesh: what its axes mean, "+x rear, +y right, +z up".',
            show_default=False,
        ),
    ] = "",
    align: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KEY=X,Y,Z",
            help="With --mesh, in place of --axes: front, rear (on a line along the vehicle) and right, places in the "
            "file; a name may stand before the place: front=tow eye@X,Y,Z.",
        ),
    ] = None,
    tape_check: Annotated[
        list[str] | None,
        typer.Option(
            metavar="TEXT",
            help='With --mesh: a distance on the real vehicle, "length = 5410 mm" (width, height), or '
            '"X,Y,Z to X,Y,Z = 2480 mm" between places in the file.',
        ),
    ] = None,
    untaped: Annotated[
        bool, typer.Option("--untaped", help="With --mesh: no distance was taken; the cuts get longer by it.")
    ] = False,
    split: Annotated[
        str,
        typer.Option(
            help="With --mesh: parts by connected pieces or by --box: pieces, boxes.", show_default=False
        ),
    ] = "",
    box: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME = X,Y,Z to X,Y,Z",
            help="With --mesh: faces in it become a part; the job's unit and axes.",
        ),
    ] = None,
    unit: Annotated[
        str, typer.Option(help="Unit of the job and of measurements: mm, cm, m, in or ft.")
    ] = "mm",
    title: Annotated[
        str, typer.Option(help="Title of the job; the folder's name without.", show_default=False)
    ] = "",
    listing: Annotated[
        bool, typer.Option("--list", help="List the patterns, or what to measure for one; make nothing.")
    ] = False,
    as_json: JsonOption = False,
    force: Annotated[
        bool,
        typer.Option(
            "--force",
            help="Use a folder that is not empty; files of yours that have the same name are kept as job.yours.toml.",
        ),
    ] = False,
) -> None:
    """Make a job folder to begin with: the vehicle, and a job.toml to go on from.

    --list says which patterns there are; with --pattern, what to measure. What is not measured is
    scaled with what is, and makes the cuts longer.

    A mesh is cleaned, turned and written as body.glb in metres; the file is kept beside it as it came. Unit and
    axes are asked for, never guessed, and held against a distance taken on the vehicle.

    --like takes over the job of the last vehicle, its mesh, places as built, types as fitted and strings where
    they still hold; what was cut stands beside each cable as a hint. It lists what to check on this one.

    Example: routecut new van-7 --pattern "panel van" --set wheelbase=3665
    """
    from routecut.cli.new_like import from_like
    from routecut.cli.new_mesh import MeshAnswers, from_mesh
    from routecut.cli.new_pattern import from_pattern, list_patterns
    from routecut.planning.new_folder import refuse_taken, write_job_folder

    check_unit(unit)
    if listing:
        list_patterns(pattern, unit, as_json=as_json)
        return
    if folder is None:
        raise OutOfRangeError("the folder to make is missing: routecut new DIR ...")
    home = folder
    called = title or home.resolve().name

    answers = MeshAnswers(
        mesh_unit=mesh_unit,
        axes=axes,
        align=tuple(align or ()),
        tapes=tuple(tape_check or ()),
        untaped=untaped,
        split=split,
        boxes=tuple(box or ()),
    )
    # One line for each way in: its option, whether it was given, what makes the files.
    ways: dict[str, tuple[bool, Callable[[], NewJob]]] = {
        "--pattern": (
            pattern is not None,
            lambda: from_pattern(pattern or "", settings or [], unit, called, example=example),
        ),
        "--mesh": (mesh is not None, lambda: from_mesh(mesh or Path(), answers, unit, called)),
        "--like": (like is not None, lambda: from_like(job_folder(like or home), called)),
    }
    if example and pattern is None:
        raise OutOfRangeError("--example goes with --pattern: it is the fit-out of a pattern")
    make = _the_one_asked_for(ways)
    refuse_taken(home, force=force, example=f"{home}-2")
    made = make()
    kept = write_job_folder(home, made.files, keep=made.keep)
    if as_json:
        told = {"job": str(home), "files": sorted(made.files), "kept": list(kept), **made.parts}
        data(json.dumps(told, indent=1))
        return
    for line in made.said:
        result(line)
    for name in kept:
        result(f"what you had is kept as {home / name}")
    result(f"the new job is in {home}; next: routecut check {shlex.quote(str(home))}")


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


def check_unit(unit: str) -> None:
    """Refuse a unit that is not known.

    Raises
    ------
    OutOfRangeError
        It is not one of `UNIT_NAMES`.
    """
    if unit not in UNIT_NAMES:
        raise OutOfRangeError(f"--unit is {shown(unit)}; allowed is one of {', '.join(UNIT_NAMES)}")
