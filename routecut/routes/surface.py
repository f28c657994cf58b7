"""Sheets as a cable meets them: what it is clipped to, and what it must not come nearer to.

Units      m
"""

from __future__ import annotations

import numpy as np

from routecut.geometry.sheets import Near, Sheets, Vicinity
from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats
from routecut.routes.strands import Bools

_VICINITY = 1.6
"""Sheets are looked for further off than asked by this factor: the next questions are about nearly the same points."""

_SAME_SHEET = 0.97
_FACE_ON = 0.97


class Surface:
    """Sheets as a strand meets them: what holds a point, and what it must not come nearer to."""

    def __init__(self, sheets: Sheets, panels: Bools) -> None:
        self.sheets = sheets
        self.panels = panels
        corners = sheets.triangles_m
        self.normal = unit(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]))
        self._vicinity: Vicinity | None = None

    def near(self, at_m: Floats, reach_m: Floats) -> Near:
        """Like `Sheets.near`, quick when asked again about the same points after they moved a little."""
        vicinity = self._vicinity
        if vicinity is None or not vicinity.fits(at_m, reach_m):
            self._vicinity = vicinity = self.sheets.around(at_m, _VICINITY * reach_m)
        return vicinity.near(at_m, reach_m)

    def contacts(self, at_m: Floats, reach_m: Floats) -> tuple[Near, Floats, Bools, Bools]:
        """Sheets near each point: rows, direction from sheet to point, which row holds the point, which rows bar it.

        A row holds when it is the nearest panel of its point. It bars when it is the
        nearest sheet at all, or met face-on and turned away from the holding one (a wall
        ahead; the neighbouring triangles of a flat sheet are not walls).
        """
        near = self.near(at_m, reach_m)
        away = unit(at_m[near.point] - near.at_m)
        count = len(at_m)
        panel_rows = np.flatnonzero(self.panels[near.face])
        points, first = np.unique(near.point[panel_rows], return_index=True)
        holder = np.full(count, -1, dtype=np.int64)
        holder[points] = panel_rows[first]
        points, first = np.unique(near.point, return_index=True)
        nearest = np.full(count, -1, dtype=np.int64)
        nearest[points] = first
        rows = np.arange(len(near.point))
        holds = rows == holder[near.point]
        lead = nearest[near.point]
        turned = dot(away, away[lead]) < _SAME_SHEET if len(rows) else np.zeros(0, dtype=bool)
        face_on = np.abs(dot(away, self.normal[near.face])) > _FACE_ON
        bars = (rows == lead) | (turned & face_on)
        return near, away, holds, bars
