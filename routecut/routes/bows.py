"""Bows: a first curve out of a hole or a connector, for the bends to start from.

A cable that comes straight out of a grommet and has to run along the sheet rises, turns
and comes down again. A solver that starts from the sharp corner ends in a hairpin, so
the corner is replaced by a curve with a limited turning circle (turning.py).

Units      m
"""

from __future__ import annotations

import numpy as np

from routecut.geometry.triangles import unit
from routecut.model.body import Floats
from routecut.routes.polyline import running_m
from routecut.routes.strands import Bools, Strand
from routecut.routes.turning import Blocked, turn_onto

_ROOM = 1.12
"""Turning radius of a bow over the cable's: room for the solver."""

_MEND_ROOM = 1.03
_BEFORE = (1.5, 3.0, 5.0)
_MEND_AHEAD = (1.0, 1.6, 2.4, 3.5)
"""A bend that is left too tight is mended from so far before it, looking so far ahead, in bend radii."""

_AWAY = 0.5
_TURN_DEG = 35.0
"""Corners gentler than this need no bow."""


def _replaced(strand: Strand, start: int, rest: int, curve_m: Floats, *, hangs: Bools) -> Strand:
    """The strand with a curve from point `start` in place of what lies before point `rest`."""
    return strand.with_points(
        np.concatenate([strand.points_m[: start + 1], curve_m[1:], strand.points_m[rest:]]),
        np.concatenate(
            [strand.pinned[: start + 1], np.zeros(len(curve_m) - 1, dtype=bool), strand.pinned[rest:]]
        ),
        np.concatenate([strand.free[:start], hangs, strand.free[rest:]]),
    )


def _one(strand: Strand, end: int, blocked: Blocked) -> Strand | None:
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
    found = turn_onto(
        points[end],
        heading,
        path,
        radius_m=_ROOM * strand.bend_m,
        beyond_m=lead if origin == end else 0.0,
        blocked=blocked,
    )
    if found is None:
        return None
    rest = origin + int(np.searchsorted(running_m(path), found.joins_m))
    if rest > stop:
        return None
    # While it still heads away from the hole the cable can't be held by a sheet.
    legs = np.diff(np.concatenate([found.points_m, points[rest : rest + 1]]), axis=0)
    away = unit(legs) @ heading > _AWAY
    return _replaced(strand, end, rest, found.points_m, hangs=away | strand.free[corner])


def _turn_deg(strand: Strand, end: int) -> float:
    """How far the way turns off its heading within a bend radius beyond the first corner."""
    ahead = strand.points_m[end + 1 :]
    run = running_m(ahead)
    rest = ahead[1:][run[1:] <= max(strand.bend_m, float(run[1]))]
    towards = unit(rest - ahead[0])
    heading = unit((strand.points_m[end] - strand.points_m[end - 1])[None])
    return float(np.degrees(np.arccos(np.clip(towards @ heading[0], -1, 1))).max(initial=0.0))


def mend_bend(strand: Strand, at_m: Floats, blocked: Blocked) -> Strand | None:
    """The strand with a bow laid over a bend that is too tight; None when nothing free does it.

    Parameters
    ----------
    strand : Strand
    at_m : (3,) float64
        The tightest point.
    blocked : callable
        See `turning.Blocked`.
    """
    # From either end the follower alone takes no time; what it can't do a search may, and takes long.
    for search in (False, True):
        turned = _mends(reverse(strand), at_m, blocked, search=search)
        mended = [*_mends(strand, at_m, blocked, search=search), *map(reverse, turned)]
        if mended:
            return min(mended, key=lambda one: one.length_m)
    return None


def _mends(strand: Strand, at_m: Floats, blocked: Blocked, *, search: bool) -> list[Strand]:
    """Bows over the bend at a place, from before it as the strand runs; the first that a search finds."""
    points = strand.points_m
    worst = int(np.linalg.norm(points - at_m, axis=1).argmin())
    run = running_m(points)
    last_pin = int(np.flatnonzero(_hard(strand)[:worst]).max(initial=0))
    next_pin = int(
        min(np.flatnonzero(_hard(strand)[worst + 1 :]).min(initial=len(points)) + worst + 1, len(points) - 1)
    )
    mended: list[Strand] = []
    for before in _BEFORE:
        start = max(last_pin, int(np.searchsorted(run, run[worst] - before * strand.bend_m)))
        if start >= worst or start == 0:
            continue
        path = points[start : next_pin + 1]
        found = turn_onto(
            points[start],
            unit((points[start] - points[start - 1])[None])[0],
            path,
            radius_m=_MEND_ROOM * strand.bend_m,
            beyond_m=float(run[worst] - run[start]) + 0.5 * strand.bend_m,
            blocked=blocked,
            ahead=_MEND_AHEAD,
            search=search,
        )
        if found is None:
            continue
        rest = start + int(np.searchsorted(run[start:] - run[start], found.joins_m))
        if rest > next_pin:
            continue
        hangs = np.full(len(found.points_m), bool(strand.free[start]))
        mended.append(_replaced(strand, start, rest, found.points_m, hangs=hangs))
        if search:
            break
    return mended


def _hard(strand: Strand) -> Bools:
    """Points of straight pieces through metal and behind connectors, (n,) bool."""
    pinned = strand.pinned
    return np.asarray(pinned & (np.r_[True, pinned[:-1]] | np.r_[pinned[1:], True]))


def reverse(strand: Strand) -> Strand:
    """The same strand from its other end."""
    return strand.with_points(strand.points_m[::-1], strand.pinned[::-1], strand.free[::-1])


Known = dict[tuple[bytes, int], Strand | None]
"""What a strand becomes by a bow at one of its points: searched for once."""


def add_bows(
    strand: Strand, blocked: Blocked, *, longer_m: float = np.inf, known: Known | None = None
) -> Strand:
    """A bow at every pinned end whose next point is a sharp corner, both ways along the strand.

    Parameters
    ----------
    strand : Strand
    blocked : callable
        See `turning.Blocked`.
    longer_m : float
        Bows that make the strand longer by more than this are left out. [m]
    known : dict, optional
        Bows of this cable that were searched for before; those searched for now are put in.
    """
    known = {} if known is None else known
    for _ in range(2):
        at = 1
        while at < len(strand.points_m) - 2:
            comes_out = strand.pinned[at - 1] and strand.pinned[at] and not strand.pinned[at + 1]
            if comes_out and _turn_deg(strand, at) > _TURN_DEG:
                key = (strand.points_m.tobytes(), at)
                if key not in known:
                    known[key] = _one(strand, at, blocked)
                bowed = known[key]
                if bowed is not None and bowed.length_m - strand.length_m <= longer_m:
                    strand = bowed
            at += 1
        strand = reverse(strand)
    return strand
