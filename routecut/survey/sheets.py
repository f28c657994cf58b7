"""The sheets a cable can be clipped to, asked for single points: nearest place, and lines.

Stage      survey; for the few points of a job, not for routing
Units      m
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import trimesh

from routecut.model.body import Body
from routecut.model.job import SurfaceKind

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hits:
    """Where lines meet sheets, as long as each other.

    `line` numbers the line, `along_m` is measured from its point (negative behind it),
    `normal` is the sheet's unit normal turned to the line's direction, (n, 3).
    """

    line: npt.NDArray[np.int64]
    along_m: Floats
    normal: Floats


class Sheets:
    """Faces of some kinds.

    Parameters
    ----------
    body : Body
    *kinds : SurfaceKind
        Panel and trim when none is named.
    """

    def __init__(self, body: Body, *kinds: SurfaceKind) -> None:
        self._vertices = body.vertices_m
        self._faces = body.faces[body.faces_of_kind(*(kinds or (SurfaceKind.PANEL, SurfaceKind.TRIM)))]
        self._triangles = body.vertices_m[self._faces]
        self._low = self._triangles.min(axis=1)
        self._high = self._triangles.max(axis=1)

    @cached_property
    def _mesh(self) -> trimesh.Trimesh:
        return trimesh.Trimesh(vertices=self._vertices, faces=self._faces, process=False)

    def nearest(self, point_m: npt.ArrayLike) -> tuple[Floats, float] | None:
        """The nearest place on any sheet and how far it is; None when there is no sheet. [m]"""
        if not len(self._faces):
            return None
        point = np.asarray(point_m, dtype=np.float64)
        outside = np.maximum(0.0, np.maximum(self._low - point, point - self._high))
        at_least = np.einsum("ij,ij->i", outside, outside)
        corner = self._triangles[:, 0] - point
        at_most = float(np.einsum("ij,ij->i", corner, corner).min())
        near = self._triangles[at_least <= at_most]
        places = trimesh.triangles.closest_point(near, np.broadcast_to(point, (len(near), 3)))
        distances = np.linalg.norm(places - point, axis=1)
        best = int(distances.argmin())
        return np.asarray(places[best], dtype=np.float64), float(distances[best])

    def along(self, points_m: Floats, directions: Floats, reach_m: float) -> Hits:
        """Every sheet that lines meet within a reach of their points, both ways.

        Parameters
        ----------
        points_m, directions : (n, 3) float64
            Directions of unit length.
        reach_m : float
        """
        none = Hits(line=np.zeros(0, dtype=np.int64), along_m=np.zeros(0), normal=np.zeros((0, 3)))
        if not len(self._faces):
            return none
        # One ray from behind finds also the sheet that holds the point itself. It starts an
        # uneven bit further back, so that it does not start on a sheet at the reach.
        back = reach_m + 0.00123
        places, line, triangle = self._mesh.ray.intersects_location(
            points_m - back * directions, directions, multiple_hits=True
        )
        if not len(places):
            return none
        line = np.asarray(line, dtype=np.int64)
        along = np.einsum("ij,ij->i", np.asarray(places) - points_m[line], directions[line])
        normal = np.asarray(self._mesh.face_normals)[triangle]
        turned = np.where(np.einsum("ij,ij->i", normal, directions[line]) < 0, -1.0, 1.0)
        within = np.abs(along) <= reach_m
        order = np.lexsort((along[within], line[within]))
        return Hits(
            line=line[within][order],
            along_m=along[within][order],
            normal=(normal * turned[:, None])[within][order],
        )
