"""What is known of a hole before it is drilled, and which holes are worth drilling.

Stage      made by `routecut.drilling`, read by documents and the command line
Units      m; ellipse axes are half axes of the 95 % ellipse; positions in ISO 4130 axes
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from routecut.model.vehicle import Reason, Vec3

CHI95: Final = 2.4477468306808166
"""Half axes of the 95 % ellipse of a plane normal distribution, in sigmas: sqrt(-2 ln 0.05)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Met:
    """The first thing on the way of a drill.

    Attributes
    ----------
    free_m : float
        From the outermost sheet of the panel on that side, along the hole's axis. [m]
    what : str
        Name of the mesh part or of the keep-out.
    reason : Reason or None
        Of a keep-out; None for a mesh part.
    panel : bool
        A sheet of the body: a brace or a second skin, rather than a thing that stands there.
    """

    free_m: float
    what: str
    reason: Reason | None = None
    panel: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleSide:
    """One side of a hole.

    Attributes
    ----------
    space : str
        Empty where no space is known.
    out : Vec3
        Unit vector out of the panel, into this side.
    met : Met or None
        Over the hole's circle and the cone in which a drill may lean; None when nothing is
        seen within `routecut.drilling.behind.REACH_M`: not known, not free.
    around : Met or None
        The same over the ring in which screws of a gland or clip sit.
    approach_m : float
        Room for the body of a drill on this side; infinite where nothing is met. [m]
    seen : float
        Share of the lines through the hole that met anything at all.
    trim : tuple of (str, float)
        What comes off first, nearest first, with its distance. [m]
    face_m : float
        From the middle of the hole to the outermost sheet on this side. [m]
    """

    space: str
    out: Vec3
    met: Met | None
    around: Met | None
    approach_m: float
    seen: float
    trim: tuple[tuple[str, float], ...] = ()
    face_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Taped:
    """A straight tape from a landmark to the middle of the hole. [m]

    `sigma_m` is the one-sigma error of reading it.
    """

    landmark: str
    distance_m: float
    sigma_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeFix:
    """How to find a place on the real panel.

    Attributes
    ----------
    tapes : tuple of Taped
        The two or three whose arcs place it best.
    check : Taped or None
        One more to measure afterwards.
    check_within_m : float
        Further off than this, something is wrong (three sigma of tape and place). [m]
    crossing_deg : float
        The best angle at which two of the arcs cross on the panel. [deg]
    which : str
        Two arcs cross twice: towards what the right crossing lies; empty with three tapes.
    axes_m : (float, float)
        Half axes of the 95 % ellipse on the panel from the tape alone, long one first. [m]
    long_axis : Vec3
        Unit vector of the long axis, in the panel.
    model_axes_m : (float, float)
        The same with what the job says of its mesh and landmarks on top. [m]
    from_space : str
        Where the tape is held.
    better : str
        A landmark that is worth adding, or that none is in sight; empty when the error is small enough.
    """

    tapes: tuple[Taped, ...]
    check: Taped | None
    check_within_m: float
    crossing_deg: float
    which: str
    axes_m: tuple[float, float]
    long_axis: Vec3
    model_axes_m: tuple[float, float]
    from_space: str
    better: str = ""

    @property
    def rms_m(self) -> float:
        """Root mean square distance of the mark from the place meant, by the tape alone. [m]"""
        return float((self.axes_m[0] ** 2 + self.axes_m[1] ** 2) ** 0.5 / CHI95)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleSize:
    """How large a hole has to be. [m]

    Attributes
    ----------
    clear_m : float
        Inside the grommet, as the job has it or as it is proposed.
    drill_m : float
        Through the sheet, grommet counted.
    pilot_m : float
    needed_m : float
        Least clear hole for what passes.
    enough_m : float
        The next proposed size for that; 0 where nothing passes yet.
    by : str
        What decides it.
    alternative_m : float
        Least clear hole when connectors are fitted in the vehicle; 0 where that saves nothing.
    alternative : str
        Which connectors.
    bare_m : float
        Clear hole that would do without a grommet (rim 9.5 mm away all round).
    groove_m : float
        Width of the grommet's groove: the sheet it sits in.
    sheets : int
        Sheets that are drilled, one behind the other: each takes a grommet.
    """

    clear_m: float
    drill_m: float
    pilot_m: float
    needed_m: float
    enough_m: float
    by: str
    alternative_m: float
    alternative: str
    bare_m: float
    groove_m: float
    sheets: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """What lies round a hole, in its plane, for a template. [m]

    Attributes
    ----------
    across, up : Vec3
        Unit vectors of the sheet of paper: to the right and upwards.
    across_word, up_word : str
        Where they point to in the vehicle: "front", "up" and so on, as near as it goes.
    lines : tuple of ((x, y), (x, y))
        Edges and folds of the panel.
    holes : tuple of (x, y, diameter, name)
        Other holes.
    """

    across: Vec3
    up: Vec3
    across_word: str
    up_word: str
    lines: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = ()
    holes: tuple[tuple[float, float, float, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillCard:
    """All that is said of one hole to drill.

    Attributes
    ----------
    name : str
        Of the pass-through.
    at_m, axis : Vec3
        Middle of the hole, and unit vector along it. [m]
    parts : tuple of str
        Mesh parts drilled through, from the side drilled from.
    cables : tuple of str
        That will go through it.
    material : str
    thickness_m : float
        Of all sheets together; 0 not known.
    near, far : HoleSide
        The side drilled from, and the side the drill comes out on.
    fix : TapeFix or None
        None when fewer than two landmarks are in sight.
    no_fix : str
        Why there is none.
    stop_m : float
        Where the stop sits on the pilot drill, from its point. [m]
    stop_first_m : float
        The same to go through the first of several sheets alone, so that one can look between; 0 for one sheet. [m]
    longest_screw_m : float or None
        Under the head; None where nothing is known behind. [m]
    refused : str or None
        Why this hole must not be drilled.
    trust : str
        How far the position can be trusted, with the figures why.
    notes : tuple of str
    """

    name: str
    at_m: Vec3
    axis: Vec3
    parts: tuple[str, ...]
    cables: tuple[str, ...]
    material: str
    thickness_m: float
    near: HoleSide
    far: HoleSide
    size: HoleSize
    fix: TapeFix | None
    no_fix: str
    stop_m: float
    longest_screw_m: float | None
    refused: str | None
    trust: str
    outline: Outline
    notes: tuple[str, ...] = ()
    stop_first_m: float = 0.0

    @property
    def marked_in(self) -> str:
        """The space the place is marked in: where the tape is held."""
        return self.near.space if self.fix is None else self.fix.from_space


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What another choice of holes does to one cable.

    Attributes
    ----------
    longer_m : float
        Than in the best choice; negative for shorter; infinite where it is not reached. [m]
    drop_percent : float or None
        Of drop at peak more than there; power cables.
    loss_db : float or None
        Of loss more than there; coax.
    """

    cable: str
    longer_m: float
    drop_percent: float | None = None
    loss_db: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceRow:
    """The best that can be done with at most so many new holes.

    Attributes
    ----------
    most_new : int
    new : tuple of str
        Holes that are drilled, by name.
    ways : dict of str to tuple of str
        Holes of each cable that is reached.
    lengths_m : dict of str to float
        Of each cable that is reached, along the roadmap: some per cent long. [m]
    unreached : tuple of str
    price_m : float
        Weighted cable and holes, what the choice is made by. [m]
    optimal : bool
        Proved: nothing better is possible among the places and ways looked at.
    changes : tuple of Change
        Against the best row, once that has been routed and sized.
    """

    most_new: int
    new: tuple[str, ...]
    ways: dict[str, tuple[str, ...]]
    lengths_m: dict[str, float]
    unreached: tuple[str, ...]
    price_m: float
    optimal: bool
    changes: tuple[Change, ...] = ()

    @property
    def cable_m(self) -> float:
        """All cables that are reached, together. [m]"""
        return sum(self.lengths_m.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place for a new hole: given by the job, or found on a panel."""

    name: str
    found: bool
    at_m: Vec3
    axis: Vec3
    depth_m: float
    diameter_m: float
    joins: tuple[str, str]
    parts: tuple[str, ...]
    classes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillStudy:
    """Which holes are worth drilling.

    Attributes
    ----------
    rows : tuple of ChoiceRow
        With at most 0, 1, 2, ... new holes.
    best : int
        Index of the row with the least price.
    others : tuple of (str, float)
        What it costs more to do without each chosen hole: name, metres (infinite when a
        cable is lost). [m]
    places : tuple of Place
        Where a hole could be made, given and found.
    refused : dict of str to str
        Given candidates that must not be drilled, and why.
    looked_at, kept : int
        Points of the panels looked at, and those where a hole could be made.
    cards : tuple of DrillCard
        Of the holes of the best row.
    plugs : tuple of str
        What fitting connectors in the vehicle would change.
    """

    rows: tuple[ChoiceRow, ...]
    best: int
    others: tuple[tuple[str, float], ...]
    places: tuple[Place, ...]
    refused: dict[str, str] = field(default_factory=dict)
    looked_at: int = 0
    kept: int = 0
    cards: tuple[DrillCard, ...] = ()
    plugs: tuple[str, ...] = ()
