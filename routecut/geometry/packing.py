"""Discs packed in the least circle round them: cables that run together as one bundle.

Stage      geometry
Units      m
Method     two and three discs in closed form; more by a non-linear program from fixed starts
Safe side  the answer is always a packing that can be laid: its circle is never smaller than the
           least there is, and `bound_m` says how much smaller that could be
Source     three discs: Soddy's circles (Descartes 1643); least circles proved for 4 to 13 and 19
           equal discs: Graham 1968, Pirl 1969, Melissen 1994, Fodor 1999-2003, from the table of
           circle packing in a circle of an encyclopedia
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import clarabel
import numpy as np
from scipy import sparse

from routecut.model.body import Floats

PROVED: Final = {
    4: 2.414213,
    5: 2.701301,
    6: 3.0,
    7: 3.0,
    8: 3.304764,
    9: 3.613125,
    10: 3.813025,
    11: 3.923804,
    12: 4.029601,
    13: 4.236067,
    19: 4.863703,
}
"""Radius of the least circle round so many equal discs of radius 1, where it is proved; cut off, not rounded."""

_STARTS: Final = 16
_SHAKES: Final = 16
"""From a mixture of sizes the best is put together anew until so many changes in a row were of no use."""

_MOVES: Final = 60
_SETTLED: Final = 1e-6
"""A start is worked on for so many moves, or until one shrinks the circle by less than this share."""

_MOST_SOLVED: Final = 30
"""More discs than this are packed by placing alone: the program grows with the cube of their number."""

_GAP: Final = 1e-9
"""Discs are pushed apart by this share, so that rounding never makes two overlap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """Discs in a circle round the origin.

    Attributes
    ----------
    diameter_m : float
        Of the circle. [m]
    places_m : tuple of (float, float)
        Middle of each disc, in the order they were given. [m]
    """

    diameter_m: float
    places_m: tuple[tuple[float, float], ...]


def pack(diameters_m: Sequence[float]) -> Packing:
    """The tightest packing found of discs side by side.

    Exact for up to three; up to 19 equal ones within 0.2 per cent of the records; of other
    mixtures some 2 per cent may be missed. Same discs, same circle, whatever their order.

    Examples
    --------
    >>> round(pack([2.0, 2.0, 2.0]).diameter_m, 3), pack([1.0, 3.0]).diameter_m
    (4.309, 4.0)
    """
    order = sorted(range(len(diameters_m)), key=lambda i: -diameters_m[i])
    found = _packed(tuple(float(diameters_m[i]) for i in order))
    places = [(0.0, 0.0)] * len(order)
    for place, i in zip(found.places_m, order, strict=True):
        places[i] = place
    return Packing(diameter_m=found.diameter_m, places_m=tuple(places))


def enclosing_m(diameters_m: Sequence[float]) -> float:
    """Diameter of the least circle found round discs, those of no size left out. [m]"""
    return pack([d for d in diameters_m if d > 0]).diameter_m


def bound_m(diameters_m: Sequence[float]) -> float:
    """No circle smaller than this holds the discs. [m]

    The greatest of: the area of all, the three largest in closed form, and the k largest
    counted as k equal ones of the size of the k-th, for each k that is proved.

    Examples
    --------
    >>> bound_m([1.0] * 7), round(bound_m([3.0, 2.0, 1.0]), 3)
    (3.0, 5.0)
    """
    d = sorted((x for x in diameters_m if x > 0), reverse=True)
    if not d:
        return 0.0
    equal = [ratio * d[k - 1] for k, ratio in PROVED.items() if k <= len(d)]
    return max(math.sqrt(math.fsum(x * x for x in d)), _least_of_three(d[:3]), *equal, d[0])


def _least_of_three(d: Sequence[float]) -> float:
    """Exact diameter round at most three discs, largest first."""
    if len(d) < 3:
        return math.fsum(d)
    # Curvatures. In the circle round the two largest a third fits beside them up to one size ...
    k1, k2, k3 = (2 / x for x in d)
    if k3 >= k1 + k2 - 2 / (d[0] + d[1]):
        return d[0] + d[1]
    # ... a larger one touches both, and the circle is the one round three that touch each other.
    return 2 / (2 * math.sqrt(k1 * k2 + k2 * k3 + k3 * k1) - k1 - k2 - k3)


