"""Bows: a first curve out of a hole or a connector, for the bends to start from.

A cable that comes straight out of a grommet and has to run along the sheet rises, turns
and comes down again. A solver that starts from the sharp corner ends in a hairpin, so
the corner is replaced by a curve that a follower with a limited turning circle would
drive: always towards a point some way ahead on the path.

Units      m
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

import numpy as np

from routecut.geometry.triangles import unit
from routecut.model.body import Floats
from routecut.routes.polyline import points_at, running_m
from routecut.routes.strands import Bools, Strand

_AHEAD = (2.0, 3.0, 1.2)
"""How far ahead the follower looks, in turning radii; tried in turn."""

_ROOM = 1.12
"""Turning radius of the follower over the cable's: room for the solver."""

_JOINS = ((0.015, 0.9997), (0.12, 0.97))
"""How near and how well aligned the curve must be to end on the path: as good as on it, or good enough to be mended."""

_BEFORE = (1.5, 3.0, 5.0)
_MEND_AHEAD = (1.0, 1.6, 2.4, 3.5)
"""A bend that is left too tight is mended from so far before it, looking so far ahead, in bend radii."""

_STEPS_A_RADIUS = 8
_LONGEST = 20.0
_AWAY = 0.5
_TURN_DEG = 35.0
"""Corners gentler than this need no bow."""


def follow(
    start_m: Floats,
    heading: Floats,
    path_m: Floats,
    *,
    radius_m: float,
    ahead_m: float,
    beyond_m: float,
    join: tuple[float, float],
) -> tuple[Floats, float] | None:
    """A curve from a point and a heading onto a path, turning no tighter than the radius.

    Parameters
    ----------
    start_m, heading : (3,) float64
        Where the curve starts, and the unit vector it starts with.
    path_m : (n, 3) float64
    radius_m, ahead_m : float
    beyond_m : float
        The curve may end on the path only after this running length of it.
    join : (float, float)
        Distance to the path, in radii, and cosine to it, at which the curve may end.

    Returns
    -------
    ((k, 3) float64, float) or None
        Points, start included, and the running length of the path where the curve joins
        it; None when it never does.
    """
    run = running_m(path_m)
    if run[-1] < radius_m / 2:
        return None
    step = radius_m / _STEPS_A_RADIUS
    fine = np.linspace(0.0, run[-1], max(2, int(np.ceil(run[-1] / (step / 2)))) + 1)
    track = points_at(fine, run, path_m)
    tangents = unit(np.gradient(track, axis=0))
    here, towards, progress = start_m.copy(), heading.copy(), 0
    curve = [here.copy()]
    for _ in range(int(_LONGEST * _STEPS_A_RADIUS)):
        window = slice(progress, progress + _STEPS_A_RADIUS * 6)
        progress += int(np.linalg.norm(track[window] - here, axis=1).argmin())
        target = track[min(len(track) - 1, int(np.searchsorted(fine, fine[progress] + ahead_m)))]
        wanted = target - here
        size = float(np.linalg.norm(wanted))
        if size > 1e-9:
            wanted /= size
            across = wanted - (wanted @ towards) * towards
            length = float(np.linalg.norm(across))
            if length < 1e-6:  # dead ahead or dead behind: turn the way the path runs
                across = tangents[progress] - (tangents[progress] @ towards) * towards
                length = float(np.linalg.norm(across))
            # The first leg turns by half: the polyline of an arc that begins at the start point.
            most = step / radius_m * (0.5 if len(curve) == 1 else 1.0)
            angle = min(float(np.arccos(np.clip(wanted @ towards, -1, 1))), most)
            if length > 1e-9:
                towards = np.cos(angle) * towards + np.sin(angle) * across / length
        here = here + step * towards
        curve.append(here.copy())
        if progress == len(track) - 1:
            return None
        off = here - track[progress]
        gap = float(np.linalg.norm(off - (off @ tangents[progress]) * tangents[progress]))
        if gap < join[0] * radius_m and towards @ tangents[progress] > join[1] and fine[progress] > beyond_m:
            return np.array(curve), float(fine[min(progress + 2, len(fine) - 1)])
    return None


def _replaced(
    strand: Strand, start: int, rest: int, curve_m: Floats, *, pinned: bool, hangs: Bools
) -> Strand:
    """The strand with a curve from point `start` in place of what lies before point `rest`."""
    return strand.with_points(
        np.concatenate([strand.points_m[: start + 1], curve_m[1:], strand.points_m[rest:]]),
        np.concatenate([strand.pinned[: start + 1], np.full(len(curve_m) - 1, pinned), strand.pinned[rest:]]),
        np.concatenate([strand.free[:start], hangs, strand.free[rest:]]),
    )


