"""Cables lying on the roadmap: put down, taken up again, and what all of them cost together.

Units      m
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routecut.model.body import Ints
from routecut.model.job import HoleState
from routecut.routes.harness import Harness, fits
from routecut.routes.search import Way

_NO_WAY_M = 1000.0
"""What a cable without a way counts: more than any way there is."""


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Ways of all cables at one moment.

    Attributes
    ----------
    ways : dict of str to Way
        Of the cables that have one, by name.
    opened : frozenset of str
        New holes that some of them use.
    total_m : float
        What they cost with all of them lying; infinite where a hole holds too much. [m]
    length_m, shared_m, beside_m : float
        Along the roadmap: in all, with others of the group, within the separation of foreign ones. [m]
    """

    ways: dict[str, Way]
    opened: frozenset[str]
    total_m: float
    length_m: float
    shared_m: float
    beside_m: float


def occupy(harness: Harness, way: Way) -> None:
    """A cable lies where it has chosen to."""
    cable = way.cable
    for hole in way.holes:
        harness.load.setdefault(hole.name, []).append(cable.type.diameter_m)
    if harness.company is not None:
        harness.company.lie(cable.name, cable.cable_class, hops_of(harness, way))


def release(harness: Harness, way: Way) -> None:
    """A cable is taken up again."""
    for hole in way.holes:
        harness.load[hole.name].remove(way.cable.type.diameter_m)
    if harness.company is not None:
        harness.company.lift(way.cable.name)


def hops_of(harness: Harness, way: Way) -> Ints:
    """Rows of the hops of the roadmap that a way takes."""
    return np.concatenate([np.zeros(0, np.int64), *(harness.hops_along(leg.nodes) for leg in way.legs)])


def alone_m(way: Way) -> float:
    """What a way costs without regard to the others. [m]"""
    return way.passages_m + sum(leg.cost_m - leg.company_m for leg in way.legs)


def state_of(harness: Harness, ways: dict[str, Way], count: int) -> State:
    """The state of `count` cables, of which those with a way lie where it leads."""
    total = (count - len(ways)) * _NO_WAY_M
    length = shared = beside = 0.0
    full = any(
        not fits(hole, harness.load[hole.name])
        for hole in harness.job.pass_throughs
        if harness.load.get(hole.name)
    )
    for way in ways.values():
        cable, rows = way.cable, hops_of(harness, way)
        length += float(harness.roadmap.hops.length_m[rows].sum())
        total += alone_m(way)
        if harness.company is None:
            continue
        cost = harness.hop_costs_m(cable)[rows]
        saved, charge = harness.company.of_lying_m(cable.name, rows, cost)
        total += float(charge.sum() - saved.sum())
        shared += float(harness.roadmap.hops.length_m[rows][saved > 0].sum())
        beside += float(harness.roadmap.hops.length_m[rows][charge > 0].sum())
    new = {h.name for h in harness.job.pass_throughs if h.state is not HoleState.EXISTING}
    opened = frozenset(new & {h.name for way in ways.values() for h in way.holes})
    return State(dict(ways), opened, np.inf if full else total, length, shared, beside)
