"""Distances to keep-outs: boxes, spheres, capsules and mesh parts, each swept or not.

A shape swept along a vector is every place it passes. For a convex shape the distance
of a point to it is the least over the way of a convex function.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from routecut.model.body import Body, Floats
from routecut.model.job import Box, Capsule, KeepOut, PartShape, Sphere
from routecut.verify.curve import Curve
from routecut.verify.faces import FaceIndex
from routecut.verify.limits import TOUCH_M
from routecut.verify.triangles import point_segment, point_triangle

_FINE_M = 0.0005  # spacing of the second look at a convex shape: misses under 0.1 mm from 0.3 mm on
_SECTION = (5.0**0.5 - 1.0) / 2.0
_ROUNDS = 30  # of the golden section: a millionth of the sweep is left

Distance = Callable[[Floats], Floats]


def _rows(value: tuple[float, float, float] | Floats, count: int) -> Floats:
    return np.broadcast_to(np.asarray(value, dtype=np.float64), (count, 3))


def _box_distance(box: Box, sweep: Floats) -> Distance:
    low, high = np.asarray(box.low_m), np.asarray(box.high_m)

    def to_box(points: Floats) -> Floats:
        gap = np.maximum(np.maximum(low - points, points - high), 0.0)
        return np.asarray(np.sqrt((gap**2).sum(axis=1)))

    if not sweep.any():
        return to_box

    def to_swept(points: Floats) -> Floats:
        # golden section over the way, all points at once
        start, end = np.zeros(len(points)), np.ones(len(points))
        for _ in range(_ROUNDS):
            first = end - _SECTION * (end - start)
            second = start + _SECTION * (end - start)
            left = to_box(points - first[:, None] * sweep) <= to_box(points - second[:, None] * sweep)
            start, end = np.where(left, start, first), np.where(left, second, end)
        middle = to_box(points - (0.5 * (start + end))[:, None] * sweep)
        return np.minimum(np.minimum(middle, to_box(points)), to_box(points - sweep))

    return to_swept


def _sphere_distance(sphere: Sphere, sweep: Floats) -> Distance:
    at = np.asarray(sphere.at_m)

    def distance(points: Floats) -> Floats:
        n = len(points)
        return np.maximum(point_segment(points, _rows(at, n), _rows(at + sweep, n)) - sphere.radius_m, 0.0)

    return distance


def _capsule_distance(capsule: Capsule, sweep: Floats) -> Distance:
    a, b = np.asarray(capsule.from_m), np.asarray(capsule.to_m)
    # the line swept is a parallelogram: two triangles
    halves = np.array([[a, b, b + sweep], [a, b + sweep, a + sweep]])

    def distance(points: Floats) -> Floats:
        n = len(points)
        if sweep.any():
            halves_m = [point_triangle(points, np.broadcast_to(half, (n, 3, 3))) for half in halves]
            to_line = np.minimum(halves_m[0], halves_m[1])
        else:
            to_line = point_segment(points, _rows(a, n), _rows(b, n))
        return np.maximum(to_line - capsule.radius_m, 0.0)

    return distance


class ConvexShape:
    """A box, sphere or capsule, swept or not."""

    def __init__(self, shape: Box | Sphere | Capsule, sweep_m: Floats) -> None:
        match shape:
            case Box():
                self.distance = _box_distance(shape, sweep_m)
            case Sphere():
                self.distance = _sphere_distance(shape, sweep_m)
            case Capsule():
                self.distance = _capsule_distance(shape, sweep_m)

    def along(self, curve: Curve, asked_m: float) -> tuple[Floats, Floats]:  # noqa: ARG002
        """Distances of the curve's samples, and of finer ones where it may be least.

        Parameters
        ----------
        curve : Curve
        asked_m : float
            Distances up to this, and the least of all, are exact; a larger one may be given
            as any larger than both. (Here all are exact.) [m]

        Returns
        -------
        distance_m, run_m : (k,) float64
            0 inside; in order of running length. [m]
        """
        coarse = self.distance(curve.points_m)
        legs = np.diff(curve.run_m)
        # no point of a segment is nearer than this: a distance changes no faster than the way
        bound = 0.5 * (coarse[:-1] + coarse[1:] - legs)
        near = np.flatnonzero((bound < coarse.min()) & (coarse[:-1] + coarse[1:] > 0.0))
        parts = np.arange(1, int(np.ceil(legs.max() / _FINE_M))) / np.ceil(legs.max() / _FINE_M)
        fine_run = (curve.run_m[near, None] + parts * legs[near, None]).ravel()
        fine = self.distance(curve.at(fine_run)) if len(fine_run) else np.zeros(0)
        run = np.concatenate([curve.run_m, fine_run])
        order = np.argsort(run, kind="stable")
        return np.concatenate([coarse, fine])[order], run[order]


class PartsShape:
    """Faces of mesh parts, swept or not."""

    def __init__(self, triangles_m: Floats, sweep_m: Floats) -> None:
        self.sweep_m = sweep_m
        self.faces = FaceIndex(triangles_m)
        self.passed = FaceIndex(_swept_faces(triangles_m, sweep_m)) if sweep_m.any() else self.faces

    def along(self, curve: Curve, asked_m: float) -> tuple[Floats, Floats]:
        """Distances of the samples, and of the nearest points between them; as for `ConvexShape`."""
        reach = max(self.passed.no_further_than(curve.points_m), asked_m)
        if not math.isfinite(reach):
            return np.full(len(curve.run_m), math.inf), curve.run_m
        coarse = self.passed.within(curve.points_m, reach).any_m
        coarse[~np.isfinite(coarse)] = reach
        if self.sweep_m.any() and len(coarse):
            # inside what a face passes: going back along the sweep meets the face
            back = np.stack([curve.points_m, curve.points_m - self.sweep_m], axis=1).reshape(-1, 3)
            met = self.faces.segments_near(back, TOUCH_M)
            coarse[met.segment[met.segment % 2 == 0] // 2] = 0.0
        met = self.passed.segments_near(curve.points_m, float(coarse.min()))
        legs = np.diff(curve.run_m)
        run = np.concatenate([curve.run_m, curve.run_m[met.segment] + met.place * legs[met.segment]])
        order = np.argsort(run, kind="stable")
        return np.concatenate([coarse, met.distance_m])[order], run[order]


def _swept_faces(triangles: Floats, sweep: Floats) -> Floats:
    """The outside of what each face passes: itself at both ends and its three sides."""
    moved = triangles + sweep
    sheets = [triangles, moved]
    for k in range(3):
        a, b = triangles[:, k], triangles[:, (k + 1) % 3]
        sheets.append(np.stack([a, b, b + sweep], axis=1))
        sheets.append(np.stack([a, b + sweep, a + sweep], axis=1))
    return np.concatenate(sheets)


def make_shape(keep_out: KeepOut, body: Body) -> ConvexShape | PartsShape:
    """The shape of a keep-out, ready to be measured to."""
    sweep = np.asarray(keep_out.sweep_m, dtype=np.float64)
    if isinstance(keep_out.shape, PartShape):
        return PartsShape(body.triangles_m[body.faces_called(keep_out.shape.part)], sweep)
    return ConvexShape(keep_out.shape, sweep)
