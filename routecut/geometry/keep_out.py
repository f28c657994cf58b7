"""Keep-out shapes as distance fields for the search.

Distances are negative inside. A swept shape is the union of its positions along the
sweep; the distance to a convex shape is convex along the sweep, so a golden-section
search finds the least of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np

from routecut.geometry.sheets import Sheets
from routecut.geometry.triangles import unit
from routecut.model.body import Body, Floats
from routecut.model.job import ANY, Box, Capsule, KeepOut, Shape, Sphere, Vec3

KEEP_OUT_MARGIN_M: Final = 0.0015
"""Kept beyond the clearance asked for, so that chords and rounding stay clear of it."""

_BEYOND_M = 0.08
"""Distances to a part of the mesh are exact up to the clearance and this; further off they are a lower bound."""

_GOLDEN = (5**0.5 - 1) / 2
_GOLDEN_STEPS = 18
"""Narrows a sweep of a metre to 0.2 mm, which the margin of the search covers."""


class _Part:
    """A mesh part as a shape: exact distances near it, a lower bound further off."""

    def __init__(self, triangles_m: Floats, reach_m: float) -> None:
        self._sheets = Sheets(triangles_m)
        self._reach_m = reach_m
        corners = triangles_m.reshape(-1, 3)
        self.low_m = corners.min(axis=0) if len(corners) else np.full(3, np.inf)
        self.high_m = corners.max(axis=0) if len(corners) else np.full(3, np.inf)

    def distance_m(self, points: Floats) -> Floats:
        """Distance of each point, at most the reach, (n,). [m]."""
        distance, _, _ = self._sheets.closest(points, self._reach_m)
        return np.minimum(distance, self._reach_m)


def _still_distance_m(shape: Shape, points: Floats, part: _Part | None) -> Floats:
    if isinstance(shape, Box):
        low, high = np.array(shape.low_m), np.array(shape.high_m)
        out = np.maximum(np.maximum(low - points, points - high), 0.0)
        inside = np.minimum((np.maximum(low - points, points - high)).max(axis=1), 0.0)
        return np.asarray(np.linalg.norm(out, axis=1) + inside)
    if isinstance(shape, Sphere):
        return np.asarray(np.linalg.norm(points - np.array(shape.at_m), axis=1) - shape.radius_m)
    if isinstance(shape, Capsule):
        start, along = np.array(shape.from_m), np.array(shape.to_m) - np.array(shape.from_m)
        length2 = float(along @ along)
        t = np.clip((points - start) @ along / length2, 0, 1) if length2 > 0 else np.zeros(len(points))
        return np.asarray(np.linalg.norm(points - start - t[:, None] * along, axis=1) - shape.radius_m)
    assert part is not None  # noqa: S101  a part shape is always built with its triangles
    return part.distance_m(points)


def _apart_m(low_m: Floats, high_m: Floats, other_low_m: Floats, other_high_m: Floats) -> Floats:
    """How far boxes are apart, corners (..., 3); 0 where they meet. [m]"""
    off = np.maximum(np.maximum(low_m - other_high_m, other_low_m - high_m), 0.0)
    return np.asarray(np.sqrt(np.einsum("...j,...j->...", off, off)))


class KeepOutField:
    """One keep-out, ready to be asked for distances.

    Parameters
    ----------
    keep_out : KeepOut
    body : Body
        For shapes that are parts of the mesh.
    """

    def __init__(self, keep_out: KeepOut, body: Body) -> None:
        self.keep_out = keep_out
        self.name = keep_out.name
        self.clearance_m = keep_out.clearance_m
        self._sweep = np.array(keep_out.sweep_m)
        self._part: _Part | None = None
        shape = keep_out.shape
        if not isinstance(shape, Box | Sphere | Capsule):
            triangles = body.triangles_m[body.faces_called(shape.part)]
            if self._sweep.any() and len(triangles):
                # The surface a swept face passes through: its copies along the way, close enough together.
                steps = max(2, int(np.ceil(np.linalg.norm(self._sweep) / 0.02)) + 1)
                shifts = np.linspace(0, 1, steps)[:, None, None, None] * self._sweep
                triangles = (triangles[None] + shifts).reshape(-1, 3, 3)
                self._sweep = np.zeros(3)
            self._part = _Part(triangles, self.clearance_m + _BEYOND_M)

        self._low_m, self._high_m = self._bounds()

    def _bounds(self) -> tuple[Floats, Floats]:
        """Corners of a box round the swept shape."""
        shape = self.keep_out.shape
        if isinstance(shape, Box):
            low, high = np.array(shape.low_m), np.array(shape.high_m)
        elif isinstance(shape, Sphere):
            low, high = np.array(shape.at_m) - shape.radius_m, np.array(shape.at_m) + shape.radius_m
        elif isinstance(shape, Capsule):
            ends = np.array([shape.from_m, shape.to_m])
            low, high = ends.min(axis=0) - shape.radius_m, ends.max(axis=0) + shape.radius_m
        else:
            assert self._part is not None  # noqa: S101  made for every part shape
            low, high = self._part.low_m, self._part.high_m
        return np.minimum(low, low + self._sweep), np.maximum(high, high + self._sweep)

    @property
    def bounds_m(self) -> tuple[Floats, Floats]:
        """Corners of a box round the swept shape, (3,) and (3,). [m]."""
        return self._low_m, self._high_m

    def applies_to(self, cable_class: str) -> bool:
        """Whether cables of that class are kept out."""
        return ANY in self.keep_out.applies_to or cable_class in self.keep_out.applies_to

    def boxes_m(self, low_m: Floats, high_m: Floats) -> Floats:
        """A lower bound for the distance of anything within each box (corners (n, 3)), (n,). [m]."""
        return _apart_m(self._low_m, self._high_m, low_m, high_m)

    def distance_m(self, points_m: Floats) -> Floats:
        """Distance of each point to the (swept) shape, negative inside, (n,). [m].

        Exact up to the clearance and 80 mm; further off it may be a lower bound.
        """
        distance = self.boxes_m(points_m, points_m)
        near = np.flatnonzero(distance < self.clearance_m + _BEYOND_M)
        if len(near):
            distance[near] = self._near_distance_m(points_m[near])
        return distance

    def _near_distance_m(self, points_m: Floats) -> Floats:
        if not self._sweep.any():
            return _still_distance_m(self.keep_out.shape, points_m, self._part)
        low, high = np.zeros(len(points_m)), np.ones(len(points_m))

        def at(t: Floats) -> Floats:
            return _still_distance_m(self.keep_out.shape, points_m - t[:, None] * self._sweep, self._part)

        best = np.minimum(at(low), at(high))
        a, b = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
        fa, fb = at(a), at(b)
        for _ in range(_GOLDEN_STEPS):
            best = np.minimum(best, np.minimum(fa, fb))
            left = fa < fb
            high, low = np.where(left, b, high), np.where(left, low, a)
            # What was asked inside the rest is one of its two places again.
            new = np.where(left, high - _GOLDEN * (high - low), low + _GOLDEN * (high - low))
            f_new = at(new)
            a, b = np.where(left, new, b), np.where(left, a, new)
            fa, fb = np.where(left, f_new, fb), np.where(left, fa, f_new)
        return np.asarray(np.minimum(best, np.minimum(fa, fb)))

    def outward(self, points_m: Floats) -> Floats:
        """Unit direction in which the distance grows fastest, (n, 3)."""
        steps = 1e-5 * np.concatenate([np.eye(3), -np.eye(3)])
        about = (points_m[None] + steps[:, None]).reshape(-1, 3)
        distance = self.distance_m(about).reshape(2, 3, len(points_m))
        return unit((distance[0] - distance[1]).T)


_WAYS: Final = 256
_MOST_STEPS: Final = 200
_LEAST_STEP_M: Final = 0.0005


def nearest_free_m(fields: Sequence[KeepOutField], point_m: Vec3, spare_m: float) -> Floats | None:
    """The nearest place outside every keep-out with its clearance, (3,); None where none was met. [m]

    Along many straight ways out of the point, each followed to the first place that is free: a step is as
    long as the clearance that lacks there, so that none is stepped over. Other things are not looked at.

    Parameters
    ----------
    fields : sequence of KeepOutField
    point_m : Vec3
        Where it is now. [m]
    spare_m : float
        Left over and above each clearance, for rounding. [m]
    """
    start = np.array(point_m)
    turn = np.arange(_WAYS) * np.pi * (3 - 5**0.5)  # spread evenly over a sphere
    up = 1 - (2 * np.arange(_WAYS) + 1) / _WAYS
    across = np.sqrt(1 - up**2)
    spread = np.stack([across * np.cos(turn), across * np.sin(turn), up], axis=1)
    straight = [field.outward(start[None]) for field in fields]
    ways = np.concatenate([np.eye(3), -np.eye(3), *straight, spread])
    gone = np.zeros(len(ways))
    left = np.arange(len(ways))
    best: Floats | None = None
    least = np.inf
    for _ in range(_MOST_STEPS):
        places = start + gone[left, None] * ways[left]
        lacks = np.max([f.clearance_m + spare_m - f.distance_m(places) for f in fields], axis=0)
        there = left[lacks <= 0.0]
        if len(there) and gone[there].min() < least:
            first = there[gone[there].argmin()]
            least, best = float(gone[first]), start + gone[first] * ways[first]
        gone[left] += np.maximum(lacks, _LEAST_STEP_M)
        left = left[(lacks > 0.0) & (gone[left] < least)]
        if not len(left):
            break
    return best


@lru_cache(maxsize=64)
def _boxes(fields: tuple[KeepOutField, ...]) -> tuple[Floats, Floats, Floats]:
    bounds = [field.bounds_m for field in fields]
    clearance = np.array([field.clearance_m for field in fields])
    return np.array([low for low, _ in bounds]), np.array([high for _, high in bounds]), clearance


def boxes_apart_m(fields: tuple[KeepOutField, ...], low_m: Floats, high_m: Floats) -> Floats:
    """A lower bound for the distance of anything within each of n boxes to each of k keep-outs, (k, n). [m]."""
    low, high, _ = _boxes(fields)
    return _apart_m(low[:, None], high[:, None], low_m, high_m)


def clearances_m(fields: tuple[KeepOutField, ...]) -> Floats:
    """The clearance of each keep-out, (k,). [m]."""
    return _boxes(fields)[2]
