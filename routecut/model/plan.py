"""The plan: what the tool found, cable by cable and hole by hole.

Stage      put together by `routecut.planning`; read by documents, records and preview
Units      m; `plan.json` keeps them under the same names
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from routecut.model.body import Floats
from routecut.model.company import Beside, Bought, Bundle, OtherWay
from routecut.model.drilling import DrillCard
from routecut.model.finding import Finding
from routecut.model.job import Cable, HoleState, Job, PassThrough, Vec3
from routecut.model.service import Service
from routecut.model.sizing import Sizing

if TYPE_CHECKING:
    from routecut.model.as_built import AsBuilt


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """Where a route goes through a pass-through.

    `at_route_m` is the running length from the `from` port to the middle of the hole. [m]
    """

    name: str
    at_route_m: float
    from_space: str
    to_space: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HingeCrossing:
    """Where a route crosses a hinge line. [m]"""

    name: str
    at_route_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch of the route that a string measurement replaces. [m]"""

    from_name: str
    to_name: str
    computed_m: float
    measured_m: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Route:
    """The finished run of one cable from its `from` port to its `to` port.

    Attributes
    ----------
    points_m : (n, 3) float64
        The curve with its bends, end points included; chords within 1 mm of the arc. [m]
    length_m : float
        Length of the run: arc length of the curve, or with measured stretches in place
        of the computed ones. [m]
    spaces : tuple of str
        Visited, in order; neighbours differ.
    passages : tuple of Passage
        In order along the route.
    bend_radius_m : float
        The tightest bend the cable allows. [m]
    parts : tuple of (str, float, float)
        The mesh parts it is clipped to, in order: name, from and to in running length. [m]
    """

    points_m: Floats
    length_m: float
    spaces: tuple[str, ...]
    bend_radius_m: float
    passages: tuple[Passage, ...] = ()
    hinges: tuple[HingeCrossing, ...] = ()
    measured: tuple[Stretch, ...] = ()
    parts: tuple[tuple[str, float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SumLine:
    """One line of a cut length: how much, why, and who says so. [m]

    `at_route_m` is where along the run it is spent: 0 at the `from` end, the whole length at the
    other; None for what is spread over the run.
    """

    what: str
    length_m: float
    why: str
    source: str = ""
    at_route_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthError:
    """One thing that makes the real length differ from the sum: its standard deviation. [m]

    `over_m` is the length it is a share of; 0 where it is not one. [m]
    """

    what: str
    sigma_m: float
    why: str
    over_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """The one measurement that would shorten the cut most.

    `saves_m` is what the line "uncertainty" would be less, before rounding. [m]
    """

    from_name: str
    to_name: str
    saves_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLength:
    """The length to cut, as the sum of its lines.

    Attributes
    ----------
    length_m : float
        The total of `lines` (rounding up is the last line). [m]
    probability : float
        Asked for: what the line "uncertainty" is for.
    holds : float or None
        That the cut is long enough, rounding up counted; None where nothing is uncertain. Never
        less than `probability`.
    errors : tuple of LengthError
        What it rests on; independent of each other.
    measure : Remedy or None
        None where no measurement would save anything worth it.
    """

    length_m: float
    probability: float
    lines: tuple[SumLine, ...]
    holds: float | None = None
    errors: tuple[LengthError, ...] = ()
    measure: Remedy | None = None

    @property
    def sigma_m(self) -> float:
        """Standard deviation of the length needed. [m]"""
        return math.hypot(*(e.sigma_m for e in self.errors))

    @property
    def needed_m(self) -> float:
        """The sum without its rounding up. [m]"""
        return self.length_m - self.lines[-1].length_m if self.lines else self.length_m


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadJoint:
    """Where a ready-made lead meets its extension.

    Attributes
    ----------
    at_route_m : float
        Along the run, with the surplus parked as the lead says. [m]
    space : str
    access : str
        open, trim or sealed: what it takes to reach it.
    minutes : float or None
        To reach it; None where nobody knows, or it can't be reached.
    behind : str
        The trim in front of it, or the hole it would sit in.
    from_m, to_m : float
        It can be moved between these by parking the surplus elsewhere. [m]
    """

    at_route_m: float
    space: str
    access: str
    minutes: float | None = 0.0
    behind: str = ""
    from_m: float = 0.0
    to_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadOption:
    """A way of making up a lead that was not taken, and why not. [m]"""

    lengths_m: tuple[float, ...]
    surplus_m: float
    joints: tuple[LeadJoint, ...]
    price: float | None
    why_not: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """The ready-made lead chosen for a cable. [m]

    `lengths_m` is empty when nothing in stock reaches; more than one are joined, in order from
    the `from` end. `parked` says where the surplus goes and how.
    """

    lengths_m: tuple[float, ...]
    surplus_m: float
    joints: tuple[LeadJoint, ...] = ()
    price: float | None = None
    why: str = ""
    parked: str = ""
    others: tuple[LeadOption, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """What the independent check of a finished curve found.

    Attributes
    ----------
    ok : bool
        No violation at all.
    crossings : int
        Sheets met away from the passages.
    least_clearance_m : dict of str to float
        For each keep-out that applies: the least distance from the cable's surface to the
        shape itself (its `clearance` not subtracted). [m]
    least_clearance_at_m : dict of str to float
        Where along the curve that is, for the same keep-outs. [m]
    least_sheet_m : float
        Least distance of the cable's middle to any sheet, passages and ends aside. [m]
    longest_span_m : float
        Longest stretch without a surface to clip to. [m]
    free_spans_m : tuple of (float, float)
        Every such stretch in order: from and to in running length. [m]
    least_bend_radius_m : float
        Tightest bend of the curve; infinite for a straight one. [m]
    length_m : float
        Arc length of the curve, measured again. [m]
    findings : tuple of Finding
        One for each violation.
    """

    ok: bool
    crossings: int
    least_clearance_m: dict[str, float]
    least_sheet_m: float
    longest_span_m: float
    least_bend_radius_m: float
    length_m: float
    findings: tuple[Finding, ...] = ()
    free_spans_m: tuple[tuple[float, float], ...] = ()
    least_clearance_at_m: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Covered:
    """A stretch of a route with trim in front of it: what comes off to lay the cable there.

    `minutes` is what it takes to take the trim off; 0 where the job does not say.
    """

    trim: str
    from_m: float
    to_m: float
    minutes: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlannedCable:
    """A cable and everything found for it; `route` is None when there is no safe one.

    `covered` are the stretches behind trim in the order of the run; they may overlap.
    """

    cable: Cable
    route: Route | None = None
    cut: CutLength | None = None
    lead: Lead | None = None
    verified: Verification | None = None
    covered: tuple[Covered, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedHole:
    """A pass-through and the cables that use it. `drill`: it has to be made.

    `filled` is the share of its area that they take with what is in it already, `fill_most` what
    they may.
    """

    pass_through: PassThrough
    state: HoleState
    drill: bool
    at_m: Vec3
    axis: Vec3
    cables: tuple[str, ...]
    behind_m: dict[str, float | None] = field(default_factory=dict)
    refused: str | None = None
    why: str = ""
    filled: float = 0.0
    fill_most: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """Something that is needed; `unit` is "piece" or "m".

    Attributes
    ----------
    quantity : float
        Needed, spares counted.
    group : str
        What kind of thing: cable, lead, terminal and so on.
    spare : str
        The rule by which spares were added; empty where there are none.
    on_hand : float
        Of it, what lies on the shelf, in `unit`.
    buy : str
        How it is bought where that is not by `unit`: reels.
    price : float or None
        Of all that has to be bought; None where it is not known.
    cutting : tuple of str
        How reels are cut, one line for each.
    """

    what: str
    quantity: float
    unit: str
    for_cables: tuple[str, ...]
    why: str
    group: str = ""
    spare: str = ""
    on_hand: float = 0.0
    buy: str = ""
    price: float | None = None
    cutting: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """The whole plan of one job.

    `sizing` is None where nothing was sized. A cable whose type the job left open has here
    the type that was picked; in `job` it is as it was read. `drilling` holds a card for each hole
    that is to be drilled. `service` is None where nobody looked how things are got at.
    `as_built` is what really was done, None where nothing is recorded; all else is as planned.
    `pulled` are the names in the order of pulling, where routes here are not those the order was made of.
    """

    version: str
    job: Job
    cables: tuple[PlannedCable, ...]
    holes: tuple[PlannedHole, ...]
    order: tuple[OrderLine, ...] = ()
    findings: tuple[Finding, ...] = ()
    body_digest: str = ""
    sizing: Sizing | None = None
    drilling: tuple[DrillCard, ...] = ()
    bundles: tuple[Bundle, ...] = ()
    beside: tuple[Beside, ...] = ()
    others: Mapping[str, OtherWay] = field(default_factory=dict)
    bought: Bought | None = None
    service: Service | None = None
    as_built: AsBuilt | None = None
    pulled: tuple[str, ...] = ()

    @property
    def complete(self) -> bool:
        """Every cable has a route, and every route was verified without a violation."""
        return all(c.route is not None and c.verified is not None and c.verified.ok for c in self.cables)
