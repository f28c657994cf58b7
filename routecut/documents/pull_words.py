"""How a cable goes in, in words: which end leads, and what comes off first.

Stage      documents; read off the plan, nothing is measured
Source     which end leads: common practice, no source
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from routecut.documents.part_words import spoken
from routecut.documents.reading import natural, plugs_pass
from routecut.model.job import MadeUp
from routecut.model.plan import Plan, PlannedCable, Route
from routecut.tables import limits_in_force
from routecut.units import to_m

LEADS: Final = "common practice, no source"


@dataclass(frozen=True, slots=True)
class ComesOff:
    """A piece of trim: how it is called, the minutes it takes (0 not known), the cables behind it."""

    trim: str
    minutes: float
    cables: tuple[str, ...]


def leading_end(plan: Plan, planned: PlannedCable) -> tuple[str, str]:
    """Which end is pushed or drawn through first, and why.

    Returns
    -------
    str, str
        ``device.port`` and the reason; the port is empty where the cable is laid in.
    """
    cable, route = planned.cable, planned.route
    if route is None or not route.passages:
        return "", "there is no hole to pass"
    ends = [plan.job.port(cable.from_port), plan.job.port(cable.to_port)]
    if plugs_pass(plan.job, planned):
        sizes = [p.connector_diameter_m for p in ends]
        if min(sizes) > 0.0 and sizes[0] != sizes[1]:
            return ends[sizes.index(min(sizes))].full_name, "its connector is the smaller one"
    else:
        bare = [p for p in ends if p.made_up is MadeUp.IN_VEHICLE]
        if len(bare) == 1:
            return bare[0].full_name, "it gets its connector after pulling"
    drawn = {cable.to_port: route.length_m - route.passages[0].at_route_m}
    drawn[cable.from_port] = route.passages[-1].at_route_m
    return min(drawn, key=lambda port: (drawn[port], port)), "less of the cable is drawn through the holes"


def comes_off(plan: Plan, cables: Iterable[PlannedCable]) -> list[ComesOff]:
    """The trim in front of some cables, the quickest to come off first; what takes unknown time last."""
    minutes: dict[str, float] = {}
    behind: dict[str, list[str]] = {}
    for planned in cables:
        for cover in planned.covered:
            minutes[cover.trim] = cover.minutes
            named = behind.setdefault(cover.trim, [])
            if planned.cable.name not in named:
                named.append(planned.cable.name)
    spaces = [space.name for space in plan.job.spaces]
    order = sorted(behind, key=lambda trim: (minutes[trim] == 0.0, minutes[trim], natural(trim)))
    return [
        ComesOff(
            trim=spoken(trim, spaces=spaces),
            minutes=minutes[trim],
            cables=tuple(sorted(behind[trim], key=natural)),
        )
        for trim in order
    ]


def minutes_text(minutes: float) -> str:
    """What it takes to take something off.

    Examples
    --------
    >>> minutes_text(8.0), minutes_text(0.0)
    ('8 min', 'time not given')
    """
    return f"{minutes:g} min" if minutes > 0.0 else "time not given"


def support_m(plan: Plan) -> float:
    """The widest a cable may go between clips under the rules of the job. [m]"""
    return to_m(limits_in_force(plan.job.rules.profile, plan.job.rules.limits)["support_mm"].value, "mm")


def clip_places(route: Route, every_m: float) -> list[float]:
    """Where a cable is clipped along its run: each clip as far on as it may be, on something to clip to. [m]

    Examples
    --------
    >>> from types import SimpleNamespace as N
    >>> clip_places(N(length_m=3.0, parts=(("sill", 0.25, 1.25), ("floor", 2.0, 3.0))), 0.5)
    [0.5, 1.0, 1.25, 2.0, 2.5]
    """
    places, last = [], 0.0
    for k, (_, start, end) in enumerate(route.parts):
        following = route.parts[k + 1][1] if k + 1 < len(route.parts) else route.length_m
        at = max(last + every_m, start)
        while at <= end and at < route.length_m:
            places.append(at)
            last, at = at, at + every_m
        if following > last + every_m and end > last:
            places.append(end)
            last = end
    return places
