"""Pace: how far the points of a strand may move in a round of tightening, and whether it has settled.

Units      m
"""

from __future__ import annotations

import numpy as np

from routecut.model.body import Floats
from routecut.routes.strands import Strand

SETTLED_M = 1e-4
"""A point that moves by less has not moved."""

_GAIN_M, _GAIN_SHARE = 5e-5, 5e-5
"""A strand whose length changes by less from round to round, or from every second to the next, has settled."""

_STEP, _STEP_SHARE = 0.6, 0.4
"""A point moves at most so many stand-offs, or that share of the spacing, in a round."""

_LEAST = 0.3
"""Stand-offs it may move however often something stood in the way."""

_ABOUT = 3.0
"""Spacings about a place where something stood in the way."""


class Pace:
    """How far points may move, less and less about places where something stood in the way.

    With large steps the points about such a place would be taken back again and again;
    with small ones everywhere the rest would not get anywhere.
    """

    def __init__(self, strand: Strand, spacing_m: float) -> None:
        self._most_m = max(_STEP * strand.stand_off_m, _STEP_SHARE * spacing_m)
        self._least_m = min(self._most_m, _LEAST * strand.stand_off_m)
        self._about_m = _ABOUT * spacing_m
        self._places_m = np.zeros((0, 3))
        self._steps_m = np.zeros(0)
        self._lengths_m: list[float] = []

    def step_m(self, points_m: Floats) -> Floats:
        """How far each point may move along each axis, (n,). [m]"""
        step = np.full(len(points_m), self._most_m)
        if len(self._places_m):
            off = np.linalg.norm(points_m[:, None] - self._places_m[None], axis=2)
            step = np.minimum(step, np.where(off < self._about_m, self._steps_m, np.inf).min(axis=1))
        return step

    def stopped_at(self, places_m: Floats) -> None:
        """Half the steps about places where something stood in the way, (k, 3)."""
        before = self.step_m(places_m)
        if (before > self._least_m).any():
            self._lengths_m.clear()  # what was taken back may go on with smaller steps
        steps = np.maximum(before / 2, self._least_m)
        self._places_m = np.concatenate([self._places_m, places_m])
        self._steps_m = np.concatenate([self._steps_m, steps])

    def settled(self, old: Strand, new: Strand) -> bool:
        """Whether nothing moves, or the length stays what it was in the rounds before (it may go to and fro)."""
        same = len(old.points_m) == len(new.points_m)
        if same and np.abs(old.points_m - new.points_m).max() <= SETTLED_M:
            return True
        known = self._lengths_m
        known.append(new.length_m)
        gain = max(_GAIN_M, _GAIN_SHARE * known[-1])
        return len(known) > 3 and max(abs(known[-1] - known[-3]), abs(known[-2] - known[-4])) < gain
