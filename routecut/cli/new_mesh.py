"""``routecut new --mesh``: asks what a mesh file does not say, and says what was made of it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from routecut.cli.new import NewJob
from routecut.cli.printing import Progress, note, print_findings
from routecut.errors import OutOfRangeError
from routecut.plain import shown
from routecut.units import UNIT_NAMES

if TYPE_CHECKING:
    from routecut.model.job import Vec3
    from routecut.survey.intake import NamedBox, Placing, Source, Tape

SPLITS = ("pieces", "boxes")


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshAnswers:
    """What the options say of a mesh; empty where they say nothing."""

    mesh_unit: str = ""
    axes: str = ""
    align: tuple[str, ...] = ()
    tapes: tuple[str, ...] = ()
    untaped: bool = False
    split: str = ""
    boxes: tuple[str, ...] = ()


def from_mesh(file: Path, answers: MeshAnswers, unit: str, title: str) -> NewJob:
    """The files of a job round a mesh.

    Raises
    ------
    OutOfRangeError
        Something is not answered, or can't be true; everything that is missing is said at once.
    MeshFileError, JobError
        The mesh can't be used.
    """
    from routecut.planning.new_mesh import job_round_mesh
    from routecut.survey.intake import parse_align, parse_tape, read_source

    align = parse_align(answers.align)
    tapes = [parse_tape(text) for text in answers.tapes]
    boxes = _boxes(answers, unit)
    with Progress() as progress:
        progress("reading the mesh")
        source = read_source(file)
    placing, tapes = _placed(source, answers, align, tapes)
    with Progress() as progress:
        progress("cleaning it, and looking for spaces")
        made = job_round_mesh(
            source,
            placing,
            title=title,
            length_unit=unit,
            tapes=tapes,
            align=align,
            split=answers.split,
            boxes=boxes,
        )
    print_findings(made.findings)
    return NewJob(
        files=made.files,
        said=made.said,
        parts={
            "mesh_unit": placing.unit,
            "axes": placing.axes_said,
            "off": list(placing.off),
            "findings": [asdict(f) for f in made.findings],
        },
    )


def _placed(
    source: Source, answers: MeshAnswers, align: dict[str, tuple[str, Vec3]], tapes: list[Tape]
) -> tuple[Placing, list[Tape]]:
    """Unit and axes from the options, or asked for; never without an answer."""
    from routecut.survey.intake import axes_proposals, parse_tape, place, rows_of, unit_proposals

    if answers.mesh_unit and answers.mesh_unit not in UNIT_NAMES:
        raise OutOfRangeError(
            f"--mesh-unit is {shown(answers.mesh_unit)}; allowed is one of {', '.join(UNIT_NAMES)}"
        )
    if answers.axes and align:
        raise OutOfRangeError("--axes and --align are both given; one of them is wanted")
    axes, unit = answers.axes, answers.mesh_unit
    missing = []
    if not axes and not align:
        reason, *ways = axes_proposals(source)
        missing.append(
            f'which way it lies: {reason}. Type --axes "{ways[0]}"' + "".join(f' or "{w}"' for w in ways[1:])
        )
    if not tapes and not answers.untaped:
        missing.append(
            'a distance taken on the real vehicle: type --tape-check "length = 5410 mm" (or width, height, or two '
            "points of the file), or --untaped if there is none"
        )
    if not unit and not tapes:
        missing.append("its unit: type --mesh-unit. It would be " + "; ".join(unit_proposals(source)))
    if missing and not _is_asked():
        raise OutOfRangeError(
            f"{source.name} does not say, and nothing is guessed:\n"
            + "\n".join(f"  {line}" for line in missing)
        )
    if not axes and not align:
        note(f"\nWhich way does it lie? {reason}.")
        for way in ways:
            note(f"  {way}")
        axes = _until(lambda: typer.prompt("axes", err=True), lambda text: rows_of(text, {}))
    if not tapes and not answers.untaped:
        note(
            '\nA distance on the real vehicle: "length = 5410 mm", or width, height; empty if there is none yet.'
        )
        text = _until(lambda: typer.prompt("tape", default="", show_default=False, err=True), _tape_or_none)
        tapes = [parse_tape(text)] if text else []
    if not unit and not tapes:
        note("\nWhat is its unit? " + "; ".join(unit_proposals(source)))
        unit = _until(lambda: typer.prompt("unit", err=True), _known_unit)
    placing = place(source, unit=unit, axes=axes, align=align, tapes=tapes)
    if not unit:
        note(f"the tape says that the unit of the file is {placing.unit}")
    return placing, tapes


def _tape_or_none(text: str) -> None:
    from routecut.survey.intake import parse_tape

    if text:
        parse_tape(text)


def _known_unit(text: str) -> None:
    if text not in UNIT_NAMES:
        raise OutOfRangeError(f"one of {', '.join(UNIT_NAMES)}")


def _until(ask: Callable[[], str], check: Callable[[str], object]) -> str:
    """Ask again until the answer can be used."""
    while True:
        text = ask().strip()
        try:
            check(text)
        except OutOfRangeError as error:
            note(f"  {error}")
        else:
            return text


def _is_asked() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()


def _boxes(answers: MeshAnswers, unit: str) -> Sequence[NamedBox]:
    """Boxes as they are typed, in the unit of the job and the vehicle's axes."""
    from routecut.survey.intake import parse_box

    if answers.split and answers.split not in SPLITS:
        raise OutOfRangeError(f"--split is {shown(answers.split)}; allowed is one of {', '.join(SPLITS)}")
    if answers.split == "boxes" and not answers.boxes:
        raise OutOfRangeError(
            '--split boxes needs boxes: --box "seat left = 2900,-700,400 to 3500,-100,1300"'
        )
    return [parse_box(text, unit) for text in answers.boxes]
