"""Pace: how far the points of a strand may move in a round of tightening, and whether it has settled.

Each round knows its sheets as planes only. Where a strand lies on the round of an edge the plane of
one side drives it over to the other and that one drives it back, without end; so a point that
is sent back moves less far, and one that is sent on gets its way back (a trust region, kept by place).

Units      m
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from routecut.geometry.triangles import dot
from routecut.model.body import Floats
from routecut.routes.strands import Bools, Strand

SETTLED_M = 1e-4
"""A point that moves by less has not moved."""

_GAIN_M, _GAIN_SHARE = 5e-5, 5e-5
"""A strand whose length changes by less from round to round, or from every second to the next, has settled."""

_STEP, _STEP_SHARE = 0.6, 0.4
"""A point may move so many stand-offs, or that share of the spacing, in its first round."""

_STRIDE = 3.0
"""Times that in later rounds, where it is sent on and on."""

_LEAST = 0.3
"""Stand-offs it may move however often something stood in the way."""

_ABOUT = 3.0
"""Spacings about a place where something stood in the way."""

_BACK, _ON = 0.7, 1.5
"""By this a step is changed where a point is sent back, and where it goes on as far as it may. Halving is too much:
on sheets that curve both ways the strand then settles up to 0.2 % long."""

_FINEST = 0.05
"""Stand-offs it may move however often it was sent back."""

_FAR = 0.7
"""Of its step: a point that moved further would have liked to go on."""


class Pace:
    """How far each point of one strand may move, from round to round and from spacing to spacing.

    Where something stood in the way the points about it take small steps: with large ones they would be
    taken back again and again, with small ones everywhere the rest would not get anywhere.
    """

    def __init__(self) -> None:
        self._tree: cKDTree | None = None
        self._steps_m = np.zeros(0)
        self._moves_m = np.zeros((0, 3))
        self._lengths_m: list[float] = []
        self._most_m = self._least_m = self._about_m = self._fine_m = 0.0

    def begin(self, strand: Strand, spacing_m: float) -> None:
        """Rounds at another spacing, or after points were put in: what is known of steps stays."""
        self._most_m = max(_STEP * strand.stand_off_m, _STEP_SHARE * spacing_m)
        self._least_m = min(self._most_m, _LEAST * strand.stand_off_m)
        self._about_m = _ABOUT * spacing_m
        self._fine_m = max(_FINEST * strand.stand_off_m, SETTLED_M)
        self._moves_m = np.zeros_like(self._moves_m)
        self._lengths_m.clear()

    def step_m(self, points_m: Floats) -> Floats:
        """How far each point may move along each axis, (n,). [m]"""
        return self._known(points_m)[0]

    def moved(self, old_m: Floats, new_m: Floats, stopped: Bools) -> None:
        """What a round did to the points, (n, 3) before and after; (n,) where something stood in the way."""
        step, last = self._known(old_m)
        move = new_m - old_m
        far = np.abs(move).max(axis=1)
        turn = dot(move, last)
        after = np.where(
            (turn < 0) & (far > SETTLED_M),
            np.maximum(_BACK * step, self._fine_m),
            np.where((turn > 0) & (far > _FAR * step), np.minimum(_ON * step, _STRIDE * self._most_m), step),
        )
        if stopped.any():
            off = cKDTree(old_m[stopped]).query(old_m, distance_upper_bound=self._about_m)[0]
            # What has come to take smaller steps already is left to them.
            slow = np.isfinite(off) & (after > self._least_m)
            if slow.any():
                self._lengths_m.clear()  # what was taken back may go on with smaller steps
            after[slow] = np.maximum(np.minimum(after, step / 2)[slow], self._least_m)
        self._tree, self._steps_m, self._moves_m = cKDTree(new_m), after, move

    def settled(self, old: Strand, new: Strand) -> bool:
        """Whether nothing moves, or the length stays what it was in the rounds before (it may go to and fro)."""
        same = len(old.points_m) == len(new.points_m)
        if same and np.abs(old.points_m - new.points_m).max() <= SETTLED_M:
            return True
        known = self._lengths_m
        known.append(new.length_m)
        gain = max(_GAIN_M, _GAIN_SHARE * known[-1])
        return len(known) > 3 and max(abs(known[-1] - known[-3]), abs(known[-2] - known[-4])) < gain

    def _known(self, points_m: Floats) -> tuple[Floats, Floats]:
        """Step and last move of the point of the round before that is nearest to each, (n,) and (n, 3)."""
        if self._tree is None:
            return np.full(len(points_m), self._most_m), np.zeros((len(points_m), 3))
        nearest = self._tree.query(points_m)[1]
        return np.minimum(self._steps_m[nearest], _STRIDE * self._most_m), self._moves_m[nearest]
