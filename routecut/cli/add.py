"""``routecut add``: entries of another file go into job.toml."""

from __future__ import annotations

import difflib
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from routecut.cli.arguments import JobArgument, JsonOption
from routecut.cli.exits import ExitCode
from routecut.cli.printing import count, data, note, print_findings, result


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(add)


def add(
    job: JobArgument,
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="A TOML file: picks of the survey page, or your own.", show_default=False
        ),
    ],
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Do not ask; add it.")] = False,
    lines: Annotated[bool, typer.Option("--lines", help="With --yes too, show every line added.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Add the entries of a TOML file to job.toml.

    Shows what would change, asks, and then writes job.toml whole or not at all; with --yes it only names
    what was added. Every byte that is in it stays, comments as well. Names that are used already, spaces
    that nothing defines and whatever else the job would be at fault for are refused, all at once. Lengths
    of a file in another unit get theirs.

    A [[device]] that the job has already, with nothing but ports, adds these ports to it.

    Example: routecut add routecut-demo survey.toml
    """
    from routecut.errors import OutputError
    from routecut.planning.output import write_file
    from routecut.survey import add_to_job, mesh_digest

    addition = add_to_job(job, file, mesh_digest=mesh_digest(job))
    print_findings(addition.findings)
    if addition.unit:
        note(f"its lengths are in {addition.unit}, not in the job's unit: each is written with its unit")
    changed = _diff(addition.old, addition.new)
    if not as_json and (lines or not yes):
        result(changed)
    may = yes or (_is_asked() and not as_json and _agreed(len(addition.added)))
    if may:
        target = job / "job.toml"
        if target.read_bytes() != addition.old:
            raise OutputError(f"{target}: was changed in the meantime; run this again")
        write_file(target, addition.new)
    if as_json:
        data(json.dumps({"added": list(addition.added), "written": may, "diff": changed}, indent=1))
    elif may:
        result(f"added to {job / 'job.toml'}: {_by_kind(addition.added)}")
    else:
        note(
            f"nothing was written; with --yes {count(len(addition.added), 'entry', 'entries')} would be added"
        )
    if not may:
        raise typer.Exit(ExitCode.NOT_AS_ASKED)


def _by_kind(added: Sequence[str]) -> str:
    """What is new, each kind said once."""
    kinds: dict[str, list[str]] = {}
    for one in added:
        kind, _, name = one.partition(" ")
        kinds.setdefault(kind, []).append(name)
    return "; ".join(f"{kind} {', '.join(names)}".rstrip() for kind, names in kinds.items())


def _diff(old: bytes, new: bytes) -> str:
    lines = difflib.unified_diff(
        old.decode("utf-8").splitlines(),
        new.decode("utf-8").splitlines(),
        "job.toml",
        "job.toml, with what is added",
        lineterm="",
        n=2,
    )
    return "\n".join(lines)


def _is_asked() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()


def _agreed(entries: int) -> bool:
    what = "this entry" if entries == 1 else f"these {entries} entries"
    return typer.confirm(f"add {what}?", default=False, err=True)
