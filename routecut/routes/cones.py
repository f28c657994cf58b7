"""Second-order cone programs about the points of a strand: linear maps of the points that move, rows, cones.

Units      m
Source     Clarabel, an interior-point solver for quadratic and second-order cone programs
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import clarabel
import numpy as np
from scipy import sparse

from routecut.model.body import Floats, Ints
from routecut.routes.lanes import pushes
from routecut.routes.strands import Bools, Strand

POINTS = 0
"""The first variables of a program: the points that move."""

_AXES = np.arange(3)
_UPPER = np.triu_indices(3)


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

    def kept_apart(self, strand: Strand) -> tuple[Planes, Floats]:
        """These with the half-spaces that keep a strand apart from other kinds, last, and the prices of those, (k,)."""
        if strand.lane is None:
            return self, np.zeros(0)
        away = np.zeros((len(strand.points_m), 3))
        away[self.held_point] = self.held_u
        aside = pushes(
            strand.lane, points_m=strand.points_m, moving=~strand.pinned, away=away, bend_m=strand.bend_m
        )
        return self._barred_too(aside.point, aside.u, aside.b), aside.price

    def _barred_too(self, point: Ints, u: Floats, b: Floats) -> Planes:
        return replace(
            self,
            point=np.r_[self.point, point],
            other=np.r_[self.other, point],
            u=np.concatenate([self.u, u]),
            b=np.r_[self.b, b],
        )

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


@dataclass(frozen=True, slots=True, eq=False)
class Linear:
    """A linear map as its entries: what stands twice in a place is added up.

    Attributes
    ----------
    row, column : (k,) int64
    value : (k,) float64
    """

    row: Ints
    column: Ints
    value: Floats

    def __neg__(self) -> Linear:
        return Linear(self.row, self.column, -self.value)

    def matrix(self, rows: int, columns: int) -> sparse.csc_array:
        """The same as a sparse matrix."""
        return sparse.coo_array((self.value, (self.row, self.column)), (rows, columns)).tocsc()


def diagonal(values: Floats, *, first: int = 0) -> Linear:
    """Each variable times its value, from the first one on."""
    index = first + np.arange(len(values))
    return Linear(index, index, values)


def joined(parts: Sequence[Linear]) -> Linear:
    """All entries of some maps."""
    return Linear(
        np.concatenate([part.row for part in parts]),
        np.concatenate([part.column for part in parts]),
        np.concatenate([part.value for part in parts]),
    )


def _each_axis(point: Ints, other: Ints, value: Floats) -> Linear:
    """Entries between points, the same for x, y and z."""
    return Linear(
        (3 * point[:, None] + _AXES).reshape(-1),
        (3 * other[:, None] + _AXES).reshape(-1),
        np.repeat(value, 3),
    )


class Points:
    """Linear maps of the points of a window: entries for those that move, a constant for those that don't."""

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

    def combine(self, terms: Sequence[tuple[Ints, Floats]], count: int) -> tuple[Linear, Floats]:
        """Rows 3r to 3r + 2 are the sum over terms of factor[r] * point[index[r]]; the constant is (count, 3)."""
        parts = []
        constant = np.zeros((count, 3))
        for index, factor in terms:
            move = ~self.fixed[index]
            constant[~move] += factor[~move, None] * self.at_m[index[~move]]
            parts.append(_each_axis(np.flatnonzero(move), self.column[index[move]], factor[move]))
        return joined(parts), constant

    def along(self, index: Ints, u: Floats) -> tuple[Linear, Floats]:
        """Row r is u[r] . point[index[r]]; the constant is (k,)."""
        move = ~self.fixed[index]
        constant = np.zeros(len(index))
        constant[~move] = np.einsum("ij,ij->i", u[~move], self.at_m[index[~move]])
        return Linear(
            np.repeat(np.flatnonzero(move), 3),
            (3 * self.column[index[move]][:, None] + _AXES).reshape(-1),
            u[move].reshape(-1),
        ), constant

    def midway(self, index: Ints, other: Ints, u: Floats) -> tuple[Linear, Floats]:
        """Row r is u[r] . (point[index[r]] + point[other[r]]) / 2; the constant is (k,)."""
        one, one_fixed = self.along(index, u / 2)
        two, two_fixed = self.along(other, u / 2)
        return joined([one, two]), one_fixed + two_fixed

    def springs(self, one: Ints, other: Ints, weight: Floats) -> Linear:
        """Upper half of the matrix of the sum of weight[r] * |point[other[r]] - point[one[r]]|^2, as x Q x."""
        low, high = self.column[np.minimum(one, other)], self.column[np.maximum(one, other)]
        both = np.flatnonzero((low >= 0) & (high >= 0))
        low_moves, high_moves = np.flatnonzero(low >= 0), np.flatnonzero(high >= 0)
        return _each_axis(
            np.concatenate([low[low_moves], high[high_moves], low[both]]),
            np.concatenate([low[low_moves], high[high_moves], high[both]]),
            np.concatenate([weight[low_moves], weight[high_moves], -weight[both]]),
        )

    def tethers(self, index: Ints, u: Floats, weight: Floats) -> Linear:
        """Upper half of the matrix of the sum of weight[r] * (u[r] . point[index[r]])^2, as x Q x; all move."""
        first = 3 * self.column[index][:, None]
        product = weight[:, None] * u[:, _UPPER[0]] * u[:, _UPPER[1]]
        return Linear((first + _UPPER[0]).reshape(-1), (first + _UPPER[1]).reshape(-1), product.reshape(-1))

    def pull_of(self, terms: Linear, weight: Floats) -> Floats:
        """The rows added up, weight[r] each, as a vector over the variables: (3 moving,)."""
        return np.asarray(
            np.bincount(terms.column, terms.value * weight[terms.row], minlength=3 * len(self.moving)),
            dtype=np.float64,
        )


