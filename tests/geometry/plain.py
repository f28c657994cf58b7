"""Triangles by plain arithmetic over all of them: what the quick queries of the engine are compared with.

Source     segment and triangle by signs of volumes; nearest point by the plane and the three edges:
           first principles
Circular?  No: nothing of `routecut` is used here
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


def on_segment_m(points: Floats, start: Floats, end: Floats) -> Floats:
    along = end - start
    t = np.clip(((points - start) * along).sum(-1) / np.maximum((along * along).sum(-1), 1e-300), 0, 1)
    return np.asarray(np.linalg.norm(points - start - t[..., None] * along, axis=-1))


def distances_m(points: Floats, triangles: Floats) -> Floats:
    """Distance of every point to every triangle, (n, m)."""
    p = points[:, None]
    a, b, c = (triangles[None, :, k] for k in range(3))
    normal = np.cross(b - a, c - a)
    unit = normal / np.linalg.norm(normal, axis=-1, keepdims=True)
    height = ((p - a) * unit).sum(-1)
    foot = p - height[..., None] * unit
    sides = [(np.cross(e - s, foot - s) * unit).sum(-1) for s, e in ((a, b), (b, c), (c, a))]
    over = np.logical_and.reduce([s >= 0 for s in sides])
    edges = np.min([on_segment_m(p, s, e) for s, e in ((a, b), (b, c), (c, a))], axis=0)
    return np.asarray(np.where(over, np.abs(height), edges))


def meets(start: Floats, end: Floats, triangles: Floats) -> tuple[Bools, Bools]:
    """For every segment and triangle, whether they surely meet and whether they surely miss, (n, m) twice.

    Signs of the volumes of tetrahedra; what is within single precision of an edge or of either end is neither.
    """
    a, b, c = (triangles[None, :, k] for k in range(3))
    p, q = start[:, None], end[:, None]

    def volume(w: Floats, x: Floats, y: Floats, z: Floats) -> Floats:
        return np.asarray((np.cross(x - w, y - w) * (z - w)).sum(-1))

    below, above = volume(a, b, c, p), volume(a, b, c, q)
    area = np.linalg.norm(np.cross(b - a, c - a), axis=-1)
    length = np.linalg.norm(q - p, axis=-1)
    near = 2e-6
    ends = np.minimum(np.abs(below), np.abs(above)) > near * area
    rounds = [volume(p, q, s, e) for s, e in ((a, b), (b, c), (c, a))]
    slack = [
        near * length * np.maximum(np.linalg.norm(e - s, axis=-1), 1e-3) for s, e in ((a, b), (b, c), (c, a))
    ]
    positive = np.logical_and.reduce([r > t for r, t in zip(rounds, slack, strict=True)])
    negative = np.logical_and.reduce([r < -t for r, t in zip(rounds, slack, strict=True)])
    some_positive = np.logical_or.reduce([r > t for r, t in zip(rounds, slack, strict=True)])
    some_negative = np.logical_or.reduce([r < -t for r, t in zip(rounds, slack, strict=True)])
    hit = ends & (below * above < 0) & (positive | negative)
    same_side = (below * above > 0) & ends
    return np.asarray(hit), np.asarray(same_side | (some_positive & some_negative))
