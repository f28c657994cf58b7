"""One pull at a strand: the shortest polyline under planes, as a second-order cone program.

The length itself is minimised, not a quadratic in its place: points slide as far in one
pull as the step allows, also where the strand is nearly straight.

Units      m
"""

from __future__ import annotations

import numpy as np

from routecut.model.body import Floats, Ints
from routecut.roadmap.build import AIR_FACTOR
from routecut.routes.cones import POINTS, Planes, Points, Program, diagonal, joined
from routecut.routes.strands import Bools, Strand

_EVEN = 0.02
"""Share of the pull that goes by the square of each leg, so that points stay apart where the length leaves it open."""

_STIFF = 2e4
"""Weight of the sheet that holds a point against the pull of the strand: a kink of 90 degrees gives 0.05 mm."""

_PRICE = 20.0
"""Of breaking a bar, a metre: far more than any length saved by it (an exact penalty)."""

_LEGS, _BARS = 1, 2
"""Variables after the points: the length of each leg, what each bar gives."""

_BRIDGE_SHARE = 0.85
"""Of the longest stretch through free air, what its ends may be apart: bends lift off beyond them."""


def _hanging(strand: Strand) -> tuple[Ints, Ints]:
    """First and last point of each stretch of legs through free air, where one of them can move."""
    edge = np.flatnonzero(np.diff(np.r_[False, strand.free, False].astype(np.int8)))
    first, last = edge[0::2], edge[1::2]
    move = ~(strand.pinned[first] & strand.pinned[last])
    return first[move], last[move]


def _in_air(strand: Strand, planes: Planes) -> Bools:
    """Legs that hang, and those with an end that has lost its sheet: unpaid, the air in a corner would grow. (n-1,)."""
    lost = ~strand.pinned
    lost[planes.held_point] = False
    return np.asarray(strand.free | lost[:-1] | lost[1:])


def pull(strand: Strand, planes: Planes, step_m: Floats) -> Floats:
    """The points of the shortest polyline, (n, 3). [m]

    Parameters
    ----------
    strand : Strand
        The pinned points stay.
    planes : Planes
        Those that hold are of points that are not pinned.
    step_m : (n,) float64
        How far each point may move along each axis.
    """
    at, fixed = strand.points_m, strand.pinned
    points = Points(at, fixed)
    if not len(points.moving):
        return at
    legs = np.flatnonzero(~(fixed[:-1] & fixed[1:]))
    one = np.ones(len(legs))
    difference, constant = points.combine([(legs + 1, one), (legs, -one)], len(legs))
    length = np.maximum(np.linalg.norm(at[legs + 1] - at[legs], axis=1), 1e-4)
    spring = _EVEN / length
    quadratic = [points.springs(legs, legs + 1, spring)]
    linear = points.pull_of(difference, np.repeat(spring, 3) * constant.reshape(-1))
    if len(planes.held_point):
        stiff = np.full(len(planes.held_point), _STIFF)
        held, _ = points.along(planes.held_point, planes.held_u)
        quadratic.append(points.tethers(planes.held_point, planes.held_u, stiff))
        linear = linear - points.pull_of(held, stiff * planes.held_b)
    hard = len(planes.point)
    planes, soft = planes.kept_apart(strand)
    prices = np.r_[np.full(hard, _PRICE), soft]
    bars = len(planes.point)
    program = Program(3 * len(points.moving), len(legs), bars)
    program.bar(points, planes, _BARS)
    here = at[points.moving].reshape(-1)
    every = diagonal(np.ones(len(here)))
    most = np.repeat(step_m[points.moving], 3)
    program.at_least(here - most, {POINTS: every})
    program.at_least(-here - most, {POINTS: -every})
    program.no_longer_than(np.zeros(len(legs)), difference, constant, slack=_LEGS)
    first, last = _hanging(strand)
    one = np.ones(len(first))
    across, apart = points.combine([(last, one), (first, -one)], len(first))
    now = np.linalg.norm(at[last] - at[first], axis=1)
    program.no_longer_than(np.maximum(now, _BRIDGE_SHARE * strand.bridge_m), across, apart)
    price = np.where(_in_air(strand, planes)[legs], AIR_FACTOR, 1.0)
    solution = program.solve(joined(quadratic), np.r_[linear, price, prices])
    return at if solution is None else points.moved(solution)
