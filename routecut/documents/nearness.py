"""How near a hole is to a keep-out: only to choose which cautions stand beside it.

No route or hole is judged by this; that is the verifier's work, on the full mesh.
"""

from __future__ import annotations

import math
from typing import Final

from routecut.model.job import Box, Capsule, KeepOut, Shape, Sphere, Vec3

_SWEEP_STEPS: Final = 24


def distance_m(point_m: Vec3, keep_out: KeepOut) -> float | None:
    """Distance from a point to a keep-out's shape anywhere on its sweep; 0 inside. [m]

    None for a shape made of mesh parts: a plan does not carry the mesh.
    """
    steps = _SWEEP_STEPS if any(keep_out.sweep_m) else 0
    found = []
    for step in range(steps + 1):
        share = step / steps if steps else 0.0
        moved = _less(point_m, _times(keep_out.sweep_m, share))
        distance = _to_shape(moved, keep_out.shape)
        if distance is None:
            return None
        found.append(distance)
    return min(found)


def _to_shape(point: Vec3, shape: Shape) -> float | None:
    if isinstance(shape, Box):
        outside = (
            max(low - p, 0.0, p - high) for p, low, high in zip(point, shape.low_m, shape.high_m, strict=True)
        )
        return math.hypot(*outside)
    if isinstance(shape, Sphere):
        return max(math.dist(point, shape.at_m) - shape.radius_m, 0.0)
    if isinstance(shape, Capsule):
        along, off = _less(shape.to_m, shape.from_m), _less(point, shape.from_m)
        square = _dot(along, along)
        share = 0.0 if square == 0.0 else min(max(_dot(off, along) / square, 0.0), 1.0)
        return max(math.dist(off, _times(along, share)) - shape.radius_m, 0.0)
    return None


def _dot(a: Vec3, b: Vec3) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _less(a: Vec3, b: Vec3) -> Vec3:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _times(a: Vec3, factor: float) -> Vec3:
    return (a[0] * factor, a[1] * factor, a[2] * factor)
