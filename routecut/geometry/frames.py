"""Triangles in their own planes: nearest points of many pairs of point and triangle, exact and quick.

A triangle is laid with its longest edge along the first axis of a frame of its own, its
third corner above it. The nearest point is then one of plane geometry: three tests for
the inside, three edges for the outside.

Units      m; arrays are float64
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats, Ints

_SLIVER_M = 1e-7
"""A triangle lower than this is taken as its edges: what its plane is, is rounding noise."""


@dataclass(frozen=True, slots=True, eq=False)
class Frames:
    """Triangles, one row each.

    Attributes
    ----------
    origin, along, up, normal : (n, 3) float64
        A corner, and three unit vectors square to each other: along the longest edge, across
        it towards the third corner, and out of the plane.
    level : (n,) float64
        normal . origin
    base, apex, height : (n,) float64
        The corners lie at (0, 0), (base, 0) and (apex, height).
    """

    origin: Floats
    along: Floats
    up: Floats
    normal: Floats
    level: Floats
    base: Floats
    apex: Floats
    height: Floats

    @classmethod
    def of(cls, corners: Floats) -> Frames:
        """The frames of (n, 3, 3) triangles; they may have no area."""
        rows = np.arange(len(corners))
        longest = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2).argmax(axis=1)
        origin, end, third = (corners[rows, (longest + k) % 3] for k in range(3))
        along = unit(end - origin)
        along[~along.any(axis=1)] = (1.0, 0.0, 0.0)
        side = third - origin
        up = side - dot(side, along)[:, None] * along
        # Where the corners lie on a line any direction across it will do.
        flat = dot(up, up) <= _SLIVER_M**2
        across = np.eye(3)[np.abs(along[flat]).argmin(axis=1)]
        up[flat] = across - dot(across, along[flat])[:, None] * along[flat]
        up = unit(up)
        up = unit(up - dot(up, along)[:, None] * along)
        normal = np.cross(along, up)
        return cls(
            origin=origin,
            along=along,
            up=up,
            normal=normal,
            level=dot(normal, origin),
            base=dot(end - origin, along),
            apex=dot(side, along),
            height=np.where(flat, 0.0, dot(side, up)),
        )

    def __len__(self) -> int:
        return len(self.origin)

    def within(
        self, points: Floats, reach: Floats, pairs: tuple[Ints, Ints]
    ) -> tuple[Ints, Ints, Floats, Floats]:
        """Those of the pairs of point and triangle that are no further apart than the point reaches.

        Returns
        -------
        (k,) int64, (k,) int64, (k, 3) float64, (k,) float64
            Point, triangle, nearest place on it, distance.
        """
        # Cheap bounds first: few of the pairs are near in the end.
        i, j = pairs
        lift = dot(points[i], self.normal[j]) - self.level[j]
        keep = np.flatnonzero(np.abs(lift) <= reach[i])
        i, j, lift = i[keep], j[keep], lift[keep]
        off = points[i] - self.origin[j]
        x, y, most = dot(off, self.along[j]), dot(off, self.up[j]), reach[i]
        base, height = self.base[j], self.height[j]
        keep = np.flatnonzero((x >= -most) & (x <= base + most) & (y >= -most) & (y <= height + most))
        i, j, x, y, lift = i[keep], j[keep], x[keep], y[keep], lift[keep]
        u, v = _nearest(x, y, base[keep], self.apex[j], height[keep])
        distance = np.sqrt((x - u) ** 2 + (y - v) ** 2 + lift**2)
        keep = np.flatnonzero(distance <= most[keep])
        i, j, u, v = i[keep], j[keep], u[keep], v[keep]
        return i, j, self.origin[j] + u[:, None] * self.along[j] + v[:, None] * self.up[j], distance[keep]


def _nearest(x: Floats, y: Floats, base: Floats, apex: Floats, height: Floats) -> tuple[Floats, Floats]:
    """Nearest point of the triangle (0, 0), (base, 0), (apex, height) to (x, y), row by row."""
    u, v = x.copy(), y.copy()
    inside = (y >= 0) & (height * x >= apex * y) & (height * (base - x) >= (base - apex) * y) & (height > 0)
    out = np.flatnonzero(~inside)
    x, y, base, apex, height = x[out], y[out], base[out], apex[out], height[out]
    best_u, best_v = np.clip(x, 0.0, base), np.zeros(len(out))
    best = (x - best_u) ** 2 + y**2
    for start, across in ((0.0, apex), (base, apex - base)):
        size = across**2 + height**2
        t = np.clip(((x - start) * across + y * height) / np.where(size > 0, size, 1.0), 0.0, 1.0)
        edge_u, edge_v = start + t * across, t * height
        off = (x - edge_u) ** 2 + (y - edge_v) ** 2
        nearer = off < best
        best = np.where(nearer, off, best)
        best_u, best_v = np.where(nearer, edge_u, best_u), np.where(nearer, edge_v, best_v)
    u[out], v[out] = best_u, best_v
    return u, v
