"""Trunks: cables that share a run are laid along one line, that of the stiffest among them.

The stiffest is laid first, as if it were alone. Each other joins its line where that is
cheapest, runs along it, and leaves it; only its own pieces are pulled tight. So what was
found together stays together, where each pulled tight for itself would drift apart.

Units      m
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from routecut.geometry.clip_reach import BRIDGE_SHARE
from routecut.geometry.packing import pack
from routecut.model.body import Floats
from routecut.model.company import Group, group_of
from routecut.roadmap.build import AIR_FACTOR, AIR_FEE_M, Roadmap
from routecut.routes.bundles import bend_radius_m
from routecut.routes.company import SHARED
from routecut.routes.polyline import nearest_m, points_at, running_m
from routecut.routes.search import IN_HOLE, Found, Trunk
from routecut.routes.strands import Bools, Strand, keep_out_gap_m

LEAST_M: Final = 0.300
"""A run that is shared over less is not made a trunk. [m]"""

_JOIN_M: Final = 0.600
"""A cable joins within this of where its way first meets that of the trunk."""

_UPSTREAM_M: Final = 0.250
"""It turns towards the trunk this far before, or where it is pinned."""

_STEP_M: Final = 0.020
_DIP_M: Final = 5e-4
_SAME_M: Final = 1e-6
_PARTS: Final = 8
_OFF: Final = 2.5
"""A part of a straight leg that is further off its sheet than this many stand-offs hangs free."""

_ASTRAY: Final = 0.35
"""A run that is this share longer or shorter on the finished line than on the way found is not the same run."""


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """A finished line that is followed from one running length to another."""

    strand: Strand
    at_m: Floats
    near: float
    far: float

    def back(self) -> _Line:
        """The same, followed the other way."""
        return replace(self, near=self.far, far=self.near)

    def points(self, run_m: Floats) -> Floats:
        """Its points at running lengths, (k, 3). [m]."""
        return points_at(run_m, self.at_m, self.strand.points_m)

    def place(self, point: Floats) -> float:
        """Running length of its point nearest to a place. [m]."""
        return nearest_m(self.strand.points_m, point)


@dataclass(frozen=True, slots=True)
class Run:
    """Points `first` to `last` of a way are points `lead_first` to `lead_last` of that of its leader."""

    leader: str
    first: int
    last: int
    lead_first: int
    lead_last: int


def stiffness(found: Found) -> tuple[float, float, str]:
    """The order in which cables lead."""
    kind = found.cable.type
    return (-kind.min_bend_radius_m, -kind.diameter_m, found.cable.name)


def runs_shared(ways: Sequence[Found]) -> dict[str, tuple[Run, ...]]:
    """For each cable the runs it shares with stiffer ones of its group, by name, in order along its way."""
    order = sorted(ways, key=stiffness)
    shared: dict[str, tuple[Run, ...]] = {}
    places = [{key: i for i, key in enumerate(way.keys) if key} for way in order]
    for number, way in enumerate(order):
        taken = np.zeros(len(way.keys), dtype=bool)
        length = running_m(way.strand.points_m)
        found: list[Run] = []
        for leader, where in zip(order[:number], places, strict=False):
            if _like(leader, way) and not taken.all():
                found += _runs(leader.cable.name, where, way.keys, length, taken)
        shared[way.cable.name] = tuple(sorted(found, key=lambda r: r.first))
    return shared


def _like(one: Found, other: Found) -> bool:
    group = group_of(one.cable.cable_class)
    return group is group_of(other.cable.cable_class) and group is not Group.BOND


def _runs(
    leader: str, where: Mapping[str, int], keys: Sequence[str], length: Floats, taken: Bools
) -> list[Run]:
    """Runs of a way along that of a leader, forward or back; `taken` marks what is in one already."""
    place = np.array([where.get(key, -9) if key else -9 for key in keys])
    place[taken] = -9
    step = np.diff(place)
    joined = (np.abs(step) == 1) & (place[:-1] >= 0) & (place[1:] >= 0)
    found = []
    i = 0
    while i < len(joined):
        j = i
        while j < len(joined) and joined[j] and step[j] == step[i]:
            j += 1
        if j > i and length[j] - length[i] >= LEAST_M:
            found.append(Run(leader, i, j, int(place[i]), int(place[j])))
            taken[i : j + 1] = True
        i = max(j, i + 1)
    return found


def in_turn(shared: Mapping[str, tuple[Run, ...]]) -> list[list[str]]:
    """Cables that can be laid at once: each after all that it follows."""
    level: dict[str, int] = {}
    for name, runs in shared.items():  # leaders stand before those that follow them
        level[name] = max((level[r.leader] + 1 for r in runs), default=0)
    return [[n for n in shared if level[n] == depth] for depth in range(max(level.values(), default=-1) + 1)]


def follow(
    roadmap: Roadmap, way: Found, runs: Sequence[Run], leaders: Mapping[str, tuple[Found, Strand]]
) -> Found:
    """A way with its runs along the finished lines of their leaders, as far as it can join them.

    Parameters
    ----------
    way : Found
    runs : sequence of Run
        From `runs_shared`.
    leaders : mapping of str to (Found, Strand)
        The leaders as they were found first and as they lie.
    """
    done = way
    # From the end, so that the points before keep their numbers; no two runs share a point.
    for k in reversed(range(len(runs))):
        least = runs[k - 1].last + 1 if k else 0
        done = _follow_one(roadmap, done, runs[k], least, leaders[runs[k].leader]) or done
    return done


def stiffened(ways: Mapping[str, Found], shared: Mapping[str, tuple[Run, ...]]) -> dict[str, Found]:
    """The ways with the bend radius of the thickest bundle that each leads."""
    inside: dict[str, list[set[str]]] = {name: [set() for _ in way.keys] for name, way in ways.items()}
    for name, runs in shared.items():
        for run in runs:
            low, high = sorted((run.lead_first, run.lead_last))
            for cables in inside[run.leader][low : high + 1]:
                cables.add(name)
    found = {}
    for name, way in ways.items():
        bend = way.strand.bend_m
        for others in {frozenset(cables) for cables in inside[name] if cables}:
            types = [way.cable.type, *(ways[other].cable.type for other in sorted(others))]
            diameter = pack([t.diameter_m for t in types]).diameter_m
            bend = max(bend, bend_radius_m(diameter, [(t.diameter_m, t.min_bend_radius_m) for t in types]))
        found[name] = replace(way, strand=replace(way.strand, bend_m=bend))
    return found


def _follow_one(
    roadmap: Roadmap, way: Found, run: Run, least: int, lead: tuple[Found, Strand]
) -> Found | None:
    """None where the cable can't join or leave, or the line is not what was found."""
    found, strand = lead
    whole = _Line(strand, running_m(strand.points_m), 0.0, 0.0)
    near, far = (whole.place(found.strand.points_m[i]) for i in (run.lead_first, run.lead_last))
    line = replace(whole, near=near, far=far)
    length = float(running_m(way.strand.points_m[run.first : run.last + 1])[-1])
    if (far > near) != (run.lead_last > run.lead_first) or abs(abs(far - near) - length) > _ASTRAY * length:
        return None
    count = len(way.keys) - 1
    join = _join(roadmap, way, run.first, least, line)
    leave = _join(roadmap, _reversed(way), count - run.last, 0, line.back())
    if join is None or leave is None:
        return None
    (before, start), (after, end) = join, (count - leave[0], leave[1])
    if before >= after or (end > start) != (far > near) or abs(end - start) < LEAST_M / 2:
        return None
    trunk = _trunk(replace(line, near=start, far=end))
    owner = np.zeros(len(trunk.points_m), dtype=np.int64)
    if keep_out_gap_m([way.strand], trunk.points_m, owner).min() < -_DIP_M:
        return None
    own, ends = way.strand, trunk.points_m[[0, -1]]
    # The run itself is not pulled: until it is pasted in, it is a straight piece between two pinned points.
    strand = own.with_points(
        np.concatenate([own.points_m[: before + 1], ends, own.points_m[after:]]),
        np.concatenate([own.pinned[: before + 1], [True, True], own.pinned[after:]]),
        np.concatenate([own.free[:before], [False, True, False], own.free[after:]]),
    )
    keys = (*way.keys[: before + 1], "", "", *way.keys[after:])
    return replace(way, strand=strand, keys=keys, trunks=(trunk, *way.trunks))