@cache
def _packed(d: tuple[float, ...]) -> Packing:
    """Discs by falling size; sizes are scaled so that the largest is 1 while they are packed."""
    r = np.array(d) / 2
    if len(r) < 2:
        return Packing(diameter_m=sum(d), places_m=((0.0, 0.0),) * len(d))
    size = float(r[0])
    r = r / size
    starts = [_placed(r) if len(r) != 3 else _three(r)]
    if 3 < len(r) <= _MOST_SOLVED:
        starts = [_solved(r, start) for start in (*starts, *_strewn(r))]
    best = _shaken(r, min((_apart(r, x) for x in starts), key=lambda x: _radius(r, x)))
    radius = _radius(r, best)
    return Packing(
        diameter_m=2 * radius * size, places_m=tuple((x * size, y * size) for x, y in best.tolist())
    )


def _three(r: Floats) -> Floats:
    """Three discs in the circle of `_least_of_three`: a solver would miss it by some billionths."""
    radius = _least_of_three((2 * r).tolist()) / 2
    if radius <= r[0] + r[1]:
        x = np.array([[-r[1], 0.0], [r[0], 0.0], [0.0, 0.0]])
        corners = _corners(r, x, 2)
        x[2] = corners[int(np.hypot(*corners.T).argmin())]
        return x
    inner = radius - r
    cosine = (inner[0] ** 2 + inner[1:] ** 2 - (r[0] + r[1:]) ** 2) / (2 * inner[0] * inner[1:])
    turn = np.arccos(np.clip(cosine, -1.0, 1.0)) * [1.0, -1.0]
    ends = inner[1:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return np.concatenate([[[inner[0], 0.0]], ends])


def _strewn(r: Floats) -> list[Floats]:
    """Starts, half of them at random and half a ring with some of the smaller discs inside."""
    rng, n = np.random.default_rng(0), len(r)
    starts = [rng.normal(size=(n, 2)) for _ in range(_STARTS // 2)]
    for k in range(_STARTS - len(starts)):
        turn = 2 * math.pi * rng.permutation(n) / n
        ring = np.stack([np.cos(turn), np.sin(turn)], axis=1)
        ring[n - 1 - k % (n // 3 + 1) :] *= 0.2
        starts.append(ring)
    return starts


def _shaken(r: Floats, x: Floats) -> Floats:
    """A packing with discs put elsewhere, as long as one of so many ways in a row shrinks the circle."""
    n = len(r)
    if not 3 < n <= _MOST_SOLVED:
        return x
    rng, radius, tries = np.random.default_rng(1), _radius(r, x), 0
    while tries < _SHAKES:
        other = x.copy()
        one, two = rng.choice(n, size=2, replace=False)
        if tries % 2 and r[one] != r[two]:
            other[[one, two]] = other[[two, one]]
        else:
            turn = rng.uniform(0, 2 * math.pi)
            other[one] = rng.uniform(0, radius) * np.array([math.cos(turn), math.sin(turn)])
        other = _solved(r, other)
        tries += 1
        if _radius(r, other) < radius * (1 - 1e-4):
            x, radius, tries = other, _radius(r, other), 0
    return x


def _radius(r: Floats, x: Floats) -> float:
    """Of the circle round the origin that holds discs."""
    return float((np.hypot(x[:, 0], x[:, 1]) + r).max())


def _apart(r: Floats, x: Floats) -> Floats:
    """The same places, spread until no two discs overlap."""
    i, j = np.triu_indices(len(r), 1)
    between = np.maximum(np.hypot(*(x[i] - x[j]).T), 1e-12)
    return np.asarray(x * max(1.0, float(((r[i] + r[j]) / between).max()) * (1 + _GAP)))


def _placed(r: Floats) -> Floats:
    """Discs one by one where the circle stays least: beside two that lie, then moved to the middle."""
    if len(r) == 2:
        return np.array([[-r[1], 0.0], [r[0], 0.0]])
    x = np.zeros((len(r), 2))
    x[1] = [r[0] + r[1], 0.0]
    for k in range(2, len(r)):
        corners = _corners(r, x, k)
        middle = _middle(r[:k], x[:k])
        x[k] = corners[int((np.hypot(*(corners - middle).T)).argmin())]
    return np.asarray(x - _middle(r, x))


def _corners(r: Floats, x: Floats, k: int) -> Floats:
    """Places of disc k that touch two of those before it and overlap none."""
    i, j = np.triu_indices(k, 1)
    a, b = r[i] + r[k], r[j] + r[k]
    along = x[j] - x[i]
    c = np.hypot(*along.T)
    reach = (c < a + b) & (c > np.abs(a - b)) & (c > 0)
    i, j, a, b, along, c = i[reach], j[reach], a[reach], b[reach], along[reach], c[reach]
    u = along / c[:, None]
    t = (a * a - b * b + c * c) / (2 * c)
    h = np.sqrt(np.maximum(a * a - t * t, 0.0))
    foot, side = x[i] + t[:, None] * u, h[:, None] * np.stack([-u[:, 1], u[:, 0]], axis=1)
    places = np.concatenate([foot + side, foot - side])
    gap = np.hypot(*(places[:, None] - x[None, :k]).transpose(2, 0, 1)) - r[:k] - r[k]
    return np.asarray(places[gap.min(axis=1) > -1e-9])


def _middle(r: Floats, x: Floats) -> Floats:
    """Middle of the least circle round discs that lie where they lie: a convex problem, by steps inward."""
    middle = x.mean(axis=0)
    for step in np.geomspace(1.0, 1e-10, 400):
        off = x - middle
        far = np.hypot(*off.T) + r
        worst = int(far.argmax())
        length = float(np.hypot(*off[worst]))
        if length > 0:
            middle = middle + off[worst] / length * min(step, length)
    return np.asarray(middle)


def _solved(r: Floats, start: Floats) -> Floats:
    """The least circle that is reached from a start by moving the discs.

    Each move keeps every two discs apart along the line between them as it lies before: that is
    a convex program, and what it finds is a packing, so that the circle never grows.
    """
    n = len(r)
    i, j = np.triu_indices(n, 1)
    rows, pairs = np.arange(n), np.arange(len(i))
    # Unknown are x and y of each disc and R: within R by cones of (R - r, x, y).
    row = np.concatenate([*[pairs] * 4, *(len(i) + 3 * rows + k for k in range(3))])
    column = np.concatenate([2 * i, 2 * i + 1, 2 * j, 2 * j + 1, np.full(n, 2 * n), 2 * rows, 2 * rows + 1])
    bound = np.concatenate([-(r[i] + r[j]), np.stack([-r, 0 * r, 0 * r], axis=1).ravel()])
    cones = [clarabel.NonnegativeConeT(len(i)), *[clarabel.SecondOrderConeT(3)] * n]
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.max_threads = 1
    shape, least = (len(bound), 2 * n + 1), np.append(np.zeros(2 * n), 1.0)
    none = sparse.csc_matrix((2 * n + 1, 2 * n + 1))
    x = _apart(r, start)
    radius = _radius(r, x)
    for _ in range(_MOVES):
        between = x[i] - x[j]
        u, v = (between / np.hypot(*between.T)[:, None]).T
        data = np.concatenate([-u, -v, u, v, np.full(3 * n, -1.0)])
        matrix = sparse.csc_matrix((data, (row, column)), shape=shape)
        found = clarabel.DefaultSolver(none, least, matrix, bound, cones, settings).solve()
        moved = _apart(r, np.array(found.x)[:-1].reshape(n, 2))
        shrunk = _radius(r, moved)
        if not shrunk < radius * (1 - _SETTLED):
            return x if radius < shrunk else moved
        x, radius = moved, shrunk
    return x
