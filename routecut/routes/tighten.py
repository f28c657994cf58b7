"""Tightening: a roadmap path pulled as short as its surface allows.

Inner points may only slide along the stand-off surface. Each round pulls every strand
under the planes of its sheets as they are near it (pull.py), projects the points back,
and takes back every move that would cross a sheet or enter a keep-out: no leg ever
crosses. Coarse to fine; where a leg leaves the stand-off
between its points, a point is put in, so that edges and corners are not cut.

Units      m
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats, Ints
from routecut.routes.cones import Planes
from routecut.routes.creases import LOST, corners, crossings, let_go
from routecut.routes.pace import SETTLED_M, Pace
from routecut.routes.polyline import running_m
from routecut.routes.pull import pull
from routecut.routes.strands import (
    NEAR_M,
    Bools,
    Flat,
    Strand,
    flatten,
    keep_out_gap_m,
    keep_out_planes,
    resample,
    unflatten,
)
from routecut.routes.surface import Surface

SPACINGS_M = (0.060, 0.030, 0.015)
_ROUNDS = (12, 8, 8)
_SETTLINGS = 2
_SETTLING = 3
_GIVE_M = 2e-4
"""What a stiff plane may give under pull; the keep-out margin covers it."""

_FETCH = 2.5
"""Clipped points are fetched back to the stand-off from up to this many stand-offs away."""

_THROWN = 2.0
"""A point that came back to the stand-off by more than this many stand-offs went astray."""

_CUT = 0.5
"""Points of a strand that lie further than this many stand-offs off its longer legs are kept: its corners."""

_LEAVES = 0.1
"""A leg may come nearer to a sheet than the stand-off by this share of it before a point is put in."""

_LIFTS = 1.5
"""A leg further off than this many stand-offs is put back on its sheet: more than where two of them meet, or a leg
from the edge's mitre would be bent down to the round of the edge, and be pulled straight again."""


_LEFT = 2.5
"""Further off than this many stand-offs it is not the round of an edge that a leg leaves."""

_SHARES = np.array([0.25, 0.5, 0.75])


def _planes(surface: Surface, strands: Sequence[Strand], flat: Flat, spacing_m: float) -> Planes:
    """What holds the points, and what bars them and the middles of their legs."""
    contacts = surface.contacts(flat, flat.at_m, 2.2)
    near, away, holds, bars = contacts.near, contacts.away, contacts.holds, contacts.bars
    point = near.point
    within = ~flat.pinned[point]
    held = holds & within & flat.clipped[point]
    held |= within & flat.clipped[point] & crossings(flat, near, away, holds, bars)
    barred = np.flatnonzero(bars & ~held & within)
    offset = dot(away, near.at_m) + flat.stand_off_m[point]
    k_point, k_u, k_b = keep_out_planes(strands, flat.at_m, flat.owner, NEAR_M)
    moving = ~flat.pinned[k_point]
    # A leg may dip between two points that are clear: round an edge, or into the corner of a keep-out.
    legs = np.flatnonzero(flat.moving_legs)
    middle = (flat.at_m[legs] + flat.at_m[legs + 1]) / 2
    s = flat.stand_off_m[legs]
    distance, place, _ = surface.sheets.closest(middle, s)
    dips = np.flatnonzero(distance < s * (1 - 1e-3))
    out = unit(middle[dips] - place[dips])
    m_leg, m_u, m_b = keep_out_planes(strands, middle, flat.owner[legs], 0.2 * spacing_m)
    return Planes(
        np.concatenate([point[barred], k_point[moving], legs[dips], legs[m_leg]]),
        np.concatenate([point[barred], k_point[moving], legs[dips] + 1, legs[m_leg] + 1]),
        np.concatenate([away[barred], k_u[moving], out, m_u]),
        np.concatenate([offset[barred], k_b[moving], dot(out, place[dips]) + s[dips], m_b]),
        point[held],
        away[held],
        offset[held],
    )


def _mark_creases(surface: Surface, strands: list[Strand]) -> list[Strand]:
    """A point where a leg cuts an inside corner."""
    flat = flatten(strands)
    return _insert(surface, strands, flat, *corners(surface, flat))


