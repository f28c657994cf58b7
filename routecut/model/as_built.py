"""What was really built, beside what was planned.

Stage      made by `routecut.planning.as_built`, carried by the plan, printed by documents
Units      m
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from routecut.model.company import Beside, Bundle
from routecut.model.job import Cable
from routecut.model.plan import Covered, CutLength, Route, Verification
from routecut.model.record import Record
from routecut.model.service import Service
from routecut.model.sizing import Sizing
from routecut.model.vehicle import Vec3
from routecut.model.whatif import Moved

RESISTANCE: Final = "resistance, end to end"
FORWARD: Final = "forward, at the radio"
REFLECTED: Final = "reflected, at the radio"
VOLTS: Final = "volts"
"""What rows of readings are called, so that documents find them."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Relaid:
    """A cable that the record touches, as it lies now.

    Attributes
    ----------
    why : str
        What of the record touches it.
    route : Route or None
        None where no safe way is left.
    cut : CutLength or None
        What it needs now.
    verified : Verification or None
        Of this route on the full mesh.
    cable : Cable or None
        With the type that was fitted.
    covered : tuple of Covered
        Its stretches behind trim.
    """

    why: str
    route: Route | None = None
    cut: CutLength | None = None
    verified: Verification | None = None
    cable: Cable | None = None
    covered: tuple[Covered, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One row of a table of differences.

    Attributes
    ----------
    about, what : str
        ``cable P1``, ``cut length``.
    before, after : float, str, Vec3 or None
        Planned and as built, or of one job and of another; None where there is none.
    unit : str
        Of figures: ``m``, ``V``, ``ohm``, ``%``; empty for text; a point is in m.
    marked : bool
        They differ, or the second is worse than the first allows.
    why : str
        Said beside it.
    up : bool
        A length that is at least wanted: never printed shorter than it is.
    planned : float or None
        What the plan had, where `before` is what is expected of what lies there and is another.
    """

    about: str
    what: str
    before: float | str | Vec3 | None
    after: float | str | Vec3 | None
    unit: str = ""
    marked: bool = True
    why: str = ""
    up: bool = False
    planned: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AsBuilt:
    """The record of a job and what follows from it.

    Attributes
    ----------
    record : Record
    moved : tuple of Moved
        Devices and holes that are elsewhere than planned.
    relaid : mapping of str to Relaid
        By cable; those the record does not touch lie as planned.
    rows : tuple of Difference
        Planned beside as built.
    bundles, beside : tuple of Bundle, tuple of Beside
        What runs together and too near as built, where anything was laid again.
    sizing : Sizing or None
        Worked out anew with the types that were fitted and the lengths that lie there; None where nothing was
        laid again: then the plan's holds.
    service : Service or None
        How everything is got at where it is now; None as for `sizing`.
    fills : mapping of str to float
        How full holes are with what is in them, by name; as for `sizing`.
    planned_sizing : Sizing or None
        The plan's, in a plan that has the figures as built in its place; None in any other.
    """

    record: Record
    moved: tuple[Moved, ...] = ()
    relaid: Mapping[str, Relaid] = field(default_factory=dict)
    rows: tuple[Difference, ...] = ()
    bundles: tuple[Bundle, ...] = ()
    beside: tuple[Beside, ...] = ()
    sizing: Sizing | None = None
    service: Service | None = None
    fills: Mapping[str, float] = field(default_factory=dict)
    planned_sizing: Sizing | None = None
