"""The job as the installer described it, checked and converted.

Stage      made by `routecut.survey`, read by every later stage, changed by none
Units      m, kg-free; positions in ISO 4130 axes (X rearward, Y right, Z up)
Source     the job format in `docs/job-format.md`
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Final

Vec3 = tuple[float, float, float]

ANY: Final = "*"
"""In a list of classes or part globs: all of them."""


class SurfaceKind(StrEnum):
    """What a named part of the mesh is to a cable."""

    PANEL = "panel"
    TRIM = "trim"
    OBSTACLE = "obstacle"
    IGNORE = "ignore"


class CableClass(StrEnum):
    """What a cable carries; rules on company and separation go by class."""

    POWER = "power"
    BOND = "bond"
    COAX = "coax"
    CONTROL = "control"
    AUDIO = "audio"
    DATA = "data"


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


class MadeUp(StrEnum):
    """Where an end gets its connector."""

    BENCH = "bench"
    IN_VEHICLE = "in vehicle"


class Surplus(StrEnum):
    """Where spare length may go."""

    TRIM = "trim"
    COIL = "coil"
    FOLD = "fold"


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


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeCheck:
    """A distance taken on the real vehicle between two landmarks. [m]"""

    from_landmark: str
    to_landmark: str
    distance_m: float


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
    point_error_m : float
        One-sigma error of a point given in the job. [m]
    rescale : bool
        Rescale the mesh by the tape checks.
    mesh_scale : float
        What the tape checks made of it: the mesh is multiplied by this once more when it
        is read; points given by coordinates already are. 1 without rescaling. [-]
    """

    mesh: str
    mesh_unit: str
    axes: tuple[Vec3, Vec3, Vec3]
    axes_text: str
    scan_error: float = 0.0
    point_error_m: float = 0.0
    tape_checks: tuple[TapeCheck, ...] = ()
    rescale: bool = False
    mesh_scale: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceRule:
    """What the parts whose names match a glob are; the first match wins."""

    part: str
    kind: SurfaceKind
    material: str = ""
    thickness_m: float = 0.0
    drill: bool = False
    removal_minutes: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """An axis-parallel box, `low_m` below `high_m` on every axis. [m]"""

    low_m: Vec3
    high_m: Vec3


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


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepOut:
    """A shape no cable of the named classes may come nearer to than `clearance_m`.

    `sweep_m` moves the shape along a vector: everything it passes is kept out of.
    """

    name: str
    shape: Shape
    clearance_m: float = 0.0
    reason: Reason = Reason.OTHER
    sweep_m: Vec3 = (0.0, 0.0, 0.0)
    applies_to: tuple[str, ...] = (ANY,)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """A connector of a device: where a cable ends.

    Attributes
    ----------
    device : str
        The device it belongs to.
    position : Position
        Where it is (an `offset` in the job is already added).
    leaves : Vec3 or None
        Unit vector: the way the cable leaves.
    service_loop_m : float
        Slack kept here. [m]
    length_used_by_termination_m : float
        Conductor used up by one termination. [m]
    connector_diameter_m : float
        What must pass the holes when this end is made up on the bench; 0 unknown. [m]
    offset_m : Vec3 or None
        From the device's own position, when the job gives it that way: such a port moves
        with its device. [m]
    """

    device: str
    name: str
    position: Position
    leaves: Vec3 | None = None
    service_loop_m: float = 0.0
    termination: str = ""
    length_used_by_termination_m: float = 0.0
    connector_diameter_m: float = 0.0
    made_up: MadeUp = MadeUp.IN_VEHICLE
    offset_m: Vec3 | None = None

    @property
    def full_name(self) -> str:
        """``device.port``, as cables refer to it."""
        return f"{self.device}.{self.name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A box, an antenna, a battery: something with ports."""

    name: str
    position: Position
    space: str
    kind: str = ""
    serviceable: bool = False
    ports: tuple[Port, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a power cable has to carry. Currents in A, drop in per cent."""

    amps: float
    peak_amps: float = 0.0
    max_drop_percent: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """What a coax cable has to carry. Frequency in MHz, loss in dB."""

    mhz: float
    max_loss_db: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A stretch measured with a string: replaces the computed length there. [m]

    `from_name` and `to_name` are a port (``device.port``) or a pass-through.
    """

    from_name: str
    to_name: str
    length_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CableType:
    """A kind of cable that can be bought.

    Attributes
    ----------
    diameter_m : float
        Over the jacket. [m]
    min_bend_radius_m : float
        Tightest bend allowed, to the middle of the cable. [m]
    max_length_m : float or None
        Longest run the maker allows. [m]
    source : str
        Where the figures come from.
    """

    name: str
    cable_class: CableClass
    diameter_m: float
    min_bend_radius_m: float
    max_length_m: float | None = None
    description: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable:
    """A cable to be run from one port to another.

    Attributes
    ----------
    from_port, to_port : str
        ``device.port``.
    type : CableType
        As given, or the one assumed (see `type_assumed`).
    type_assumed : bool
        The job names no type: the thickest catalogue entry of the class stands in, so
        that a route found for it holds for any thinner cable.
    through, avoid : tuple of str
        Pass-throughs it must use, in order; pass-throughs it must not use.
    ready_made : bool
        Comes only in stock lengths.
    surplus : Surplus or None
        Where spare length may go; None for the class's default.
    """

    name: str
    from_port: str
    to_port: str
    cable_class: CableClass
    type: CableType
    type_assumed: bool = False
    load: Load | None = None
    signal: Signal | None = None
    through: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    ready_made: bool = False
    measured: tuple[Measured, ...] = ()
    surplus: Surplus | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What can be bought or lies on the shelf: ready-made lengths or a reel. [m]"""

    type: str
    lengths_m: tuple[float, ...] = ()
    reel_m: float | None = None
    price: float | None = None
    quantity: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Routing:
    """How cables are laid. [m]

    `stand_off_m` is from the sheet to the middle of the cable; `bridge_m` is the longest
    stretch in free air, 0 forbids it.
    """

    stand_off_m: float = 0.012
    bridge_m: float = 0.450
    node_spacing_m: float = 0.060


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """The named set of limits and the limits the user has set over it."""

    profile: str = "common practice"
    limits: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthPractice:
    """Shop practice for cut lengths; every figure is printed where it is used. [m]"""

    lay: float = 0.03
    confidence: float = 0.95
    round_up_to_m: float = 0.050
    drip_loop_m: float = 0.075
    hinge_loop_m: float = 0.150


@dataclass(frozen=True, slots=True, kw_only=True)
class Drilling:
    """What a hole costs and what it needs. [m]; edge distance in hole diameters."""

    hole_cost_m: float = 2.0
    edge_distance_diameters: float = 2.0
    behind_m: float = 0.040


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One vehicle, one fit-out."""

    folder: Path
    title: str
    length_unit: str
    vehicle: Vehicle
    surfaces: tuple[SurfaceRule, ...] = ()
    spaces: tuple[Space, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    noise_sources: tuple[NoiseSource, ...] = ()
    hinges: tuple[Hinge, ...] = ()
    landmarks: tuple[Landmark, ...] = ()
    pass_throughs: tuple[PassThrough, ...] = ()
    devices: tuple[Device, ...] = ()
    cables: tuple[Cable, ...] = ()
    cable_types: tuple[CableType, ...] = ()
    stock: tuple[Stock, ...] = ()
    routing: Routing = field(default_factory=Routing)
    rules: Rules = field(default_factory=Rules)
    lengths: LengthPractice = field(default_factory=LengthPractice)
    drilling: Drilling = field(default_factory=Drilling)

    def port(self, full_name: str) -> Port:
        """The port called ``device.port``; KeyError when there is none."""
        for device in self.devices:
            for port in device.ports:
                if port.full_name == full_name:
                    return port
        raise KeyError(full_name)

    def device_of(self, full_name: str) -> Device:
        """The device that holds the port called ``device.port``; KeyError when none does."""
        for device in self.devices:
            if any(port.full_name == full_name for port in device.ports):
                return device
        raise KeyError(full_name)

    def space(self, name: str) -> Space:
        """The space of that name; KeyError when there is none."""
        for space in self.spaces:
            if space.name == name:
                return space
        raise KeyError(name)
