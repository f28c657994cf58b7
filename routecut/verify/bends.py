"""The bends of a curve given as chords: the radius at every point, kinks included.

A point and two more, one on either side about a window away, lie on one circle. On a
curve nowhere tighter than R that circle's radius is never below R, however the points
are spread (chords of a less curved arc are longer: Schur's comparison theorem), so a
right curve is never blamed. The other points are the curve's own where they are close
enough to be chords of an arc, else points of the straight between.
"""

from __future__ import annotations

import numpy as np

from routecut.model.body import Floats
from routecut.verify.curve import Curve
from routecut.verify.limits import bend_window_m

_MOST_OF_IT = 0.75  # of the window: shorter legs read noise as bends
_STRAIGHT_M = 1e3  # a larger radius than this is a straight line within rounding


def _leg_ends(curve: Curve, window_m: float, step: int) -> Floats:
    """The points to measure to from every inner vertex, onward (`step` 1) or back (-1). [m]"""
    run, vertices = curve.vertex_run_m, curve.vertices_m
    last = len(run) - 1
    target = run[1:-1] + step * window_m
    after = np.clip(np.searchsorted(run, target, side="right"), 1, last)
    chord = run[after] - run[after - 1]
    part = (target - run[after - 1]) / chord
    # a point of the curve itself where there is one: the last before the window's end if that
    # leaves most of the window, else the next one where the chord to it may belong to an arc
    inner, outer = (0.0, 1.0) if step > 0 else (1.0, 0.0)
    short = np.abs(run[np.where(step > 0, after - 1, after)] - run[1:-1]) < _MOST_OF_IT * window_m
    part = np.where(short, np.where(chord <= window_m * (1 + 1e-6), outer, part), inner)
    ends = vertices[after - 1] + part[:, None] * (vertices[after] - vertices[after - 1])
    # a connector holds the cable straight: beyond its ends the curve goes on along its last chord
    end, before = (last, last - 1) if step > 0 else (0, 1)
    beyond = (target - run[end]) * step
    along = (vertices[end] - vertices[before]) / abs(run[end] - run[before])
    return np.where((beyond >= 0.0)[:, None], vertices[end] + beyond[:, None] * along, ends)


def bend_radii_m(curve: Curve, min_bend_radius_m: float) -> tuple[Floats, Floats]:
    """Radius of the curve at its inner points.

    Parameters
    ----------
    curve : Curve
    min_bend_radius_m : float
        The radius asked for; sets the window. [m]

    Returns
    -------
    radius_m : (v - 2,) float64
        Infinite where it is straight. [m]
    run_m : (v - 2,) float64
        Running length of each. [m]
    """
    window = bend_window_m(min_bend_radius_m)
    middle = curve.vertices_m[1:-1]
    if not len(middle):
        return np.zeros(0), np.zeros(0)
    back = _leg_ends(curve, window, -1) - middle
    onward = _leg_ends(curve, window, 1) - middle
    leg_back, leg_on = np.linalg.norm(back, axis=1), np.linalg.norm(onward, axis=1)
    area = np.linalg.norm(np.cross(back, onward), axis=1)
    sine = area / (leg_back * leg_on)
    chord = np.linalg.norm(onward - back, axis=1)
    with np.errstate(divide="ignore"):
        radius = np.where(sine > 1e-9, chord / (2.0 * np.maximum(sine, 1e-300)), np.inf)
    folded = (sine <= 1e-9) & (np.einsum("ij,ij->i", back, onward) > 0.0)
    radius = np.where(folded, 0.5 * np.maximum(leg_back, leg_on), radius)
    return np.where(radius > _STRAIGHT_M, np.inf, radius), curve.vertex_run_m[1:-1]
