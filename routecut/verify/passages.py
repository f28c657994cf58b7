"""Passages: the tube a pass-through opens, whether a route goes through it, and its fill."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routecut.model.body import Floats
from routecut.model.job import ANY, Cable, PassThrough
from routecut.model.plan import Route
from routecut.verify.curve import Curve
from routecut.verify.limits import (
    LEAST_TUBE_M,
    PASSAGE_PLACE_M,
    TUBE_END_M,
    TUBE_SLACK_M,
    fill_limit,
    mm,
)

_BEYOND_M = 0.010  # how far past its ends a passage is looked at from outside


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """A pass-through as a cable of one radius may use it."""

    pass_through: PassThrough
    cable_radius_m: float

    @property
    def free_m(self) -> float:
        """How far the cable's middle may be from the axis. [m]"""
        hole = 0.5 * self.pass_through.diameter_m
        return max(hole - self.cable_radius_m + TUBE_SLACK_M, LEAST_TUBE_M)

    def place(self, points_m: Floats) -> tuple[Floats, Floats]:
        """Offset along the axis and distance from it for each point, (n,) each. [m]"""
        axis = np.asarray(self.pass_through.axis, dtype=np.float64)
        axis = axis / np.linalg.norm(axis)
        offset = points_m - np.asarray(self.pass_through.position.at_m)
        along = offset @ axis
        return along, np.linalg.norm(offset - along[:, None] * axis, axis=1)

    def holds(self, points_m: Floats) -> npt.NDArray[np.bool_]:
        """Whether metal met at the points is the metal this pass-through opens, (n,)."""
        along, off = self.place(points_m)
        return (np.abs(along) <= 0.5 * self.pass_through.depth_m + TUBE_END_M) & (off <= self.free_m)

    def inside(self, points_m: Floats) -> npt.NDArray[np.bool_]:
        """Whether the points lie in the hole, where the grommet carries the cable, (n,)."""
        along, off = self.place(points_m)
        reach = 0.5 * self.pass_through.depth_m + TUBE_END_M
        return (np.abs(along) <= reach) & (off <= 0.5 * self.pass_through.diameter_m)

    def mouth(self, points_m: Floats, lift_m: float) -> npt.NDArray[np.bool_]:
        """Whether the points are so close to the hole that its rim is not a sheet to clear, (n,)."""
        along, off = self.place(points_m)
        reach = 0.5 * self.pass_through.depth_m + TUBE_END_M + lift_m
        return (np.abs(along) <= reach) & (off <= max(0.5 * self.pass_through.diameter_m, self.free_m))


def tubes_of(
    pass_throughs: Sequence[PassThrough], cable: Cable, route: Route
) -> tuple[list[Tube | None], list[Tube]]:
    """The tube of each passage of the route (None: no such pass-through), and those there are."""
    named = {p.name: p for p in pass_throughs}
    radius = 0.5 * cable.type.diameter_m
    each = [
        Tube(pass_through=named[p.name], cable_radius_m=radius) if p.name in named else None
        for p in route.passages
    ]
    return each, [tube for tube in each if tube is not None]


def _gone_through(tube: Tube, curve: Curve, run_m: float) -> bool:
    """Whether the curve is on opposite sides of the hole before and after that place."""
    reach = 0.5 * tube.pass_through.depth_m + _BEYOND_M
    before, after = tube.place(curve.at(np.array([run_m - reach, run_m + reach])))[0]
    return bool(before * after < 0.0)


def _find(tube: Tube, curve: Curve, stated_m: float, measured: bool) -> tuple[float, str]:
    """Where the curve goes through the hole, and what is wrong with that, or nothing.

    The place stated is believed when the curve is in the middle of the hole there. With
    measured stretches a running length is not one along the curve, and isn't compared.
    """
    hole = tube.pass_through
    if 0.0 <= stated_m <= curve.length_m:
        along, off = (float(x[0]) for x in tube.place(curve.at(np.array([stated_m]))))
        if abs(along) <= PASSAGE_PLACE_M and off <= tube.free_m:
            found = "" if _gone_through(tube, curve, stated_m) else _came_back(hole)
            return stated_m, found
    gaps = np.linalg.norm(curve.points_m - np.asarray(hole.position.at_m), axis=1)
    run = float(curve.run_m[int(np.argmin(gaps))])
    along, off = (float(x[0]) for x in tube.place(curve.at(np.array([run]))))
    beside = max(off - tube.free_m, 0.0)
    beyond = max(abs(along) - 0.5 * hole.depth_m - TUBE_END_M, 0.0)
    if beside > 0.0 or beyond > 0.0:
        return (
            run,
            f"does not go through {hole.name}: it misses the passage by {mm(math.hypot(beside, beyond))}",
        )
    if not _gone_through(tube, curve, run):
        return run, _came_back(hole)
    if not measured:
        return run, f"is said to go through {hole.name} at {stated_m:.3f} m, but does so at {run:.3f} m"
    return run, ""


