"""The job as the installer described it, checked and converted.

Stage      made by `routecut.survey`, read by every later stage, changed by none
Units      m, kg-free; positions in ISO 4130 axes (X rearward, Y right, Z up)
Source     the job format in `docs/job-format.md`

The vehicle is described in `routecut.model.vehicle`, what is fitted into it in
`routecut.model.fitout`; users import all of it from here.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from routecut.model.fitout import (
    Cable,
    CableClass,
    CableType,
    Device,
    Load,
    MadeUp,
    Measured,
    Polarity,
    Port,
    Signal,
    Stock,
    Surplus,
)
from routecut.model.vehicle import (
    ANY,
    Access,
    Box,
    Capsule,
    Exposure,
    Hinge,
    HoleState,
    KeepOut,
    Landmark,
    NoiseSource,
    Opening,
    PartShape,
    PassThrough,
    Position,
    Reason,
    Section,
    Shape,
    Space,
    Sphere,
    SurfaceKind,
    SurfaceRule,
    TapeCheck,
    Vec3,
    Vehicle,
    vec3,
)

__all__ = [
    "ANY",
    "Access",
    "Box",
    "Cable",
    "CableClass",
    "CableType",
    "Capsule",
    "Device",
    "Drilling",
    "Exposure",
    "Hinge",
    "HoleState",
    "Job",
    "KeepOut",
    "Landmark",
    "LengthPractice",
    "Load",
    "MadeUp",
    "Measured",
    "NoiseSource",
    "Opening",
    "PartShape",
    "PassThrough",
    "Polarity",
    "Port",
    "Position",
    "Reason",
    "Routing",
    "Rules",
    "Section",
    "ServicePractice",
    "Shape",
    "Signal",
    "Space",
    "Sphere",
    "Stock",
    "SurfaceKind",
    "SurfaceRule",
    "Surplus",
    "TapeCheck",
    "Vec3",
    "Vehicle",
    "vec3",
]


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
    """Shop practice for cut lengths; every figure is printed where it is used. [m]

    Attributes
    ----------
    lay_error : float or None
        One-sigma error of `lay`; None for a third of it (see `lay_sigma`).
    defaults : str
        The shop's own file that stands in for what the job does not say itself; empty for none.
    cut_loss_m : float
        Lost at each cut off a reel: the end trimmed square. [m]
    end_waste_m : float
        Of each reel: what is spoiled or can't be reached at its end. [m]
    useful_offcut_m : float
        A rest of a reel this long is kept, a shorter one is waste. [m]
    """

    lay: float = 0.03
    confidence: float = 0.95
    round_up_to_m: float = 0.050
    drip_loop_m: float = 0.075
    hinge_loop_m: float = 0.150
    lay_error: float | None = None
    defaults: str = ""
    cut_loss_m: float = 0.005
    end_waste_m: float = 0.050
    useful_offcut_m: float = 0.500

    @property
    def lay_sigma(self) -> float:
        """One-sigma error of `lay`, as a share of the route."""
        return self.lay / 3.0 if self.lay_error is None else self.lay_error


@dataclass(frozen=True, slots=True, kw_only=True)
class Drilling:
    """What a hole costs and what it needs. [m]; edge distance in hole diameters.

    `apart` names classes no two of which may share a hole; `metre_cost` says what a metre of
    a class costs beside a metre of the others, 1 where it says nothing.
    """

    hole_cost_m: float = 2.0
    edge_distance_diameters: float = 2.0
    behind_m: float = 0.040
    apart: tuple[str, ...] = ()
    metre_cost: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ServicePractice:
    """What service may take: minutes of trim to a connector or a joint, loop at a serviceable device. [min], [m]"""

    minutes: float = 30.0
    loop_m: float = 0.150


@dataclass(frozen=True, kw_only=True)  # without slots: it keeps its ports by name
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
    openings: tuple[Opening, ...] = ()
    pass_throughs: tuple[PassThrough, ...] = ()
    devices: tuple[Device, ...] = ()
    cables: tuple[Cable, ...] = ()
    cable_types: tuple[CableType, ...] = ()
    stock: tuple[Stock, ...] = ()
    routing: Routing = field(default_factory=Routing)
    rules: Rules = field(default_factory=Rules)
    lengths: LengthPractice = field(default_factory=LengthPractice)
    drilling: Drilling = field(default_factory=Drilling)
    service: ServicePractice = field(default_factory=ServicePractice)

    def port(self, full_name: str) -> Port:
        """The port called ``device.port``; KeyError when there is none."""
        return self._by_port[full_name][1]

    def device_of(self, full_name: str) -> Device:
        """The device that holds the port called ``device.port``; KeyError when none does."""
        return self._by_port[full_name][0]

    @cached_property
    def _by_port(self) -> dict[str, tuple[Device, Port]]:
        """Asked very often; of two with one name the first listed."""
        found: dict[str, tuple[Device, Port]] = {}
        for device in self.devices:
            for port in device.ports:
                found.setdefault(port.full_name, (device, port))
        return found

    def space_at(self, point_m: Collection[float]) -> str:
        """The name of the first space listed that holds a point [m]; empty when none does."""
        return next((space.name for space in self.spaces if space.holds(point_m)), "")

    def space(self, name: str) -> Space:
        """The space of that name; KeyError when there is none."""
        for space in self.spaces:
            if space.name == name:
                return space
        raise KeyError(name)
