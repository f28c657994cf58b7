"""Lanes: what keeps a strand beside the finished lines of other kinds while it is pulled tight.

Negotiation finds ways apart on the roadmap; pulled tight each for itself, two of them slide onto the same
shortest line. So kinds are laid one after the other, and every point within the separation of a line
laid before, along it and seen from it, is pushed aside. The push has a price, so that a cable gives way
where there is room and stays where there is none. What crosses is not pushed.

Units      m
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from routecut.geometry.sheets import Sheets
from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats, Ints
from routecut.routes.company import ALONGSIDE, BESIDE
from routecut.routes.polyline import in_steps

_STEP_M: Final = 0.015
"""Between the samples of a line."""

_ROOM_M: Final = 0.003
"""Kept beyond the separation: bends that are rounded later cut a little off."""

_AHEAD_M: Final = 0.030
"""Points so much further off are barred too: what is pulled may come that much nearer in one pull."""

_SOFT: Final = 1.5
"""A push bends a strand to no less than this many times its own radius, or it would leave kinks."""

_ONE_LINE_M: Final = 0.002
"""Nearer than this two lines are one: there is no direction from one to the other."""


@dataclass(frozen=True, slots=True, eq=False)
class Lane:
    """Lines to keep apart from, as samples.

    Attributes
    ----------
    at_m, along : (k, 3) float64
        Places, and the direction of the line in each.
    separation_m : float
    sheets : Sheets
        Metal between two cables keeps them apart already.
    """

    at_m: Floats
    along: Floats
    separation_m: float
    sheets: Sheets
    tree: cKDTree

    def key(self) -> tuple[bytes, float]:
        """The same for the same lines."""
        return (self.at_m.tobytes(), self.separation_m)


@dataclass(frozen=True, slots=True, eq=False)
class Pushes:
    """Half-spaces u.p >= b for points of one strand, and the price of each being broken, a metre.

    Attributes
    ----------
    point : (k,) int64
    u : (k, 3) float64
    b, price : (k,) float64
    """

    point: Ints
    u: Floats
    b: Floats
    price: Floats


def lane_of(
    lines_m: Sequence[Floats], sheets: Sheets, *, separation_m: float, low: Floats, high: Floats
) -> Lane | None:
    """The lane along finished lines, as far as they come near a box; None where none does.

    Parameters
    ----------
    lines_m : sequence of (n, 3) float64
    sheets : Sheets
        Of the body.
    low, high : (3,) float64
        Corners of the box. [m]
    """
    at, along = [np.zeros((0, 3))], [np.zeros((0, 3))]
    for line in lines_m:
        points = in_steps(line, _STEP_M)[1]
        if len(points) < 2:
            continue
        near = ((points > low - separation_m) & (points < high + separation_m)).all(axis=1)
        at.append(points[near])
        along.append(unit(np.gradient(points, axis=0))[near])
    places = np.concatenate(at)
    if not len(places):
        return None
    return Lane(places, np.concatenate(along), separation_m, sheets, cKDTree(places))


def pushes(
    lane: Lane,
    *,
    points_m: Floats,
    moving: np.ndarray,
    away: Floats,
    bend_m: float,
) -> Pushes:
    """What pushes the points of a strand aside.

    Parameters
    ----------
    lane : Lane
    points_m : (n, 3) float64
    moving : (n,) bool
        The points that may be moved.
    away : (n, 3) float64
        Off the sheet that holds each; zero where none does.
    bend_m : float
        Least bend radius of the strand.
    """
    wanted = lane.separation_m + _ROOM_M
    along = unit(np.gradient(points_m, axis=0))
    distance, row = lane.tree.query(points_m, distance_upper_bound=wanted + _AHEAD_M)
    near = np.flatnonzero(moving & np.isfinite(distance))
    beside = np.abs(dot(along[near], lane.along[row[near]])) >= ALONGSIDE
    near = near[beside]
    line = lane.at_m[row[near]]
    apart = np.flatnonzero(distance[near] > _ONE_LINE_M)
    seen = np.ones(len(near), dtype=bool)
    seen[apart] = ~lane.sheets.blocked(points_m[near[apart]], line[apart])
    near, line = near[seen], line[seen]
    direction = lane.along[row[near]]
    off = points_m[near] - line
    off -= dot(off, direction)[:, None] * direction
    # On one line with it: to the side that is the same whichever way either of them is followed.
    same = np.linalg.norm(off, axis=1) < _ONE_LINE_M
    side = np.cross(away[near[same]], direction[same])
    lead = np.abs(side).argmax(axis=1)
    off[same] = side * np.sign(side[np.arange(len(side)), lead])[:, None]
    turned = np.linalg.norm(off, axis=1) > 0
    near, line, out = near[turned], line[turned], unit(off[turned])
    # Across the strand itself: pushed along it, its points would only run away from where it turns aside.
    u = unit(out - dot(out, along[near])[:, None] * along[near])
    lacks = (dot(out, line - points_m[near]) + wanted) / dot(out, u)
    leg = np.linalg.norm(np.diff(points_m, axis=0), axis=1)
    reach = (np.r_[0.0, leg] + np.r_[leg, 0.0]) / 2
    force = min(BESIDE / lane.separation_m, 1 / (_SOFT * bend_m))
    return Pushes(near, u, dot(u, points_m[near]) + lacks, force * reach[near])
