"""From a finished curve to a Route: what it passes, visits, crosses and is clipped to.

Units      m
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from routecut.geometry.triangles import unit
from routecut.model.body import Floats
from routecut.model.job import Hinge
from routecut.model.plan import HingeCrossing, Passage, Route, Stretch
from routecut.roadmap.build import Roadmap
from routecut.routes.polyline import nearest_m, points_at, running_m
from routecut.routes.search import Found
from routecut.routes.strands import Strand

_STRAIGHT = 1 / 2000
_STRAIGHT_MOST_M = 1e-4
"""Points this near to the line of their neighbours are left out (also as a share of the bend radius)."""

_HINGE_REACH_M = 0.15
_HINGE_TURN_DEG = 60.0

_PART_STEP_M = 0.03
_PART_REACH = 2.5
_PART_LEAST_M = 0.08


def simplify(points_m: Floats, tolerance_m: float) -> Floats:
    """The polyline without the points that lie on the line of those kept, ends included. (m, 3)."""
    keep = np.zeros(len(points_m), dtype=bool)
    keep[[0, -1]] = True
    stack = [(0, len(points_m) - 1)]
    while stack:
        first, last = stack.pop()
        if last - first < 2:
            continue
        along = points_m[last] - points_m[first]
        length = float(np.linalg.norm(along))
        inner = points_m[first + 1 : last] - points_m[first]
        if length > 0:
            t = np.clip(inner @ along / length**2, 0, 1)
            off = np.linalg.norm(inner - t[:, None] * along, axis=1)
        else:
            off = np.linalg.norm(inner, axis=1)
        worst = int(off.argmax())
        if off[worst] > tolerance_m:
            middle = first + 1 + worst
            keep[middle] = True
            stack += [(first, middle), (middle, last)]
    return points_m[keep]


def _hinge(points_m: Floats, hinge: Hinge) -> HingeCrossing | None:
    """Where a route goes round a hinge line: near it, and on another side after than before."""
    start, end = (np.array(p) for p in hinge.line_m)
    axis = end - start
    length = float(np.linalg.norm(axis))
    if length == 0:
        return None
    axis /= length
    run = running_m(points_m)
    fine = np.arange(0.0, run[-1], 0.01)
    curve = points_at(fine, run, points_m)
    t = (curve - start) @ axis
    side = curve - start - t[:, None] * axis
    off = np.where((t > -0.05) & (t < length + 0.05), np.linalg.norm(side, axis=1), np.inf)
    near = np.flatnonzero(off < _HINGE_REACH_M)
    if not len(near):
        return None
    first, last = near[0], near[-1]
    before, after = unit(side[[first, last]])
    if np.degrees(np.arccos(np.clip(before @ after, -1, 1))) < _HINGE_TURN_DEG:
        return None
    return HingeCrossing(name=hinge.name, at_route_m=float(fine[int(off.argmin())]))


def _measured(found: Found, points_m: Floats) -> tuple[Stretch, ...]:
    """String measurements of the cable with the computed length of the same stretches."""
    place = {found.cable.from_port: 0.0, found.cable.to_port: float(running_m(points_m)[-1])}
    for crossed in found.holes:
        place[crossed.hole.name] = nearest_m(points_m, np.array(crossed.hole.position.at_m))
    stretches = []
    for m in found.cable.measured:
        if m.from_name in place and m.to_name in place:
            computed = abs(place[m.to_name] - place[m.from_name])
            stretches.append(
                Stretch(from_name=m.from_name, to_name=m.to_name, computed_m=computed, measured_m=m.length_m)
            )
    return tuple(stretches)


def _parts(roadmap: Roadmap, points_m: Floats, stand_off_m: float) -> tuple[tuple[str, float, float], ...]:
    """Parts the route is clipped to, in order; touches shorter than a clip's width are left out."""
    run = running_m(points_m)
    count = max(2, int(np.ceil(run[-1] / _PART_STEP_M)))
    at = np.linspace(0.0, run[-1], count)
    curve = points_at(at, run, points_m)
    near = roadmap.sheets.near(curve, _PART_REACH * stand_off_m)
    rows = np.flatnonzero(roadmap.panels[near.face])
    points, first = np.unique(near.point[rows], return_index=True)
    part = np.full(count, -1, dtype=np.int64)
    part[points] = roadmap.body.face_part[near.face[rows[first]]]
    edges = np.flatnonzero(np.r_[True, part[1:] != part[:-1], True])
    found = []
    for a, b in pairwise(edges.tolist()):
        if part[a] >= 0 and at[b - 1] - at[a] >= _PART_LEAST_M:
            found.append((roadmap.body.parts[part[a]], float(at[a]), float(at[b - 1])))
    return tuple(found)


def finish(roadmap: Roadmap, found: Found, strand: Strand) -> Route:
    """The Route of a finished strand."""
    job = roadmap.job
    tolerance = min(_STRAIGHT_MOST_M, strand.bend_m * _STRAIGHT)
    points = simplify(strand.points_m, tolerance)
    length = float(running_m(points)[-1])
    measured = _measured(found, points)
    passages = [
        Passage(
            name=crossed.hole.name,
            at_route_m=nearest_m(points, np.array(crossed.hole.position.at_m)),
            from_space=crossed.from_space,
            to_space=crossed.to_space,
        )
        for crossed in found.holes
    ]
    hinges = [crossing for h in job.hinges if (crossing := _hinge(points, h)) is not None]
    return Route(
        points_m=points,
        length_m=length + sum(s.measured_m - s.computed_m for s in measured),
        spaces=found.spaces,
        bend_radius_m=found.cable.type.min_bend_radius_m,
        passages=tuple(passages),
        hinges=tuple(hinges),
        measured=measured,
        parts=_parts(roadmap, points, strand.stand_off_m),
    )
