"""Creases: where two sheets meet in an inside corner, and how a strand crosses from one to the other.

A strand is not to get shorter by cutting such a corner, and not to be kept from sliding
along it.

Units      m
"""

from __future__ import annotations

import numpy as np

from routecut.geometry.sheets import Near
from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats, Ints
from routecut.routes.strands import Bools, Flat, Strand, flatten
from routecut.routes.surface import Surface

LOST = 1.3
"""A clipped point further than this many stand-offs from every panel has lost its sheet."""

_TOUCHES = 1.05
"""A sheet within this many stand-offs is touched."""

_ANOTHER = 0.96
"""Sheets are told apart by the cosine between them."""

_CUTS = 0.02
"""A leg whose middle is this share of a stand-off above both its sheets cuts their corner."""

_LANDING = 2.0
"""A landing shorter than this many stand-offs holds nothing."""


def crossings(flat: Flat, near: Near, away: Floats, holds: Bools, bars: Bools) -> Bools:
    """Rows of the second sheet at points where the strand goes from one sheet of a crease to the other.

    Such a point is held by both, so that it can slide along the crease but not leave it:
    otherwise the strand would get shorter by cutting the corner.
    """
    n = len(flat.at_m)
    own = np.zeros((n, 3))
    own[near.point[holds]] = away[holds]
    touching = bars & ~holds & (near.distance_m < LOST * flat.stand_off_m[near.point])
    rows = np.flatnonzero(touching)
    points, first = np.unique(near.point[rows], return_index=True)
    rows = rows[first]
    inner = (points > 0) & (points < n - 1)
    points, rows = points[inner], rows[inner]
    whole = flat.leg[points - 1] & flat.leg[points]
    points, rows = points[whole], rows[whole]
    first_sheet, second_sheet = own[points], away[rows]

    def leans(neighbour: Ints) -> Floats:
        return dot(own[neighbour], first_sheet) - dot(own[neighbour], second_sheet)

    # What the strand pulls off both sheets is a corner it would cut; between facing sheets nothing is.
    back, on = flat.at_m[points - 1] - flat.at_m[points], flat.at_m[points + 1] - flat.at_m[points]
    pulled = unit(back) + unit(on)
    off_both = (dot(pulled, first_sheet) > 0) & (dot(pulled, second_sheet) > 0)
    off_both |= near.distance_m[rows] < _TOUCHES * flat.stand_off_m[points]
    crossing = off_both & (leans(points - 1) * leans(points + 1) < 0)
    found = np.zeros(len(near.point), dtype=bool)
    found[rows[crossing]] = True
    return found


def _held_by(surface: Surface, flat: Flat) -> tuple[Floats, Floats]:
    """Stand-off plane u.p = b that holds each point, (n, 3) and (n,); zero where nothing does."""
    contacts = surface.contacts(flat, flat.at_m, LOST)
    rows = np.flatnonzero(contacts.holds)
    point, away = contacts.near.point[rows], contacts.away[rows]
    u, b = np.zeros((len(flat.at_m), 3)), np.zeros(len(flat.at_m))
    u[point] = away
    b[point] = dot(away, contacts.near.at_m[rows]) + flat.stand_off_m[point]
    return u, b


def corners(surface: Surface, flat: Flat) -> tuple[Ints, Floats]:
    """Legs that cut an inside corner, (k,), and where the stand-off planes of their two ends meet, (k, 3)."""
    legs = np.flatnonzero(flat.moving_legs & ~flat.free)
    u, b = _held_by(surface, flat)
    one, other = u[legs], u[legs + 1]
    cosine = dot(one, other)
    middle = (flat.at_m[legs] + flat.at_m[legs + 1]) / 2
    above_one, above_other = dot(one, middle) - b[legs], dot(other, middle) - b[legs + 1]
    least = _CUTS * flat.stand_off_m[legs]
    cuts = one.any(axis=1) & other.any(axis=1) & (np.abs(cosine) < _ANOTHER)
    cuts &= (above_one > least) & (above_other > least)
    legs, one, other, cosine = legs[cuts], one[cuts], other[cuts], cosine[cuts]
    middle, above_one, above_other = middle[cuts], above_one[cuts], above_other[cuts]
    x = (-above_one + cosine * above_other) / (1 - cosine**2)
    y = (-above_other + cosine * above_one) / (1 - cosine**2)
    meet = middle + x[:, None] * one + y[:, None] * other
    length = np.linalg.norm(flat.at_m[legs + 1] - flat.at_m[legs], axis=1)
    near = np.linalg.norm(meet - middle, axis=1) < length
    legs, meet = legs[near], meet[near]
    in_crease = _between_two(surface, meet, flat.stand_off_m[legs])
    return legs[in_crease], meet[in_crease]


def _between_two(surface: Surface, at_m: Floats, stand_off_m: Floats) -> Bools:
    """Points with two sheets of different directions within reach: planes about a rim may meet anywhere. (n,)."""
    near = surface.sheets.near(at_m, LOST * stand_off_m)
    away = unit(at_m[near.point] - near.at_m)
    points, first = np.unique(near.point, return_index=True)
    nearest = np.zeros(len(at_m), dtype=np.int64)
    nearest[points] = first
    found = np.zeros(len(at_m), dtype=bool)
    found[near.point[dot(away, away[nearest[near.point]]) < _ANOTHER]] = True
    return found


def let_go(surface: Surface, strands: list[Strand]) -> list[Strand]:
    """Strands without landings beside a crease: what lies on a sheet only from the air to the next one hangs.

    Such a landing is held by both sheets and could not slide along the second.
    """
    flat = flatten(strands)
    u, _ = _held_by(surface, flat)
    ends = np.cumsum([len(s.points_m) for s in strands])[:-1]
    return [_without_landings(s, own) for s, own in zip(strands, np.split(u, ends), strict=True)]


def _without_landings(strand: Strand, u: Floats) -> Strand:
    """`u`: what holds each point, (n, 3)."""
    free = strand.free.copy()
    edge = np.diff(strand.free.astype(np.int8))
    for towards, places in ((1, np.flatnonzero(edge < 0) + 1), (-1, np.flatnonzero(edge > 0) + 1)):
        for place in places.tolist():
            free[_landing(strand, u, place, towards)] = True
    return strand.with_points(strand.points_m, strand.pinned, free)


def _landing(strand: Strand, u: Floats, place: int, towards: int) -> list[int]:
    """Legs from a point that ends in the air to where another sheet takes over; none where that is further off."""
    legs: list[int] = []
    here, gone = place, 0.0
    while gone <= _LANDING * strand.stand_off_m:
        leg = here if towards > 0 else here - 1
        if not 0 <= leg < len(strand.free) or strand.free[leg] or strand.pinned[here]:
            return []
        legs.append(leg)
        gone += float(np.linalg.norm(strand.points_m[leg + 1] - strand.points_m[leg]))
        here += towards
        if u[here].any() and u[place] @ u[here] < _ANOTHER:
            return legs
    return []