def _one(strand: Strand, end: int, blocked: Callable[[Floats], bool]) -> Strand | None:
    """The strand with a bow from pinned point `end`, on the heading it has there, onto the path after it."""
    points, pinned = strand.points_m, strand.pinned
    corner = end + 1
    stop = corner + 1
    while stop < len(points) - 1 and not pinned[stop]:
        stop += 1
    heading = unit((points[end] - points[end - 1])[None])[0]
    lead = float(np.linalg.norm(points[corner] - points[end]))
    # With room for the bend before the corner it is cut, without it the curve goes past and comes back.
    origin = end if lead >= strand.bend_m else corner
    path = points[origin : stop + 1]
    for join, ahead in product(_JOINS, _AHEAD):
        found = follow(
            points[end],
            heading,
            path,
            radius_m=_ROOM * strand.bend_m,
            ahead_m=ahead * strand.bend_m,
            beyond_m=lead if origin == end else strand.bend_m,
            join=join,
        )
        if found is None:
            continue
        curve, joins = found
        run = running_m(path)
        rest = origin + int(np.searchsorted(run, joins))
        if rest > stop or blocked(np.concatenate([curve, points[rest : rest + 1]])):
            continue
        # While it still heads away from the hole the cable can't be held by a sheet.
        away = unit(np.diff(np.concatenate([curve, points[rest : rest + 1]]), axis=0)) @ heading > _AWAY
        hangs = away | strand.free[corner]
        return _replaced(strand, end, rest, curve, pinned=join == _JOINS[0], hangs=hangs)
    return None


def _turn_deg(strand: Strand, end: int) -> float:
    """How far the way turns off its heading within a bend radius beyond the first corner."""
    ahead = strand.points_m[end + 1 :]
    run = running_m(ahead)
    rest = ahead[1:][run[1:] <= max(strand.bend_m, float(run[1]))]
    towards = unit(rest - ahead[0])
    heading = unit((strand.points_m[end] - strand.points_m[end - 1])[None])
    return float(np.degrees(np.arccos(np.clip(towards @ heading[0], -1, 1))).max(initial=0.0))


def mend_bend(strand: Strand, at_m: Floats, blocked: Callable[[Floats], bool]) -> Strand | None:
    """The strand with a bow laid over a bend that is too tight; None when nothing free does it.

    Parameters
    ----------
    strand : Strand
    at_m : (3,) float64
        The tightest point.
    blocked : callable
        Whether a polyline meets a sheet or a keep-out.
    """
    points = strand.points_m
    worst = int(np.linalg.norm(points - at_m, axis=1).argmin())
    run = running_m(points)
    last_pin = int(np.flatnonzero(_hard(strand)[:worst]).max(initial=0))
    next_pin = int(
        min(np.flatnonzero(_hard(strand)[worst + 1 :]).min(initial=len(points)) + worst + 1, len(points) - 1)
    )
    for before, join, ahead in product(_BEFORE, _JOINS, _MEND_AHEAD):
        start = max(last_pin, int(np.searchsorted(run, run[worst] - before * strand.bend_m)))
        if start >= worst or start == 0:
            continue
        heading = unit((points[start] - points[start - 1])[None])[0]
        path = points[start : next_pin + 1]
        found = follow(
            points[start],
            heading,
            path,
            radius_m=1.03 * strand.bend_m,
            ahead_m=ahead * strand.bend_m,
            beyond_m=float(run[worst] - run[start]) + 0.5 * strand.bend_m,
            join=join,
        )
        if found is None:
            continue
        curve, joins = found
        rest = start + int(np.searchsorted(run[start:] - run[start], joins))
        if rest > next_pin or blocked(np.concatenate([curve, points[rest : rest + 1]])):
            continue
        hangs = np.full(len(curve), bool(strand.free[start]))
        return _replaced(strand, start, rest, curve, pinned=False, hangs=hangs)
    return None


def _hard(strand: Strand) -> Bools:
    """Points of straight pieces through metal and behind connectors, (n,) bool."""
    pinned = strand.pinned
    return np.asarray(pinned & (np.r_[True, pinned[:-1]] | np.r_[pinned[1:], True]))


def reverse(strand: Strand) -> Strand:
    """The same strand from its other end."""
    return strand.with_points(strand.points_m[::-1], strand.pinned[::-1], strand.free[::-1])


def add_bows(strand: Strand, blocked: Callable[[Floats], bool]) -> Strand:
    """A bow at every pinned end whose next point is a sharp corner, both ways along the strand.

    Parameters
    ----------
    strand : Strand
    blocked : callable
        Whether a polyline meets a sheet or a keep-out.
    """
    for _ in range(2):
        at = 1
        while at < len(strand.points_m) - 2:
            comes_out = strand.pinned[at - 1] and strand.pinned[at] and not strand.pinned[at + 1]
            if comes_out and _turn_deg(strand, at) > _TURN_DEG:
                strand = _one(strand, at, blocked) or strand
            at += 1
        strand = reverse(strand)
    return strand
