"""How a cable goes in, in words: which end leads, and what comes off first.

Stage      documents; read off the plan, nothing is measured
Source     which end leads: common practice, no source
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from operator import itemgetter
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
    tied: dict[str, list[_Stretch]] = defaultdict(list)  # of each cable: where it lies in bundles
    for bundle in plan.bundles:
        clips: list[tuple[float, int]] = []
        for m in bundle.members:
            if m.from_m != m.to_m:
                tied[m.cable].append(_Stretch(m.from_m, m.to_m, clips))
    routed = [c for c in plan.cables if c.route is not None]
    for planned in sorted(
        routed, key=lambda c: (-_long(c), natural(c.cable.name))
    ):  # the longest sets the pace of its bundle
        name = planned.cable.name
        for at_m, shared in _places(planned.route, every_m, tied[name]):
            if shared is None:
                held.append([])
            number = len(held) - 1 if shared is None else shared
            held[number].append((name, at_m))
            for stretch in tied[name]:
                stretch.add(at_m, number)
    return tuple(Clip(tuple(cables)) for cables in held)


def clips_along(plan: Plan, name: str) -> Sequence[tuple[float, Clip]]:
    """The clips of one cable in the order of its run, each with where along it. [m]"""
    return _by_cable(plan).get(name, ())


@lru_cache(maxsize=1)
def _by_cable(plan: Plan) -> dict[str, list[tuple[float, Clip]]]:
    found: dict[str, list[tuple[float, Clip]]] = defaultdict(list)
    for clip in clips_of(plan):
        for name, at_m in clip.held:
            found[name].append((at_m, clip))
    for clips in found.values():
        clips.sort(key=itemgetter(0))
    return found


def _long(planned: PlannedCable) -> float:
    return 0.0 if planned.route is None else round(planned.route.length_m, 4)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Where a cable lies in one bundle, from where to where of its run [m], and the clips of that bundle.

    The clips are those of all its cables, each as its share of the bundle's length and its number, in order:
    looked up in them, 2,000 cables tied together take as long for each as two do.
    """

    from_m: float
    to_m: float
    clips: list[tuple[float, int]]

    def add(self, at_m: float, number: int) -> None:
        """A clip of this cable, where it lies within the bundle."""
        share = (at_m - self.from_m) / (self.to_m - self.from_m)
        place = bisect_left(self.clips, (share, number))
        if 0.0 <= share <= 1.0 and self.clips[place : place + 1] != [(share, number)]:
            self.clips.insert(place, (share, number))

    def furthest(self, until_m: float) -> tuple[float, int] | None:
        """The clip furthest along this cable, up to a place of its run: where [m], and which."""
        span_m = self.to_m - self.from_m
        share = (until_m - self.from_m) / span_m
        if span_m > 0.0:
            place = bisect_right(self.clips, share, key=itemgetter(0)) - 1
        else:
            place = bisect_left(self.clips, share, key=itemgetter(0))
        if not 0 <= place < len(self.clips):
            return None
        share, number = self.clips[place]
        return self.from_m + span_m * share, number


def _places(
    route: Route | None, every_m: float, tied: Sequence[_Stretch]
) -> Iterator[tuple[float, int | None]]:
    """Each clip from the last: one its bundles have already, else a new one; where [m], and which it is.

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
        found = [stretch.furthest(last + every_m * (1.0 + 1e-9)) for stretch in tied]
        if ahead := [clip for clip in found if clip is not None and clip[0] > last + _APART_M]:
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
