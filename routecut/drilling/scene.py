"""The whole body as a drill meets it: every sheet, what it belongs to, every keep-out.

Units      m
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from routecut.geometry.keep_out import KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.geometry.triangles import unit
from routecut.model.body import Body, Floats, Ints
from routecut.model.job import Job, SurfaceKind

_WELD_M = 1e-4
_FOLD_DEG = 25.0
"""Sheets that meet at more than this are a fold: no grommet sits across it."""

_TURNS_COS = 0.8


@dataclass(eq=False)
class Scene:
    """A body to be drilled into.

    Attributes
    ----------
    sheets : Sheets
        Of all parts that the job does not ignore.
    ignored : Sheets or None
        Of those it ignores: a cable does, a drill does not.
    """

    job: Job
    body: Body
    sheets: Sheets
    keep_outs: tuple[KeepOutField, ...]
    ignored: Sheets | None = None

    @classmethod
    def of(
        cls,
        job: Job,
        body: Body,
        sheets: Sheets | None = None,
        keep_outs: tuple[KeepOutField, ...] | None = None,
    ) -> Scene:
        """The scene of a job; what a roadmap has built already may be handed over."""
        return cls(
            job,
            body,
            sheets or Sheets(body.triangles_m),
            keep_outs if keep_outs is not None else tuple(KeepOutField(k, body) for k in job.keep_outs),
            Sheets(body.pictured) if len(body.pictured) else None,
        )

    def part_of(self, face: int) -> str:
        """Name of the part a face belongs to."""
        return self.body.parts[int(self.body.face_part[face])]

    def kind_of(self, face: int) -> SurfaceKind:
        """What that part is to a cable."""
        return self.body.rules[int(self.body.face_part[face])].kind

    @cached_property
    def trim(self) -> npt.NDArray[np.bool_]:
        """(m,) bool: faces of trim."""
        return self.body.faces_of_kind(SurfaceKind.TRIM)

    @cached_property
    def metal(self) -> npt.NDArray[np.bool_]:
        """(m,) bool: faces a hole may pass: panel and trim."""
        return self.body.faces_of_kind(SurfaceKind.PANEL, SurfaceKind.TRIM)

    @cached_property
    def drillable(self) -> npt.NDArray[np.bool_]:
        """(m,) bool: faces of panels that may be drilled."""
        may = np.array([r.drill and r.kind is SurfaceKind.PANEL for r in self.body.rules], dtype=bool)
        return np.asarray(may[self.body.face_part])

    @cached_property
    def normals(self) -> Floats:
        """Unit normal of each face, (m, 3)."""
        c = self.body.triangles_m
        return unit(np.cross(c[:, 1] - c[:, 0], c[:, 2] - c[:, 0]))

    @cached_property
    def edges(self) -> tuple[Floats, npt.NDArray[np.bool_]]:
        """Rims and folds of panels: ends (e, 2, 3), and which are rims. [m]"""
        faces = np.flatnonzero(self.body.faces_of_kind(SurfaceKind.PANEL))
        corners = self.body.triangles_m[faces]
        if not len(faces):
            return np.zeros((0, 2, 3)), np.zeros(0, dtype=bool)
        _, corner = np.unique(np.round(corners.reshape(-1, 3) / _WELD_M), axis=0, return_inverse=True)
        corner = corner.reshape(-1, 3)
        half = np.sort(np.concatenate([corner[:, [0, 1]], corner[:, [1, 2]], corner[:, [2, 0]]]), axis=1)
        ends = np.concatenate([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]])
        owner = np.tile(np.arange(len(faces)), 3)
        whole = half[:, 0] != half[:, 1]
        half, ends, owner = half[whole], ends[whole], owner[whole]
        _, first, edge, count = np.unique(
            half, axis=0, return_index=True, return_inverse=True, return_counts=True
        )
        edge = edge.reshape(-1)
        normal = self.normals[faces][owner]
        lead = normal[first]
        least = np.ones(len(first))
        np.minimum.at(least, edge, np.abs(np.einsum("ij,ij->i", normal, lead[edge])))
        rim = count == 1
        fold = least < np.cos(np.radians(_FOLD_DEG))
        keep = rim | fold
        return ends[first[keep]], rim[keep]

    @cached_property
    def corners(self) -> Floats:
        """Where rims and folds end or turn: what a tape can be hooked on, (k, 3). [m]"""
        ends, _ = self.edges
        if not len(ends):
            return np.zeros((0, 3))
        along = unit(ends[:, 1] - ends[:, 0])
        points = ends.transpose(1, 0, 2).reshape(-1, 3)
        direction = np.concatenate([along, along])
        _, first, vertex = np.unique(
            np.round(points / _WELD_M), axis=0, return_index=True, return_inverse=True
        )
        vertex = vertex.reshape(-1)
        least = np.ones(len(first))
        np.minimum.at(least, vertex, np.abs(np.einsum("ij,ij->i", direction, direction[first][vertex])))
        return np.asarray(points[first[(least < _TURNS_COS) | (np.bincount(vertex) == 1)]])

    @cached_property
    def edge_tree(self) -> tuple[cKDTree, Ints, Floats]:
        """Points 5 mm apart on rims and folds, the edge of each, and the points themselves. [m]"""
        ends, _ = self.edges
        length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
        number = np.maximum(2, np.ceil(length / 0.005).astype(np.int64) + 1)
        edge = np.repeat(np.arange(len(ends)), number)
        start = np.concatenate([[0], np.cumsum(number)[:-1]]) if len(number) else np.zeros(0)
        t = (np.arange(len(edge)) - start[edge]) / (number[edge] - 1) if len(edge) else np.zeros(0)
        points = ends[edge, 0] + t[:, None] * (ends[edge, 1] - ends[edge, 0])
        return cKDTree(points) if len(points) else cKDTree(np.full((1, 3), 1e9)), edge, points

    def edge_distance_m(self, points_m: Floats) -> Floats:
        """Distance of each point to the nearest rim or fold, low by 0.1 mm at most, (n,). [m]"""
        tree, _, _ = self.edge_tree
        distance, _ = tree.query(points_m)
        # half a step off the nearest sample at most: sqrt(d2 - 2.5mm2) is the least it can be
        return np.sqrt(np.maximum(np.asarray(distance) ** 2 - 0.0025**2, 0.0))


def disc(radius_m: float, apart_m: float, inner_m: float = 0.0) -> Floats:
    """Points of a disc or a ring at most so far apart, its rim included, (n, 2). [m]"""
    rings = max(1, int(np.ceil((radius_m - inner_m) / apart_m)))
    found = [np.zeros((1, 2))] if inner_m == 0 else []
    for r in np.linspace(inner_m, radius_m, rings + 1)[1 if inner_m == 0 else 0 :]:
        number = max(8, int(np.ceil(2 * np.pi * r / apart_m)))
        turn = np.arange(number) * 2 * np.pi / number
        found.append(r * np.column_stack([np.cos(turn), np.sin(turn)]))
    return np.concatenate(found)
