"""Running lengths as a tape along the cable reads them: where a stretch was measured with a string, by the string.

Stage      model; the curve of a route stays as it was laid, what a string says moves what comes after
Units      m along the curve in, m along the cable out
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from routecut.model.plan import PlannedCable, Route


def curve_m(route: Route) -> float:
    """Length of the curve, without what strings make of it. [m]"""
    return route.length_m - math.fsum(s.measured_m - s.computed_m for s in route.measured)


def along(planned: PlannedCable) -> Callable[[float], float]:
    """What a place on the curve of a cable is along the cable.

    A stretch that was measured counts as measured, evenly over its length; where two overlap, the one that
    begins first.

    Parameters
    ----------
    planned : PlannedCable
        With a route.

    Returns
    -------
    callable
        From running length on the curve to running length on the cable. [m]
    """
    knots = _knots(planned)
    return lambda at_m: _between(knots, at_m)


def on_curve(planned: PlannedCable, at_m: float) -> float:
    """Where on its curve a place is that a tape along the cable found: the reverse of `along`. [m]"""
    return _between([(told, at) for at, told in _knots(planned)], at_m)


def _between(knots: list[tuple[float, float]], at_m: float) -> float:
    for (a, from_m), (b, to_m) in pairwise(knots):
        if a <= at_m <= b and b > a:
            return from_m + (to_m - from_m) * (at_m - a) / (b - a)
    return knots[-1][1] + at_m - knots[-1][0] if at_m > knots[-1][0] else at_m


def _knots(planned: PlannedCable) -> list[tuple[float, float]]:
    """Places on the curve and what they are along the cable, in order. [m]"""
    route = planned.route
    if route is None or not route.measured:
        return [(0.0, 0.0)]
    end = curve_m(route)
    place = {planned.cable.from_port: 0.0, planned.cable.to_port: end}
    place |= {p.name: p.at_route_m for p in route.passages}
    spans = sorted(
        (*sorted((place[s.from_name], place[s.to_name])), s.measured_m)
        for s in route.measured
        if s.from_name in place and s.to_name in place
    )
    knots = [(0.0, 0.0)]
    for low, high, measured in spans:
        at, told = knots[-1]
        if low < at or high <= low:
            continue
        knots += [(low, told + low - at), (high, told + low - at + measured)]
    at, told = knots[-1]
    knots.append((max(end, at), told + max(end - at, 0.0)))
    return knots