def _leg_gaps(strands: Sequence[Strand], from_m: Floats, to_m: Floats, owner: Ints) -> Floats:
    """`keep_out_gap_m` at the quarter points of legs, (3, n). [m]."""
    return np.stack([keep_out_gap_m(strands, from_m + t * (to_m - from_m), owner) for t in _SHARES])


def _mark_dips(surface: Surface, strands: list[Strand]) -> list[Strand]:
    """A point where a leg dips into a keep-out between its ends, moved out to the clearance."""
    flat = flatten(strands)
    legs = np.flatnonzero(flat.moving_legs)
    start, end = flat.at_m[legs], flat.at_m[legs + 1]
    gaps = _leg_gaps(strands, start, end, flat.owner[legs])
    deepest = gaps.argmin(axis=0)
    dips = gaps.min(axis=0) < -2 * _GIVE_M
    if not dips.any():
        return strands
    legs, place = legs[dips], (start + _SHARES[deepest, None] * (end - start))[dips]
    for _ in range(3):
        point, u, b = keep_out_planes(strands, place, flat.owner[legs], 0.0)
        out = place.copy()
        out[point] += u * (b - dot(u, place[point]))[:, None]
        place = out
    return _insert(surface, strands, flat, legs, place)


def _insert(
    surface: Surface, strands: list[Strand], flat: Flat, legs: Ints, points_m: Floats
) -> list[Strand]:
    """Put points into legs, except where that would cross a sheet or enter a keep-out."""
    ok = ~surface.sheets.blocked(flat.at_m[legs], points_m) & ~surface.sheets.blocked(
        points_m, flat.at_m[legs + 1]
    )
    gap = keep_out_gap_m(strands, points_m, flat.owner[legs])
    ok &= gap >= np.minimum(keep_out_gap_m(strands, flat.at_m[legs], flat.owner[legs]), 0) - _GIVE_M
    if not ok.any():
        return strands
    legs, points_m = legs[ok], points_m[ok]
    start = np.r_[0, np.cumsum([len(s.points_m) for s in strands])]
    result = []
    for i, strand in enumerate(strands):
        own = (legs >= start[i]) & (legs < start[i + 1])
        where = legs[own] - start[i] + 1
        result.append(
            strand.with_points(
                np.insert(strand.points_m, where, points_m[own], axis=0),
                np.insert(strand.pinned, where, False),
                np.insert(strand.free, where, False),
            )
            if own.any()
            else strand
        )
    return result


def _project(surface: Surface, flat: Flat, at_m: Floats) -> Floats:
    """Clipped points back to the stand-off from what holds them, all points out of what is too near."""
    at = at_m.copy()
    for _ in range(3):
        contacts = surface.contacts(flat, at, _FETCH)
        near, away, holds, bars = contacts.near, contacts.away, contacts.holds, contacts.bars
        point = near.point
        short = flat.stand_off_m[point] - near.distance_m
        move = ~flat.pinned[point] & ((holds & flat.clipped[point]) | (bars & (short > 0)))
        move &= np.abs(short) > 1e-7
        if not move.any():
            break
        shift = np.zeros_like(at)
        # The worst offender first: one push a point and pass keeps creases from adding up.
        order = np.flatnonzero(move)[np.argsort(np.abs(short[move]), kind="stable")]
        shift[point[order]] = away[order] * short[order, None]
        at += shift
    return at


def _keep_hold(surface: Surface, flat: Flat, new_m: Floats) -> Floats:
    """Undo moves by which a clipped point would lose its panel: over a rim a strand must not fly off."""

    def held(at_m: Floats) -> Bools:
        near = surface.sheets.near(at_m, LOST * flat.stand_off_m)
        found = np.zeros(len(at_m), dtype=bool)
        found[near.point[surface.panels[near.face]]] = True
        return found

    lost = flat.clipped & ~flat.pinned & ~held(new_m)
    back = lost & held(flat.at_m) if lost.any() else lost
    new = new_m.copy()
    new[back] = flat.at_m[back]
    return new


