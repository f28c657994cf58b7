"""What of a fit-out lies where somebody works on the body: welds, grinds, cuts, or looks after a crash.

Stage      service; asks nothing of the mesh, so trim is where the cables behind it are
Units      m
Safe side  distances are straight, through whatever stands between; what no cable tells the place of is not
           taken to be far off: the answer says that nothing is known of it. Keep-outs are measured from every step
           of the stretches that lie there, not where a cable is nearest to them: that may be elsewhere
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from routecut.model.body import Floats
from routecut.model.body_work import KEEP_OUT, NEAR_WORK_M, Lies
from routecut.model.job import Box, Capsule, KeepOut, PartShape, Sphere
from routecut.model.plan import Plan, PlannedCable, Route
from routecut.model.running import along
from routecut.model.service import (
    Answer,
    Asked,
    Focus,
    PlaceKind,
    Service,
)
from routecut.model.vehicle import Vec3
from routecut.routes.polyline import in_steps
from routecut.service.answer import answer
from routecut.service.fuses import Feeds
from routecut.verify.shapes import ConvexShape

_STEP_M: Final = 0.02
_APART_M: Final = 0.1
"""Stretches of a cable that are no further apart than this are one. [m]"""
_GRID_M: Final = 0.05
"""Keep-outs are held against a side or a space at points no further apart, unless they are very large. [m]"""
_MOST_STEPS: Final = 40
"""Points on one edge of a keep-out, at most, so that one as large as the vehicle costs no memory."""
_OUTER: Final = 1.0 / 3.0
"""A side is this share of the vehicle's spaces."""

Far = Callable[[Floats], Floats]
"""From points (n, 3) to how far each is from what is worked on. [m]"""

Within = Callable[[Floats], npt.NDArray[np.bool_]]
"""From points (n, 3) to whether each is where the work is."""


def body_work(
    plan: Plan, asked: Asked, name: str, sides: Sequence[str] = (), *, at_m: Vec3 | None = None
) -> Answer:
    """What lies where the body is worked on, and what to do about it before.

    Parameters
    ----------
    plan : Plan
        With its service study.
    asked : Asked
    name : str
        As for `answer`; of a whole job, `sides` say where.
    sides : sequence of str
        Of `model.body_work.SIDES`; those of one axis are each enough, of two axes both are wanted. Of something
        that is named only its outer third on these sides counts.
    at_m : Vec3, optional
        A point, in place of all that. [m]
    """
    service = plan.service or Service()
    found = answer(plan, asked, name)
    if at_m is not None:
        far = _from_points([np.array(at_m)[None]], ())
    else:
        far = _sides(plan, sides) if asked is Asked.JOB else _from_named(plan, found, sides)
    lies = tuple(sorted(_lies(plan, service, far), key=lambda x: (x.far_m, x.kind, x.name))) if far else ()
    cables = [x.name for x in lies if x.kind == "cable"] or list(
        found.cables if asked is not Asked.JOB else ()
    )
    feeds = Feeds(plan, service)
    return replace(
        found,
        focus=Focus.BODY,
        sides=tuple(sides),
        at_m=at_m,
        lies=lies,
        cables=tuple(cables),
        devices=tuple(x.name for x in lies if x.kind == "device"),
        fuses=feeds.pulls([fuse for cable in cables for fuse in feeds.of_cable(cable)]),
    )


def _from_named(plan: Plan, found: Answer, sides: Sequence[str]) -> Far | None:
    """How far from what was named; None where the plan does not tell its place."""
    if found.asked is Asked.KEEP_OUT:
        return None  # judged against its own shape by the verifier, which the cables of the answer are from
    if found.asked is Asked.SPACE:
        boxes = plan.job.space(found.name).boxes
        if sides:
            within = _outer(boxes, sides)
            return lambda points: np.where(within(points), 0.0, np.inf)
        lows, highs = np.array([b.low_m for b in boxes]), np.array([b.high_m for b in boxes])
        return lambda points: np.asarray(
            np.linalg.norm(
                np.maximum(np.maximum(lows - points[:, None], points[:, None] - highs), 0.0), axis=2
            ).min(axis=1)
        )
    points = [np.array(p.at_m)[None] for p in found.places]
    if found.asked is Asked.TRIM:
        points = list(_behind(plan, found.name))
    if found.asked is Asked.CABLE:
        points = [p for planned, _, _, p in _stepped(plan) if planned.cable.name == found.name]
    return _from_points(points, sides)


