"""The vehicle's sheets, ready for many questions: what is near, what is in the way.

Rays are answered by embree in single precision (about a micrometre at vehicle size),
nearest points by k-d trees over triangle pieces in double precision.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from embreex import rtcore_scene
from embreex.mesh_construction import TriangleMesh
from scipy.spatial import cKDTree

from routecut.geometry.triangles import closest_on_triangles, dot, split_to, unit
from routecut.model.body import Floats, Ints

Bools = npt.NDArray[np.bool_]

_PIECE_M = 0.060
"""Longest edge of the pieces in the k-d trees; smaller costs memory, larger costs candidates."""

_SIZE_CLASSES_M = (0.006, 0.015, 0.028, 0.041)
"""Piece radii by tree: a search has to reach that much further than asked."""

_REACHES = 1.5
"""Points whose reaches differ by more than this factor are asked apart."""

_CHUNK = 20_000
_MOST = 0.6
"""With fewer points known than this share, a vicinity is not worth renewing."""


@dataclass(frozen=True, slots=True, eq=False)
class _Pieces:
    """Triangle pieces of one size class.

    Attributes
    ----------
    tree : cKDTree
        Of the centres.
    largest_m : float
        No radius is larger.
    centre, normal : (n, 3) float64
    radius_m : (n,) float64
        Of the sphere round the centre.
    corners : (n, 3, 3) float64
    face : (n,) int64
        The triangle each was cut from.
    """

    tree: cKDTree
    largest_m: float
    centre: Floats
    normal: Floats
    radius_m: Floats
    corners: Floats
    face: Ints

    def candidates(self, points_m: Floats, reach_m: Floats) -> tuple[Ints, Ints]:
        """Point and piece of all pairs whose spheres meet: a superset of those within each point's reach."""
        most = float(reach_m.max())
        pairs = cKDTree(points_m).sparse_distance_matrix(
            self.tree, most + self.largest_m, output_type="ndarray"
        )
        near = np.flatnonzero(pairs["v"] <= reach_m[pairs["i"]] + self.radius_m[pairs["j"]])
        return pairs["i"][near].astype(np.int64), pairs["j"][near].astype(np.int64)

    def within(
        self, points_m: Floats, reach_m: Floats, pairs: tuple[Ints, Ints]
    ) -> tuple[Ints, Ints, Floats, Floats]:
        """Point, face, nearest place and distance of those of the pairs that are within each point's reach."""
        i, j = pairs
        # A cheap bound first: few of the pairs whose spheres meet are near in the end.
        level = np.flatnonzero(np.abs(dot(points_m[i] - self.centre[j], self.normal[j])) <= reach_m[i])
        i, j = i[level], j[level]
        at = closest_on_triangles(points_m[i], self.corners[j])
        off = points_m[i] - at
        distance = np.sqrt(dot(off, off))
        keep = np.flatnonzero(distance <= reach_m[i])
        return i[keep], self.face[j[keep]], at[keep], distance[keep]


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Pairs of a query point and a sheet within reach of it, sorted by point, then distance.

    Attributes
    ----------
    point : (n,) int64
        Index of the query point.
    face : (n,) int64
        Index of the face.
    at_m : (n, 3) float64
        Nearest point on that face. [m]
    distance_m : (n,) float64
    """

    point: Ints
    face: Ints
    at_m: Floats
    distance_m: Floats

    def closest(self, count: int) -> tuple[Floats, Floats, Ints]:
        """Distance (inf where nothing is near), place and face (-1) of the nearest for each of `count` points."""
        distance = np.full(count, np.inf)
        at = np.zeros((count, 3))
        face = np.full(count, -1, dtype=np.int64)
        first: Ints = (
            np.flatnonzero(np.r_[True, self.point[1:] != self.point[:-1]])
            if len(self.point)
            else np.zeros(0, dtype=np.int64)
        )
        rows = self.point[first]
        distance[rows] = self.distance_m[first]
        at[rows] = self.at_m[first]
        face[rows] = self.face[first]
        return distance, at, face


class Sheets:
    """A triangle soup with fast rays and nearest-point queries.

    Parameters
    ----------
    triangles_m : (n, 3, 3) float64
        Winding, holes, cracks and duplicates do not matter. [m]
    """

    def __init__(self, triangles_m: Floats) -> None:
        self.triangles_m = np.ascontiguousarray(triangles_m, dtype=np.float64).reshape(-1, 3, 3)
        self._scene = rtcore_scene.EmbreeScene()
        if len(self.triangles_m):
            TriangleMesh(self._scene, self.triangles_m.astype(np.float32))
        pieces, parent = split_to(self.triangles_m, _PIECE_M)
        centre = pieces.mean(axis=1)
        radius = np.linalg.norm(pieces - centre[:, None], axis=2).max(axis=1) if len(pieces) else np.zeros(0)
        cross = np.cross(pieces[:, 1] - pieces[:, 0], pieces[:, 2] - pieces[:, 0])
        normal = unit(cross)
        self._pieces: list[_Pieces] = []
        low = -1.0
        for high in _SIZE_CLASSES_M:
            rows = np.flatnonzero((radius > low) & (radius <= high))
            if len(rows):
                self._pieces.append(
                    _Pieces(
                        tree=cKDTree(centre[rows]),
                        largest_m=high,
                        centre=centre[rows],
                        normal=normal[rows],
                        radius_m=radius[rows],
                        corners=pieces[rows],
                        face=parent[rows],
                    )
                )
            low = high

    def near(self, points_m: Floats, reach_m: float | Floats) -> Near:
        """All faces within `reach_m` of each point, nearest first.

        Parameters
        ----------
        points_m : (n, 3) float64
        reach_m : float or (n,) float64
            One for all, or one a point.
        """
        reach = np.broadcast_to(np.asarray(reach_m, dtype=np.float64), (len(points_m),))
        return _sorted(
            [
                pieces.within(points_m, reach, pairs)
                for pieces, pairs in zip(self._pieces, self._candidates(points_m, reach), strict=True)
            ]
        )

    def _candidates(self, points_m: Floats, reach_m: Floats) -> list[tuple[Ints, Ints]]:
        """For each size class, point and piece of the pairs that may be within reach."""
        none = np.zeros(0, dtype=np.int64)
        found: list[tuple[Ints, Ints]] = []
        for pieces in self._pieces:
            points, parts = [none], [none]
            for group in _alike(reach_m):
                for start in range(0, len(group), _CHUNK):
                    rows = group[start : start + _CHUNK]
                    i, j = pieces.candidates(points_m[rows], reach_m[rows])
                    points.append(rows[i])
                    parts.append(j)
            found.append((np.concatenate(points), np.concatenate(parts)))
        return found

    def around(self, points_m: Floats, reach_m: Floats) -> Vicinity:
        """What lies near points that will be asked about again and again while they move a little."""
        return Vicinity(self, points_m, reach_m)

    def closest(self, points_m: Floats, reach_m: float | Floats) -> tuple[Floats, Floats, Ints]:
        """Distance (inf beyond reach), place and face (-1) of the nearest sheet to each point."""
        return self.near(points_m, reach_m).closest(len(points_m))

    def blocked(self, from_m: Floats, to_m: Floats) -> Bools:
        """Whether a sheet lies between the two points of each row, asked both ways.

        A ray may slip past where two triangles share an edge; it does not in both ways.
        """
        if not len(from_m) or not len(self.triangles_m):
            return np.zeros(len(from_m), dtype=bool)
        return self._occluded(from_m, to_m) | self._occluded(to_m, from_m)

    def tube_blocked(self, from_m: Floats, to_m: Floats, radius_m: float | Floats) -> Bools:
        """Like `blocked`, for the axis and the lines round it at `radius_m` (one, or one a row)."""
        return self.blocked(from_m, to_m) | self.skin_blocked(from_m, to_m, radius_m)

    def skin_blocked(self, from_m: Floats, to_m: Floats, radius_m: float | Floats) -> Bools:
        """Whether a sheet meets one of eight lines round each axis at `radius_m` (the axis itself not asked)."""
        radius = np.broadcast_to(np.asarray(radius_m, dtype=np.float64), (len(from_m),))
        along = to_m - from_m
        length = np.linalg.norm(along, axis=1)
        along = along / np.where(length > 0, length, 1.0)[:, None]
        helper = np.where(np.abs(along[:, :1]) < 0.9, np.array([[1.0, 0, 0]]), np.array([[0, 1.0, 0]]))
        side = np.cross(along, helper)
        side /= np.maximum(np.linalg.norm(side, axis=1), 1e-12)[:, None]
        up = np.cross(along, side)
        hit = np.zeros(len(from_m), dtype=bool)
        for turn in np.arange(8) * np.pi / 4:
            rows = np.flatnonzero(~hit)
            shift = (np.cos(turn) * side[rows] + np.sin(turn) * up[rows]) * radius[rows, None]
            hit[rows] = self._occluded(from_m[rows] + shift, to_m[rows] + shift)
        return hit

    def first_hit(self, from_m: Floats, direction: Floats, reach_m: float) -> tuple[Floats, Ints]:
        """Distance along a unit direction to the first sheet (inf when none within reach), and its face."""
        distance = np.full(len(from_m), np.inf)
        face = np.full(len(from_m), -1, dtype=np.int64)
        if not len(from_m) or not len(self.triangles_m):
            return distance, face
        found = self._scene.run(
            from_m.astype(np.float32),
            direction.astype(np.float32),
            np.full(len(from_m), reach_m, dtype=np.float32),
            output=True,
        )
        hit = found["primID"] >= 0
        distance[hit] = found["tfar"][hit]
        face[hit] = found["primID"][hit]
        return distance, face

    def _occluded(self, from_m: Floats, to_m: Floats) -> Bools:
        result = self._scene.run(
            from_m.astype(np.float32),
            (to_m - from_m).astype(np.float32),
            np.ones(len(from_m), dtype=np.float32),
            query="OCCLUDED",
        )
        return np.asarray(np.asarray(result) != -1)


def _sorted(found: Sequence[tuple[Ints, Ints, Floats, Floats]]) -> Near:
    if not found:
        none = np.zeros(0, dtype=np.int64)
        return Near(none, none, np.zeros((0, 3)), np.zeros(0))
    point, face, at, distance = (np.concatenate(column) for column in zip(*found, strict=True))
    order = np.lexsort((face, distance, point))  # ties by face, so that results repeat
    return Near(point[order], face[order], at[order], distance[order])


class Vicinity:
    """Sheets near points that move a little: answers like `Sheets.near`, without searching anew.

    Parameters
    ----------
    sheets : Sheets
    points_m : (n, 3) float64
    reach_m : (n,) float64
        How far is looked; a point that has moved by d is known to reach minus d.
    """

    def __init__(self, sheets: Sheets, points_m: Floats, reach_m: Floats) -> None:
        self._sheets = sheets
        self._at = points_m.copy()
        self._reach = reach_m.copy()
        self._pairs = sheets._candidates(points_m, reach_m)

    def knows(self, points_m: Floats, reach_m: Floats) -> Bools:
        """Rows for which the answer is in the vicinity, (n,) bool."""
        moved = points_m - self._at
        return np.asarray(np.sqrt(dot(moved, moved)) + reach_m <= self._reach)

    def fits(self, points_m: Floats, reach_m: Floats) -> bool:
        """Whether these are still the same points, most of them hardly moved."""
        return len(points_m) == len(self._at) and bool(self.knows(points_m, reach_m).mean() > _MOST)

    def near(self, points_m: Floats, reach_m: Floats) -> Near:
        """All faces within `reach_m` of each point, nearest first; exact also for points that moved too far."""
        known = self.knows(points_m, reach_m)
        if not known.all():
            self._renew(points_m, np.flatnonzero(~known), reach_m)
        pieces = self._sheets._pieces
        return _sorted(
            [p.within(points_m, reach_m, pairs) for p, pairs in zip(pieces, self._pairs, strict=True)]
        )

    def _renew(self, points_m: Floats, rows: Ints, reach_m: Floats) -> None:
        """Search anew for some of the points."""
        self._at[rows] = points_m[rows]
        self._reach[rows] = np.maximum(self._reach[rows], reach_m[rows])
        stale = np.zeros(len(points_m), dtype=bool)
        stale[rows] = True
        fresh = self._sheets._candidates(points_m[rows], self._reach[rows])
        self._pairs = [
            (
                np.concatenate([i[keep := ~stale[i]], rows[new_i]]),
                np.concatenate([j[keep], new_j]),
            )
            for (i, j), (new_i, new_j) in zip(self._pairs, fresh, strict=True)
        ]


def _alike(reach_m: Floats) -> list[Ints]:
    """Rows in groups whose reaches differ by no more than a factor, so that a long one costs the others nothing."""
    if not len(reach_m):
        return []
    least = float(reach_m.min())
    if least <= 0 or float(reach_m.max()) <= _REACHES * least:
        return [np.arange(len(reach_m))]
    step = np.floor(np.log(reach_m / least) / np.log(_REACHES)).astype(np.int64)
    return [np.flatnonzero(step == k) for k in np.unique(step)]
