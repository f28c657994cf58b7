"""Known places along a route, and the stretches between them that are computed or measured.

Stage      cutlist
Units      m; positions along the run are those of the computed curve
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from routecut.model.body import Floats
from routecut.model.job import Cable, Vec3
from routecut.model.plan import Route
from routecut.routes.polyline import points_at, running_m

TAUT_M = 0.200
"""Over so much of a route the direction is taken in which a place at its end pulls it. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A run between two known places that follow each other. [m]

    `open_m` is what of it is computed, not measured with a string.
    """

    from_name: str
    to_name: str
    from_m: float
    to_m: float
    open_m: float


def places(cable: Cable, route: Route) -> list[tuple[str, float]]:
    """Ports and pass-throughs in order along the route, with where they are. [m]"""
    end = float(running_m(route.points_m)[-1])
    holes = [(p.name, min(max(p.at_route_m, 0.0), end)) for p in route.passages]
    return [(cable.from_port, 0.0), *sorted(holes, key=lambda h: h[1]), (cable.to_port, end)]


def measured_spans(cable: Cable, route: Route) -> list[tuple[float, float]]:
    """From where to where strings were laid, joined where they overlap. [m]"""
    at: dict[str, float] = dict(places(cable, route))
    spans = sorted(
        (min(at[s.from_name], at[s.to_name]), max(at[s.from_name], at[s.to_name]))
        for s in route.measured
        if s.from_name in at and s.to_name in at
    )
    joined: list[tuple[float, float]] = []
    for low, high in spans:
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined


def legs(cable: Cable, route: Route) -> list[Leg]:
    """The runs between neighbouring places."""
    spans = measured_spans(cable, route)
    found = []
    for (first, low), (second, high) in pairwise(places(cable, route)):
        covered = sum(max(0.0, min(high, b) - max(low, a)) for a, b in spans)
        found.append(
            Leg(
                from_name=first,
                to_name=second,
                from_m=low,
                to_m=high,
                open_m=max(0.0, high - low - covered),
            )
        )
    return found


def pulls(
    cable: Cable, route: Route, axes: dict[str, Vec3], open_legs: list[bool]
) -> list[tuple[str, Floats]]:
    """For each place, by what vector its displacement changes the length of what is computed.

    Parameters
    ----------
    axes : dict of str to Vec3
        Axes of the pass-throughs: a hole moves in its sheet, not out of it.
    open_legs : list of bool
        As long as `legs`: whether the leg is computed.

    Returns
    -------
    list of (str, (3,) float64)
        To first order the length changes by the vector times the displacement. [-]
    """
    run = running_m(route.points_m)
    known = places(cable, route)
    found = []
    for k, (name, at) in enumerate(known):
        pull = np.zeros(3)
        for leg, towards in ((k - 1, -1.0), (k, 1.0)):
            if not 0 <= leg < len(open_legs) or not open_legs[leg]:
                continue
            other = known[k + int(towards)][1]
            reach = min(TAUT_M, abs(other - at))
            here, there = points_at(np.array([at, at + towards * reach]), run, route.points_m)
            along = there - here
            size = float(np.linalg.norm(along))
            if size > 0.0:
                pull -= along / size
        if name in axes:
            axis = np.array(axes[name])
            pull -= (pull @ axis) * axis
        found.append((name, pull))
    return found
