"""Turning: a way onto a path for something that can't turn tighter than a given radius.

From a point and a heading, short arcs of that radius (eight ways round, and straight on)
are tried best first; every few of them a follower tries to drive the rest of the way
onto the path. It finds what a solver that starts at a sharp corner can't: past the
corner and back, or round the other way when a sheet stands in the turn.

Units      m
Source     best-first search over motion primitives with an analytic last stretch:
           Dolgov et al., International Journal of Robotics Research 29 (2010)
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass
from itertools import count, product

import numpy as np
from scipy.spatial.distance import cdist

from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats
from routecut.routes.polyline import in_steps, points_at, running_m
from routecut.routes.strands import Bools

Blocked = Callable[[Floats, Floats], Bools]
"""Whether the straight leg between the points of each row, (n, 3) and (n, 3), meets something: (n,) bool."""

_AHEAD = (2.0, 3.0, 1.2)
"""How far ahead the follower looks, in turning radii; tried in turn."""

_JOINS = ((0.015, 0.9997), (0.12, 0.97))
"""How near (in radii) and how well aligned (cosine) a curve must be to end on the path: as good as on it, or nearly.
The first is the strictest."""

_STEPS_A_RADIUS = 8
_LONGEST = 20.0
"""Radii that a follower drives at most."""

_CIRCLE = 6.3
"""One that has driven so many radii and not come on is going round and round."""

_ARC_DEG = 30.0
_CHORDS = 2
_ROLLS = 8
_BATCH = 48
_BATCHES = 40
_TRIED = 3
"""Poses of a batch from which the follower is tried."""

_CELL = 0.25
_HEADING_CELLS = 2.0
_FURTHEST = 8.0
"""Poses further than this many radii from the start are let go."""

_TURN_COST = 0.5

_IN_REACH = _FURTHEST + _LONGEST + 12.0
"""So many radii beyond where a curve may join, a path is looked at: further on none comes, straight as it may go, and
a thread's path of metres has ten thousand points a look."""


@dataclass(frozen=True, slots=True, eq=False)
class Turn:
    """A curve that ends on a path.

    Attributes
    ----------
    points_m : (k, 3) float64
        Start included.
    joins_m : float
        Running length of the path where it goes on.
    """

    points_m: Floats
    joins_m: float


@dataclass(frozen=True, slots=True, eq=False)
class _Track:
    """A path at even steps."""

    run_m: Floats
    at_m: Floats
    tangent: Floats

    @staticmethod
    def of(path_m: Floats, step_m: float) -> _Track:
        run, at = in_steps(path_m, step_m)
        return _Track(run, at, unit(np.gradient(at, axis=0)))

    def until(self, length_m: float) -> _Track:
        """Its steps up to a running length."""
        count = int(np.searchsorted(self.run_m, length_m)) + 1
        return _Track(self.run_m[:count], self.at_m[:count], self.tangent[:count])


def _follow(
    starts_m: Floats,
    headings: Floats,
    track: _Track,
    *,
    radius_m: float,
    ahead_m: Floats,
    beyond_m: float,
    eased: bool,
) -> list[list[tuple[Floats, float] | None]]:
    """Curves that always head for the point of the track some way ahead, turning no tighter than the radius.

    Parameters
    ----------
    starts_m, headings : (n, 3) float64
        All are driven at once: one after the other they would take as long each.
    ahead_m : (n,) float64

    Returns
    -------
    list of n lists
        For each of `_JOINS` the curve up to where it joins, and the running length of the track there;
        None where it does not.
    """
    step = radius_m / _STEPS_A_RADIUS
    last = len(track.at_m) - 1
    window = np.arange(_STEPS_A_RADIUS * 6)
    here, towards = starts_m.copy(), headings.copy()
    progress, since = np.zeros(len(starts_m), dtype=np.int64), np.zeros(len(starts_m), dtype=np.int64)
    curve = [here.copy()]
    found: list[list[tuple[Floats, float] | None]] = [[None] * len(_JOINS) for _ in starts_m]
    going = np.arange(len(starts_m))
    for _ in range(int(_LONGEST * _STEPS_A_RADIUS)):
        at, heading = here[going], towards[going]
        index = np.minimum(progress[going, None] + window, last)
        off = track.at_m[index] - at[:, None]
        nearest = np.einsum("nij,nij->ni", off, off).argmin(axis=1)
        reached = index[np.arange(len(going)), nearest]
        aim = np.minimum(np.searchsorted(track.run_m, track.run_m[reached] + ahead_m[going]), last)
        # Out of a straight piece the first leg turns by half: an arc that begins at the start point.
        most = step / radius_m * (0.5 if eased and len(curve) == 1 else 1.0)
        heading = _turned(heading, track.at_m[aim] - at, track.tangent[reached], most)
        here[going] = at = at + step * heading
        since[going] = np.where(reached > progress[going], 0, since[going] + 1)
        towards[going], progress[going] = heading, reached
        curve.append(here.copy())
        tangent = track.tangent[reached]
        away = at - track.at_m[reached]
        away -= dot(away, tangent)[:, None] * tangent
        gap, aligned = np.linalg.norm(away, axis=1), dot(heading, tangent)
        may_join = (reached < last) & (track.run_m[reached] > beyond_m)
        for k, (near, cosine_least) in enumerate(_JOINS):
            joins = may_join & (gap < near * radius_m) & (aligned > cosine_least)
            for row in np.flatnonzero(joins).tolist():
                own = int(going[row])
                if found[own][k] is None:
                    joined = float(track.run_m[min(int(reached[row]) + 2, last)])
                    found[own][k] = (np.array([points[own] for points in curve]), joined)
        open_still = np.array([found[own][0] is None for own in going.tolist()])
        going = going[open_still & (reached < last) & (since[going] < _CIRCLE * _STEPS_A_RADIUS)]
        if not len(going):
            break
    return found


