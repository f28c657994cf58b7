"""A mesh that nobody has described yet: its unit and axes, asked for and held against a tape.

Stage      survey, for a new job
Units      in: the file's own; out: m and ISO 4130 axes
Safe side  nothing is guessed: what is likely is proposed with the reason, and an answer is asked for; an
           answer that a tape distance speaks against is refused
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from routecut.errors import OutOfRangeError
from routecut.model.body import Floats, Ints
from routecut.model.job import Vec3
from routecut.model.vehicle import WHOLE
from routecut.plain import shown
from routecut.survey.axes import parse_axes
from routecut.survey.mesh import LARGEST_M, SMALLEST_M
from routecut.survey.mesh_files import mesh_bytes, read_mesh_bytes
from routecut.survey.mesh_raw import MeshFileError, RawMesh
from routecut.units import UNIT_NAMES, parse_length, plain_number, to_m

ALIGN: Final = ("front", "rear", "right")
AGREES: Final = 0.05
"""A tape distance and the mesh agree on a unit when they differ by less than this share: the next unit is
off by a factor of 2.54 at least."""

_MIRRORED: Final = 3000
_STANDARD_M: Final = {".glb": "glTF files are in metres by their standard, with y up"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Source:
    """A mesh file as it came.

    Attributes
    ----------
    name : str
    raw : bytes
    mesh : RawMesh
    points : (n, 3) float64
        All corners of faces. [file unit]
    """

    name: str
    raw: bytes
    mesh: RawMesh
    points: Floats

    @property
    def size(self) -> Floats:
        """Along the file's own axes, (3,). [file unit]"""
        return np.asarray(np.ptp(self.points, axis=0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """A distance taken on the real vehicle: between two points of the file, or of the whole vehicle.

    `ends` are in the file's unit and axes; `whole` is a key of `WHOLE`. [m]
    """

    distance_m: float
    ends: tuple[Vec3, Vec3] | None = None
    whole: str = ""

    def __str__(self) -> str:
        return self.whole if self.ends is None else " to ".join(map(_said, self.ends))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placing:
    """How a file becomes a body: metres of its unit, rows of the rotation, then where its origin comes to lie.

    `off` says by what share the mesh is larger than each tape says; `pointed`, that y = 0 is the line that was
    pointed at, not the middle of the mesh.
    """

    unit: str
    rows: Floats
    origin_m: Floats
    off: tuple[float, ...] = ()
    axes_said: str = ""
    pointed: bool = False

    def placed(self, points: Floats) -> Floats:
        """Points of the file in the vehicle's axes, (n, 3). [m]"""
        return np.asarray(points * to_m(1.0, self.unit) @ self.rows.T - self.origin_m)


def read_source(file: Path) -> Source:
    """Read a mesh file without taking anything for granted.

    Raises
    ------
    MeshFileError
        It can't be used; the message says why.
    """
    try:
        raw = mesh_bytes(file)
        mesh = read_mesh_bytes(raw, file.suffix.lower())
    except MeshFileError as error:
        raise MeshFileError(f"{file}: the mesh can't be used: {error}") from None
    except OSError as error:
        raise MeshFileError(f"{file}: the mesh can't be read: {error.strerror or error}") from None
    points = np.concatenate([part.vertices[np.unique(part.faces)] for part in mesh.parts if len(part.faces)])
    return Source(name=file.name, raw=raw, mesh=mesh, points=points)


# --- proposals -------------------------------------------------------------------------


def unit_proposals(source: Source) -> tuple[str, ...]:
    """What the mesh would be in each unit, likely ones first; one line each, and why."""
    size = np.sort(source.size)[::-1]
    lines = []
    for unit in UNIT_NAMES:
        in_m = size * to_m(1.0, unit)
        likely = 1.5 <= in_m[0] <= 20.0 and float(np.linalg.norm(in_m)) <= LARGEST_M
        text = " x ".join(f"{v:.3g}" for v in in_m)
        lines.append((not likely, f"{unit}: {text} m, {'a vehicle' if likely else 'no vehicle'}"))
    if source.mesh.metres_per_unit is not None:
        lines.append((False, f"the file itself says: its unit is {source.mesh.metres_per_unit:g} m"))
    standard = _STANDARD_M.get(Path(source.name).suffix.lower())
    if standard:
        lines.append((False, standard))
    return tuple(text for _, text in sorted(lines, key=lambda line: line[0]))


def axes_proposals(source: Source) -> tuple[str, ...]:
    """Two statements about the axes, one for each way the vehicle may face, and the reason before them."""
    points = source.points[:: max(1, len(source.points) // _MIRRORED)]
    middle = (source.points.min(axis=0) + source.points.max(axis=0)) / 2
    tree = cKDTree(points)
    unlike = []
    for axis in range(3):
        other = points.copy()
        other[:, axis] = 2 * middle[axis] - other[:, axis]
        unlike.append(float(np.mean(tree.query(other)[0])))
    across = int(np.argmin(unlike))
    along = max((k for k in range(3) if k != across), key=lambda k: float(source.size[k]))
    (up,) = {0, 1, 2} - {across, along}
    if source.mesh.up:
        said = "xyz".index(source.mesh.up)
        if said not in (up, across):
            along, up = up, said
    names = "xyz"
    reason = (
        f"both halves are most alike across {names[across]}, it is longest along {names[along]}, so {names[up]} "
        "goes up or down; which end is the front nothing tells"
    )
    found = []
    for facing in ("rear", "front"):
        for side in ("right", "left"):
            text = ", ".join(
                f"+{names[k]} {word}" for k, word in sorted({across: side, along: facing, up: "up"}.items())
            )
            try:
                parse_axes(text)
            except OutOfRangeError:
                continue
            found.append(text)
    return (reason, *found)


# --- what is asked ---------------------------------------------------------------------


def parse_tape(text: str) -> Tape:
    """A tape distance as it is typed.

    Raises
    ------
    OutOfRangeError
        It is none; the message says what is wanted.

    Examples
    --------
    >>> parse_tape("length = 5410 mm").distance_m
    5.41
    >>> parse_tape("0,0,0 to 100,0,0 = 100 in").ends
    ((0.0, 0.0, 0.0), (100.0, 0.0, 0.0))
    """
    where, equals, distance = text.rpartition("=")
    try:
        length = parse_length(distance)
    except OutOfRangeError as error:
        raise OutOfRangeError(f"tape check {shown(text)}: {error}") from None
    where = where.strip()
    if equals and length > 0:
        if where in WHOLE:
            return Tape(distance_m=length, whole=where)
        ends = [_point(part) for part in re.split(r"\s+to\s+", where)]
        if len(ends) == 2 and ends[0] is not None and ends[1] is not None and ends[0] != ends[1]:
            return Tape(distance_m=length, ends=(ends[0], ends[1]))
    raise OutOfRangeError(
        f'tape check {shown(text)} is not understood; wanted is "length = 5410 mm" (or width, height: of the whole '
        'vehicle), or "x,y,z to x,y,z = 2480 mm" with two points of the file'
    )


def parse_align(texts: Sequence[str]) -> dict[str, tuple[str, Vec3]]:
    """Three named points: ``front=x,y,z`` or ``front=tow eye@x,y,z``, and rear and right alike.

    Raises
    ------
    OutOfRangeError
        Not these three, each once.
    """
    found: dict[str, tuple[str, Vec3]] = {}
    for text in texts:
        key, _, rest = text.partition("=")
        name, at, place = rest.rpartition("@")
        point = _point(place)
        key = key.strip()
        if key not in ALIGN or point is None or key in found or (at and not name.strip()):
            raise OutOfRangeError(
                f"align {shown(text)} is not understood; wanted are {', '.join(f'{k}=x,y,z' for k in ALIGN)}, "
                "each once, in the file's unit and axes; front and rear on a line along the vehicle, right somewhere "
                'to its right. A name may stand before the place: "front=tow eye@x,y,z"'
            )
        found[key] = (name.strip() or f"{key} point", point)
    missing = [key for key in ALIGN if key not in found]
    if texts and missing:
        raise OutOfRangeError(
            f"align: {' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing"
        )
    return found


def _point(text: str) -> Vec3 | None:
    try:
        x, y, z = (plain_number(part) for part in text.split(","))
    except ValueError:  # not three
        return None
    return None if x is None or y is None or z is None else (x, y, z)


def _said(point: Vec3) -> str:
    return ",".join(f"{v:g}" for v in point)


# --- answers, held against the tape ----------------------------------------------------


def rows_of(axes: str, align: Mapping[str, tuple[str, Vec3]]) -> Floats:
    """The rotation that a statement about axes, or three points, stand for; rows, (3, 3).

    Raises
    ------
    OutOfRangeError
        The statement is none, or the points lie in one line.
    """
    if not align:
        return np.array(parse_axes(axes))
    front, rear, right = (np.array(align[key][1]) for key in ALIGN)
    rearward, aside = rear - front, right - front
    along = float(np.linalg.norm(rearward))
    if along == 0.0:
        raise OutOfRangeError("align: front and rear are the same point")
    rearward /= along
    aside -= (aside @ rearward) * rearward
    if float(np.linalg.norm(aside)) < 0.02 * along:
        raise OutOfRangeError("align: the three points lie nearly in one line; take one further to the right")
    aside /= np.linalg.norm(aside)
    return np.array([rearward, aside, np.cross(rearward, aside)])


def place(
    source: Source, *, unit: str, axes: str, align: Mapping[str, tuple[str, Vec3]], tapes: Sequence[Tape]
) -> Placing:
    """Unit and axes as answered, held against every tape distance.

    Parameters
    ----------
    source : Source
    unit : str
        Empty: found by the tape, which has to agree with one unit alone.
    axes, align
        One of them.
    tapes : sequence of Tape

    Raises
    ------
    OutOfRangeError
        They can't be true; the message says what the tape fits instead.
    """
    rows = rows_of(axes, align)
    turned = source.points @ rows.T
    low, high = turned.min(axis=0), turned.max(axis=0)
    sizes = [_in_file(tape, high - low) for tape in tapes]
    fitting = [
        name
        for name in UNIT_NAMES
        if sizes
        and all(
            abs(size * to_m(1.0, name) / t.distance_m - 1) < AGREES
            for size, t in zip(sizes, tapes, strict=True)
        )
    ]
    told = "; ".join(
        f"{tape}: the tape says {tape.distance_m:.4g} m, the file {size:.6g} of its units"
        for tape, size in zip(tapes, sizes, strict=True)
    )
    if not unit:
        if len(fitting) != 1:
            raise OutOfRangeError(
                f"the tape fits no unit within {AGREES:.0%}. {told}. Measure again, or check the axes"
            )
        unit = fitting[0]
    elif tapes and unit not in fitting:
        instead = (
            f"; it would fit {fitting[0]}"
            if fitting
            else "; it fits no unit: measure again, or check the axes"
        )
        raise OutOfRangeError(f"unit {unit} and the tape disagree. {told}{instead}")
    in_m = to_m(1.0, unit)
    diagonal = float(np.linalg.norm(high - low)) * in_m
    if not SMALLEST_M <= diagonal <= LARGEST_M:
        raise OutOfRangeError(
            f"in {unit} it is {diagonal:.3g} m from corner to corner; a vehicle has {SMALLEST_M:g} to {LARGEST_M:g} m"
        )
    # the foremost point at x = 0, the lowest at z = 0; the middle at y = 0, or the line that was pointed at
    middle = (rows @ np.array(align["front"][1]))[1] if align else (low[1] + high[1]) / 2
    return Placing(
        unit=unit,
        rows=rows,
        origin_m=np.array([low[0], middle, low[2]]) * in_m,
        off=tuple(size * in_m / tape.distance_m - 1 for size, tape in zip(sizes, tapes, strict=True)),
        axes_said=axes or "three points: front, rear, right",
        pointed=bool(align),
    )


def _in_file(tape: Tape, size: Floats) -> float:
    if tape.ends is None:
        return float(size[WHOLE[tape.whole]])
    return float(np.linalg.norm(np.subtract(*tape.ends)))


# --- parts -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedBox:
    """Faces whose middle lies in it become a part of that name. [m], vehicle axes."""

    name: str
    low_m: Vec3
    high_m: Vec3


def parse_box(text: str, unit: str) -> NamedBox:
    """A box with a name as it is typed, in a unit.

    Raises
    ------
    OutOfRangeError
        It is none.

    Examples
    --------
    >>> parse_box("seat = 1,2,3 to 4,5,6", "m").high_m
    (4.0, 5.0, 6.0)
    """
    name, _, corners = text.partition("=")
    ends = [_point(part) for part in re.split(r"\s+to\s+", corners.strip())]
    if name.strip() and len(ends) == 2 and ends[0] is not None and ends[1] is not None:
        low, high = np.sort(np.array(ends) * to_m(1.0, unit), axis=0).tolist()
        return NamedBox(name=name.strip(), low_m=(low[0], low[1], low[2]), high_m=(high[0], high[1], high[2]))
    raise OutOfRangeError(
        f'box {shown(text)} is not understood; wanted is "seat left = 2900,-700,400 to 3500,-100,1300": a name, and '
        "two corners in the job's unit, x rear, y right, z up"
    )


def whole_mesh(source: Source, placing: Placing) -> tuple[Floats, Ints, Ints, list[str]]:
    """All parts together: points [m], faces, the part of each face, the names of the parts."""
    starts = np.cumsum([0, *(len(part.vertices) for part in source.mesh.parts)])
    points = placing.placed(np.concatenate([part.vertices for part in source.mesh.parts]))
    faces = np.concatenate([p.faces + s for p, s in zip(source.mesh.parts, starts, strict=False)])
    number = np.repeat(np.arange(len(source.mesh.parts)), [len(part.faces) for part in source.mesh.parts])
    return points, faces, number, [part.name or "body" for part in source.mesh.parts]