def _take_back(
    surface: Surface, strands: Sequence[Strand], flat: Flat, new_m: Floats, dip_m: float
) -> Floats:
    """Undo moves that cross a sheet, make a leg cross one, or come too near to a keep-out."""
    old = flat.at_m
    new = new_m.copy()
    crossed = surface.sheets.blocked(old, new)
    new[crossed] = old[crossed]
    old_gap = np.minimum(keep_out_gap_m(strands, old, flat.owner), -_GIVE_M)
    legs = np.flatnonzero(flat.moving_legs)
    middle_old = np.minimum(keep_out_gap_m(strands, (old[legs] + old[legs + 1]) / 2, flat.owner[legs]), 0)
    tight = surface.sheets.skin_blocked(old[legs], old[legs + 1], flat.radius_m[legs])
    for _ in range(12):
        moved = np.flatnonzero((new != old).any(axis=1))
        if not len(moved):
            break
        changed = np.zeros(len(new), dtype=bool)
        changed[moved] = True
        bad = np.zeros(len(new), dtype=bool)
        bad[moved] |= keep_out_gap_m(strands, new[moved], flat.owner[moved]) < old_gap[moved] - 1e-9
        some = changed[legs] | changed[legs + 1]
        j = legs[some]
        crossing = surface.sheets.blocked(new[j], new[j + 1])
        rest = ~crossing & ~tight[some]
        crossing[rest] = surface.sheets.skin_blocked(new[j[rest]], new[j[rest] + 1], flat.radius_m[j[rest]])
        dips = _leg_gaps(strands, new[j], new[j + 1], flat.owner[j]).min(axis=0) < middle_old[some] - dip_m
        worse = crossing | dips
        bad[j[worse]] = True
        bad[j[worse] + 1] = True
        bad &= changed
        if not bad.any():
            break
        new[bad] = old[bad]
    else:
        new = old.copy()
    return new


def _follow(surface: Surface, strands: list[Strand]) -> list[Strand]:
    """A point in every leg that leaves the stand-off: on the round of an edge, or back on the sheet."""
    result = list(strands)
    active = list(range(len(strands)))
    for _ in range(4):
        before = [result[i] for i in active]
        after = _follow_once(surface, before)
        for i, strand in zip(active, after, strict=True):
            result[i] = strand
        active = [
            i
            for i, old, new in zip(active, before, after, strict=True)
            if len(old.points_m) != len(new.points_m)
        ]
        if not active:
            break
    return result


