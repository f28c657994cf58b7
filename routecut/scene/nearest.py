"""How far points lie off a mesh, exactly, also where the mesh has a hole or faces of very unlike sizes."""

from __future__ import annotations

from typing import Final

import numpy as np
import trimesh
from scipy.spatial import cKDTree

from routecut.model.body import Floats, Ints

_SMALL_M: Final = 0.004
"""Faces smaller than this share one tree: more trees would cost more than the few faces too many. [m]"""

_CHUNK: Final = 10_000
"""So many points are asked about at once; more would only cost memory."""


class Nearest:
    """The distance to a mesh, from k-d trees of the middles of its faces.

    A face can only be nearest to a point if its middle lies within its own size and the least distance
    known so far. There is a tree for each size, each twice the one before, so that a large face makes no search among
    small ones wide.

    Parameters
    ----------
    full : trimesh.Trimesh
        With one face at least.
    """

    def __init__(self, full: trimesh.Trimesh) -> None:
        self._corners: Floats = np.asarray(full.triangles, dtype=np.float64)
        self._vertices = cKDTree(full.vertices[np.unique(full.faces)])
        self._middle = self._corners.mean(axis=1)
        self._size = np.linalg.norm(self._corners - self._middle[:, None], axis=2).max(axis=1)
        step = np.ceil(np.log2(np.maximum(self._size, _SMALL_M) / _SMALL_M)).astype(np.int64)
        self._trees: list[tuple[Ints, cKDTree]] = []
        for one in np.unique(step)[::-1]:  # large faces first: they are few, and what they leave is near
            faces: Ints = np.flatnonzero(step == one)
            self._trees.append((faces, cKDTree(self._middle[faces])))

    def distance_m(self, points_m: Floats) -> Floats:
        """Distance of each point to the nearest face.

        Parameters
        ----------
        points_m : (n, 3) float64
            [m]

        Returns
        -------
        (n,) float64
            [m]
        """
        nearest = np.zeros(len(points_m))
        for start in range(0, len(points_m), _CHUNK):
            points = points_m[start : start + _CHUNK]
            least: Floats = self._vertices.query(points)[0]
            for faces, tree in self._trees:
                self._lower(points, least, faces, tree)
            nearest[start : start + _CHUNK] = least
        return nearest

    def _lower(self, points: Floats, least: Floats, faces: Ints, tree: cKDTree) -> None:
        """`least` lowered to the distance of these faces where one is nearer."""
        found = tree.query_ball_point(points, least + self._size[faces].max(), return_sorted=False)
        counts = np.fromiter(map(len, found), dtype=np.int64, count=len(found))
        if not counts.any():
            return
        point = np.repeat(np.arange(len(points)), counts)
        face = faces[np.concatenate([np.asarray(f, dtype=np.int64) for f in found])]
        apart = np.linalg.norm(self._middle[face] - points[point], axis=1)
        able = apart <= least[point] + self._size[face]
        point, face = point[able], face[able]
        at = trimesh.triangles.closest_point(self._corners[face], points[point])
        np.minimum.at(least, point, np.linalg.norm(at - points[point], axis=1))
