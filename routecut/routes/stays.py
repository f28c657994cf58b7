"""Stays: clips that keep cables of different kinds apart while they are pulled tight.

Two cables that were found side by side at their separation would both slide onto the
shortest line and lie on each other. Where a way runs along a foreign one at little more
than the separation, some of its points stay where they were found.

Units      m
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from routecut.model.body import Floats
from routecut.model.company import foreign, group_of
from routecut.routes.polyline import points_at, running_m
from routecut.routes.search import Found

_REACH: Final = 2.5
"""Ways nearer than this many separations to each other would slide together."""

_EVERY_M: Final = 0.25
_CLEAR_M: Final = 0.12
"""From a hole or a port there is no stay: there cables can't but come together."""

_STEP_M: Final = 0.02


def hold_apart(way: Found, ways: Iterable[Found], separation_m: float) -> Found:
    """A way with stays where it runs alongside a foreign one of some, not where it is too near already."""
    group = group_of(way.cable.cable_class)
    others = [_samples(other) for other in ways if foreign(group, group_of(other.cable.cable_class))]
    return _held(way, np.concatenate(others), separation_m) if others else way


def _samples(way: Found) -> Floats:
    run = running_m(way.strand.points_m)
    return points_at(np.arange(0.0, run[-1], _STEP_M), run, way.strand.points_m)


def _held(way: Found, others: Floats, separation_m: float) -> Found:
    strand = way.strand
    distance, _ = cKDTree(others).query(strand.points_m, distance_upper_bound=_REACH * separation_m)
    run = running_m(strand.points_m)
    fixed = run[strand.pinned]
    clear = np.abs(run[:, None] - fixed[None]).min(axis=1) > _CLEAR_M
    lies = ~np.r_[True, strand.free] & ~np.r_[strand.free, True]
    wanted = (distance >= 0.9 * separation_m) & np.isfinite(distance) & clear & lies & ~strand.pinned
    pinned, last = strand.pinned.copy(), -np.inf
    for i in np.flatnonzero(wanted):
        if run[i] - last >= _EVERY_M:
            pinned[i], last = True, run[i]
    new = pinned & ~strand.pinned
    if not new.any():
        return way
    return replace(
        way,
        strand=strand.with_points(strand.points_m, pinned, strand.free),
        corners_m=np.concatenate([way.corners_m, strand.points_m[new]]),
    )
