"""A new job round a mesh: the body, the file as it came, and a job.toml that says what is not known yet.

Stage      planning, before there is a job; uses the survey, writes nothing
Units      m inside; the job's unit in the text
"""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from routecut.errors import JobError
from routecut.model.body import Floats
from routecut.model.finding import Finding
from routecut.model.job import Vec3
from routecut.plain import plain
from routecut.survey import survey_job
from routecut.survey.free_air import Proposed, propose_spaces
from routecut.survey.intake import NamedBox, Placing, Source, Tape, whole_mesh
from routecut.survey.intake_parts import as_glb, clean, split_boxes, split_pieces
from routecut.units import DECIMALS, from_m

BODY: Final = "body.glb"
KEPT: Final = "source-"
"""The file as it came is kept under its name with this before it."""

OUTSIDE_M: Final = 0.5
"""So far round the body the space outside reaches. [m]"""

_SAME_PLACE_M: Final = 0.0005
_TAPED_PERCENT: Final = 0.5
_UNTAPED_PERCENT: Final = 2.0
_LATER: Final = (
    "",
    "# --- What else a plan needs: pick it on the body (routecut survey) or write it here ---",
    "# [[keep_out]]                   # exhaust, fuel, airbags, high voltage, whatever moves",
    "# [[pass_through]]               # every hole a cable may take, and the two spaces it joins",
    "# [[device]] with [[device.port]], and [[cable]] from port to port",
    "",
)
_AXES: Final = "+x rear, +y right, +z up"


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshJob:
    """Files of a new job, what was noticed of the mesh, and what to tell."""

    files: Mapping[str, bytes]
    findings: tuple[Finding, ...]
    said: tuple[str, ...]


def job_round_mesh(
    source: Source,
    placing: Placing,
    *,
    title: str,
    length_unit: str,
    tapes: Sequence[Tape] = (),
    align: Mapping[str, tuple[str, Vec3]] | None = None,
    split: str = "",
    boxes: Sequence[NamedBox] = (),
) -> MeshJob:
    """Make the files of a job round a mesh.

    Parameters
    ----------
    source, placing : Source, Placing
        The file, and how it becomes a body (`routecut.survey.intake.place`).
    title, length_unit : str
        Of the job.
    tapes : sequence of Tape
        Those that `placing` was held against.
    align : mapping, optional
        The three named points, if the mesh was turned by them.
    split : {"", "pieces", "boxes"}
        How parts are made; as the file has them when empty.
    boxes : sequence of NamedBox

    Raises
    ------
    JobError
        The mesh can't be planned on, for a reason its findings give.
    """
    mesh = clean(*whole_mesh(source, placing), file=source.name)
    if split == "pieces":
        mesh = split_pieces(mesh)
    if boxes:
        mesh = split_boxes(mesh, boxes)
    body, parts = as_glb(mesh)
    spaces = propose_spaces(mesh.vertices_m, mesh.faces)
    writer = _Writer(length_unit)
    low, high = mesh.vertices_m.min(axis=0), mesh.vertices_m.max(axis=0)
    text = "\n".join(
        [
            *_head(writer, source, placing, title=title, tapes=tapes),
            *_marks(writer, placing, tapes, align or {}),
            *_surfaces(parts),
            *_spaces(writer, spaces, low, high),
            *_LATER,
        ]
    )
    files = {BODY: body, KEPT + source.name: source.raw, "job.toml": text.encode("utf-8")}
    findings = (*mesh.findings, *_tried(files))
    size = high - low
    said = [
        f"{len(mesh.faces)} faces in {len(parts)} part{'' if len(parts) == 1 else 's'}, "
        + " x ".join(f"{v:.2f}" for v in size.tolist())
        + " m (length, width, height)",
        *(f"tape: {tape}: {_off_text(off)}" for tape, off in zip(tapes, placing.off, strict=True)),
        _counted_from(writer, placing),
        *([f"{mesh.specks} loose specks under 20 mm were left out"] if mesh.specks else []),
        f"{len(spaces)} space{'' if len(spaces) == 1 else 's'} proposed from the free air: check these",
        f"the file as it came is kept: {KEPT + source.name}",
    ]
    return MeshJob(files=files, findings=findings, said=tuple(said))


def _tried(files: Mapping[str, bytes]) -> tuple[Finding, ...]:
    """Read the new job as any other before it is anybody's.

    Raises
    ------
    JobError
    """
    with tempfile.TemporaryDirectory() as folder:
        for name in (BODY, "job.toml"):
            (Path(folder) / name).write_bytes(files[name])
        try:
            return survey_job(folder).findings
        except JobError as error:
            raise JobError(error.findings) from None


# --- the text --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Writer:
    unit: str

    def length(self, value_m: float) -> str:
        return f"{from_m(value_m, self.unit):.{DECIMALS[self.unit]}f}"

    def point(self, values: Sequence[float] | Floats) -> str:
        return "[" + ", ".join(self.length(float(v)) for v in values) + "]"


def _quoted(text: str) -> str:
    return json.dumps(plain(text), ensure_ascii=False)


