"""Which cables run side by side, and so warm each other.

Stage      sizing
Units      m
Source     common practice, no source: cables within `TIED_M` of each other on their middle lines
           are tied together; those that share a way for less than `SHORTEST_M` don't count
Safe side  the most conductors met anywhere along the way count for the whole cable
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from routecut.model.body import Floats

TIED_M: Final = 0.040
"""Middle to middle; nearer than this two cables end up in one bundle. [m]"""

SHORTEST_M: Final = 0.100
"""Of shared way at a stretch; over less the heat goes out at the ends. [m]"""

_STEP_M: Final = 0.010


def side_by_side(ways_m: Mapping[str, Floats], conductors: Mapping[str, int]) -> dict[str, int]:
    """For each cable, the most conductors that run with it anywhere, its own included.

    Parameters
    ----------
    ways_m : mapping of str to (n, 3) float64
        Middle lines of the cables that carry current. [m]
    conductors : mapping of str to int
        Conductors of each: 2 where a return is laid beside it.

    Returns
    -------
    dict of str to int
    """
    sampled = {name: _sample(points) for name, points in ways_m.items()}
    trees = {name: cKDTree(points) for name, points in sampled.items()}
    found = {}
    for name, points in sampled.items():
        count = np.full(len(points), conductors[name])
        for other, tree in trees.items():
            if other == name:
                continue
            distance, _ = tree.query(points, distance_upper_bound=TIED_M)
            count += conductors[other] * np.isfinite(distance)
        # the highest count that holds over SHORTEST_M at a stretch: a crossing is none
        window = min(len(points), max(1, round(SHORTEST_M / _STEP_M)))
        found[name] = int(np.lib.stride_tricks.sliding_window_view(count, window).min(axis=1).max())
    return found


def _sample(points_m: Floats) -> Floats:
    steps = np.linalg.norm(np.diff(points_m, axis=0), axis=1)
    at = np.concatenate([[0.0], np.cumsum(steps)])
    wanted = np.linspace(0.0, at[-1], max(2, int(at[-1] / _STEP_M) + 1))
    return np.column_stack([np.interp(wanted, at, points_m[:, axis]) for axis in range(3)])
