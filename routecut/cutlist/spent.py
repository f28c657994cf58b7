"""How much cable has been used up on the way from the `from` end to a place along the route.

Stage      cutlist; asked by what chooses ready-made leads
Units      m
"""

from __future__ import annotations

from typing import Final

import numpy as np

from routecut.cutlist.cuts import ROUNDING
from routecut.model.body import Floats
from routecut.model.plan import CutLength, Route
from routecut.routes.polyline import running_m

_STEP_M: Final = 0.010
_NOT_SPENT: Final = ("uncertainty", ROUNDING)


class Spent:
    """Length of cable used up to a position along the computed curve, and back.

    Parameters
    ----------
    route : Route
    cut : CutLength
        Lines with a place are spent there, the others evenly along the run; what is there for
        uncertainty and rounding is not spent at all.
    """

    def __init__(self, route: Route, cut: CutLength) -> None:
        self.end_m = float(running_m(route.points_m)[-1])
        self.margin_m = sum(line.length_m for line in cut.lines if line.what in _NOT_SPENT[:1])
        spread = sum(
            line.length_m for line in cut.lines if line.at_route_m is None and line.what not in _NOT_SPENT
        )
        placed = sorted(
            (min(max(line.at_route_m, 0.0), self.end_m), line.length_m)
            for line in cut.lines
            if line.at_route_m is not None and line.what not in _NOT_SPENT
        )
        grid = np.arange(0.0, self.end_m, _STEP_M)
        places = np.array([at for at, _ in placed])
        # a loop at a place makes the length jump there: both sides of the jump stand in the table
        self._at = np.unique(np.concatenate([grid, [self.end_m], places]))
        per_m = spread / self.end_m if self.end_m > 0.0 else 0.0
        before = np.array([sum(m for at, m in placed if at < x) for x in self._at])
        upto = np.array([sum(m for at, m in placed if at <= x) for x in self._at])
        self._at = np.repeat(self._at, 2)
        self._length = np.stack([before, upto], axis=1).ravel() + per_m * self._at
        self.total_m = float(self._length[-1])

    def place_of(self, length_m: float | Floats) -> Floats:
        """Where along the run a point of the cable lies, so far from its `from` end. [m]"""
        return np.asarray(np.interp(length_m, self._length, self._at), dtype=np.float64)
