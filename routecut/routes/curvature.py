"""The shortest curve of bounded curvature under planes: one second-order cone program a window.

Units      m; curvature 1/m
"""

from __future__ import annotations

import numpy as np

from routecut.model.body import Floats
from routecut.routes.cones import POINTS, Linear, Planes, Points, Program, diagonal, joined
from routecut.routes.strands import Strand

TIGHTEST = 0.975
"""Curvature aimed at, as a share of the limit: what a leg still shrinks after that, a bend tightens."""

_HOLD = 64.0
"""How firmly a sheet holds the cable: it is back at the stand-off R/8 after a bend."""

_PLANE_PRICE = 20.0
_BEND_PRICE = 5.0
"""What breaking a plane or the bend radius costs, a metre or a radius: far more than any length saved by it, so
that they are kept exactly wherever they can be kept (an exact penalty)."""

_BARS, _BENDS = 1, 2
"""Variables after the points: what each bar gives, what each bend gives."""


def lay(window: Strand, planes: Planes, stretch: float) -> Floats:
    """The points of the shortest curve that turns no tighter than the cable allows.

    Parameters
    ----------
    window : Strand
        Evenly spaced points; the pinned ones stay.
    planes : Planes
        Those that hold are of points that are not pinned.
    stretch : float
        Legs keep their length within this share: a second difference takes a hairpin whose
        legs shrink to nothing for a gentle bend.

    Returns
    -------
    (n, 3) float64
        Where planes and bend can't all be kept, they are broken as little as possible.
    """
    at, fixed = window.points_m, window.pinned
    points = Points(at, fixed)
    if not len(points.moving):
        return at
    legs = np.diff(at, axis=0)
    length = np.maximum(np.linalg.norm(legs, axis=1), 1e-6)
    row = np.arange(len(legs))
    difference, fixed_part = points.combine(
        [(row + 1, np.ones(len(row))), (row, -np.ones(len(row)))], len(row)
    )
    # Inner points that have something to move, and the second difference there.
    inner = np.arange(1, len(at) - 1)
    inner = inner[~(fixed[inner - 1] & fixed[inner] & fixed[inner + 1])]
    before, after = length[inner - 1], length[inner]
    scale = 2 * window.bend_m / (before + after)
    bent, bent_fixed = points.combine(
        [
            (inner - 1, scale / before),
            (inner, -scale * (1 / before + 1 / after)),
            (inner + 1, scale / after),
        ],
        len(inner),
    )

    quadratic = [points.springs(row, row + 1, 1 / length)]
    linear = points.pull_of(difference, np.repeat(1 / length, 3) * fixed_part.reshape(-1))
    if len(planes.held_point):
        held, _ = points.along(planes.held_point, planes.held_u)
        share = (np.r_[length, 0.0] + np.r_[0.0, length])[planes.held_point] / 2
        firm = _HOLD / window.bend_m**2 * share
        quadratic.append(points.tethers(planes.held_point, planes.held_u, firm))
        linear = linear - points.pull_of(held, firm * planes.held_b)
    hard = len(planes.point)
    planes, aside = planes.kept_apart(window)
    bars, bends = len(planes.point), len(inner)
    program = Program(3 * len(points.moving), bars, bends)
    program.bar(points, planes, _BARS)
    program.at_least(np.zeros(bends), {_BENDS: diagonal(np.ones(bends))})
    free_legs = np.flatnonzero(~(fixed[:-1] & fixed[1:]))
    free_one = np.ones(len(free_legs))
    free_difference, free_fixed = points.combine(
        [(free_legs + 1, free_one), (free_legs, -free_one)], len(free_legs)
    )
    # No shorter than it was, in the direction it had: the convex side of keeping its length.
    direction = (legs / length[:, None])[free_legs]
    leg, axis = np.divmod(free_difference.row, 3)
    along = Linear(leg, free_difference.column, direction[leg, axis] * free_difference.value)
    program.at_least(
        (1 - stretch) * length[free_legs] - np.einsum("ij,ij->i", direction, free_fixed), {POINTS: along}
    )
    program.no_longer_than((1 + stretch) * length[free_legs], free_difference, free_fixed)
    program.no_longer_than(np.full(bends, TIGHTEST), bent, bent_fixed, slack=_BENDS)

    soft = np.r_[np.full(hard, 1e4 / window.bend_m), np.zeros(bars - hard), np.full(bends, window.bend_m)]
    prices = np.r_[np.full(hard, _PLANE_PRICE), aside, np.full(bends, _BEND_PRICE * window.bend_m)]
    quadratic.append(diagonal(soft, first=3 * len(points.moving)))
    solution = program.solve(joined(quadratic), np.r_[linear, prices])
    return at if solution is None else points.moved(solution)