class Program:
    """Rows A x + s = b with s in cones, as they come.

    Parameters
    ----------
    *sizes : int
        How many variables of each kind there are; the first are the points.
    """

    def __init__(self, *sizes: int) -> None:
        self.first = np.cumsum([0, *sizes]).tolist()
        self.entries: list[Linear] = []
        self.right: list[Floats] = []
        self.height = 0
        self.cones: list[object] = []

    def _add(self, right: Floats, parts: dict[int, Linear]) -> None:
        for kind, part in parts.items():
            self.entries.append(Linear(self.height + part.row, self.first[kind] + part.column, part.value))
        self.right.append(right)
        self.height += len(right)

    def at_least(self, low: Floats, parts: dict[int, Linear]) -> None:
        """Sum of parts >= low, row by row; parts by the kind of their variables."""
        if not len(low):
            return
        self._add(-low, {kind: -part for kind, part in parts.items()})
        self.cones.append(clarabel.NonnegativeConeT(len(low)))

    def bar(self, points: Points, planes: Planes, slack: int) -> None:
        """The half-spaces of planes; `slack` names the variables by which each may be broken."""
        bars = len(planes.point)
        if not bars:
            return
        gives = diagonal(np.ones(bars))
        barred, level = points.midway(planes.point, planes.other, planes.u)
        self.at_least(planes.b - level, {POINTS: barred, slack: gives})
        self.at_least(np.zeros(bars), {slack: gives})

    def no_longer_than(
        self, limit: Floats, terms: Linear, constant: Floats, slack: int | None = None
    ) -> None:
        """|terms + constant| <= limit for each three rows of `POINTS`; `slack` names variables added to it."""
        count = len(limit)
        if not count:
            return
        place = (4 * np.arange(count)[:, None] + 1 + _AXES).reshape(-1)
        parts = {POINTS: Linear(place[terms.row], terms.column, -terms.value)}
        if slack is not None:
            row = np.arange(count)
            parts[slack] = Linear(4 * row, row, -np.ones(count))
        right = np.zeros(4 * count)
        right[0::4] = limit
        right[place] = constant.reshape(-1)
        self._add(right, parts)
        self.cones += [clarabel.SecondOrderConeT(4)] * count

    def solve(self, quadratic: Linear, linear: Floats) -> Floats | None:
        """Least of x Q x / 2 + q x under the rows, or None if none was found.

        Parameters
        ----------
        quadratic : Linear
            Q, its upper half.
        linear : (n,) float64
            q.
        """
        settings = clarabel.DefaultSettings()
        settings.verbose = False
        settings.max_threads = 1
        settings.tol_gap_abs = settings.tol_gap_rel = 1e-6
        settings.tol_feas = 1e-7
        count = self.first[-1]
        # Written down entry by entry: stacking sparse blocks took as long as solving.
        solver = clarabel.DefaultSolver(
            quadratic.matrix(count, count),
            linear,
            joined(self.entries).matrix(self.height, count),
            np.concatenate(self.right),
            self.cones,
            settings,
        )
        solution = solver.solve()
        return np.array(solution.x) if "Solved" in str(solution.status) else None