def _reversed(way: Found) -> Found:
    strand = way.strand
    turned = strand.with_points(strand.points_m[::-1], strand.pinned[::-1], strand.free[::-1])
    return replace(way, strand=turned, keys=way.keys[::-1])


def _join(roadmap: Roadmap, way: Found, first: int, least: int, line: _Line) -> tuple[int, float] | None:
    """Which own point a cable keeps last, and where on the line it joins.

    Out of a hole they share, in its middle. Else where its own way that far, the straight to the
    line, dearer where it hangs free, and the rest of the run, cheaper by what sharing saves, are
    least; None where it sees nothing of the line.
    """
    strand, near, far = way.strand, line.near, line.far
    for i in range(first, min(first + 4, len(way.keys))):
        if way.keys[i].endswith(IN_HOLE):
            return i, line.place(strand.points_m[i + 1])
    before = first
    while (
        before > least
        and not strand.pinned[before]
        and not strand.free[before - 1]
        and np.linalg.norm(strand.points_m[before] - strand.points_m[first]) < _UPSTREAM_M
    ):
        before -= 1
    reach = min(_JOIN_M, abs(far - near) / 2)
    run = near + np.sign(far - near) * np.arange(0.0, reach, _STEP_M)
    points = line.points(run)
    # From each of its own points on, the last it keeps: along the sheet it gets nearer to the line than upstream.
    own = np.arange(before, first + 1)
    kept = running_m(strand.points_m[before : first + 1])
    from_m = np.repeat(strand.points_m[own], len(points), axis=0)
    to_m = np.tile(points, (len(own), 1))
    clear = ~roadmap.sheets.blocked(from_m, to_m)
    clear[clear] = ~roadmap.sheets.skin_blocked(from_m[clear], to_m[clear], strand.radius_m)
    for share in (0.25, 0.5, 0.75):
        owner = np.zeros(int(clear.sum()), dtype=np.int64)
        middle = from_m[clear] + share * (to_m[clear] - from_m[clear])
        clear[clear] = keep_out_gap_m([strand], middle, owner) >= 0
    straight = np.linalg.norm(to_m - from_m, axis=1)
    hangs = np.zeros(len(to_m))
    hangs[clear] = _hangs(roadmap, from_m[clear], to_m[clear], strand.stand_off_m)
    clear &= hangs * straight <= BRIDGE_SHARE * strand.bridge_m
    if not clear.any():
        return None
    air = (AIR_FACTOR - 1) * hangs * straight + np.where(hangs > 0, AIR_FEE_M, 0.0)
    rest = (1 - SHARED) * np.abs(far - run)
    cost = np.repeat(kept, len(points)) + straight + air + np.tile(rest, len(own))
    best = int(np.where(clear, cost, np.inf).argmin())
    return int(own[best // len(points)]), float(run[best % len(points)])


def _hangs(roadmap: Roadmap, from_m: Floats, to_m: Floats, stand_off_m: float) -> Floats:
    """Which share of each straight leg hangs free, (n,)."""
    share = (np.arange(_PARTS) + 0.5) / _PARTS
    at = from_m[:, None] + share[:, None] * (to_m - from_m)[:, None]
    distance, _, _ = roadmap.sheets.closest(at.reshape(-1, 3), 2 * _OFF * stand_off_m)
    return np.asarray((distance > _OFF * stand_off_m).reshape(len(to_m), _PARTS).mean(axis=1))


def _trunk(line: _Line) -> Trunk:
    """The part of a line that is followed, from `near` to `far`."""
    at, lead, start, end = line.at_m, line.strand, line.near, line.far
    inner = np.flatnonzero((at > min(start, end) + 1e-6) & (at < max(start, end) - 1e-6))
    run = np.concatenate([[start], at[inner] if end > start else at[inner][::-1], [end]])
    middle = (run[:-1] + run[1:]) / 2
    leg = np.clip(np.searchsorted(at, middle, side="right") - 1, 0, len(lead.free) - 1)
    # The ends of a straight piece through metal are held as well, also where the run begins or ends on one.
    metal = np.flatnonzero(lead.pinned[:-1] & lead.pinned[1:])
    in_metal = (run[:, None] >= at[metal] - _SAME_M) & (run[:, None] <= at[metal + 1] + _SAME_M)
    return Trunk(line.points(run), np.asarray(in_metal.any(axis=1)), lead.free[leg])
