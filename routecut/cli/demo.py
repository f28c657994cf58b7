"""``routecut demo``: a sample job, copied and planned."""

from __future__ import annotations

import json
import shlex
import tomllib
from pathlib import Path
from typing import Annotated, Final

import typer

from routecut.cli.arguments import JsonOption
from routecut.cli.plan import PLAN_FOLDER, exit_incomplete, plan_and_write
from routecut.cli.printing import data, note, result
from routecut.errors import OutOfRangeError, OutputError
from routecut.plain import nearest_name, shown

SAMPLE: Final = "river-rescue-van"
FOLDER: Final = Path("routecut-demo")


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(demo)


def demo(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where to put the sample job.")] = FOLDER,
    sample: Annotated[
        str, typer.Option("--sample", metavar="NAME", help="Which one; --list says which there are.")
    ] = SAMPLE,
    list_them: Annotated[bool, typer.Option("--list", help="List the sample jobs; make nothing.")] = False,
    as_json: JsonOption = False,
    force: Annotated[
        bool,
        typer.Option(
            "--force",
            help="Use a folder that is not empty: the sample replaces files of the same name.",
        ),
    ] = False,
) -> None:
    """Copy a sample job into DIR and plan it.

    There is a river rescue van with its whole radio kit, a rescue boat with a
    wheelhouse, and a tractor for the slipway; vehicles and figures are invented.

    Example: routecut demo boat --sample river-rescue-boat
    """
    if list_them:
        _list(as_json=as_json)
        return
    copy_sample(folder, sample, force=force)
    planned = plan_and_write(folder, tell=as_json)
    from routecut.documents import summary_text

    pack = folder / PLAN_FOLDER / "pack.html"
    cut_list = folder / PLAN_FOLDER / "cut-list.csv"
    views = folder / PLAN_FOLDER / "views"
    if as_json:
        paths = {"job": folder, "plan": pack.parent, "pack": pack, "cut_list": cut_list}
        if views.is_dir():
            paths["views"] = views
        data(
            json.dumps(
                {k: str(v) for k, v in paths.items()}
                | {"cables": len(planned.cables), "complete": planned.complete},
                indent=1,
            )
        )
    else:
        result(summary_text(planned).rstrip())
        result(f"\nopen this in a browser   {pack}")
        result(f"the lengths to cut       {cut_list}")
        if views.is_dir():
            result(f"pictures                 {views}")
        result(f"look round it            routecut view {shlex.quote(str(folder))}")
        result(f"change {folder / 'job.toml'}, then run: routecut plan {shlex.quote(str(folder))}")
    exit_incomplete(planned)


def samples_folder() -> Path:
    """Where the sample jobs are: inside an installed package, or beside it in a source tree."""
    import routecut

    package = Path(routecut.__file__).resolve().parent
    installed = package / "samples"
    return installed if installed.is_dir() else package.parent / "meshes"


def sample_names() -> list[str]:
    """The sample jobs there are, in order of their names."""
    return sorted(job.parent.name for job in samples_folder().glob("*/job.toml"))


def _list(*, as_json: bool) -> None:
    titles = {
        name: str(tomllib.loads((samples_folder() / name / "job.toml").read_text(encoding="utf-8"))["title"])
        for name in sample_names()
    }
    if as_json:
        data(json.dumps(titles, indent=1))
    for name, title in () if as_json else titles.items():
        result(f"{name:<{max(map(len, titles))}}   {title}")


def copy_sample(folder: Path, sample: str = SAMPLE, *, force: bool) -> None:
    """Copy a sample job's own files into a folder, all or none.

    Raises
    ------
    OutOfRangeError
        There is no sample of that name.
    OutputError
        The folder is not empty and `force` is not set, or it can't be written.
    """
    from routecut.planning.new_folder import refuse_taken, write_job_folder

    names = sample_names()
    if sample not in names and (names or sample != SAMPLE):
        near = nearest_name(sample, names)
        hint = f"; the nearest is {near!r}" if near else ""
        raise OutOfRangeError(f"--sample is {shown(sample)}{hint}; there is {', '.join(names)}")
    source = samples_folder() / sample
    refuse_taken(folder, force=force, example="routecut-demo-2", what="the sample's files")
    try:
        if not (source / "job.toml").is_file():
            raise OutputError(f"{source}: the sample job is missing; install routecut again")
        files = {
            p.name: p.read_bytes()
            for p in source.iterdir()
            if p.is_file() and p.suffix != ".py" and p.name[0] != "."
        }
    except OSError as error:
        raise OutputError(f"{error.filename or folder}: {error.strerror or error}") from error
    write_job_folder(folder, files)
    note(f"the sample job is in {folder}")
