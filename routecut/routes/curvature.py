"""The shortest curve of bounded curvature under planes: one second-order cone program a window.

Units      m; curvature 1/m
Source     Clarabel, an interior-point solver for quadratic and second-order cone programs
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import clarabel
import numpy as np
from scipy import sparse

from routecut.model.body import Floats, Ints
from routecut.routes.strands import Bools, Strand

TIGHTEST = 0.975
"""Curvature aimed at, as a share of the limit: what a leg still shrinks after that, a bend tightens."""

_HOLD = 64.0
"""How firmly a sheet holds the cable: it is back at the stand-off R/8 after a bend."""

_PLANE_PRICE = 20.0
_BEND_PRICE = 5.0
"""What breaking a plane or the bend radius costs, a metre or a radius: far more than any length saved by it, so
that they are kept exactly wherever they can be kept (an exact penalty)."""


@dataclass(frozen=True, slots=True, eq=False)
class Planes:
    """Half-spaces u.p >= b that bar points and the middles of legs, and planes u.p = b that hold points.

    Attributes
    ----------
    point, other : (k,) int64
        What is barred lies midway between these two points; they are one for a point.
    u, held_u : (k, 3) float64
    b, held_b : (k,) float64
    held_point : (k,) int64
    """

    point: Ints
    other: Ints
    u: Floats
    b: Floats
    held_point: Ints
    held_u: Floats
    held_b: Floats

    def between(self, first: int, stop: int) -> Planes:
        """Those of points `first` to `stop`, counted from `first`."""
        bars = (self.point >= first) & (self.point < stop)
        holds = (self.held_point >= first) & (self.held_point < stop)
        return Planes(
            self.point[bars] - first,
            self.other[bars] - first,
            self.u[bars],
            self.b[bars],
            self.held_point[holds] - first,
            self.held_u[holds],
            self.held_b[holds],
        )


class _Points:
    """Linear maps of the points of a window: a matrix for those that move, a constant for those that don't."""

    def __init__(self, at_m: Floats, fixed: Bools) -> None:
        self.at_m, self.fixed = at_m, fixed
        self.moving = np.flatnonzero(~fixed)
        self.column = np.full(len(at_m), -1)
        self.column[self.moving] = np.arange(len(self.moving))

    def combine(self, terms: Sequence[tuple[Ints, Floats]], count: int) -> tuple[sparse.csr_array, Floats]:
        """Row r is the sum over terms of factor[r] * point[index[r]]: (3 count, 3 moving) and (count, 3)."""
        rows, columns, values = [], [], []
        constant = np.zeros((count, 3))
        row = np.arange(count)
        for index, factor in terms:
            move = ~self.fixed[index]
            constant[~move] += factor[~move, None] * self.at_m[index[~move]]
            for axis in range(3):
                rows.append(3 * row[move] + axis)
                columns.append(3 * self.column[index[move]] + axis)
                values.append(factor[move])
        shape = (3 * count, 3 * len(self.moving))
        matrix = sparse.coo_array(
            (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape
        )
        return matrix.tocsr(), constant

    def along(self, index: Ints, other: Ints, u: Floats) -> tuple[sparse.csr_array, Floats]:
        """Row r is u[r] . (point[index[r]] + point[other[r]]) / 2: (k, 3 moving) and (k,)."""
        rows, columns, values = [], [], []
        constant = np.zeros(len(index))
        row = np.arange(len(index))
        for end in (index, other):
            move = ~self.fixed[end]
            constant[~move] += np.einsum("ij,ij->i", u[~move], self.at_m[end[~move]]) / 2
            rows.append(np.repeat(row[move], 3))
            columns.append((3 * self.column[end[move]][:, None] + np.arange(3)).reshape(-1))
            values.append(u[move].reshape(-1) / 2)
        shape = (len(index), 3 * len(self.moving))
        matrix = sparse.coo_array(
            (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape
        )
        return matrix.tocsr(), constant


class _Program:
    """Rows A x + s = b with s in cones, as they come."""

    def __init__(self, moving: int, bars: int, bends: int) -> None:
        self.sizes = (moving, bars, bends)
        self.rows: list[sparse.csr_array] = []
        self.right: list[Floats] = []
        self.cones: list[object] = []

    def _wide(self, count: int, *parts: sparse.csr_array | None) -> None:
        """Rows from what they say of the points, the slack of the bars and the slack of the bends."""
        blocks = [
            part if part is not None else sparse.csr_array((count, size))
            for part, size in zip(parts, self.sizes, strict=True)
        ]
        self.rows.append(sparse.hstack(blocks, format="csr"))

    def at_least(
        self,
        low: Floats,
        *,
        points: sparse.csr_array | None = None,
        bars: sparse.csr_array | None = None,
        bends: sparse.csr_array | None = None,
    ) -> None:
        """Sum of the given parts >= low, row by row."""
        if not len(low):
            return
        self._wide(len(low), *(None if part is None else -part for part in (points, bars, bends)))
        self.right.append(-low)
        self.cones.append(clarabel.NonnegativeConeT(len(low)))

    def no_longer_than(
        self, limit: Floats, matrix: sparse.csr_array, constant: Floats, *, slack: bool = False
    ) -> None:
        """|matrix x + constant| <= limit (+ bend slack) for each three rows."""
        count = len(limit)
        if not count:
            return
        place = (4 * np.arange(count)[:, None] + 1 + np.arange(3)).reshape(-1)
        coo = matrix.tocoo()
        points = sparse.coo_array(
            (-coo.data, (place[coo.row], coo.col)), (4 * count, matrix.shape[1])
        ).tocsr()
        bends = None
        if slack:
            row = np.arange(count)
            bends = sparse.coo_array((-np.ones(count), (4 * row, row)), (4 * count, self.sizes[2])).tocsr()
        self._wide(4 * count, points, None, bends)
        right = np.zeros(4 * count)
        right[0::4] = limit
        right[place] = constant.reshape(-1)
        self.right.append(right)
        self.cones += [clarabel.SecondOrderConeT(4)] * count


def _settings() -> object:
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.max_threads = 1
    settings.tol_gap_abs = settings.tol_gap_rel = 1e-6
    settings.tol_feas = 1e-7
    return settings


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
    points = _Points(at, fixed)
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

    spring = sparse.diags_array(np.repeat(1 / length, 3))
    quadratic = difference.T @ spring @ difference
    linear = difference.T @ (spring @ fixed_part.reshape(-1))
    if len(planes.held_point):
        held, _ = points.along(planes.held_point, planes.held_point, planes.held_u)
        share = (np.r_[length, 0.0] + np.r_[0.0, length])[planes.held_point] / 2
        firm = _HOLD / window.bend_m**2 * share
        quadratic = quadratic + held.T @ sparse.diags_array(firm) @ held
        linear = linear - held.T @ (firm * planes.held_b)
    bars, bends = len(planes.point), len(inner)
    program = _Program(3 * len(points.moving), bars, bends)
    if bars:
        one = sparse.eye_array(bars, format="csr")
        barred, level = points.along(planes.point, planes.other, planes.u)
        program.at_least(planes.b - level, points=barred, bars=one)
        program.at_least(np.zeros(bars), bars=one)
    program.at_least(np.zeros(bends), bends=sparse.eye_array(bends, format="csr"))
    free_legs = np.flatnonzero(~(fixed[:-1] & fixed[1:]))
    rows = (3 * free_legs[:, None] + np.arange(3)).reshape(-1)
    free_difference, free_fixed = difference[rows], fixed_part[free_legs]
    # No shorter than it was, in the direction it had: the convex side of keeping its length.
    direction = (legs / length[:, None])[free_legs]
    pick = sparse.coo_array(
        (direction.reshape(-1), (np.repeat(np.arange(len(free_legs)), 3), np.arange(len(rows)))),
        (len(free_legs), len(rows)),
    )
    program.at_least(
        (1 - stretch) * length[free_legs] - np.einsum("ij,ij->i", direction, free_fixed),
        points=(pick @ free_difference).tocsr(),
    )
    program.no_longer_than((1 + stretch) * length[free_legs], free_difference, free_fixed)
    program.no_longer_than(np.full(bends, TIGHTEST), bent, bent_fixed, slack=True)

    soft = np.r_[np.full(bars, 1e4 / window.bend_m), np.full(bends, window.bend_m)]
    price = np.r_[np.full(bars, _PLANE_PRICE), np.full(bends, _BEND_PRICE * window.bend_m)]
    solver = clarabel.DefaultSolver(
        sparse.triu(sparse.block_diag([quadratic, sparse.diags_array(soft)]), format="csc"),
        np.r_[linear, price],
        sparse.vstack(program.rows, format="csc"),
        np.concatenate(program.right),
        program.cones,
        _settings(),
    )
    solution = solver.solve()
    if "Solved" not in str(solution.status):
        return at
    laid = at.copy()
    laid[points.moving] = np.array(solution.x)[: 3 * len(points.moving)].reshape(-1, 3)
    return laid
