"""The vehicle as the installer described it: mesh file, surfaces, spaces, keep-outs, holes.

Stage      part of the job (`routecut.model.job`)
Units      m; positions in ISO 4130 axes (X rearward, Y right, Z up)
Source     the job format in `docs/job-format.md`
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

Vec3 = tuple[float, float, float]


def vec3(values: Iterable[float], decimals: int | None = None) -> Vec3:
    """Three numbers, of an array or whatever, as a point of the model; rounded where that is asked.

    Examples
    --------
    >>> vec3([1, 2.006, 3], 2)
    (1.0, 2.01, 3.0)
    """
    x, y, z = (float(v) if decimals is None else round(float(v), decimals) for v in values)
    return (x, y, z)


ANY: Final = "*"
"""In a list of classes or part globs: all of them."""


class SurfaceKind(StrEnum):
    """What a named part of the mesh is to a cable."""

    PANEL = "panel"
    TRIM = "trim"
    OBSTACLE = "obstacle"
    IGNORE = "ignore"


class Access(StrEnum):
    """What it takes to reach a connector in a space later."""

    OPEN = "open"
    TRIM = "trim"
    SEALED = "sealed"


class Exposure(StrEnum):
    """What a space does to a cable."""

    DRY = "dry"
    WET = "wet"
    HOT = "hot"
    STONES = "stones"


class HoleState(StrEnum):
    """Whether a pass-through is there or would have to be drilled."""

    EXISTING = "existing"
    CANDIDATE = "candidate"
    FOUND = "found"


class Reason(StrEnum):
    """Why a keep-out is kept out of; picks the caution that is printed."""

    HOT = "hot"
    MOVING = "moving"
    FUEL = "fuel"
    AIRBAG = "airbag"
    HIGH_VOLTAGE = "high-voltage"
    SHARP = "sharp"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """A point of the vehicle and how it is known.

    Attributes
    ----------
    at_m : Vec3
        The point. [m]
    taped : bool
        Computed from tape distances rather than given.
    residual_m : float
        Root mean square of the tape residuals; 0 when given by coordinates. [m]
    snap : bool
        To be moved onto the nearest surface once the mesh is read.
    snapped_m : float
        How far it was moved; 0 before or without snapping. [m]
    """

    at_m: Vec3
    taped: bool = False
    residual_m: float = 0.0
    snap: bool = False
    snapped_m: float = 0.0


WHOLE: Final = {"length": 0, "width": 1, "height": 2}
"""Sizes of the whole vehicle and the axis each lies along."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeCheck:
    """A distance taken on the real vehicle between two landmarks, or its length, width or height. [m]

    `of` is empty between landmarks; else one of `WHOLE`, and the landmarks are empty.
    """

    from_landmark: str
    to_landmark: str
    distance_m: float
    of: str = ""

    @property
    def words(self) -> str:
        """What was measured."""
        return self.of or f"from {self.from_landmark!r} to {self.to_landmark!r}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A part of the mesh that may be longer or shorter than the real vehicle, along one axis.

    Attributes
    ----------
    axis : int
        0 for x, 1 for y, 2 for z.
    low_m, high_m : Vec3
        The box in which it holds. [m]
    error_m : float
        One sigma of its size along the axis, over the whole box. [m]
    measured : bool
        Measured on the real vehicle, not guessed.
    measure : str
        What to measure to know it better, in words; empty where the job does not say.
    """

    name: str
    axis: int
    low_m: Vec3
    high_m: Vec3
    error_m: float
    measured: bool = False
    measure: str = ""

    @property
    def size_m(self) -> float:
        """How long it is along its axis. [m]"""
        return self.high_m[self.axis] - self.low_m[self.axis]


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """The mesh file and how far it can be trusted.

    Attributes
    ----------
    mesh : str
        Path relative to the job folder.
    mesh_unit : str
        Unit of the mesh file: mm, cm, m, in or ft.
    axes : tuple of Vec3
        Rows of the rotation that takes file coordinates to ISO 4130 axes; shape (3, 3).
        It applies to the mesh file alone: positions in the job are ISO 4130 already.
    axes_text : str
        As written.
    scan_error : float
        One-sigma scale error of the mesh as a fraction (0.005 for 0.5 %). [-]
    noise_m : float
        One sigma of the noise of the mesh, once it is read (`Body.noise_m`). [m]
    point_error_m : float
        One-sigma error of a point given in the job. [m]
    rescale : bool
        Rescale the mesh by the tape checks.
    mesh_scale : float
        What the tape checks made of it: the mesh is multiplied by this once more when it
        is read; points given by coordinates already are. 1 without rescaling. [-]
    sections : tuple of Section
        Parts of the mesh known less well, or better, than its scale.
    """

    mesh: str
    mesh_unit: str
    axes: tuple[Vec3, Vec3, Vec3]
    axes_text: str
    scan_error: float = 0.0
    noise_m: float = 0.0
    point_error_m: float = 0.0
    tape_checks: tuple[TapeCheck, ...] = ()
    rescale: bool = False
    mesh_scale: float = 1.0
    sections: tuple[Section, ...] = ()

    @property
    def worst_scale_error(self) -> float:
        """One sigma of the scale where the mesh is known least, for what is placed by it. [-]"""
        worst = max((s.error_m / s.size_m for s in self.sections), default=0.0)
        return math.hypot(self.scan_error, worst)


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceRule:
    """What the parts whose names match a glob are; the first match wins.

    `after` are globs of trim that has to be off before these parts come off.
    """

    part: str
    kind: SurfaceKind
    material: str = ""
    thickness_m: float = 0.0
    drill: bool = False
    removal_minutes: float = 0.0
    after: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """An axis-parallel box, `low_m` below `high_m` on every axis. [m]"""

    low_m: Vec3
    high_m: Vec3

    def holds(self, point_m: Collection[float], grown_m: float = 0.0) -> bool:
        """Whether a point lies in it, grown by a margin on every side. [m]"""
        return all(
            low - grown_m <= v <= high + grown_m
            for v, low, high in zip(point_m, self.low_m, self.high_m, strict=True)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Capsule:
    """All points within `radius_m` of a line. [m]"""

    from_m: Vec3
    to_m: Vec3
    radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sphere:
    """All points within `radius_m` of a point. [m]"""

    at_m: Vec3
    radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartShape:
    """The faces of the mesh parts whose names match a glob."""

    part: str


Shape = Box | Capsule | Sphere | PartShape


@dataclass(frozen=True, slots=True, kw_only=True)
class Space:
    """A volume of the vehicle; a cable changes space only at a pass-through.

    A point belongs to the first space listed that holds it. `open_to` names spaces with
    no panel between; it holds both ways whichever of the two says so. `seed_m` is the
    middle of the first box unless `seed_given`.
    """

    name: str
    boxes: tuple[Box, ...]
    seed_m: Vec3
    seed_given: bool = False
    exposure: tuple[Exposure, ...] = (Exposure.DRY,)
    access: Access = Access.OPEN
    open_to: tuple[str, ...] = ()

    def holds(self, point_m: Collection[float], grown_m: float = 0.0) -> bool:
        """Whether a point lies in one of its boxes, each grown by a margin. [m]"""
        return any(box.holds(point_m, grown_m) for box in self.boxes)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepOut:
    """A shape no cable of the named classes may come nearer to than `clearance_m`.

    `sweep_m` moves the shape along a vector: everything it passes is kept out of. One that is
    not `confirmed` nobody has looked for on the real vehicle.
    """

    name: str
    shape: Shape
    clearance_m: float = 0.0
    reason: Reason = Reason.OTHER
    sweep_m: Vec3 = (0.0, 0.0, 0.0)
    applies_to: tuple[str, ...] = (ANY,)
    confirmed: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseSource:
    """A line some classes should not run alongside closer than `separation_m`."""

    name: str
    line_m: tuple[Vec3, ...]
    separation_m: float
    applies_to: tuple[str, ...] = (ANY,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hinge:
    """A line of movement: a cable that crosses it gets a loop."""

    name: str
    line_m: tuple[Vec3, Vec3]


@dataclass(frozen=True, slots=True, kw_only=True)
class Landmark:
    """A point that is easy to find on the real vehicle."""

    name: str
    position: Position


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """An opening in a sheet that is there on the real vehicle: cables of one space may go through it."""

    name: str
    position: Position


@dataclass(frozen=True, slots=True, kw_only=True)
class PassThrough:
    """A place where a cable may go through metal.

    Attributes
    ----------
    axis : Vec3
        Unit vector along the hole.
    diameter_m : float
        Clear hole. [m]
    depth_m : float
        How far the passage reaches along its axis; 0 for a single sheet. [m]
    joins : (str, str)
        The two spaces.
    classes : tuple of str
        Cable classes that may use it; ``("*",)`` for all.
    in_use_m : float
        Diameter already taken by other cables. [m]
    grommet : bool or None
        Whether there is one in the hole; None where the job says nothing (see `has_grommet`).
    confirmed : bool
        Somebody has seen it on the real vehicle.
    """

    name: str
    position: Position
    axis: Vec3
    diameter_m: float
    state: HoleState
    joins: tuple[str, str]
    depth_m: float = 0.0
    classes: tuple[str, ...] = (ANY,)
    in_use_m: float = 0.0
    grommet: bool | None = None
    confirmed: bool = True

    @property
    def has_grommet(self) -> bool:
        """A hole that is there is taken to have its grommet unless the job says otherwise."""
        return self.state is HoleState.EXISTING if self.grommet is None else self.grommet
