"""Running length along a polyline, and points at it.

Units      m
"""

from __future__ import annotations

import numpy as np

from routecut.model.body import Floats


def running_m(points_m: Floats) -> Floats:
    """Running length at each point of an (n, 3) polyline, (n,). [m]."""
    return np.asarray(np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(points_m, axis=0), axis=1))])


def points_at(at_m: Floats, run_m: Floats, points_m: Floats) -> Floats:
    """Points of a polyline at running lengths, (k, 3). [m].

    Parameters
    ----------
    at_m : (k,) float64
    run_m : (n,) float64
        `running_m` of the points.
    points_m : (n, 3) float64
    """
    return np.stack([np.interp(at_m, run_m, points_m[:, c]) for c in range(3)], axis=1)


def in_steps(points_m: Floats, step_m: float, least: int = 2) -> tuple[Floats, Floats]:
    """Running lengths (k,) and points (k, 3) of a polyline in even steps, `least` or more, of at most `step_m`. [m]."""
    run = running_m(points_m)
    at = np.linspace(0.0, run[-1], max(least, int(np.ceil(run[-1] / step_m))) + 1)
    return at, points_at(at, run, points_m)


def nearest_m(points_m: Floats, place_m: Floats) -> float:
    """Running length of the point of a polyline, (n, 3), that is nearest to a place, (3,). [m]"""
    start, along = points_m[:-1], np.diff(points_m, axis=0)
    length2 = np.maximum(np.einsum("ij,ij->i", along, along), 1e-18)
    t = np.clip(np.einsum("ij,ij->i", place_m - start, along) / length2, 0, 1)
    off = np.linalg.norm(start + t[:, None] * along - place_m, axis=1)
    leg = int(off.argmin())
    return float(running_m(points_m)[leg] + t[leg] * np.sqrt(length2[leg]))