def _from_points(points: Sequence[Floats], sides: Sequence[str]) -> Far | None:
    """How far from the nearest of some points, of those on these sides of them all; None where there are none."""
    if not points:
        return None
    known = np.concatenate(points)
    if sides:
        known = known[_on_sides(known.min(axis=0), known.max(axis=0), sides)(known)]
    if not len(known):
        return None
    tree = cKDTree(known)
    return lambda asked: np.asarray(tree.query(asked)[0])


def _behind(plan: Plan, trim: str) -> Iterator[Floats]:
    """The stretches of cables behind a piece of trim, and those clipped to it, in steps."""
    for planned, route, at, points in _stepped(plan):
        spans = [(c.from_m, c.to_m) for c in planned.covered if c.trim == trim]
        spans += [(start, end) for part, start, end in route.parts if part == trim]
        for start, end in spans:
            yield points[(at >= start) & (at <= end)]


def _stepped(plan: Plan) -> Iterator[tuple[PlannedCable, Route, Floats, Floats]]:
    """Every cable that has a route, with its running lengths and points in steps."""
    for planned in plan.cables:
        if planned.route is not None:
            yield (planned, planned.route, *in_steps(planned.route.points_m, _STEP_M))


def _sides(plan: Plan, sides: Sequence[str]) -> Far | None:
    """Nothing far in the outer third of the spaces on those sides; everything else is."""
    boxes = [box for space in plan.job.spaces for box in space.boxes]
    if not boxes or not sides:
        return None
    within = _outer(boxes, sides)
    return lambda points: np.where(within(points), 0.0, np.inf)


def _outer(boxes: Sequence[Box], sides: Sequence[str]) -> Within:
    """Whether points lie in the outer third of what some boxes take up, on those sides."""
    low, high = np.min([b.low_m for b in boxes], axis=0), np.max([b.high_m for b in boxes], axis=0)
    return _on_sides(low, high, sides)


def _on_sides(low: Floats, high: Floats, sides: Sequence[str]) -> Within:
    """Whether points lie in the outer third between two corners; of one axis one side is enough."""
    third = (high - low) * _OUTER
    wanted = {
        "front": lambda p: p[:, 0] <= low[0] + third[0],
        "rear": lambda p: p[:, 0] >= high[0] - third[0],
        "left": lambda p: p[:, 1] <= low[1] + third[1],
        "right": lambda p: p[:, 1] >= high[1] - third[1],
        "floor": lambda p: p[:, 2] <= low[2] + third[2],
        "roof": lambda p: p[:, 2] >= high[2] - third[2],
    }
    axes = [
        [s for s in pair if s in sides] for pair in (("front", "rear"), ("left", "right"), ("floor", "roof"))
    ]

    def inside(points: Floats) -> npt.NDArray[np.bool_]:
        found = np.ones(len(points), dtype=bool)
        for pair in axes:
            if pair:
                found &= np.any([wanted[side](points) for side in pair], axis=0)
        return found

    return inside


