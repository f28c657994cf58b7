"""The vehicle's sheets, ready for many questions: what is near, what is in the way.

Rays are answered by embree in single precision (about a micrometre at vehicle size),
nearest points from triangle pieces in double precision (pieces.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from embreex import rtcore_scene
from embreex.mesh_construction import TriangleMesh

from routecut.geometry.pieces import Pieces
from routecut.model.body import Floats, Ints

Bools = npt.NDArray[np.bool_]

_CHUNK = 20_000
"""So many points are looked up at once; more would only cost memory. What is asked about more is not kept."""

_ONCE = 1_000
"""The nodes of a roadmap are asked once, and are many: what each is no further off than is looked for first. Strands
are few points asked again and again, for which what lies round them is kept."""

_HAIR_M = 2e-4
"""What points may be off the planes that hold them."""


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
        self._pieces = Pieces(self.triangles_m)

    def near(self, points_m: Floats, reach_m: float | Floats) -> Near:
        """All faces within `reach_m` of each point, nearest first.

        Parameters
        ----------
        points_m : (n, 3) float64
        reach_m : float or (n,) float64
            One for all, or one a point.
        """
        reach = np.broadcast_to(np.asarray(reach_m, dtype=np.float64), (len(points_m),))
        kept = len(points_m) <= _CHUNK
        found = []
        for start in range(0, len(points_m), _CHUNK):
            part = slice(start, start + _CHUNK)
            point, face, at, distance = self._pieces.near(points_m[part], reach[part], kept=kept)
            found.append((start + point, face, at, distance))
        return _sorted(found)

    def closest(self, points_m: Floats, reach_m: float | Floats) -> tuple[Floats, Floats, Ints]:
        """Distance (inf beyond reach), place and face (-1) of the nearest sheet to each point."""
        if len(points_m) > _ONCE:
            reach_m = np.minimum(reach_m, self._pieces.at_most_m(points_m))
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
        """Whether a sheet meets one of eight lines round each axis at `radius_m` (the axis itself not asked).

        The lines run a hair within the skin: a cable that rests on its sheet touches it.
        """
        radius = np.broadcast_to(np.asarray(radius_m, dtype=np.float64), (len(from_m),))
        radius = np.maximum(radius - _HAIR_M, 0.0)
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
            shift = np.cos(turn) * side.take(rows, axis=0) + np.sin(turn) * up.take(rows, axis=0)
            shift *= radius.take(rows)[:, None]
            hit[rows] = self._occluded(from_m.take(rows, axis=0) + shift, to_m.take(rows, axis=0) + shift)
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
    return Near(point.take(order), face.take(order), at.take(order, axis=0), distance.take(order))