def _turned(heading: Floats, wanted: Floats, along: Floats, most: float) -> Floats:
    """Headings turned towards what is wanted by at most so much, (n, 3) each; dead ahead or behind, as `along`."""
    size = np.linalg.norm(wanted, axis=1)
    wanted = wanted / np.maximum(size, 1e-9)[:, None]
    cosine = dot(wanted, heading)
    across = wanted - cosine[:, None] * heading
    length = np.linalg.norm(across, axis=1)
    dead = length < 1e-6
    across[dead] = along[dead] - dot(along[dead], heading[dead])[:, None] * heading[dead]
    length[dead] = np.linalg.norm(across[dead], axis=1)
    angle = np.minimum(np.arccos(np.clip(cosine, -1.0, 1.0)), most)
    turns = (size > 1e-9) & (length > 1e-9)
    share = np.sin(angle) / np.maximum(length, 1e-9)
    return np.where(turns[:, None], np.cos(angle)[:, None] * heading + share[:, None] * across, heading)


def _frame(heading: Floats) -> Floats:
    """Right-handed frames whose third axis is the heading, (n, 3, 3), axes in rows."""
    helper = np.where(np.abs(heading[:, :1]) < 0.9, np.array([[1.0, 0, 0]]), np.array([[0, 1.0, 0]]))
    side = unit(np.cross(helper, heading))
    return np.stack([side, np.cross(heading, side), heading], axis=1)


def _primitives(radius_m: float) -> tuple[Floats, Floats]:
    """Points (m, chords, 3) and last headings (m, 3) of the arcs and the straight, heading along +z."""
    angle = np.radians(_ARC_DEG) * np.arange(1, _CHORDS + 1) / _CHORDS
    roll = 2 * np.pi * np.arange(_ROLLS) / _ROLLS
    across = np.stack([np.cos(roll), np.sin(roll), np.zeros(_ROLLS)], axis=1)
    up = np.array([0.0, 0.0, 1.0])
    arcs = radius_m * (
        (1 - np.cos(angle))[None, :, None] * across[:, None] + np.sin(angle)[None, :, None] * up
    )
    straight = radius_m * angle[None, :, None] * up
    headings = np.sin(angle[-1]) * across + np.cos(angle[-1]) * up
    return np.concatenate([straight, arcs]), np.concatenate([up[None], headings])


