"""Bends: the radius a cable needs, where a tight path has a kink.

Round every kink tighter than the cable allows, a window of the strand is laid anew: the
shortest curve whose curvature stays below 1/R everywhere, outside every sheet and
keep-out, and on its sheet where R leaves it there. For planes as they are near the
window this is a convex problem (curvature.py); it is solved a few times with the planes
renewed. Over a convex edge tighter than R the cable lifts off by itself, out of a grommet
it comes in a bow.

Units      m; curvature 1/m
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats, Ints
from routecut.model.job import vec3
from routecut.routes.cones import Planes
from routecut.routes.curvature import lay
from routecut.routes.polyline import points_at, running_m
from routecut.routes.strands import (
    NEAR_M,
    Bools,
    Flat,
    Strand,
    flatten,
    keep_out_gap_m,
    keep_out_planes,
    unflatten,
)
from routecut.routes.surface import Surface
from routecut.routes.windows import Window, cut, even, in_passage, marked, paste

_STEP = 6.0
"""Points a bend radius: a chord then leaves the arc by R/288."""

_STEP_M = 0.012
_REACH = 5.0
"""Half width of a window in bend radii: room to lift off and come back."""

_KINK_M = 3e-5
"""A kink whose rounding would move the curve by less than this is no kink."""

_STRETCH = (0.1, 0.05, 0.03, 0.02, 0.01, 0.01, 0.01)
"""How much a leg may change its length in each turn: less and less, since what it shrinks, a bend tightens."""

_CORNER = 0.2
"""Middles of legs nearer than this many bend radii to a keep-out are kept out of it too."""

_CONTACT = 2.5
"""Sheets further than this many stand-offs neither hold a cable nor stand in its way within a turn."""

_HALVINGS = 7
_SPREAD = 3.0
"""A step that is shortened at a place is shortened, less and less, up to this many bend radii from it."""

_SETTLED_M = 3e-4
_DIP_M = 5e-4
_OVER = 1.02
"""A bend this much tighter than asked is reported: the last turns leave legs that much play."""


@dataclass(frozen=True, slots=True)
class TightBend:
    """A bend that could not be kept: which strand, where, and the radius reached. [m]."""

    strand: int
    at_m: tuple[float, float, float]
    radius_m: float


def _kinks(strand: Strand) -> Ints:
    """Inner points where the strand is bent tighter than its cable allows."""
    legs = np.diff(strand.points_m, axis=0)
    length = np.maximum(np.linalg.norm(legs, axis=1), 1e-9)
    tangent = legs / length[:, None]
    angle = np.linalg.norm(np.diff(tangent, axis=0), axis=1)
    radius = strand.bend_m
    tight = (angle > (length[1:] + length[:-1]) / 2 / radius) | (radius * angle**2 / 8 > _KINK_M)
    return np.flatnonzero(tight) + 1


def _spans_m(strand: Strand, reach_m: float) -> list[tuple[float, float]]:
    """Stretches of running length to be laid anew."""
    run = running_m(strand.points_m)
    spans: list[tuple[float, float]] = []
    for kink in _kinks(strand):
        low, high = max(0.0, run[kink] - reach_m), min(run[-1], run[kink] + reach_m)
        if spans and low <= spans[-1][1] + reach_m / 6:
            spans[-1] = (spans[-1][0], high)
        else:
            spans.append((low, high))
    return spans


def _planes(surface: Surface, strands: Sequence[Strand], at_m: Floats, passage: Bools) -> Planes:
    flat = flatten(strands)
    contacts = surface.contacts(flat, at_m, _CONTACT)
    near, away, holds, bars = contacts.near, contacts.away, contacts.holds, contacts.bars
    point = near.point
    move = ~flat.pinned[point] & ~passage[point]
    bar = move & bars
    least = np.minimum(flat.stand_off_m[point], np.maximum(near.distance_m, flat.radius_m[point]))
    hold = move & holds & flat.clipped[point]
    level = dot(away, near.at_m)
    k_point, k_u, k_b = keep_out_planes(strands, at_m, flat.owner, NEAR_M)
    k_move = ~flat.pinned[k_point]
    # A leg may dip into a sharp corner between two points that are clear of it.
    legs = np.flatnonzero(flat.moving_legs)
    m_leg, m_u, m_b = keep_out_planes(
        strands, (at_m[legs] + at_m[legs + 1]) / 2, flat.owner[legs], _CORNER * float(flat.bend_m.max())
    )
    return Planes(
        np.concatenate([point[bar], k_point[k_move], legs[m_leg]]),
        np.concatenate([point[bar], k_point[k_move], legs[m_leg] + 1]),
        np.concatenate([away[bar], k_u[k_move], m_u]),
        np.concatenate([(level + least)[bar], k_b[k_move], m_b]),
        point[hold],
        away[hold],
        (level + flat.stand_off_m[point])[hold],
    )


def round_bends(surface: Surface, strands: Sequence[Strand]) -> list[Strand]:
    """Strands with the bend radius of their cables, where the way leaves room for it (see `left_over`)."""
    work: list[Strand] = []
    windows: list[Window] = []
    for i, strand in enumerate(strands):
        spans = _spans_m(strand, _REACH * strand.bend_m)
        work.append(marked(strand, [end for span in spans for end in span]))
        windows += [cut(work[i], i, span, _step_m(strand)) for span in spans]
    if not windows:
        return list(strands)
    laid = _settle(surface, [w.strand for w in windows])
    fine = ~_spoilt(surface, laid)
    return paste(
        work,
        [replace(w, strand=s) for w, s, ok in zip(windows, laid, fine.tolist(), strict=True) if ok],
    )


def _step_m(strand: Strand) -> float:
    return min(strand.bend_m / _STEP, _STEP_M)


def _spoilt(surface: Surface, windows: list[Strand]) -> Bools:
    """Windows in which a leg crosses a sheet or dips into a keep-out, (n,) bool."""
    flat = flatten(windows)
    legs = np.flatnonzero(flat.moving_legs)
    bad = surface.sheets.blocked(flat.at_m[legs], flat.at_m[legs + 1])
    middle = (flat.at_m[legs] + flat.at_m[legs + 1]) / 2
    gap = np.minimum(
        keep_out_gap_m(windows, middle, flat.owner[legs]),
        keep_out_gap_m(windows, flat.at_m[legs], flat.owner[legs]),
    )
    bad |= gap < -_DIP_M
    spoilt = np.zeros(len(windows), dtype=bool)
    spoilt[flat.owner[legs[bad]]] = True
    return spoilt


def _settle(surface: Surface, windows: list[Strand]) -> list[Strand]:
    result = list(windows)
    active = list(range(len(windows)))
    for stretch in _STRETCH:
        # Even again each time: bunched points would let a hairpin pass for a gentle bend.
        work = [even(result[i], _step_m(result[i])) for i in active]
        flat = flatten(work)
        planes = _planes(surface, work, flat.at_m, np.concatenate([in_passage(w) for w in work]))
        wanted = [lay(w, own, stretch) for w, own in zip(work, planes.split(work), strict=True)]
        step = np.concatenate(wanted) - flat.at_m
        work = unflatten(work, _held_back(surface, work, flat, step))
        moved = np.zeros(len(work))
        np.maximum.at(moved, flat.owner, np.abs(step).max(axis=1))
        for i, window in zip(active, work, strict=True):
            result[i] = window
        settled = [m < _SETTLED_M and not len(left_over([w])) for m, w in zip(moved, work, strict=True)]
        active = [i for i, done in zip(active, settled, strict=True) if not done]
        if not active:
            break
    return result


def _held_back(surface: Surface, windows: Sequence[Strand], flat: Flat, step: Floats) -> Floats:
    """The step, shortened round each place where a leg would cross a sheet or enter a keep-out."""
    at_m = flat.at_m
    share = np.ones(len(at_m))
    legs = np.flatnonzero(flat.moving_legs)
    gap_before = np.minimum(keep_out_gap_m(windows, at_m, flat.owner), -3e-4)
    # What starts too near to a sheet (a port on metal, a hole's rim) may stay so, but not cross it.
    tight_before = surface.sheets.skin_blocked(at_m[legs], at_m[legs + 1], flat.radius_m[legs])
    middle = (at_m[legs] + at_m[legs + 1]) / 2
    dip_before = np.minimum(keep_out_gap_m(windows, middle, flat.owner[legs]), -3e-4)
    around = _Around(flat)
    for halving in range(_HALVINGS + 1):
        new = at_m + share[:, None] * step
        crossing = surface.sheets.blocked(new[legs], new[legs + 1])
        rest = ~crossing & ~tight_before
        crossing[rest] = surface.sheets.skin_blocked(
            new[legs[rest]], new[legs[rest] + 1], flat.radius_m[legs[rest]]
        )
        bad = surface.sheets.blocked(at_m, new)
        bad |= keep_out_gap_m(windows, new, flat.owner) < gap_before - 1e-9
        middle = (new[legs] + new[legs + 1]) / 2
        worse = legs[crossing | (keep_out_gap_m(windows, middle, flat.owner[legs]) < dip_before - 1e-9)]
        bad[worse] = bad[worse + 1] = True
        if not bad.any():
            return new
        # At last nothing moves near a place that nothing else has helped.
        share = np.minimum(share, around.ramp(bad, 0.5 ** (halving + 1) if halving < _HALVINGS - 1 else 0.0))
    stuck = np.unique(flat.owner[bad])
    share[np.isin(flat.owner, stuck)] = 0.0
    return np.asarray(at_m + share[:, None] * step)


class _Around:
    """Running lengths of windows laid end to end, to spread what happens at a point over its neighbours."""

    def __init__(self, flat: Flat) -> None:
        length = np.linalg.norm(np.diff(flat.at_m, axis=0), axis=1)
        # Windows are set far apart, so that none is another's neighbour.
        self._reach_m = _SPREAD * flat.bend_m
        gap = float(2 * self._reach_m.max(initial=0.0) + 1.0)
        self._at = np.r_[0.0, np.cumsum(np.where(flat.leg, length, gap))]

    def ramp(self, marked: Bools, low: float) -> Floats:
        """`low` at the marked points, 1 further than `_SPREAD` bend radii from all of them, linear between. (n,)."""
        places = self._at[marked]
        if not len(places):
            return np.ones(len(self._at))
        after = np.clip(np.searchsorted(places, self._at), 0, len(places) - 1)
        before = np.maximum(after - 1, 0)
        off = np.minimum(np.abs(places[after] - self._at), np.abs(places[before] - self._at))
        return np.asarray(low + (1 - low) * np.minimum(1.0, off / self._reach_m))


def _reached(run_m: Floats, points_m: Floats, half_m: float) -> Floats:
    """For each point the one about `half_m` further along: the curve's own where there is one, (n, 3)."""
    target = run_m + half_m
    after = np.clip(np.searchsorted(run_m, target - 1e-9), 0, len(run_m) - 1)
    before = np.maximum(after - 1, 0)
    nearer = np.where(np.abs(run_m[before] - target) < np.abs(run_m[after] - target), before, after)
    ends = points_m[nearer]
    far = np.abs(run_m[nearer] - target) > half_m / 2
    ends[far] = points_at(np.minimum(target[far], run_m[-1]), run_m, points_m)
    return ends


