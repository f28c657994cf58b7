"""What as-built records teach of lengths: the figures, with their intervals.

Stage      made by `routecut.records.learn`, printed by documents
Units      m; lay as a share of the route
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

FEWEST: Final = 8
"""Cables below which nothing is proposed: a spread from fewer is off by half or more (common practice, no source)."""

LEVEL: Final = 0.95
"""Of all intervals."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """One cable as it came out.

    Attributes
    ----------
    used_m, planned_m : float
        What it took, and what was expected: the sum without uncertainty and rounding. [m]
    open_m : float
        Of the route, what was computed. [m]
    fixed_m : float
        Of the sum, what is no lay. [m]
    trim : float
        Share of the route behind trim.
    loops : dict of str to int
        Number of drip, hinge and service loops.
    loops_m : dict of str to float
        Their planned lengths together. [m]
    """

    vehicle: str
    cable: str
    cable_class: str
    used_m: float
    planned_m: float
    open_m: float
    fixed_m: float
    trim: float
    loops: dict[str, int]
    loops_m: dict[str, float]

    @property
    def lay(self) -> float:
        """What laying took, as a share of the computed route."""
        return (self.used_m - self.fixed_m) / self.open_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A figure and where it lies at `LEVEL`."""

    value: float
    low: float
    high: float

    def holds(self, truth: float) -> bool:
        """Whether a figure lies in it."""
        return self.low <= truth <= self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """What a number of cables say; None where they are too few.

    Attributes
    ----------
    lay, spread : Interval or None
        Mean and standard deviation of the lay. [-]
    bias : Interval or None
        Mean of what was taken less what was planned, as a share of the computed route. [-]
    """

    about: str
    number: int
    lay: Interval | None = None
    spread: Interval | None = None
    bias: Interval | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretches:
    """Lay by kind of stretch [-] and what one loop takes [m]; `planned_m` of a loop is what it was planned with."""

    about: str
    number: int
    figure: Interval
    unit: str
    planned: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A key of `[lengths]` and its value; `now` is what the jobs had, None where they differ."""

    key: str
    value: float
    now: float | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """Everything that was learnt.

    Attributes
    ----------
    taken : tuple of Taken
    left_out : tuple of (str, str)
        Cables that say nothing, and why not.
    every : Lesson
    classes : tuple of Lesson
    stretches : tuple of Stretches
    apart : str
        Why kinds of stretch can't be told apart; empty where they are.
    vehicles_differ : float or None
        The chance that vehicles differ so much by accident, where it is small.
    proposals : tuple of Proposal
    """

    taken: tuple[Taken, ...]
    left_out: tuple[tuple[str, str], ...]
    every: Lesson
    classes: tuple[Lesson, ...]
    stretches: tuple[Stretches, ...]
    apart: str
    vehicles_differ: float | None
    proposals: tuple[Proposal, ...]