def _came_back(hole: PassThrough) -> str:
    return f"enters {hole.name} and comes back out on the same side"


def passage_faults(
    tubes: Sequence[Tube | None], cable: Cable, route: Route, curve: Curve
) -> tuple[list[float], list[tuple[float, str]]]:
    """Where each passage is on the curve, and what is wrong with them.

    Returns
    -------
    runs : list of float
        Running length of each passage in order; what is stated where it holds, else the
        place of the curve nearest to the hole. [m]
    faults : list of (float, str)
        Running length [m] and what is wrong there.
    """
    runs: list[float] = []
    faults: list[tuple[float, str]] = []
    for passage, tube in zip(route.passages, tubes, strict=True):
        if tube is None:
            run = passage.at_route_m if math.isfinite(passage.at_route_m) else 0.0
            faults.append((run, f"the job has no pass-through {passage.name}"))
            runs.append(run)
            continue
        hole = tube.pass_through
        run, fault = _find(tube, curve, passage.at_route_m, bool(route.measured))
        wrong = [fault] if fault else []
        if runs and run <= runs[-1]:
            wrong.append(f"{hole.name} is listed after a passage that lies behind it")
        if ANY not in hole.classes and cable.cable_class.value not in hole.classes:
            users = ", ".join(hole.classes)
            wrong.append(f"{hole.name} may be used by {users} only, not by {cable.cable_class}")
        ways = (passage.from_space, passage.to_space)
        if set(ways) != set(hole.joins) or ways[0] == ways[1]:
            wrong.append(f"{hole.name} joins {' and '.join(hole.joins)}, not {' and '.join(ways)}")
        faults += [(run, text) for text in wrong]
        runs.append(run)
    return runs, faults


def order_faults(cable: Cable, route: Route) -> list[str]:
    """Pass-throughs the cable must use, in order, and must not use."""
    used = [p.name for p in route.passages]
    rest = iter(used)
    faults = [
        f"must go through {name}, in the order {', '.join(cable.through)}; it goes through "
        f"{', '.join(used) or 'none'}"
        for name in cable.through
        if name not in rest
    ][:1]
    return faults + [f"must not go through {name}" for name in cable.avoid if name in used]


def fill_faults(
    pass_throughs: Sequence[PassThrough], routed: Sequence[tuple[Cable, Route]]
) -> list[tuple[str, tuple[str, ...], str]]:
    """Overfilled pass-throughs: name, cables in it, what is wrong.

    What is in the hole already counts as one cable of its diameter: how many it really
    is isn't known, and fewer cables are held to the stricter figure.
    """
    faults = []
    for hole in pass_throughs:
        users = [(c.name, c.type.diameter_m) for c, r in routed for p in r.passages if p.name == hole.name]
        if not users:
            continue
        diameters = [d for _, d in users] + ([hole.in_use_m] if hole.in_use_m > 0.0 else [])
        taken, hole_squared = sum(d * d for d in diameters), hole.diameter_m**2
        filled = taken / hole_squared if hole_squared > 0.0 else math.inf
        limit = fill_limit(len(diameters))
        if filled > limit * (1 + 1e-9):
            names = tuple(sorted({name for name, _ in users}))
            already = f" with the {mm(hole.in_use_m)} in use" if hole.in_use_m > 0.0 else ""
            count = f"{len(diameters)} cable{'s' if len(diameters) > 1 else ''}"
            message = (
                f"{hole.name} ({mm(hole.diameter_m)}) is filled to {filled * 100:.0f} % by {', '.join(names)}"
                f"{already}; {limit * 100:.0f} % is allowed for {count} (NEC chapter 9 table 1)"
            )
            faults.append((hole.name, names, message))
    return faults