def left_over(strands: Sequence[Strand]) -> list[TightBend]:
    """The tightest bend of each strand that is bent tighter than its cable allows.

    Read at each point as the circle through it and the points about a third of the bend
    radius before and after, so that the small kinks of a fine polyline count for what
    they are.
    """
    tight = []
    for i, strand in enumerate(strands):
        half = strand.bend_m / 3
        run, points = running_m(strand.points_m), strand.points_m
        inner = np.flatnonzero((run > half / 2) & (run < run[-1] - half / 2))
        if not len(inner):
            continue
        onward = _reached(run, points, half)[inner] - points[inner]
        back = _reached(run[-1] - run[::-1], points[::-1], half)[::-1][inner] - points[inner]
        area = np.linalg.norm(np.cross(onward, back), axis=1)
        sides = np.linalg.norm(onward, axis=1) * np.linalg.norm(back, axis=1)
        chord = np.linalg.norm(onward - back, axis=1)
        bent = 2 * area / np.maximum(sides * chord, 1e-18)
        # A fold back on itself has no area: as tight as half its shorter leg.
        folded = (dot(onward, back) > 0) & (chord < np.sqrt(sides))
        bent[folded] = np.maximum(bent[folded], 2 / np.sqrt(sides[folded]))
        # What was no kink before the bends were rounded is none now.
        turn = np.linalg.norm(unit(onward) + unit(back), axis=1)
        bent[strand.bend_m * turn**2 / 8 <= _KINK_M] = 0.0
        worst = int(bent.argmax())
        if bent[worst] > _OVER / strand.bend_m:
            tight.append(TightBend(i, vec3(points[inner[worst]]), float(1 / bent[worst])))
    return tight
