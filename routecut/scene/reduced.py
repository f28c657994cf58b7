"""The body with fewer faces: enough to be looked at, and close enough to be pointed at."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Final

import fast_simplification
import numpy as np
import trimesh

from routecut.model.body import Body, Floats, Ints
from routecut.model.job import SurfaceKind
from routecut.scene.nearest import Nearest

MOST_FACES: Final = 20_000
CLOSE_M: Final = 0.0015
"""Most of a reduced part stays this near to its full mesh."""

_MOST: Final = 0.985  # of the area of a part: simplifying cuts corners off rims, whatever the share kept
_HOPELESS: Final = 0.1  # less than this of it near: a rough scan, of which no share kept would be near
_SHARES: Final = (1.0, 1.6, 2.6)  # of what a part should keep, tried in turn
_CREASE_DEGREES: Final = 28.0
_SMALL: Final = 24  # parts of fewer faces are left as they are
_PULLED: Final = 0.04  # points on a face are taken a little inside it: a ray on an edge may slip by
_INSIDE: Final = (
    np.array(
        [
            [1.0, 0, 0],
            [0, 1.0, 0],
            [0, 0, 1.0],
            [0.5, 0.5, 0],
            [0, 0.5, 0.5],
            [0.5, 0, 0.5],
            [1 / 3, 1 / 3, 1 / 3],
        ]
    )
    * (1.0 - _PULLED)
    + np.array(1.0 / 3.0) * _PULLED
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reduced:
    """A body for the eye. Parts share no vertices.

    Attributes
    ----------
    vertices_m : (n, 3) float64
        [m]
    faces : (m, 3) int64
        Vertex numbers, part by part in the order of `parts`.
    face_part : (m,) int64
        Index into `parts`.
    edges : (k, 2) int64
        Vertex numbers of the ends of creases and of the rims of sheets.
    parts : tuple of str
        As in the body; the last one, called "", is what the job ignores.
    kinds : tuple of SurfaceKind
        As long as `parts`.
    off_m : (m,) float64
        How far a face lies off the full mesh at most, looked for at seven points of it. [m]
    """

    vertices_m: Floats
    faces: Ints
    face_part: Ints
    edges: Ints
    parts: tuple[str, ...]
    kinds: tuple[SurfaceKind, ...]
    off_m: Floats


@functools.lru_cache(maxsize=1)  # the page and the model show the same body
def reduced(body: Body, *, most_faces: int = MOST_FACES, close_m: float = CLOSE_M) -> Reduced:
    """The body with about `most_faces` faces, each part on its own.

    Parameters
    ----------
    body : Body
    most_faces : int
        What to aim at; a part that would lie off its place keeps more, at most 2.6 times as many.
    close_m : float
        How near to the full mesh most of a part has to lie. [m]

    Returns
    -------
    Reduced
    """
    order = np.argsort(body.face_part, kind="stable")
    ends = np.searchsorted(body.face_part[order], np.arange(len(body.parts)), side="right")
    groups = np.split(body.triangles_m[order], ends)[:-1]
    groups.append(body.pictured)
    total = sum(len(g) for g in groups)
    share = min(most_faces / total, 1.0) if total else 1.0
    corners, faces, numbers, off_m, first = [], [], [], [], 0
    for number, triangles in enumerate(groups):
        (points, part), off = _reduced_part(triangles, share, close_m)
        off_m.append(off)
        corners.append(points)
        faces.append(part + first)
        numbers.append(np.full(len(part), number, dtype=np.int64))
        first += len(points)
    vertices, together = np.concatenate(corners), np.concatenate(faces).astype(np.int64)
    return Reduced(
        vertices_m=vertices,
        faces=together,
        face_part=np.concatenate(numbers),
        edges=_edges(trimesh.Trimesh(vertices, together, process=False)),
        parts=(*body.parts, ""),
        kinds=(*(rule.kind for rule in body.rules), SurfaceKind.IGNORE),
        off_m=np.concatenate(off_m),
    )


Shape = tuple[Floats, Ints]
"""Vertices (n, 3) [m] and faces (k, 3)."""


def _reduced_part(triangles: Floats, share: float, close_m: float) -> tuple[Shape, Floats]:
    """One part with about `share` of its faces, and how far each of them is off."""
    best = _merged(triangles)
    best_off, best_near = np.zeros(len(best[1])), -1.0
    if share >= 1.0 or len(best[1]) <= _SMALL:
        return best, best_off
    full = trimesh.Trimesh(*best, process=False)
    nearest = Nearest(full)
    for more in _SHARES:
        if share * more >= 1.0:
            break
        points, faces = fast_simplification.simplify(
            full.vertices.astype(np.float32),
            full.faces.astype(np.int32),
            target_reduction=1.0 - share * more,
        )
        shape = _merged(np.asarray(points, dtype=np.float64)[faces])
        if not len(shape[1]):
            continue
        fewer = trimesh.Trimesh(*shape, process=False)
        off = _off_m(fewer, full, nearest, close_m)
        near = float(fewer.area_faces[off <= close_m].sum() / (fewer.area or 1.0))
        if near > best_near:
            best, best_off, best_near = shape, off, near
        if near >= _MOST or near < _HOPELESS:
            break
    return best, best_off


def _merged(triangles: Floats) -> Shape:
    """Equal corners merged to a thousandth of a millimetre, faces without area left out."""
    corners, number = np.unique(triangles.reshape(-1, 3).round(6), axis=0, return_inverse=True)
    faces = number.reshape(-1, 3)
    whole = (faces != np.roll(faces, 1, axis=1)).all(axis=1)
    return corners, faces[whole]


def _off_m(fewer: trimesh.Trimesh, full: trimesh.Trimesh, nearest: Nearest, close_m: float) -> Floats:
    """For each reduced face an upper bound of the distance of points on it to the full mesh. [m]

    Along the normal of the face first: what is met there is on the full mesh, so nothing on it is
    further away. Where that is not within `close_m`, at a rim or on a rough face, the distance itself.
    """
    points = np.einsum("pc,fcd->fpd", _INSIDE, fewer.triangles).reshape(-1, 3)
    normals = np.repeat(fewer.face_normals, len(_INSIDE), axis=0)
    off = np.full(len(points), np.inf)
    for way in (1.0, -1.0):
        # begun a little behind the point: one that lies on the mesh itself is met as well
        origins = points - way * normals * 1e-4
        found, ray, _ = full.ray.intersects_location(origins, way * normals, multiple_hits=False)
        np.minimum.at(off, ray, np.linalg.norm(found - points[ray], axis=1))
    asked = np.flatnonzero(off > close_m)
    off[asked] = nearest.distance_m(points[asked])
    most: Floats = off.reshape(-1, len(_INSIDE)).max(axis=1)
    return most


def _edges(part: trimesh.Trimesh) -> Ints:
    """Creases and rims, (k, 2)."""
    if not len(part.faces):
        return np.zeros((0, 2), dtype=np.int64)
    sharp = part.face_adjacency_angles > np.radians(_CREASE_DEGREES)
    ends, times = np.unique(part.edges_sorted, axis=0, return_counts=True)
    found = np.concatenate([part.face_adjacency_edges[sharp], ends[times == 1]])
    return np.unique(found, axis=0).astype(np.int64)
