"""Strands: paths under work, many at a time in flat arrays.

Units      m
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from routecut.geometry.keep_out import KEEP_OUT_MARGIN_M, KeepOutField, boxes_apart_m, clearances_m
from routecut.geometry.triangles import dot
from routecut.model.body import Floats, Ints
from routecut.routes.lanes import Lane
from routecut.routes.polyline import points_at, running_m

NEAR_M = 0.05
"""Gaps to keep-outs are exact up to this."""

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """One path from port to port.

    Attributes
    ----------
    points_m : (n, 3) float64
    pinned : (n,) bool
        Ports, lead-outs and the points of a passage: they never move.
    free : (n-1,) bool
        Legs through free air (a bridge, the way from a port to its first clip).
    stand_off_m, radius_m, bend_m : float
        Middle of the cable to the sheet; half its diameter; its tightest bend.
    keep_outs : tuple of KeepOutField
        Those of its class.
    bridge_m : float
        Longest stretch through free air.
    lane : Lane or None
        Lines of other kinds that it keeps apart from where there is room.
    """

    points_m: Floats
    pinned: Bools
    free: Bools
    stand_off_m: float
    radius_m: float
    bend_m: float
    keep_outs: tuple[KeepOutField, ...]
    bridge_m: float = np.inf
    lane: Lane | None = None

    @property
    def length_m(self) -> float:
        """Running length from end to end. [m]"""
        return float(running_m(self.points_m)[-1])

    def with_points(self, points_m: Floats, pinned: Bools, free: Bools) -> Strand:
        """The same cable on another path."""
        return replace(self, points_m=points_m, pinned=pinned, free=free)


def resample(strand: Strand, spacing_m: float) -> Strand:
    """Points evenly spaced between the pinned ones, at most `spacing_m` apart; pinned neighbours are left alone."""
    points, pinned, free = strand.points_m, strand.pinned, strand.free
    anchors = np.flatnonzero(pinned)
    new_points: list[Floats] = [points[:1]]
    new_pinned: list[Bools] = [np.ones(1, dtype=bool)]
    new_free: list[Bools] = []
    for start, end in pairwise(anchors.tolist()):
        run = running_m(points[start : end + 1])
        # Two pinned points in a row are a straight piece of a passage or behind a connector.
        pieces = 1 if end == start + 1 else max(2, int(np.ceil(run[-1] / spacing_m)))
        at = np.linspace(0.0, run[-1], pieces + 1)
        inner = points_at(at[1:], run, points[start : end + 1])
        inner[-1] = points[end]
        new_points.append(inner)
        flags = np.zeros(pieces, dtype=bool)
        flags[-1] = True
        new_pinned.append(flags)
        middle = (at[1:] + at[:-1]) / 2
        leg = np.clip(np.searchsorted(run, middle, side="right") - 1, 0, len(run) - 2)
        new_free.append(free[start:end][leg])
    return strand.with_points(
        np.concatenate(new_points), np.concatenate(new_pinned), np.concatenate(new_free)
    )


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """Strands laid end to end: one row a point, `owner` says whose; `leg` rows join point i and i+1.

    Attributes
    ----------
    at_m : (n, 3) float64
    pinned : (n,) bool
    owner : (n,) int64
    leg : (n-1,) bool
        False where two strands meet.
    free : (n-1,) bool
    clipped : (n,) bool
        The point has a leg along a sheet, so it is held at the stand-off.
    stand_off_m, radius_m, bend_m : (n,) float64
    """

    at_m: Floats
    pinned: Bools
    owner: Ints
    leg: Bools
    free: Bools
    clipped: Bools
    stand_off_m: Floats
    radius_m: Floats
    bend_m: Floats

    @property
    def moving_legs(self) -> Bools:
        """Legs of which at least one end may move, (n-1,) bool: none straight through metal or behind a connector."""
        return np.asarray(self.leg & ~(self.pinned[:-1] & self.pinned[1:]))


def flatten(strands: Sequence[Strand]) -> Flat:
    """Lay strands end to end."""
    sizes = [len(s.points_m) for s in strands]
    owner = np.repeat(np.arange(len(strands)), sizes)
    free = np.concatenate([np.r_[s.free, True] for s in strands])[:-1]
    leg = owner[1:] == owner[:-1]
    along_sheet = leg & ~free
    clipped = np.r_[along_sheet, False] | np.r_[False, along_sheet]
    return Flat(
        at_m=np.concatenate([s.points_m for s in strands]),
        pinned=np.concatenate([s.pinned for s in strands]),
        owner=owner,
        leg=leg,
        free=free,
        clipped=clipped,
        stand_off_m=np.repeat([s.stand_off_m for s in strands], sizes),
        radius_m=np.repeat([s.radius_m for s in strands], sizes),
        bend_m=np.repeat([s.bend_m for s in strands], sizes),
    )


def unflatten(strands: Sequence[Strand], at_m: Floats) -> list[Strand]:
    """The strands with the points of `at_m`."""
    ends = np.cumsum([len(s.points_m) for s in strands])[:-1]
    return [
        s.with_points(points, s.pinned, s.free)
        for s, points in zip(strands, np.split(at_m, ends), strict=True)
    ]


def _gaps(
    strands: Sequence[Strand], points_m: Floats, owner: Ints
) -> Iterator[tuple[KeepOutField, Ints, Floats]]:
    """For each keep-out the rows near it that it applies to, and how much further from it than needed they are. [m].

    Strands that stay further away than `NEAR_M` as a whole are left out.
    """
    if not len(points_m):
        return
    radius = np.array([s.radius_m for s in strands])
    # `owner` ascends, so that each strand's points are one stretch of rows.
    owners, first = np.unique(owner, return_index=True)
    low, high = np.minimum.reduceat(points_m, first), np.maximum.reduceat(points_m, first)
    stop = np.r_[first[1:], len(points_m)]
    # Cables of one class share the tuple of their keep-outs.
    sharing: dict[int, list[int]] = {}
    for k, i in enumerate(owners.tolist()):
        sharing.setdefault(id(strands[i].keep_outs), []).append(k)
    users: dict[str, list[int]] = {}
    fields: dict[str, KeepOutField] = {}
    for some in sharing.values():
        own = np.array(some)
        met = strands[owners[some[0]]].keep_outs
        if not met:
            continue
        margin = radius[owners[own]] + KEEP_OUT_MARGIN_M + NEAR_M
        # Few keep-outs are near a strand: asked of all of them at once, boxes against boxes.
        near = boxes_apart_m(met, low[own], high[own]) < clearances_m(met)[:, None] + margin
        for row in np.flatnonzero(near.any(axis=1)).tolist():
            fields[met[row].name] = met[row]
            users.setdefault(met[row].name, []).extend(own[near[row]].tolist())
    for name, field in fields.items():
        rows = np.concatenate([np.arange(first[k], stop[k]) for k in sorted(users[name])])
        wanted = field.clearance_m + radius[owner[rows]] + KEEP_OUT_MARGIN_M
        yield field, rows, field.distance_m(points_m[rows]) - wanted


def keep_out_gap_m(strands: Sequence[Strand], points_m: Floats, owner: Ints) -> Floats:
    """How much further than needed each point is from its nearest keep-out, (n,). [m].

    Negative where it is too near; beyond `NEAR_M` it may be any larger number.
    """
    gap = np.full(len(points_m), np.inf)
    for _keep_out, rows, own in _gaps(strands, points_m, owner):
        gap[rows] = np.minimum(gap[rows], own)
    return gap


def keep_out_planes(
    strands: Sequence[Strand], points_m: Floats, owner: Ints, within_m: float
) -> tuple[Ints, Floats, Floats]:
    """Half-spaces u.p >= b that keep points off their keep-outs nearby (`within_m` up to `NEAR_M`).

    Returns
    -------
    (k,) int64, (k, 3) float64, (k,) float64
        Point, outward unit direction u, and b.
    """
    point: list[Ints] = [np.zeros(0, dtype=np.int64)]
    outward: list[Floats] = [np.zeros((0, 3))]
    bound: list[Floats] = [np.zeros(0)]
    for keep_out, rows, gap in _gaps(strands, points_m, owner):
        close = gap < within_m
        u = keep_out.outward(points_m[rows[close]])
        point.append(rows[close])
        outward.append(u)
        bound.append(dot(u, points_m[rows[close]]) - gap[close])
    return np.concatenate(point), np.concatenate(outward), np.concatenate(bound)
