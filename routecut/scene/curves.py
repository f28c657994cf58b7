"""Curves for the eye: cut into dashes, and with no more points than are seen."""

from __future__ import annotations

import numpy as np

from routecut.model.body import Floats


def dashed(points_m: Floats, drawn_m: float, left_out_m: float) -> list[Floats]:
    """A curve cut into dashes along its length.

    Parameters
    ----------
    points_m : (n, 3) float64
        [m]
    drawn_m, left_out_m : float
        Length of a dash and of a gap; no gap gives the curve itself. [m]

    Returns
    -------
    list of (k, 3) float64
        At least one dash, each of two points or more; the first begins where the curve does.

    Examples
    --------
    >>> [d[:, 0].tolist() for d in dashed(np.array([[0.0, 0, 0], [5.0, 0, 0]]), 1.0, 2.0)]
    [[0.0, 1.0], [3.0, 4.0]]
    """
    steps = np.linalg.norm(np.diff(points_m, axis=0), axis=1)
    keep = np.r_[True, steps > 0.0]
    points = points_m[keep]
    running = np.r_[0.0, np.cumsum(steps[steps > 0.0])]
    if left_out_m <= 0.0 or len(points) < 2:
        return [points_m]
    dashes = []
    for start in np.arange(0.0, running[-1], drawn_m + left_out_m):
        end = min(start + drawn_m, running[-1])
        inside = running[(running > start) & (running < end)]
        at = np.r_[start, inside, end]
        dashes.append(np.stack([np.interp(at, running, points[:, k]) for k in range(3)], axis=1))
    return dashes


def thinned(points_m: Floats, off_m: float) -> Floats:
    """A curve with fewer points, nowhere further than `off_m` from the one given.

    Parameters
    ----------
    points_m : (n, 3) float64
        [m]
    off_m : float
        [m]

    Returns
    -------
    (k, 3) float64
        Points of the curve given, both ends among them.

    Notes
    -----
    Halves the curve at its point furthest from the chord until none is off (Douglas and
    Peucker, The Canadian Cartographer 10(2), 1973).

    Examples
    --------
    >>> thinned(np.array([[0.0, 0, 0], [1, 0.001, 0], [2, 0, 0], [2, 1, 0]]), 0.01)[:, :2].tolist()
    [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0]]
    """
    keep = np.zeros(len(points_m), dtype=bool)
    keep[[0, -1]] = True
    open_ends = [(0, len(points_m) - 1)]
    while open_ends:
        first, last = open_ends.pop()
        if last - first < 2:
            continue
        inside = points_m[first + 1 : last] - points_m[first]
        chord = points_m[last] - points_m[first]
        square = float(chord @ chord)
        along = np.clip(inside @ chord / square, 0.0, 1.0) if square > 0.0 else np.zeros(len(inside))
        off = np.linalg.norm(inside - along[:, None] * chord, axis=1)
        worst = int(off.argmax())
        if off[worst] > off_m:
            middle = first + 1 + worst
            keep[middle] = True
            open_ends += [(first, middle), (middle, last)]
    return points_m[keep]
