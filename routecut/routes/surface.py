"""Sheets as a cable meets them: what it is clipped to, and what it must not come nearer to.

Units      m
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routecut.geometry.sheets import Near, Sheets
from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats, Ints
from routecut.routes.strands import Bools, Flat

_SAME_SHEET = 0.97
_FACE_ON = 0.97

_TOUCH = 1.05
"""A sheet within this many stand-offs is touched."""

_BESIDE = 1.7
"""A sheet within this many stand-offs may be run into at its edge within a round."""

_ABOVE = 0.1
_BETTER = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Contacts:
    """Sheets near points, one row each.

    Attributes
    ----------
    near : Near
    away : (k, 3) float64
        Unit direction from the sheet to the point.
    holds : (k,) bool
        The panel the point is clipped to: the nearest one, in a crease the one of the way.
    bars : (k,) bool
        Not to be come nearer to: the nearest sheet at all, the nearest panel, the nearest
        sheet beside them (the end of a plate on the floor), or a sheet met face-on and turned
        away from the nearest (a wall ahead; the neighbouring triangles of a flat sheet are
        not walls).
    """

    near: Near
    away: Floats
    holds: Bools
    bars: Bools


class Surface:
    """Sheets as a strand meets them: what holds a point, and what it must not come nearer to."""

    def __init__(self, sheets: Sheets, panels: Bools) -> None:
        self.sheets = sheets
        self.panels = panels
        corners = sheets.triangles_m
        self.normal = unit(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]))

    def contacts(self, flat: Flat, at_m: Floats, reach: float) -> Contacts:
        """What holds and bars each point of strands laid end to end.

        Parameters
        ----------
        flat : Flat
        at_m : (n, 3) float64
            Where its points are now.
        reach : float
            How far sheets are looked for, in stand-offs.
        """
        near = self.sheets.near(at_m, reach * flat.stand_off_m)
        away = unit(at_m.take(near.point, axis=0) - near.at_m)
        count = len(at_m)
        rows = np.arange(len(near.point))
        panel_rows = np.flatnonzero(self.panels[near.face])
        lead = _first_of(near.point, panel_rows, count)
        nearest = _first_of(near.point, rows, count)
        # A second panel that is touched as well, turned away from the nearest one: a crease.
        touched = panel_rows[near.distance_m[panel_rows] < _TOUCH * flat.stand_off_m[near.point[panel_rows]]]
        turned = dot(away[touched], away[lead[near.point[touched]]]) < _SAME_SHEET
        second = _first_of(near.point, touched[turned], count)
        holder = _of_the_run(flat, away, lead, second)
        nearest_of = nearest[near.point]
        turned = dot(away, away.take(nearest_of, axis=0)) < _SAME_SHEET
        face_on = np.abs(dot(away, self.normal.take(near.face, axis=0))) > _FACE_ON
        stand_off = flat.stand_off_m.take(near.point)
        # What lies in the plane of the nearest sheet, or falls away from it, goes on from it.
        above = (
            dot(near.at_m - near.at_m.take(nearest_of, axis=0), away.take(nearest_of, axis=0))
            > _ABOVE * stand_off
        )
        beside = rows[turned & above & (near.distance_m < _BESIDE * stand_off)]
        bars = (rows == nearest_of) | (rows == lead[near.point]) | (turned & face_on)
        bars[beside[_first_of(near.point[beside], np.arange(len(beside)), count)[near.point[beside]]]] = True
        return Contacts(near=near, away=away, holds=rows == holder[near.point], bars=bars)


def _first_of(point: Ints, rows: Ints, count: int) -> Ints:
    """For each point the first of the rows that is about it, -1 where none is, (count,)."""
    found = np.full(count, -1, dtype=np.int64)
    points, first = np.unique(point[rows], return_index=True)
    found[points] = rows[first]
    return found


def _of_the_run(flat: Flat, away: Floats, lead: Ints, second: Ints) -> Ints:
    """The row that holds each point, (n,): in a crease the sheet the strand comes from or goes on to.

    Both sheets of a crease are as near. What holds a point can't let go of it, so the wrong
    one of them keeps a strand along a wall that it only passes.
    """
    index = np.arange(len(lead))
    unsure = second >= 0
    if not unsure.any():
        return lead
    sure = (lead >= 0) & ~unsure & flat.clipped
    before = np.maximum.accumulate(np.where(sure, index, -1))
    after = np.minimum.accumulate(np.where(sure, index, len(lead))[::-1])[::-1]
    before = np.where((before >= 0) & (flat.owner[before] == flat.owner), before, -1)
    after = np.where(after < len(lead), after, -1)
    after = np.where((after >= 0) & (flat.owner[after] == flat.owner), after, -1)
    one = np.where((before >= 0)[:, None], away[lead[before]], 0.0)
    other = np.where((after >= 0)[:, None], away[lead[after]], 0.0)
    # From one sheet to the other the strand changes in the middle of the crease.
    near_before = (before >= 0) & ((after < 0) | (index - before <= after - index))
    agree = (dot(one, other) > _SAME_SHEET)[:, None]
    towards = np.where(agree, one + other, np.where(near_before[:, None], one, other))
    better = unsure & (dot(away[second], towards) > dot(away[lead], towards) + _BETTER)
    return np.where(better, second, lead)
