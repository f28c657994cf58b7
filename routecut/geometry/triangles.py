"""Exact point-triangle and segment-triangle arithmetic, vectorised.

Units      m; arrays are float64
Source     region tests in barycentric coordinates, standard computational geometry
"""

from __future__ import annotations

import numpy as np

from routecut.model.body import Floats, Ints

_SLIVER_M = 1e-7
"""A triangle lower than this is taken as its edges."""


def dot(a: Floats, b: Floats) -> Floats:
    """Row-wise scalar product of two (n, 3) arrays, (n,)."""
    return np.asarray(np.einsum("ij,ij->i", a, b))


def unit(v: Floats) -> Floats:
    """Rows scaled to length one; a zero row stays zero. (n, 3)."""
    norm = np.linalg.norm(v, axis=1)
    return v / np.where(norm > 0, norm, 1.0)[:, None]


def plane_axes(axis: Floats) -> tuple[Floats, Floats]:
    """Two unit vectors square to an axis and to each other: (3,), (3,)."""
    least = np.zeros(3)
    least[np.abs(axis).argmin()] = 1.0
    across = np.cross(axis, least)
    across /= np.linalg.norm(across)
    return across, np.cross(axis, across)


def closest_on_triangles(points: Floats, corners: Floats) -> Floats:
    """Nearest point of each triangle to the point of the same row.

    Parameters
    ----------
    points : (n, 3) float64
    corners : (n, 3, 3) float64
        May be degenerate: the nearest point of its edges is returned then.

    Returns
    -------
    (n, 3) float64
    """
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, ac, ap = b - a, c - a, points - a
    d1, d2 = dot(ab, ap), dot(ac, ap)
    bp, cp = points - b, points - c
    d3, d4 = dot(ab, bp), dot(ac, bp)
    d5, d6 = dot(ab, cp), dot(ac, cp)
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    total = va + vb + vc
    safe = np.where(total != 0, total, 1.0)
    v, w = vb / safe, vc / safe
    # Where the foot of the perpendicular lies outside, the best of the three edges.
    # The sums are rounding noise where the corners lie on a line: such a sliver is its edges.
    sliver = total <= _SLIVER_M**2 * (dot(ab, ab) + dot(ac, ac))
    inside = ~sliver & (va >= 0) & (vb >= 0) & (vc >= 0)
    best = a + ab * v[:, None] + ac * w[:, None]
    out = np.flatnonzero(~inside)
    if len(out):
        p = points[out]
        foot = np.full((len(out),), np.inf)
        where = best[out].copy()
        for start, end in ((a, b), (b, c), (c, a)):
            s, e = start[out], end[out] - start[out]
            length2 = dot(e, e)
            t = np.clip(dot(p - s, e) / np.where(length2 > 0, length2, 1.0), 0.0, 1.0)
            q = s + e * t[:, None]
            d = np.einsum("ij,ij->i", p - q, p - q)
            nearer = d < foot
            foot[nearer] = d[nearer]
            where[nearer] = q[nearer]
        best[out] = where
    return best


def split_to(corners: Floats, longest_m: float) -> tuple[Floats, Ints]:
    """Triangles cut at the middle of their longest edge until no edge is longer.

    Parameters
    ----------
    corners : (n, 3, 3) float64
    longest_m : float

    Returns
    -------
    (m, 3, 3) float64, (m,) int64
        The pieces, and the triangle each was cut from.
    """
    done: list[Floats] = []
    done_parent: list[Ints] = []
    todo, parent = corners, np.arange(len(corners), dtype=np.int64)
    while len(todo):
        edges = np.linalg.norm(todo - np.roll(todo, -1, axis=1), axis=2)
        worst = edges.argmax(axis=1)
        long = edges[np.arange(len(todo)), worst] > longest_m
        done.append(todo[~long])
        done_parent.append(parent[~long])
        todo, parent, worst = todo[long], parent[long], worst[long]
        if not len(todo):
            break
        rows = np.arange(len(todo))
        p = todo[rows, worst]
        q = todo[rows, (worst + 1) % 3]
        r = todo[rows, (worst + 2) % 3]
        mid = (p + q) / 2
        todo = np.concatenate([np.stack([p, mid, r], axis=1), np.stack([mid, q, r], axis=1)])
        parent = np.concatenate([parent, parent])
    if not done:
        return np.zeros((0, 3, 3)), np.zeros(0, dtype=np.int64)
    return np.concatenate(done), np.concatenate(done_parent)
