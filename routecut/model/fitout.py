"""What is fitted into a vehicle: devices and their ports, cables and their types, stock.

Stage      part of the job (`routecut.model.job`)
Units      m, A, MHz, dB
Source     the job format in `docs/job-format.md`
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from routecut.model.vehicle import Position, Vec3


class CableClass(StrEnum):
    """What a cable carries; rules on company and separation go by class."""

    POWER = "power"
    BOND = "bond"
    COAX = "coax"
    CONTROL = "control"
    AUDIO = "audio"
    DATA = "data"


class Polarity(StrEnum):
    """Which way a power cable belongs: out from the battery, or back to it."""

    POSITIVE = "positive"
    NEGATIVE = "negative"


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
    travel_m : float
        How far it moves with what it is fixed to: a seat, a tilting bracket. [m]
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
    travel_m: float = 0.0

    @property
    def full_name(self) -> str:
        """``device.port``, as cables refer to it."""
        return f"{self.device}.{self.name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A box, an antenna, a battery: something with ports.

    `equipment` names what of the catalogue it is.
    `pulls_out_m` is how far it comes out of its place, from the front, to be worked on: its
    connectors come with it. 0: it is worked on where it sits; None: the job does not say. [m]
    """

    name: str
    position: Position
    space: str
    kind: str = ""
    serviceable: bool = False
    pulls_out_m: float | None = None
    ports: tuple[Port, ...] = ()
    equipment: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a power cable has to carry. Currents in A, drop in per cent.

    `fuse_amps` is the fuse the maker of the load asks for; None for the one that goes with
    its currents.
    """

    amps: float
    peak_amps: float = 0.0
    max_drop_percent: float | None = None
    fuse_amps: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """What a coax cable has to carry. Frequency in MHz, loss in dB, transmitter in W.

    `half_wave` asks for a cut that is a whole number of half waves in the cable.
    """

    mhz: float
    max_loss_db: float | None = None
    watts: float | None = None
    half_wave: bool = False


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
    conductor : str
        Wire: standard and size of its conductor, a key of the wire tables.
    conductor_mm2 : float or None
        Wire of the job's own: copper area. [mm2]
    attenuation : tuple of (float, float)
        Coax of the job's own: points of frequency and loss. [MHz], [dB/100 m]
    power_rating : tuple of (float, float)
        Coax: points of frequency and of the power its data sheet allows. [MHz], [W]
    velocity_factor : float or None
        Coax of the job's own: speed in it over that of light. [-]
    """

    name: str
    cable_class: CableClass
    diameter_m: float
    min_bend_radius_m: float
    max_length_m: float | None = None
    description: str = ""
    source: str = ""
    conductor: str = ""
    conductor_mm2: float | None = None
    attenuation: tuple[tuple[float, float], ...] = ()
    power_rating: tuple[tuple[float, float], ...] = ()
    velocity_factor: float | None = None


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
    polarity : Polarity or None
        Power: said by the job; None to be told from the names of its ends.
    sheathed : bool
        Power: in a sheath or an enclosure from the battery to its fuse.
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
    polarity: Polarity | None = None
    sheathed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What can be bought or lies on the shelf: ready-made lengths or a reel. [m]

    With a `quantity` so many lie on the shelf, and more can be bought if there is a `price`;
    without, any number can be bought.
    """

    type: str
    lengths_m: tuple[float, ...] = ()
    reel_m: float | None = None
    price: float | None = None
    quantity: int | None = None
