"""Bends: the radius a cable needs, where a tight path has a kink.

Round every kink tighter than the cable allows, a window of the strand is laid anew: the
shortest curve whose curvature stays below 1/R everywhere, outside every sheet and
keep-out, and on its sheet where R leaves it there. For planes as they are near the
window this is a convex problem; it is solved by ADMM (one banded factorisation, cheap
iterations, all windows at once) and the planes are renewed a few times. Over a convex
edge tighter than R the cable lifts off by itself, out of a grommet it comes in a bow.

Units      m; curvature 1/m
Source     alternating direction method of multipliers: Boyd et al., Foundations and
           Trends in Machine Learning 3 (2010), section 3 (scaled form)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.sparse import csr_array

from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats, Ints
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
from routecut.routes.tighten import Surface

_STEP = 6.0
"""Points a bend radius: a chord then leaves the arc by R/288."""

_STEP_M = 0.012
_REACH = 5.0
"""Half width of a window in bend radii: room to lift off and come back."""

_TIGHTEST = 0.985
"""Curvature aimed at, as a share of the limit, so that discrete arcs stay within it."""

_KINK_M = 3e-5
"""A kink whose rounding would move the curve by less than this is no kink."""

_INNER = 100
_STRETCH = (0.07,) * 7 + (0.03,) * 3 + (0.008,) * 6
"""How much a leg may change its length in each turn: less and less, since what it shrinks, a bend tightens."""

_LEG_WEIGHT = 4.0
_HOLD = 64.0
"""How firmly a sheet holds the cable: it is back at the stand-off R/8 after a bend."""

_CONTACT = 2.5
"""Sheets further than this many stand-offs neither hold a cable nor stand in its way within a turn."""

_SETTLED_M = 3e-4
_DIP_M = 5e-4
_OVER = 1.03


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


def _windows(strand: Strand, reach_m: float) -> list[tuple[float, float]]:
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


def _cut(strand: Strand, low_m: float, high_m: float, step_m: float) -> tuple[Strand, int, int]:
    """The window as a strand of even points, and the range of points it replaces.

    Two points at either end are pinned so that the curve goes on in the same direction;
    at a port it may start as it likes unless a lead-out is pinned there.
    """
    points, pinned = strand.points_m, strand.pinned.copy()
    run = running_m(points)
    first = int(np.searchsorted(run, low_m, side="right") - 1)
    last = int(np.searchsorted(run, high_m, side="left"))
    first, last = max(first, 0), min(last, len(points) - 1)
    ends = []
    for end, inward in ((first, 1), (last, -1)):
        pinned[end] = True
        if end not in (0, len(points) - 1):
            # One step of the old direction stays, so that the curve goes on as it was.
            ends.append(run[end] + inward * min(step_m, abs(run[end + inward] - run[end])))
    cut_points, cut_pinned = points[first : last + 1], pinned[first : last + 1]
    window = strand.with_points(cut_points, cut_pinned, strand.free[first:last])
    for at in ends:
        window = _pin_at(window, at - run[first])
    return even(window, step_m), first, last


def _pin_at(strand: Strand, at_m: float) -> Strand:
    """The strand with a pinned point at a running length."""
    run = running_m(strand.points_m)
    near = int(np.abs(run - at_m).argmin())
    if abs(run[near] - at_m) < 1e-7:
        pinned = strand.pinned.copy()
        pinned[near] = True
        return strand.with_points(strand.points_m, pinned, strand.free)
    leg = int(np.clip(np.searchsorted(run, at_m) - 1, 0, len(run) - 2))
    share = (at_m - run[leg]) / (run[leg + 1] - run[leg])
    point = strand.points_m[leg] + share * (strand.points_m[leg + 1] - strand.points_m[leg])
    return strand.with_points(
        np.insert(strand.points_m, leg + 1, point, axis=0),
        np.insert(strand.pinned, leg + 1, True),
        np.insert(strand.free, leg + 1, strand.free[leg]),
    )


def even(strand: Strand, step_m: float) -> Strand:
    """Points evenly spaced between pinned ones, about `step_m` apart."""
    points, pinned = strand.points_m, strand.pinned
    run = running_m(points)
    marks = np.flatnonzero(pinned)
    grid: list[Floats] = [run[marks[:1]]]
    count = [0]
    for a, b in pairwise(run[marks].tolist()):
        pieces = max(1, int(np.ceil((b - a) / step_m - 1e-6)))
        grid.append(np.linspace(a, b, pieces + 1)[1:])
        count.append(count[-1] + pieces)
    at = np.concatenate(grid)
    laid = points_at(at, run, points)
    laid[count] = points[marks]
    fixed = np.zeros(len(at), dtype=bool)
    fixed[count] = True
    middle = (at[1:] + at[:-1]) / 2
    leg = np.clip(np.searchsorted(run, middle, side="right") - 1, 0, len(points) - 2)
    return strand.with_points(laid, fixed, strand.free[leg])


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """Half-spaces u.p >= b and holding planes u.p = b of the points of all windows."""

    point: Ints
    u: Floats
    b: Floats
    held_point: Ints
    held_u: Floats
    held_b: Floats


def _rows(surface: Surface, strands: Sequence[Strand], at_m: Floats, passage: Bools) -> _Rows:
    flat = flatten(strands)
    near, away, holds, bars = surface.contacts(at_m, _CONTACT * flat.stand_off_m)
    point = near.point
    move = ~flat.pinned[point] & ~passage[point]
    bar = move & bars
    least = np.minimum(flat.stand_off_m[point], np.maximum(near.distance_m, flat.radius_m[point]))
    hold = move & holds & flat.clipped[point]
    level = dot(away, near.at_m)
    k_point, k_u, k_b = keep_out_planes(strands, at_m, flat.owner, NEAR_M)
    k_move = ~flat.pinned[k_point]
    return _Rows(
        np.concatenate([point[bar], k_point[k_move]]),
        np.concatenate([away[bar], k_u[k_move]]),
        np.concatenate([(level + least)[bar], k_b[k_move]]),
        point[hold],
        away[hold],
        (level + flat.stand_off_m[point])[hold],
    )


def _lay(strands: Sequence[Strand], at_m: Floats, rows: _Rows, stretch: float) -> Floats:
    """Curves of bounded curvature under the planes; one convex problem for all windows. (n, 3).

    Legs keep their length within the share `stretch`: a second difference takes a hairpin whose legs
    shrink to nothing for a gentle bend. (This one condition is not convex; ADMM copes.)
    """
    flat = flatten(strands)
    n = len(at_m)
    legs = np.diff(at_m, axis=0)
    length = np.maximum(np.linalg.norm(legs, axis=1), 1e-6)
    pull = np.where(flat.leg, 1 / length, 0.0)
    inner = np.flatnonzero(flat.leg[:-1] & flat.leg[1:]) + 1
    before, after = length[inner - 1], length[inner]
    scale = 2 / (before + after)
    coef = np.stack([scale / before, -scale * (1 / before + 1 / after), scale / after], axis=1)
    limit = _TIGHTEST / flat.bend_m[inner]
    rho = (before + after) / 2 * flat.bend_m[inner] ** 2
    sigma = 4 * (np.r_[pull, 0.0] + np.r_[0.0, pull])[rows.point]
    hold = (
        _HOLD
        / flat.bend_m[rows.held_point] ** 2
        * (np.r_[length, 0.0] + np.r_[0.0, length])[rows.held_point]
        / 2
    )

    def bend(p: Floats) -> Floats:
        return coef[:, :1] * p[inner - 1] + coef[:, 1:2] * p[inner] + coef[:, 2:] * p[inner + 1]

    # Normal matrix: blocks on the diagonal from planes, scalar couplings to the next two points.
    block = np.zeros((n, 3, 3))
    np.add.at(block, rows.point, sigma[:, None, None] * rows.u[:, :, None] * rows.u[:, None, :])
    np.add.at(block, rows.held_point, hold[:, None, None] * rows.held_u[:, :, None] * rows.held_u[:, None, :])
    tie = _LEG_WEIGHT * pull
    both = pull + tie
    diagonal = np.r_[both, 0.0] + np.r_[0.0, both] + 1e-9
    one, two = np.r_[-both, 0.0], np.zeros(n)
    for k in range(3):
        np.add.at(diagonal, inner - 1 + k, rho * coef[:, k] ** 2)
    np.add.at(one, inner - 1, rho * coef[:, 0] * coef[:, 1])
    np.add.at(one, inner, rho * coef[:, 1] * coef[:, 2])
    np.add.at(two, inner - 1, rho * coef[:, 0] * coef[:, 2])
    fixed = flat.pinned
    base = np.where(fixed[:, None], at_m, 0.0)
    # What pinned points contribute goes to the right-hand side.
    offset = np.zeros((n, 3))
    offset[:-1] -= one[:-1, None] * base[1:]
    offset[1:] -= one[:-1, None] * base[:-1]
    offset[:-2] -= two[:-2, None] * base[2:]
    offset[2:] -= two[:-2, None] * base[:-2]
    block[:, range(3), range(3)] += diagonal[:, None]
    block[fixed] = np.eye(3)
    one[:-1] = np.where(fixed[:-1] | fixed[1:], 0.0, one[:-1])
    two[:-2] = np.where(fixed[:-2] | fixed[2:], 0.0, two[:-2])
    band = np.zeros((7, 3 * n))
    for r in range(3):
        for c in range(r, 3):
            band[6 + r - c, c::3] = block[:, r, c]
    for c in range(3):
        band[3, 3 + c :: 3] = one[:-1]
        band[0, 6 + c :: 3] = two[:-2]
    factor = cholesky_banded(band, check_finite=False)

    constant = np.zeros((n, 3))
    np.add.at(constant, rows.held_point, (hold * rows.held_b)[:, None] * rows.held_u)
    pressed = csr_array((sigma, (rows.point, np.arange(len(rows.point)))), shape=(n, len(rows.point)))
    p = at_m.copy()
    z, dual = bend(p), np.zeros((len(inner), 3))
    w, slack = np.maximum(dot(rows.u, p[rows.point]), rows.b), np.zeros(len(rows.point))
    leg, leg_dual = legs.copy(), np.zeros_like(legs)
    for iteration in range(_INNER):
        rhs = constant.copy()
        drawn = tie[:, None] * (leg - leg_dual)
        rhs[1:] += drawn
        rhs[:-1] -= drawn
        force = rho[:, None] * (z - dual)
        for k in range(3):  # each point is the inner one of one bend only: plain adding will do
            rhs[inner - 1 + k] += coef[:, k : k + 1] * force
        rhs += pressed @ ((w - slack)[:, None] * rows.u)
        rhs = np.where(fixed[:, None], at_m, rhs + offset)
        new = cho_solve_banded((factor, False), rhs.reshape(-1), check_finite=False).reshape(n, 3)
        k_now = bend(new) + dual
        size = np.linalg.norm(k_now, axis=1)
        z = k_now * np.minimum(1.0, limit / np.maximum(size, 1e-12))[:, None]
        dual = k_now - z
        leg_now = np.diff(new, axis=0) + leg_dual
        reach = np.maximum(np.linalg.norm(leg_now, axis=1), 1e-12)
        leg = leg_now * (np.clip(reach, (1 - stretch) * length, (1 + stretch) * length) / reach)[:, None]
        leg_dual = leg_now - leg
        at_plane = dot(rows.u, new[rows.point]) + slack
        w = np.maximum(at_plane, rows.b)
        slack = at_plane - w
        moved = np.abs(new - p).max()
        p = new
        if iteration > 20 and moved < 5e-6:
            break
    return p


def _in_passage(strand: Strand) -> Bools:
    """Points between the pinned mouths of a passage, where sheets are let pass."""
    inside = np.zeros(len(strand.points_m), dtype=bool)
    inside[1:-1] = strand.pinned[1:-1]
    return inside


def round_bends(surface: Surface, strands: Sequence[Strand]) -> list[Strand]:
    """Strands with the bend radius of their cables, where the way leaves room for it (see `left_over`)."""
    work = list(strands)
    cuts: list[tuple[int, int, int]] = []
    windows: list[Strand] = []
    for i, strand in enumerate(work):
        step = min(strand.bend_m / _STEP, _STEP_M)
        for low, high in _windows(strand, _REACH * strand.bend_m):
            window, first, last = _cut(strand, low, high, step)
            cuts.append((i, first, last))
            windows.append(window)
    if windows:
        laid = _settle(surface, windows)
        fine = ~_spoilt(surface, laid)
        keep = [k for k in range(len(windows)) if fine[k]]
        work = _paste(work, [laid[k] for k in keep], [cuts[k] for k in keep])
    return work


def _spoilt(surface: Surface, windows: list[Strand]) -> Bools:
    """Windows in which a leg crosses a sheet or dips into a keep-out, (n,) bool."""
    flat = flatten(windows)
    legs = np.flatnonzero(flat.leg & ~(flat.pinned[:-1] & flat.pinned[1:]))
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
        work = [even(result[i], min(result[i].bend_m / _STEP, _STEP_M)) for i in active]
        flat = flatten(work)
        passage = np.concatenate([_in_passage(w) for w in work])
        step = _lay(work, flat.at_m, _rows(surface, work, flat.at_m, passage), stretch) - flat.at_m
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
    """The step, shortened window by window until no leg crosses a sheet or enters a keep-out."""
    at_m = flat.at_m
    share = np.ones(len(windows))
    legs = np.flatnonzero(flat.leg & ~(flat.pinned[:-1] & flat.pinned[1:]))
    gap_before = np.minimum(keep_out_gap_m(windows, at_m, flat.owner), -3e-4)
    # What starts too near to a sheet (a port on metal, a hole's rim) may stay so, but not cross it.
    tight_before = surface.sheets.skin_blocked(at_m[legs], at_m[legs + 1], flat.radius_m[legs])
    middle = (at_m[legs] + at_m[legs + 1]) / 2
    dip_before = np.minimum(keep_out_gap_m(windows, middle, flat.owner[legs]), -3e-4)
    for _ in range(7):
        new = at_m + share[flat.owner][:, None] * step
        crossing = surface.sheets.blocked(new[legs], new[legs + 1])
        rest = ~crossing & ~tight_before
        crossing[rest] = surface.sheets.skin_blocked(
            new[legs[rest]], new[legs[rest] + 1], flat.radius_m[legs[rest]]
        )
        through = surface.sheets.blocked(at_m, new)
        inside = keep_out_gap_m(windows, new, flat.owner) < gap_before - 1e-9
        middle = (new[legs] + new[legs + 1]) / 2
        dips = keep_out_gap_m(windows, middle, flat.owner[legs]) < dip_before - 1e-9
        bad = np.unique(np.r_[flat.owner[legs[crossing | dips]], flat.owner[through], flat.owner[inside]])
        if not len(bad):
            return new
        share[bad] *= 0.5
    share[bad] = 0.0
    return np.asarray(at_m + share[flat.owner][:, None] * step)


def _paste(strands: list[Strand], windows: list[Strand], cuts: list[tuple[int, int, int]]) -> list[Strand]:
    result = list(strands)
    for (i, first, last), window in sorted(
        zip(cuts, windows, strict=True), key=lambda item: item[0], reverse=True
    ):
        strand = result[i]
        inner = window.pinned.copy()
        # Window ends are only pinned for the window; ports and passages stay pinned.
        inner[0], inner[-1] = strand.pinned[first], strand.pinned[last]
        if first > 0:
            inner[1] = False
        if last < len(strand.points_m) - 1:
            inner[-2] = False
        result[i] = strand.with_points(
            np.concatenate([strand.points_m[:first], window.points_m, strand.points_m[last + 1 :]]),
            np.concatenate([strand.pinned[:first], inner, strand.pinned[last + 1 :]]),
            np.concatenate([strand.free[:first], window.free, strand.free[last:]]),
        )
    return result


def left_over(strands: Sequence[Strand]) -> list[TightBend]:
    """The tightest bend of each strand that is bent tighter than its cable allows.

    Read as the circle through three points a quarter of the bend radius apart, so that
    the small kinks of a fine polyline count for what they are.
    """
    tight = []
    for i, strand in enumerate(strands):
        half = strand.bend_m / 4
        run = running_m(strand.points_m)
        at = np.arange(half, run[-1] - half, half / 2)
        if not len(at):
            continue
        before, here, after = (points_at(x, run, strand.points_m) for x in (at - half, at, at + half))
        one, other = unit(here - before), unit(after - here)
        bent = np.linalg.norm(other - one, axis=1) / half
        worst = int(bent.argmax())
        if bent[worst] > _OVER / strand.bend_m:
            x, y, z = here[worst].tolist()
            tight.append(TightBend(i, (x, y, z), float(1 / bent[worst])))
    return tight
