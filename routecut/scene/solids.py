"""Keep-outs over their sweep, and tubes round curves, as triangles."""

from __future__ import annotations

import math

import numpy as np
from scipy.spatial import ConvexHull

from routecut.model.body import Body, Floats, Ints
from routecut.model.job import Box, Capsule, KeepOut, PartShape, Sphere


def keep_out_triangles(keep_out: KeepOut, body: Body) -> Floats:
    """The surface of a keep-out over its whole sweep, its clearance not added.

    Parameters
    ----------
    keep_out : KeepOut
    body : Body
        For keep-outs that are parts of the mesh.

    Returns
    -------
    (k, 3, 3) float64
        None of them for a part the body does not have. [m]
    """
    shape = keep_out.shape
    if isinstance(shape, PartShape):
        found: Floats = body.triangles_m[body.faces_called(shape.part)]
        return found
    # every shape is convex and so is its sweep: the hull of both ends is the whole
    points = _points_of(shape)
    points = np.concatenate([points, points + np.array(keep_out.sweep_m)])
    hull: Floats = points[ConvexHull(points, qhull_options="QJ").simplices]
    return hull


def _points_of(shape: Box | Capsule | Sphere) -> Floats:
    if isinstance(shape, Box):
        low, high = np.array(shape.low_m), np.array(shape.high_m)
        corner = np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
        corners: Floats = np.where(corner == 0, low, high)
        return corners
    ball: Floats = _ball() * shape.radius_m
    if isinstance(shape, Sphere):
        ball += np.array(shape.at_m)
        return ball
    return np.concatenate([ball + np.array(shape.from_m), ball + np.array(shape.to_m)])


def _ball(rings: int = 10, around: int = 18) -> Floats:
    """Points on a unit sphere, (n, 3)."""
    polar = np.linspace(0.05, math.pi - 0.05, rings)[:, None]
    turn = np.linspace(0.0, 2.0 * math.pi, around, endpoint=False)[None, :]
    across = np.sin(polar)
    x, y, z = across * np.cos(turn), across * np.sin(turn), np.cos(polar) + 0.0 * turn
    points: Floats = np.stack([x, y, z], axis=-1).reshape(-1, 3)
    return points


def tube(points_m: Floats, radius_m: float, sides: int = 8) -> tuple[Floats, Ints]:
    """A tube round a curve, closed at both ends.

    Parameters
    ----------
    points_m : (n, 3) float64
        At least two, neighbours apart. [m]
    radius_m : float
        [m]
    sides : int

    Returns
    -------
    vertices_m : (n * sides + 2, 3) float64
        [m]
    faces : (k, 3) int64
        Wound so that normals look outward.

    Notes
    -----
    The ring is carried along without turning about the curve (Bishop, American Mathematical Monthly 82(3),
    1975), so that no face is twisted.
    """
    ways = np.diff(points_m, axis=0)
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    tangents = np.concatenate([ways[:1], ways[:-1] + ways[1:], ways[-1:]])
    tangents /= np.maximum(np.linalg.norm(tangents, axis=1), 1e-12)[:, None]
    across = np.eye(3)[np.abs(tangents[0]).argmin()]
    turn = np.linspace(0.0, 2.0 * math.pi, sides, endpoint=False)
    rings = []
    for point, tangent in zip(points_m, tangents, strict=True):
        across = across - (across @ tangent) * tangent
        across = across / np.linalg.norm(across)
        other = np.cross(tangent, across)
        rings.append(point + radius_m * (np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * other))
    last = len(points_m) * sides
    vertices: Floats = np.concatenate([*rings, points_m[:1], points_m[-1:]])
    k = np.arange(sides)
    after = (k + 1) % sides
    faces = [np.stack([after, k, np.full(sides, last)], axis=1)]
    for ring in range(len(points_m) - 1):
        low, high = ring * sides, (ring + 1) * sides
        faces.append(np.stack([low + k, low + after, high + k], axis=1))
        faces.append(np.stack([low + after, high + after, high + k], axis=1))
    end = (len(points_m) - 1) * sides
    faces.append(np.stack([end + k, end + after, np.full(sides, last + 1)], axis=1))
    return vertices, np.concatenate(faces).astype(np.int64)
