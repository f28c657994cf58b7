"""What it takes to get at things again: trim, places behind it, the least that has to come off.

Stage      made by `routecut.service` from finished routes and the body; read by documents
Units      m, minutes
Source     the job: `removal_minutes` and `after` of ``[[surface]]``, `access` of ``[[space]]``
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from routecut.model.body_work import Lies
from routecut.model.fault import FaultSearch
from routecut.model.one_more import HoleRoom, OneMore, SpareHole
from routecut.model.vehicle import Vec3

UNKNOWN_MINUTES: Final = 60.0
"""Trim of which nobody said how long it takes counts as this (common practice, no source). [min]"""


NEAR_KEEP_OUT_M: Final = 0.3
"""A cable nearer to a keep-out is in the way of work on what it stands for (common practice, no source). [m]"""


class PlaceKind(StrEnum):
    """What a hand may have to get at."""

    CONNECTOR = "connector"
    JOINT = "joint"
    FUSE = "fuse"
    HOLE = "hole"


class Room(StrEnum):
    """What fits the way to a place."""

    HAND = "hand"
    FINGERS = "fingers"
    GUESSED = "guessed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trim:
    """A piece of trim that comes off.

    Attributes
    ----------
    name : str
        Of the part of the mesh; made up for a space that is said to be behind trim and shows none.
    minutes : float
        To take it off; 0 where the job does not say.
    after : tuple of str
        What has to be off before it.
    near : tuple of (str, float)
        Keep-outs near it that hurt a hand, with their least distance to it. [m]
    in_mesh : bool
    """

    name: str
    minutes: float = 0.0
    after: tuple[str, ...] = ()
    near: tuple[tuple[str, float], ...] = ()
    in_mesh: bool = True

    @property
    def counts_as(self) -> float:
        """Minutes it is weighed with."""
        return self.minutes if self.minutes > 0.0 else UNKNOWN_MINUTES


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way for a hand to a place: from which space, and the trim that has to be off for it."""

    space: str
    trims: tuple[str, ...] = ()
    room: Room = Room.HAND


@dataclass(frozen=True, slots=True, kw_only=True)
class Removal:
    """The least trim that has to come off.

    Attributes
    ----------
    trims : tuple of str
        In the order in which they come off.
    minutes : float
        Of those that are known.
    unknown : tuple of str
        Trim of which the job does not say how long it takes.
    """

    trims: tuple[str, ...] = ()
    minutes: float = 0.0
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ServicePlace:
    """A place that may have to be got at again.

    Attributes
    ----------
    kind : PlaceKind
    name : str
        The port, the hole, ``joint of C1``, ``fuse of P1``.
    space : str
        It is reached from here; a hole has a place on each of its sides.
    at_m : Vec3
        [m]
    cables : tuple of str
        That end here, go through, or whose joint or fuse it is.
    ways : tuple of Way
        Each by itself is enough; none where nobody gets at it.
    removal : Removal or None
        The least for this place alone; None where nobody gets at it.
    drawn_out_m : float
        Of a connector: how far its box comes out, where that is what gives access to it. [m]
    """

    kind: PlaceKind
    name: str
    space: str
    at_m: Vec3
    cables: tuple[str, ...] = ()
    ways: tuple[Way, ...] = ()
    removal: Removal | None = None
    drawn_out_m: float = 0.0

    @property
    def key(self) -> str:
        """Tells it from all others."""
        return f"{self.kind} {self.name} in {self.space}"

    @property
    def guessed(self) -> bool:
        """No free way for a hand was seen in the mesh: what is told of it rests on the job alone."""
        return bool(self.ways) and all(way.room is Room.GUESSED for way in self.ways)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plug:
    """A hole that is left when a fit-out comes out.

    Attributes
    ----------
    hole : str
    size_m : float
        Through the sheet. [m]
    sheets : int
        One behind the other: each takes a plug.
    drilled : bool
        It was drilled for this fit-out; else it was there before.
    wet : tuple of str
        Its spaces that are wet.
    in_use_m : float
        Of other cables that stay in it. [m]
    """

    hole: str
    size_m: float
    joins: tuple[str, str]
    sheets: int = 1
    drilled: bool = False
    wet: tuple[str, ...] = ()
    in_use_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """Everything known of getting at a fit-out again.

    `doors` names for each space that is not open the trims each of which by itself opens it; a sealed
    space has none. A space that is not in it is open. `plugs` are the holes its cables go through.
    `every` is the least trim to get at all places that can be got at, `strip` the same with all the trim
    that cables run behind, `stays` the devices that belong to the vehicle: sources and studs.
    `unused` are both sides of the holes that are there and no cable goes through: no part of `places`.
    """

    trims: tuple[Trim, ...] = ()
    doors: dict[str, tuple[str, ...]] = field(default_factory=dict)
    places: tuple[ServicePlace, ...] = ()
    plugs: tuple[Plug, ...] = ()
    every: Removal = Removal()
    strip: Removal = Removal()
    stays: tuple[str, ...] = ()
    rooms: Mapping[str, tuple[HoleRoom, ...]] = field(default_factory=dict)
    unused: tuple[ServicePlace, ...] = ()

    def trim(self, name: str) -> Trim:
        """The trim of that name; KeyError when there is none."""
        for trim in self.trims:
            if trim.name == name:
                return trim
        raise KeyError(name)


