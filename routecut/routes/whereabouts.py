"""In which space a place along a route lies.

Units      m
"""

from __future__ import annotations

from routecut.model.body import Floats
from routecut.model.job import Job
from routecut.model.plan import Route


def space_at(job: Job, route: Route, at_m: float, point_m: Floats) -> str:
    """The name of the space of a point of a route; empty where the route is in none.

    Between the same two holes a route may run through several spaces that are open to each other.
    """
    before = [p for p in route.passages if p.at_route_m <= at_m]
    after = [p for p in route.passages if p.at_route_m > at_m]
    if before and after and before[-1].to_space == after[0].from_space:
        return before[-1].to_space
    # what a hole was left for, or is entered next, is not the space the place lies in
    barred = {p.from_space for p in before[-1:]} | {p.to_space for p in after[:1]}
    for space in job.spaces:
        if space.name in route.spaces and space.name not in barred and space.holds(point_m):
            return space.name
    if before:
        return before[-1].to_space
    return after[0].from_space if after else (route.spaces[0] if route.spaces else "")
