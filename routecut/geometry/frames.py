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
    origin : (n, 3) float64
        A corner.
    along, up, normal : (n, 4) float64
        Three unit vectors square to each other (along the longest edge, across it towards the
        third corner, and out of the plane) and, in the last column, what to add to their product
        with a point to have its coordinates from the corner on.
    base, apex, height : (n,) float64
        The corners lie at (0, 0), (base, 0) and (apex, height).
    """

    origin: Floats
    along: Floats
    up: Floats
    normal: Floats
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
            along=np.column_stack([along, -dot(along, origin)]),
            up=np.column_stack([up, -dot(up, origin)]),
            normal=np.column_stack([normal, -dot(normal, origin)]),
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
        # Cheap bounds first: few of the pairs are near in the end. Rows are taken, which is
        # several times quicker than the same by index.
        i, j = pairs
        one = np.column_stack([points, np.ones(len(points))])
        at, most = one.take(i, axis=0), reach.take(i)
        lift = dot(at, self.normal.take(j, axis=0))
        keep = np.flatnonzero(np.abs(lift) <= most)
        i, j, at = i.take(keep), j.take(keep), at.take(keep, axis=0)
        lift, most = lift.take(keep), most.take(keep)
        x, y = dot(at, self.along.take(j, axis=0)), dot(at, self.up.take(j, axis=0))
        base, height = self.base.take(j), self.height.take(j)
        keep = np.flatnonzero((x >= -most) & (x <= base + most) & (y >= -most) & (y <= height + most))
        i, j = i.take(keep), j.take(keep)
        x, y, lift, most = (column.take(keep) for column in (x, y, lift, most))
        u, v = _nearest(x, y, base.take(keep), self.apex.take(j), height.take(keep))
        distance = np.sqrt((x - u) ** 2 + (y - v) ** 2 + lift**2)
        keep = np.flatnonzero(distance <= most)
        i, j, u, v = i.take(keep), j.take(keep), u.take(keep), v.take(keep)
        along, up = self.along.take(j, axis=0)[:, :3], self.up.take(j, axis=0)[:, :3]
        place = self.origin.take(j, axis=0) + u[:, None] * along + v[:, None] * up
        return i, j, place, distance.take(keep)


def _nearest(x: Floats, y: Floats, base: Floats, apex: Floats, height: Floats) -> tuple[Floats, Floats]:
    """Nearest point of the triangle (0, 0), (base, 0), (apex, height) to (x, y), row by row."""
    u, v = x.copy(), y.copy()
    inside = (y >= 0) & (height * x >= apex * y) & (height * (base - x) >= (base - apex) * y) & (height > 0)
    out = np.flatnonzero(~inside)
    x, y, base, apex, height = (column.take(out) for column in (x, y, base, apex, height))
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
