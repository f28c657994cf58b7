"""Bundles: which finished cables run together, from where to where, and how thick they are together.

Units      m
Source     within `TOGETHER_M` one clip or tie takes both, over `LEAST_M` it is worth a tie: common
           practice, no source; the bend radius follows from the section
Safe side  the diameter is that of a packing that can be laid; the bend radius holds for a member
           that lies on the inside
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from routecut.geometry.packing import pack
from routecut.geometry.triangles import unit
from routecut.model.body import Floats
from routecut.model.company import Bundle, Group, Member, group_of
from routecut.model.job import Cable, vec3
from routecut.model.plan import Route
from routecut.routes.company import ALONGSIDE
from routecut.routes.polyline import in_steps
from routecut.routes.strands import Bools

TOGETHER_M: Final = 0.030
"""Middle to middle. [m]"""

LEAST_M: Final = 0.300
"""Of a run together. [m]"""

_GAP_M: Final = 0.100
"""Cables that part for no longer than this stay together."""

_SHORT_M: Final = 0.100
"""Between two changes of its members a bundle is not told apart over less."""

_UNEQUAL, _UNEQUAL_M = 0.08, 0.05
"""Cables of one bundle may differ in length by that share, or by so much."""

_STEP_M: Final = 0.010


@dataclass(frozen=True, slots=True, eq=False)
class _Curve:
    """A route by its samples: running length, place and direction of each."""

    cable: Cable
    run_m: Floats
    at_m: Floats
    along: Floats
    tree: cKDTree


@dataclass(frozen=True, slots=True, eq=False)
class _Pair:
    """A cable beside the one that leads: samples of the leader, and the running length of the other at each."""

    other: _Curve
    first: int
    last: int
    run_m: Floats


def bend_radius_m(diameter_m: float, members: Sequence[tuple[float, float]]) -> float:
    """Least bend radius to the middle of a bundle, from diameter and least bend radius of its members. [m]

    A member on the inside of the bend lies nearer to its middle by the difference of the radii.

    >>> round(bend_radius_m(0.020, [(0.006, 0.030), (0.010, 0.025)]), 4)
    0.037
    """
    return max(radius + (diameter_m - diameter) / 2 for diameter, radius in members)


def find_bundles(cables: Sequence[Cable], routes: Mapping[str, Route]) -> tuple[Bundle, ...]:
    """The bundles of finished routes, those of one leading cable in a row."""
    stiffest = sorted(
        (c for c in cables if c.name in routes and group_of(c.cable_class) is not Group.BOND),
        key=lambda c: (-c.type.min_bend_radius_m, -c.type.diameter_m, c.name),
    )
    curves = [_curve(c, routes[c.name]) for c in stiffest]
    # What runs in the bundle of a stiffer cable is no bundle of its own.
    led = {c.cable.name: np.zeros(len(c.run_m), dtype=bool) for c in curves}
    found: list[Bundle] = []
    for number, leader in enumerate(curves):
        free = ~led[leader.cable.name]
        if not free.any():
            continue  # all of it runs in bundles of stiffer ones
        pairs = [
            pair
            for other in curves[number + 1 :]
            if group_of(other.cable.cable_class) is group_of(leader.cable.cable_class)
            and not led[other.cable.name].all()
            for pair in _together(leader, other, free, led[other.cable.name])
        ]
        for pair in pairs:
            low, high = sorted((pair.run_m[0], pair.run_m[-1]))
            run = pair.other.run_m
            led[pair.other.cable.name] |= (run >= low - _STEP_M / 2) & (run <= high + _STEP_M / 2)
        found += _cut(leader, pairs, len(found))
    return tuple(found)


def _curve(cable: Cable, route: Route) -> _Curve:
    at, points = in_steps(route.points_m, _STEP_M)
    return _Curve(cable, at, points, unit(np.gradient(points, axis=0)), cKDTree(points))


def _together(leader: _Curve, other: _Curve, free: Bools, taken: Bools) -> Iterator[_Pair]:
    """Runs of a cable within reach of a leader and along it, both of them not yet in a bundle."""
    distance, row = other.tree.query(leader.at_m, distance_upper_bound=TOGETHER_M)
    near = np.isfinite(distance)
    row = np.where(near, row, 0)
    near &= free & ~taken[row]
    near &= np.abs(np.einsum("ij,ij->i", leader.along, other.along[row])) >= ALONGSIDE
    rows = np.flatnonzero(near)
    if not len(rows):
        return
    run = other.run_m[row]
    # A run ends where the next sample near is further on than a gap, on either of the two.
    breaks = (np.diff(leader.run_m[rows]) > _GAP_M) | (np.abs(np.diff(run[rows])) > 2 * _GAP_M)
    for part in np.split(rows, np.flatnonzero(breaks) + 1):
        first, last = int(part[0]), int(part[-1])
        if min(leader.run_m[last] - leader.run_m[first], np.ptp(run[part])) >= LEAST_M:
            inner = np.arange(first, last + 1)
            yield _Pair(other, first, last, np.interp(inner, part, run[part]))


def _cut(leader: _Curve, pairs: Sequence[_Pair], number: int) -> list[Bundle]:
    """The bundles along a leader: cut where a member joins or leaves."""
    ends = sorted({0, *(p.first for p in pairs), *(p.last for p in pairs)})
    found: list[Bundle] = []
    for first, last in pairwise(ends):
        inside = [
            p for p in pairs if p.first <= first and p.last >= last and _keeps_up(leader, p, first, last)
        ]
        if not inside or leader.run_m[last] - leader.run_m[first] < _SHORT_M:
            continue
        found.append(_bundle(f"bundle {number + len(found) + 1}", leader, inside, first, last))
    return found


def _keeps_up(leader: _Curve, pair: _Pair, first: int, last: int) -> bool:
    """Whether a cable is about as long over a stretch as the one that leads, or it wanders off on the way."""
    length = leader.run_m[last] - leader.run_m[first]
    own = abs(pair.run_m[last - pair.first] - pair.run_m[first - pair.first])
    return bool(abs(own - length) <= max(_UNEQUAL_M, _UNEQUAL * length))


def _bundle(name: str, leader: _Curve, pairs: Sequence[_Pair], first: int, last: int) -> Bundle:
    spans = [(leader.cable, float(leader.run_m[first]), float(leader.run_m[last]))]
    spans += [(p.other.cable, float(p.run_m[first - p.first]), float(p.run_m[last - p.first])) for p in pairs]
    types = [cable.type for cable, _, _ in spans]
    packing = pack([t.diameter_m for t in types])
    return Bundle(
        name=name,
        members=tuple(
            Member(cable=cable.name, from_m=start, to_m=end, place_m=place)
            for (cable, start, end), place in zip(spans, packing.places_m, strict=True)
        ),
        length_m=float(leader.run_m[last] - leader.run_m[first]),
        diameter_m=packing.diameter_m,
        bend_radius_m=bend_radius_m(packing.diameter_m, [(t.diameter_m, t.min_bend_radius_m) for t in types]),
        from_at_m=vec3(leader.at_m[first]),
        to_at_m=vec3(leader.at_m[last]),
    )