def _lies(plan: Plan, service: Service, far: Far) -> Iterator[Lies]:
    for planned, _, at, points in _stepped(plan):
        gaps = far(points)
        spans = _spans(at, gaps <= NEAR_WORK_M)
        if spans:
            told = along(planned)
            yield Lies(
                kind="cable",
                name=planned.cable.name,
                far_m=float(gaps.min()),
                stretches_m=tuple((told(start), told(end)) for start, end in spans),
                near=tuple(_near(plan, planned, points[gaps <= NEAR_WORK_M], spans)),
            )
    for keep_out in plan.job.keep_outs:
        if not isinstance(keep_out.shape, PartShape):
            gap = _far_off(keep_out, far)
            if gap <= NEAR_WORK_M:
                yield Lies(kind=KEEP_OUT, name=keep_out.name, far_m=gap)
    for device in plan.job.devices:
        places = [device.position.at_m, *(port.position.at_m for port in device.ports)]
        gap = float(far(np.array(places)).min())
        if gap <= NEAR_WORK_M:
            yield Lies(kind="device", name=device.name, far_m=gap)
    for hole in plan.holes:
        gap = float(far(np.array([hole.at_m]))[0])
        if gap <= NEAR_WORK_M and hole.cables:
            yield Lies(kind="hole", name=hole.pass_through.name, far_m=gap)
    for place in service.places:
        gap = float(far(np.array([place.at_m]))[0])
        if gap <= NEAR_WORK_M and place.kind in {PlaceKind.JOINT, PlaceKind.FUSE}:
            yield Lies(kind=str(place.kind), name=place.name, far_m=gap)


def _spans(at: Floats, inside: npt.NDArray[np.bool_]) -> list[tuple[float, float]]:
    """From where to where it is inside, small gaps bridged. [m]"""
    rows = np.flatnonzero(inside)
    if not len(rows):
        return []
    cuts = [k + 1 for k, (a, b) in enumerate(pairwise(at[rows].tolist())) if b - a > _APART_M]
    return [(float(at[part[0]]), float(at[part[-1]])) for part in np.split(rows, cuts)]


def _near(
    plan: Plan, planned: PlannedCable, points: Floats, spans: Sequence[tuple[float, float]]
) -> Iterator[tuple[str, float]]:
    """Keep-outs near a cable's stretches there; of a part of the mesh only where the cable is nearest to it."""
    checked = planned.verified
    for keep_out in plan.job.keep_outs:
        gaps = []
        if not isinstance(keep_out.shape, PartShape):
            shape = ConvexShape(keep_out.shape, np.asarray(keep_out.sweep_m, dtype=np.float64))
            gaps.append(float(shape.distance(points).min()) - 0.5 * planned.cable.type.diameter_m)
        if checked is not None:
            at_m = checked.least_clearance_at_m.get(keep_out.name, -1.0)
            if any(start <= at_m <= end for start, end in spans):
                gaps.append(checked.least_clearance_m[keep_out.name])
        if gaps and min(gaps) <= NEAR_WORK_M:
            yield keep_out.name, max(0.0, min(gaps))


def _far_off(keep_out: KeepOut, far: Far) -> float:
    """How far all that a keep-out of boxes or rounds takes up or passes is, no further than it is. [m]

    Rounds are asked at their middles, less their radius, and at their ends on each axis: a side of the vehicle knows
    no distance, only whether a point is on it.
    """
    shape, sweep = keep_out.shape, np.asarray(keep_out.sweep_m, dtype=np.float64)
    if isinstance(shape, Box):
        low, radius = np.asarray(shape.low_m), 0.0
        edges = [*np.diag(np.asarray(shape.high_m) - low), sweep]
    elif isinstance(shape, Sphere):
        low, radius = np.asarray(shape.at_m), shape.radius_m
        edges = [sweep]
    else:
        assert isinstance(shape, Capsule)  # noqa: S101  parts of the mesh are left out before
        low, radius = np.asarray(shape.from_m), shape.radius_m
        edges = [np.asarray(shape.to_m) - low, sweep]
    points, between = low[None], 0.0
    for edge in edges:
        long = float(np.linalg.norm(edge))
        steps = min(_MOST_STEPS, math.ceil(long / _GRID_M))
        if steps:
            between += (0.5 * long / steps) ** 2
            points = (points[:, None] + np.linspace(0.0, 1.0, steps + 1)[:, None] * edge).reshape(-1, 3)
    middles = float(far(points).min()) - radius - math.sqrt(between)
    ends = [float(far(points + radius * axis).min()) for axis in (*np.eye(3), *-np.eye(3))]
    return max(0.0, min(middles, *ends))
