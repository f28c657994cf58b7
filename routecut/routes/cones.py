"""Second-order cone programs about the points of a strand: linear maps of the points that move, rows, cones.

Units      m
Source     Clarabel, an interior-point solver for quadratic and second-order cone programs
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import clarabel
import numpy as np
from scipy import sparse

from routecut.model.body import Floats, Ints
from routecut.routes.strands import Bools, Strand

POINTS = 0
"""The first variables of a program: the points that move."""


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

    def split(self, strands: Sequence[Strand]) -> list[Planes]:
        """Those of each of the strands that were laid end to end, counted from its first point."""
        ends = np.cumsum([0, *(len(strand.points_m) for strand in strands)]).tolist()
        return [self._between(first, stop) for first, stop in pairwise(ends)]

    def _between(self, first: int, stop: int) -> Planes:
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


class Points:
    """Linear maps of the points of a window: a matrix for those that move, a constant for those that don't."""

    def __init__(self, at_m: Floats, fixed: Bools) -> None:
        self.at_m, self.fixed = at_m, fixed
        self.moving = np.flatnonzero(~fixed)
        self.column = np.full(len(at_m), -1)
        self.column[self.moving] = np.arange(len(self.moving))

    def moved(self, solution: Floats) -> Floats:
        """All points, those that move where a solution begins by saying they are. (n, 3)."""
        at = self.at_m.copy()
        at[self.moving] = solution[: 3 * len(self.moving)].reshape(-1, 3)
        return at

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


class Program:
    """Rows A x + s = b with s in cones, as they come."""

    def __init__(self, *sizes: int) -> None:
        self.sizes = sizes
        self.rows: list[sparse.csr_array] = []
        self.right: list[Floats] = []
        self.cones: list[object] = []

    def _wide(self, count: int, parts: dict[int, sparse.csr_array]) -> None:
        blocks = [parts.get(k, sparse.csr_array((count, size))) for k, size in enumerate(self.sizes)]
        self.rows.append(sparse.hstack(blocks, format="csr"))

    def at_least(self, low: Floats, parts: dict[int, sparse.csr_array]) -> None:
        """Sum of parts >= low, row by row; parts are matrices by the number of their variables."""
        if not len(low):
            return
        self._wide(len(low), {k: -part for k, part in parts.items()})
        self.right.append(-low)
        self.cones.append(clarabel.NonnegativeConeT(len(low)))

    def bar(self, points: Points, planes: Planes, slack: int) -> None:
        """The half-spaces of planes; `slack` names the variables by which each may be broken."""
        bars = len(planes.point)
        if not bars:
            return
        gives = sparse.eye_array(bars, format="csr")
        barred, level = points.along(planes.point, planes.other, planes.u)
        self.at_least(planes.b - level, {POINTS: barred, slack: gives})
        self.at_least(np.zeros(bars), {slack: gives})

    def no_longer_than(
        self, limit: Floats, matrix: sparse.csr_array, constant: Floats, slack: int | None = None
    ) -> None:
        """|matrix x + constant| <= limit for each three rows of `POINTS`; `slack` names variables added to it."""
        count = len(limit)
        if not count:
            return
        place = (4 * np.arange(count)[:, None] + 1 + np.arange(3)).reshape(-1)
        coo = matrix.tocoo()
        shape = (4 * count, matrix.shape[1])
        parts = {POINTS: sparse.coo_array((-coo.data, (place[coo.row], coo.col)), shape).tocsr()}
        if slack is not None:
            row = np.arange(count)
            shape = (4 * count, self.sizes[slack])
            parts[slack] = sparse.coo_array((-np.ones(count), (4 * row, row)), shape).tocsr()
        self._wide(4 * count, parts)
        right = np.zeros(4 * count)
        right[0::4] = limit
        right[place] = constant.reshape(-1)
        self.right.append(right)
        self.cones += [clarabel.SecondOrderConeT(4)] * count

    def solve(self, quadratic: Sequence[sparse.csr_array], linear: Floats) -> Floats | None:
        """Least of x Q x / 2 + q x under the rows, or None if none was found; Q is given block by block."""
        settings = clarabel.DefaultSettings()
        settings.verbose = False
        settings.max_threads = 1
        settings.tol_gap_abs = settings.tol_gap_rel = 1e-6
        settings.tol_feas = 1e-7
        solver = clarabel.DefaultSolver(
            sparse.triu(sparse.block_diag(quadratic), format="csc"),
            linear,
            sparse.vstack(self.rows, format="csc"),
            np.concatenate(self.right),
            self.cones,
            settings,
        )
        solution = solver.solve()
        return np.array(solution.x) if "Solved" in str(solution.status) else None