def _counted_from(writer: _Writer, placing: Placing) -> str:
    """Where 0 lies, for whoever reads a place off the file and writes it into the job."""
    x, y, z = (writer.length(round(-v, 3) + 0.0) for v in placing.origin_m.tolist())  # no -0
    middle = "the line from front to rear" if placing.pointed else "its middle"
    moved = (
        "as in the file"
        if float(np.abs(placing.origin_m).max()) < _SAME_PLACE_M
        else f"places of the file, once turned, moved by {x}, {y}, {z} {writer.unit}"
    )
    return f"0 of x is the foremost point of the mesh, of y {middle}, of z its lowest point: {moved}"


def _off_text(off: float) -> str:
    if abs(off) < 0.0005:
        return "the mesh agrees"
    return f"the mesh is {abs(off) * 100:.1f} % {'larger' if off > 0 else 'smaller'}"


def _head(
    writer: _Writer, source: Source, placing: Placing, *, title: str, tapes: Sequence[Tape]
) -> list[str]:
    off = max((abs(v) for v in placing.off), default=None)
    percent = _UNTAPED_PERCENT if off is None else max(_TAPED_PERCENT, np.ceil(off * 1000) / 10)
    lines = [
        f"# Made by routecut new from {_quoted(source.name)}: its unit {placing.unit}, its axes {placing.axes_said}.",
        f"# SHA-256 of that file: {hashlib.sha256(source.raw).hexdigest()}",
        f"title = {_quoted(title)}",
        f"length_unit = {_quoted(writer.unit)}",
        "",
        "[vehicle]",
        f"mesh = {_quoted(BODY)}              # the file in metres, turned: x to the rear, y to the right, z up",
        'mesh_unit = "m"',
        f"axes = {_quoted(_AXES)}",
        f"# {_counted_from(writer, placing)}",
    ]
    for tape, one in zip(tapes, placing.off, strict=True):
        lines.append(f"# By tape, {tape}: {_off_text(one)}.")
    why = "no tape says how far it can be trusted" if off is None else "what the tape left, 0.5 at least"
    return [
        *lines,
        f"scan_error_percent = {percent:g}       # {why}",
        f"point_error = {writer.length(0.005)}                 # of a point or a tape distance given below",
        "# rescale = true               # fits the mesh to the tape checks; take some over long distances first",
    ]


def _marks(
    writer: _Writer, placing: Placing, tapes: Sequence[Tape], align: Mapping[str, tuple[str, Vec3]]
) -> list[str]:
    """Tape checks, and the landmarks that those between points and the alignment stand on."""
    checks, marks = [], []
    named = {point: name for name, point in align.values()}
    for number, tape in enumerate(tapes, start=1):
        if tape.ends is None:
            checks += [
                "[[vehicle.tape_check]]",
                f"of = {_quoted(tape.whole)}                  # of the whole vehicle, over everything in the mesh",
                f"distance = {writer.length(tape.distance_m)}",
            ]
            continue
        ends = [
            named.setdefault(end, f"tape {number}, {word} end")
            for end, word in zip(tape.ends, ("one", "other"), strict=True)
        ]
        checks += [
            "[[vehicle.tape_check]]",
            f"from = {_quoted(ends[0])}",
            f"to = {_quoted(ends[1])}",
            f"distance = {writer.length(tape.distance_m)}",
        ]
    for point, name in named.items():
        at = placing.placed(np.array([point]))[0]
        marks += ["[[landmark]]", f"name = {_quoted(name)}", f"at = {writer.point(at)}"]
    if marks:
        marks = ["", "# --- Landmarks: rename them by what is there ---", *marks]
    return [*checks, *marks]


def _surfaces(parts: Sequence[str]) -> list[str]:
    listed = ", ".join(_quoted(part) for part in parts[:20]) + (" and more" if len(parts) > 20 else "")
    return [
        "",
        "# --- What the parts of the mesh are; the first match wins ---",
        f"# Its parts: {listed}.",
        "# kind: panel (cables clip to it), trim (cables run behind it), obstacle (seats, tanks), ignore",
        "[[surface]]",
        'part = "*"',
        'kind = "panel"',
        'material = "steel"              # check this',
        "drill = false                  # true where a new hole may be proposed",
    ]


def _spaces(writer: _Writer, spaces: Sequence[Proposed], low: Floats, high: Floats) -> list[str]:
    lines = [
        "",
        "# --- Spaces: CHECK THESE. They are where the free air of the mesh is, not where somebody looked. ---",
        "# Give them their names, move each side to the real panel, say what is open to what.",
    ]
    for number, space in enumerate(spaces, start=1):
        lines += [
            "[[space]]",
            f'name = "space {number}"             # number {number} from the front, {space.air_m3:.1f} cubic metres',
            f"box = [{writer.point(space.low_m)}, {writer.point(space.high_m)}]",
            f"seed = {writer.point(space.seed_m)}",
            'exposure = ["dry"]              # dry, wet, hot, stones',
            'access = "open"                 # open, trim, sealed',
        ]
    return [
        *lines,
        "[[space]]",
        'name = "outside"                # everything else; always the last',
        f"box = [{writer.point(low - OUTSIDE_M)}, {writer.point(high + OUTSIDE_M)}]",
        f"seed = {writer.point([low[0] - OUTSIDE_M / 2, 0.0, (low[2] + high[2]) / 2])}",
        'exposure = ["wet"]',
    ]
