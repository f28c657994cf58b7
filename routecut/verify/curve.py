"""The finished curve as the judge walks it: its own points and samples between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routecut.model.body import Floats
from routecut.verify.limits import SAMPLE_STEP_M

_SAME_POINT_M = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """A polyline and its samples.

    Attributes
    ----------
    vertices_m, vertex_run_m : (v, 3), (v,) float64
        The curve's own points without repeats, and the running length at each. [m]
    points_m, run_m : (n, 3), (n,) float64
        The same points and samples between them, nowhere further apart than the step. [m]
    """

    vertices_m: Floats
    vertex_run_m: Floats
    points_m: Floats
    run_m: Floats

    @property
    def length_m(self) -> float:
        """Arc length. [m]"""
        return float(self.vertex_run_m[-1])

    def at(self, run_m: Floats) -> Floats:
        """Points at running lengths, held to the curve's ends, (k, 3). [m]"""
        return np.stack(
            [np.interp(run_m, self.vertex_run_m, self.vertices_m[:, k]) for k in range(3)], axis=-1
        )


def usable(points_m: Floats) -> bool:
    """Whether there is a curve to judge: (n, 3), finite, of some length."""
    points_m = np.asarray(points_m, dtype=np.float64)
    if points_m.ndim != 2 or points_m.shape[1] != 3 or len(points_m) < 2:
        return False
    return bool(np.isfinite(points_m).all() and np.ptp(points_m, axis=0).max() > _SAME_POINT_M)


def make_curve(points_m: Floats, step_m: float = SAMPLE_STEP_M) -> Curve:
    """The curve through the points, (n, 3), sampled at `step_m` or closer. [m]"""
    points = np.asarray(points_m, dtype=np.float64)
    legs = np.linalg.norm(np.diff(points, axis=0), axis=1)
    vertices = points[np.concatenate([[True], legs > _SAME_POINT_M])]
    legs = np.linalg.norm(np.diff(vertices, axis=0), axis=1)
    vertex_run = np.concatenate([[0.0], np.cumsum(legs)])
    pieces = np.maximum(np.ceil(legs / step_m - 1e-9).astype(np.int64), 1)
    leg = np.repeat(np.arange(len(legs)), pieces)
    part = (np.arange(len(leg)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[leg]
    inner = vertices[leg] + part[:, None] * (vertices[leg + 1] - vertices[leg])
    run = vertex_run[leg] + part * legs[leg]
    return Curve(
        vertices_m=vertices,
        vertex_run_m=vertex_run,
        points_m=np.concatenate([inner, vertices[-1:]]),
        run_m=np.concatenate([run, vertex_run[-1:]]),
    )


def stretches(flags: np.ndarray) -> list[tuple[int, int]]:
    """First and last index of every unbroken stretch of True.

    >>> stretches(np.array([True, False, True, True]))
    [(0, 0), (2, 3)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], np.asarray(flags, dtype=bool), [False]])))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]