class _Search:
    """Poses reached so far, best first, and the legs that led to them."""

    def __init__(self, start_m: Floats, heading: Floats, track: _Track, radius_m: float) -> None:
        self.track, self.radius_m = track, radius_m
        self.start_m = start_m
        self.at = [start_m]
        self.heading = [heading]
        self.cost = [0.0]
        self.parent = [-1]
        self.leg: list[Floats] = [start_m[None]]
        self.best: dict[tuple[int, ...], float] = {}
        self._tie = count()
        self.open: list[tuple[float, int, int]] = [(0.0, next(self._tie), 0)]
        self.points, self.ends = _primitives(radius_m)

    def pop(self) -> list[int]:
        """The most promising poses."""
        return [heapq.heappop(self.open)[2] for _ in range(min(_BATCH, len(self.open)))]

    def curve(self, pose: int) -> Floats:
        """Points from the start to a pose, (k, 3)."""
        legs: list[Floats] = []
        while pose >= 0:
            legs.append(self.leg[pose])
            pose = self.parent[pose]
        return np.concatenate(legs[::-1])

    def grow(self, poses: list[int], blocked: Blocked) -> None:
        """All arcs from some poses that meet nothing."""
        at, heading = np.array([self.at[i] for i in poses]), np.array([self.heading[i] for i in poses])
        frame = _frame(heading)
        legs = at[:, None, None] + np.einsum("mkj,njc->nmkc", self.points, frame)
        ends = np.einsum("mj,njc->nmc", self.ends, frame)
        n, m, k, _ = legs.shape
        starts = np.concatenate([np.broadcast_to(at[:, None, None], (n, m, 1, 3)), legs[:, :, :-1]], axis=2)
        hit = blocked(starts.reshape(-1, 3), legs.reshape(-1, 3)).reshape(n, m, k).any(axis=2)
        hit |= np.linalg.norm(legs[:, :, -1] - self.start_m, axis=2) > _FURTHEST * self.radius_m
        togo = self.togo(legs[:, :, -1].reshape(-1, 3), ends.reshape(-1, 3)).reshape(n, m)
        length = self.radius_m * np.radians(_ARC_DEG)
        cells = np.concatenate(
            [
                np.round(legs[:, :, -1] / (_CELL * self.radius_m)),
                np.round(ends * _HEADING_CELLS),
            ],
            axis=2,
        ).astype(int)
        for a, b in zip(*np.nonzero(~hit), strict=True):
            cost = self.cost[poses[a]] + length
            key = tuple(cells[a, b].tolist())
            if self.best.get(key, np.inf) <= cost + 1e-9:
                continue
            self.best[key] = cost
            self.at.append(legs[a, b, -1])
            self.heading.append(ends[a, b])
            self.cost.append(cost)
            self.parent.append(poses[a])
            self.leg.append(legs[a, b])
            heapq.heappush(self.open, (cost + float(togo[a, b]), next(self._tie), len(self.at) - 1))

    def togo(self, at_m: Floats, heading: Floats) -> Floats:
        """What is still to go from poses: to the path and along it to its end, and the turn to get there, (n,). [m]."""
        track = self.track
        off = cdist(at_m, track.at_m)
        left = track.run_m[-1] - track.run_m
        total = off + left
        pick = total.argmin(axis=1)
        ahead = np.minimum(
            np.searchsorted(track.run_m, track.run_m[off.argmin(axis=1)] + 1.5 * self.radius_m),
            len(track.run_m) - 1,
        )
        towards = unit(track.at_m[ahead] - at_m)
        turn = np.arccos(np.clip(np.einsum("ij,ij->i", heading, towards), -1, 1))
        rows = np.arange(len(at_m))
        return np.asarray(total[rows, pick] + _TURN_COST * self.radius_m * turn)


def turn_onto(
    start_m: Floats,
    heading: Floats,
    path_m: Floats,
    *,
    radius_m: float,
    beyond_m: float,
    blocked: Blocked,
    ahead: tuple[float, ...] = _AHEAD,
    search: bool = True,
) -> Turn | None:
    """A curve from a point and a heading onto a path, turning no tighter than the radius and meeting nothing.

    Parameters
    ----------
    start_m, heading : (3,) float64
        Where the curve starts, and the unit vector it starts with.
    path_m : (n, 3) float64
        Where it is to end: anywhere on it after `beyond_m`, before its last point.
    radius_m, beyond_m : float
    blocked : callable
        See `Blocked`.
    ahead : tuple of float
        Distances the follower looks ahead, in radii.
    search : bool
        Whether to search round obstacles when the follower alone does not get there.

    Returns
    -------
    Turn or None
        None when it was not found within the effort allowed.
    """
    if running_m(path_m)[-1] < radius_m / 2:
        return None
    track = _Track.of(path_m, radius_m / _STEPS_A_RADIUS / 2).until(beyond_m + _IN_REACH * radius_m)

    def last_stretch(at_m: Floats, towards: Floats, *, eased: bool) -> tuple[int, Floats, float] | None:
        """Which of some poses the follower gets from onto the path, first come first served, and how."""
        n = len(at_m)
        tried = _follow(
            np.repeat(at_m, len(ahead), axis=0),
            np.repeat(towards, len(ahead), axis=0),
            track,
            radius_m=radius_m,
            ahead_m=np.tile(np.array(ahead) * radius_m, n),
            beyond_m=beyond_m,
            eased=eased,
        )
        for pose, k, i in product(range(n), range(len(_JOINS)), range(len(ahead))):
            found = tried[pose * len(ahead) + i][k]
            if found is None:
                continue
            curve, joins = found
            whole = np.concatenate([curve, points_at(np.array([joins]), track.run_m, track.at_m)])
            if not blocked(whole[:-1], whole[1:]).any():
                return pose, curve, joins
        return None

    found = last_stretch(start_m[None], heading[None], eased=True)
    if found is not None:
        return Turn(*found[1:])
    if not search:
        return None
    poses = _Search(start_m, heading, track, radius_m)
    for _ in range(_BATCHES):
        batch = poses.pop()
        if not batch:
            break
        tried = [p for p in batch if poses.parent[p] >= 0][:_TRIED]
        if tried:
            found = last_stretch(
                np.array([poses.at[p] for p in tried]),
                np.array([poses.heading[p] for p in tried]),
                eased=False,
            )
            if found is not None:
                which, curve, joins = found
                return Turn(np.concatenate([poses.curve(tried[which]), curve[1:]]), joins)
        poses.grow(batch, blocked)
    return None