# --- answers -----------------------------------------------------------------------------


class Asked(StrEnum):
    """What a question is about."""

    DEVICE = "device"
    CONNECTOR = "connector"
    JOINT = "joint"
    FUSE = "fuse"
    CABLE = "cable"
    HOLE = "hole"
    TRIM = "trim"
    SPACE = "space"
    KEEP_OUT = "keep-out"
    STRIP = "strip"
    JOB = "job"


class Focus(StrEnum):
    """What of an answer is wanted, where a question asks for less than everything."""

    FUSES = "fuses"
    SPARE = "spare"
    DRAW = "draw"
    REFLECTED = "reflected"
    BUILT = "built"
    BODY = "body work"
    FAULT = "fault"
    ROOM = "room"
    LEAK = "leak"


@dataclass(frozen=True, slots=True, kw_only=True)
class Behind:
    """A stretch of a cable with a piece of trim in front of it. [m]"""

    trim: str
    cable: str
    from_m: float
    to_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """A cable that lies beside the ones that are worked on: in the same holes, or tied to them."""

    cable: str
    holes: tuple[str, ...] = ()
    bundles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FusePull:
    """A fuse to pull, and what goes dead by it.

    `place` is where it sits; the fuse itself is told by the sizing of `cable`. `along` are devices without a
    supply lead of their own that work through what is dead: heads, microphones, speakers.
    """

    cable: str
    place: ServicePlace
    dead: tuple[str, ...]
    along: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """What is kept at one end of a cable. [m]

    Attributes
    ----------
    port, cable, other : str
        `other` is the port at the far end.
    again : int
        How often a new termination can be made with what is kept for it.
    each_m, kept_m : float
        Used up by one, and kept for all.
    loop_m : float
    ready_made : bool
        Its connectors are not made again.
    surplus_m : float
        Over in a ready-made lead, parked as `parked` says.
    """

    port: str
    cable: str
    other: str
    again: int
    each_m: float
    kept_m: float
    loop_m: float
    ready_made: bool
    surplus_m: float = 0.0
    parked: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a question about service is answered with.

    Attributes
    ----------
    asked : Asked
    name : str
    places : tuple of ServicePlace
        To be got at.
    removal : Removal or None
        The least trim for all of `places` that can be got at.
    blocked : tuple of ServicePlace
        Those nobody gets at.
    whole : Removal or None
        Of a cable: with all the trim it runs behind; None for anything else.
    opens : tuple of ServicePlace
        What else one gets at with the trim of `removal` off.
    cables : tuple of str
        Worked on.
    behind : tuple of Behind
        Stretches of all cables behind the trim that comes off.
    shared : tuple of Shared
        Other cables beside those worked on.
    fuses : tuple of FusePull
    spares : tuple of Spare
    devices : tuple of str
        Worked on, or in the space.
    plugs : tuple of Plug
        Of a strip: holes that are left.
    near : tuple of (str, str, float)
        Trim that comes off, the keep-out near it, the distance. [m]
    rooms : tuple of HoleRoom
        Of the hole that was asked about, or of those a cable goes through.
    focus : Focus or None
        What of it was asked for; all of it when None.
    sides : tuple of str
        The part of the vehicle, or of what was named, that was asked about.
    at_m : Vec3 or None
        A point that was asked about. [m]
    lies : tuple of Lies
        Of work on the body: what is there, the nearest first.
    searches : tuple of FaultSearch
        Of something dead or silent: where to measure; without a device all there are.
    one_more : OneMore or None
        The way of one more cable.
    spare_holes : tuple of SpareHole
        All holes that are there with their room, where that was asked for.
    damaged_at : tuple of str
        Holes where the cable that was asked about is said to be damaged.
    """

    asked: Asked
    name: str
    places: tuple[ServicePlace, ...] = ()
    removal: Removal | None = None
    blocked: tuple[ServicePlace, ...] = ()
    whole: Removal | None = None
    opens: tuple[ServicePlace, ...] = ()
    cables: tuple[str, ...] = ()
    behind: tuple[Behind, ...] = ()
    shared: tuple[Shared, ...] = ()
    fuses: tuple[FusePull, ...] = ()
    spares: tuple[Spare, ...] = ()
    devices: tuple[str, ...] = ()
    plugs: tuple[Plug, ...] = ()
    near: tuple[tuple[str, str, float], ...] = ()
    rooms: tuple[HoleRoom, ...] = ()
    focus: Focus | None = None
    sides: tuple[str, ...] = ()
    at_m: Vec3 | None = None
    lies: tuple[Lies, ...] = ()
    searches: tuple[FaultSearch, ...] = ()
    one_more: OneMore | None = None
    spare_holes: tuple[SpareHole, ...] = ()
    damaged_at: tuple[str, ...] = ()
