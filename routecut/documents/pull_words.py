"""How a cable goes in, in words: which end leads, and what comes off first.

Stage      documents; read off the plan, nothing is measured
Source     which end leads: common practice, no source
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from routecut.documents.part_words import spoken
from routecut.documents.reading import natural, plugs_pass
from routecut.model.job import MadeUp
from routecut.model.plan import Plan, PlannedCable, Route
from routecut.tables import limits_in_force
from routecut.units import to_m

LEADS: Final = "common practice, no source"

_APART_M: Final = 0.005
"""A clip is further on than this from the last one."""


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


def bare_text(plan: Plan, planned: PlannedCable) -> str:
    """That a cable goes in with both ends bare; empty where one is made up before, or it comes with its connectors."""
    ends = (plan.job.port(planned.cable.from_port), plan.job.port(planned.cable.to_port))
    if planned.cable.ready_made or any(port.made_up is not MadeUp.IN_VEHICLE for port in ends):
        return ""
    return "neither is terminated before pulling; both are made up in the vehicle."


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


def off_in_order(plan: Plan, planned: PlannedCable) -> list[ComesOff]:
    """The trim to take off for one cable, in the order of the work, with what overlaps it and comes off before.

    The order is that of the service study; without one, as `comes_off`.
    """
    if plan.service is None:
        return comes_off(plan, [planned])
    trims = {trim.name: trim for trim in plan.service.trims}
    minutes = {cover.trim: cover.minutes for cover in planned.covered}
    wanted = list(minutes)
    for name in wanted:  # grows as it goes
        before = trims[name].after if name in trims else ()
        wanted += [b for b in before if b not in wanted]
    place = {name: number for number, name in enumerate(plan.service.strip.trims)}
    spaces = [space.name for space in plan.job.spaces]
    return [
        ComesOff(
            trim=spoken(name, spaces=spaces),
            minutes=trims[name].minutes if name in trims else minutes[name],
            cables=(planned.cable.name,) if name in minutes else (),
        )
        for name in sorted(wanted, key=lambda name: (place.get(name, len(place)), natural(name)))
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


Runs = Mapping[str, tuple[float, float]]
"""From where to where of its run each cable of a bundle lies in it. [m]"""


@dataclass(frozen=True, slots=True)
class Clip:
    """One clip: the cables under it, each with where along its run. [m]"""

    held: tuple[tuple[str, float], ...]


@lru_cache(maxsize=1)  # asked for every cable, and of one plan
def clips_of(plan: Plan) -> tuple[Clip, ...]:
    """Where cables are clipped; those tied together share a clip.

    Notes
    -----
    The longest cable first. Each next clip of a cable is the furthest one within the rule's distance that
    is there already for a cable of its bundle; where there is none, as far on as it may be on something to
    clip to. So no cable is further from clip to clip than the rule says, but over a free span.
    """
    every_m = support_m(plan)
    held: list[list[tuple[str, float]]] = []
    under: dict[str, list[tuple[float, int]]] = defaultdict(list)  # of each cable: where, and which clip
    runs: dict[str, list[Runs]] = defaultdict(list)  # of each cable: where those of each of its bundles lie
    for bundle in plan.bundles:
        together = {m.cable: (m.from_m, m.to_m) for m in bundle.members}
        for cable in together:
            runs[cable].append(together)
    routed = [c for c in plan.cables if c.route is not None]
    for planned in sorted(
        routed, key=lambda c: (-_long(c), natural(c.cable.name))
    ):  # the longest sets the pace of its bundle
        name = planned.cable.name
        there = sorted(_in_bundle(runs[name], name, under))
        for at_m, shared in _places(planned.route, every_m, there):
            if shared is None:
                held.append([])
            number = len(held) - 1 if shared is None else shared
            held[number].append((name, at_m))
            under[name].append((at_m, number))
    return tuple(Clip(tuple(cables)) for cables in held)


def clips_along(clips: Iterable[Clip], name: str) -> list[tuple[float, Clip]]:
    """The clips of one cable in the order of its run."""
    mine = ((at, clip) for clip in clips for cable, at in clip.held if cable == name)
    return sorted(mine, key=lambda pair: pair[0])


def _long(planned: PlannedCable) -> float:
    return 0.0 if planned.route is None else round(planned.route.length_m, 4)


def _in_bundle(
    bundles: Iterable[Runs], name: str, under: Mapping[str, Sequence[tuple[float, int]]]
) -> Iterator[tuple[float, int]]:
    """Clips that hold a mate of a cable where they run together: where along the cable, and which."""
    for runs in bundles:
        start, end = runs[name]
        for mate, (first, last) in runs.items():
            if first == last:
                continue
            for at_m, number in under.get(mate, ()):
                if min(first, last) <= at_m <= max(first, last):
                    yield start + (end - start) * (at_m - first) / (last - first), number


def _places(
    route: Route | None, every_m: float, there: Sequence[tuple[float, int]]
) -> Iterator[tuple[float, int | None]]:
    """Each clip from the last: one that is `there` already, else a new one; where [m], and which it is.

    A new one is as far on as it may be, on something to clip to.

    Examples
    --------
    >>> from types import SimpleNamespace as N
    >>> route = N(length_m=3.0, parts=(("sill", 0.25, 1.25), ("floor", 2.0, 3.0)))
    >>> [at for at, _ in _places(route, 0.5, ())]
    [0.5, 1.0, 1.25, 2.0, 2.5]
    """
    last = 0.0
    while route is not None and route.length_m - last > every_m * (1.0 + 1e-9):
        ahead = [c for c in there if last + _APART_M < c[0] <= last + every_m * (1.0 + 1e-9)]
        if ahead:
            last, shared = max(ahead)
            yield last, shared
            continue
        reached = last + every_m
        within = [min(end, reached) for _, start, end in route.parts if start <= reached and end > last]
        beyond = [start for _, start, _ in route.parts if start > reached]
        following = max((at for at in within if at > last), default=min(beyond, default=route.length_m))
        if following >= route.length_m:
            return
        last = following
        yield last, None