def _follow_once(surface: Surface, strands: list[Strand]) -> list[Strand]:
    flat = flatten(strands)
    length = np.linalg.norm(np.diff(flat.at_m, axis=0), axis=1)
    legs = np.flatnonzero(flat.moving_legs & ~flat.free)
    legs = legs[length[legs] > flat.stand_off_m[legs] / 4]
    s = flat.stand_off_m[legs]
    # Where it is too near to a sheet, and if nowhere, in its middle.
    on_leg = flat.at_m[legs] + _SHARES[:, None, None] * (flat.at_m[legs + 1] - flat.at_m[legs])
    reach = np.tile(_LEFT * s, len(_SHARES))
    distance, place, face = surface.sheets.closest(on_leg.reshape(-1, 3), reach)
    distance, place = distance.reshape(len(_SHARES), -1), place.reshape(on_leg.shape)
    face = face.reshape(len(_SHARES), -1)
    worst = np.where(distance.min(axis=0) < (1 - _LEAVES) * s, distance.argmin(axis=0), len(_SHARES) // 2)
    column = np.arange(len(legs))
    distance, place, at = distance[worst, column], place[worst, column], on_leg[worst, column]
    off = distance < (1 - _LEAVES) * s
    # Back on a panel only: beside what nothing is clipped to it passes through the air.
    lifted = np.flatnonzero((distance > _LIFTS * s) & np.isfinite(distance))
    off[lifted] = surface.panels[face[worst, column][lifted]]
    if not off.any():
        return strands
    legs, s, place, at = legs[off], s[off], place[off], at[off]
    return _insert(surface, strands, flat, legs, place + unit(at - place) * s[:, None])


def _round(surface: Surface, strands: list[Strand], spacing_m: float, paces: Sequence[Pace]) -> list[Strand]:
    """The strands after one pull each; their paces are told how far each point came."""
    # While legs are long, their middles may dip into a clearance they bend round; fine legs may not.
    dip_m = _GIVE_M if spacing_m <= SPACINGS_M[-1] else 0.1 * spacing_m
    strands = _mark_dips(surface, _mark_creases(surface, strands))
    flat = flatten(strands)
    planes = _planes(surface, strands, flat, spacing_m)
    pulled = np.concatenate(
        [
            pull(strand, own, pace.step_m(strand.points_m))
            for strand, own, pace in zip(strands, planes.split(strands), paces, strict=True)
        ]
    )
    wanted = _project(surface, flat, pulled)
    # Pushed on from sheet to sheet about a rim or a slot a point may end up anywhere.
    thrown = np.linalg.norm(wanted - pulled, axis=1) > _THROWN * flat.stand_off_m
    wanted[thrown] = flat.at_m[thrown]
    new = _take_back(surface, strands, flat, _keep_hold(surface, flat, wanted), dip_m)
    stopped = np.abs(new - wanted).max(axis=1) > SETTLED_M
    for i, pace in enumerate(paces):
        own = flat.owner == i
        pace.moved(flat.at_m[own], new[own], stopped[own])
    return unflatten(strands, new)


def _respaced(surface: Surface, strand: Strand, spacing_m: float) -> Strand:
    """Evenly spaced points, and those of the strand where a longer leg would leave its sheet or cut through one."""
    even = resample(strand, spacing_m)
    run = running_m(strand.points_m)
    at = np.interp(np.arange(len(even.points_m)), np.flatnonzero(even.pinned), run[strand.pinned])
    inner = ~(even.pinned[:-1] & even.pinned[1:])
    cuts = np.zeros(len(inner), dtype=bool)
    cuts[inner] = surface.sheets.tube_blocked(
        even.points_m[:-1][inner], even.points_m[1:][inner], strand.radius_m
    )
    leg = np.minimum(np.searchsorted(at, run, side="right") - 1, len(cuts) - 1)
    start, along = even.points_m[leg], (even.points_m[leg + 1] - even.points_m[leg])
    share = ((run - at[leg]) / (at[leg + 1] - at[leg]))[:, None]
    off = np.linalg.norm(strand.points_m - start - share * along, axis=1)
    wanted = cuts[leg] | (~even.free[leg] & (off > _CUT * strand.stand_off_m))
    kept = ~strand.pinned & wanted & (np.abs(run - at[leg]) > 1e-9)
    if not kept.any():
        return even
    where = leg[kept] + 1
    return even.with_points(
        np.insert(even.points_m, where, strand.points_m[kept], axis=0),
        np.insert(even.pinned, where, False),
        # Each kept point splits a leg, whose two halves hang or lie as it did.
        np.insert(even.free, where, even.free[leg[kept]]),
    )


def _rounds(
    surface: Surface, strands: list[Strand], paces: Sequence[Pace], *, rounds: int, spacing_m: float
) -> list[Strand]:
    """Rounds until nothing shortens; a strand that has settled is not worked on again."""
    result = list(strands)
    active = list(range(len(strands)))
    for strand, pace in zip(strands, paces, strict=True):
        pace.begin(strand, spacing_m)
    for _ in range(rounds):
        before = [result[i] for i in active]
        after = _round(surface, before, spacing_m, [paces[i] for i in active])
        for i, new in zip(active, after, strict=True):
            result[i] = new
        settled = [paces[i].settled(old, new) for i, old, new in zip(active, before, after, strict=True)]
        active = [i for i, done in zip(active, settled, strict=True) if not done]
        if not active:
            break
    return result


def tighten(surface: Surface, strands: Sequence[Strand]) -> list[Strand]:
    """Each strand as short as its surface and its keep-outs allow; the way round is not changed."""
    work = list(strands)
    if not work:
        return work
    paces = [Pace() for _ in work]
    for spacing, rounds in zip(SPACINGS_M, _ROUNDS, strict=True):
        work = let_go(surface, [_respaced(surface, s, spacing) for s in work])
        work = _rounds(surface, work, paces, rounds=rounds, spacing_m=spacing)
    # Points slide off the round of an edge, where a leg then cuts it short: they are put back and settle again.
    for _ in range(_SETTLINGS):
        work = _follow(surface, _mark_creases(surface, work))
        work = _rounds(surface, work, paces, rounds=_SETTLING, spacing_m=SPACINGS_M[-1])
    return _follow(surface, _mark_creases(surface, work))
