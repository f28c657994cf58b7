"""One more cable: what room the holes have, which way it goes, what it follows and what comes off.

Stage      documents
Units      m in; the job's unit out; diameters in mm; minutes
Safe side  a plug may need more room than its cable; other kinds of cable are to be kept apart
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from routecut.documents.figures import Lengths, count, millimetres, share
from routecut.documents.reading import hole_numbers
from routecut.documents.service_cautions import caution_lines
from routecut.documents.service_reach import Section, minutes_in_all, reach_text, trim_text
from routecut.model.job import ANY
from routecut.model.one_more import OneMore, SpareHole
from routecut.model.plan import Plan
from routecut.model.record import Record
from routecut.model.service import Answer, Removal

_ARROW: Final = " \N{RIGHTWARDS ARROW} "
_MOST: Final = 4
"""Cables to follow that are named; the first is the one to follow."""

MIND: Final = (
    "By the cable alone: a plug needs the room of the plug, so pass it first or put it on after. Supply leads, coax "
    "and what carries speech or data go through holes of their own where there is one, and cross at a right angle. A "
    "grommet with one bore is changed for one that fits, a gland for one with another insert, and sealed again "
    "(common practice, no source)."
)


def only_room(plan: Plan, answer: Answer, _record: Record) -> list[Section]:
    """One more cable from space to space; without spaces every hole with its room."""
    if answer.one_more is None:
        rooms = [f"{hole_text(plan, h)}; {got_at(plan, h)}" for h in answer.spare_holes]
        unused = [h.hole for h in answer.spare_holes if not h.used_by]
        none = "No hole is there in this job: one more cable asks for a new one (routecut drill)."
        return [
            Section(
                "In short",
                (f"Not used by this job: {', '.join(unused) or 'none, every hole has a cable in it'}.",),
            ),
            Section("Room in the holes, the most first", tuple(rooms) or (none,)),
            Section("Mind", (MIND,)),
        ]
    return [*more_sections(plan, answer.one_more), Section("Mind", (MIND, *caution_lines(plan, answer)))]


def more_sections(plan: Plan, way: OneMore) -> Iterator[Section]:
    """The way of one more cable."""
    if not way.crossings and way.start != way.end:
        yield Section("Way", (_no_way(way),))
        yield Section("Full, too small or not for it", tuple(hole_text(plan, h) for h in way.full))
        return
    yield Section("Way", (way_text(way),))
    yield Section(
        "Room, hole by hole, the quickest to get at first",
        tuple(
            f"{c.from_space} to {c.to_space}: {hole_text(plan, h)}; {got_at(plan, h)}"
            for c in way.crossings
            for h in c.holes
        ),
    )
    yield Section("Takes it no more", tuple(hole_text(plan, h) for h in way.full))
    yield Section("Follow", (follow_text(plan, way),))
    yield Section(
        "Take off, to get at these holes and at the clips of what it follows", (off_text(plan, way),)
    )


def _no_way(way: OneMore) -> str:
    kind = f" for {way.cable_class}" if way.cable_class else ""
    thick = kind + (
        f" {'of' if kind else 'for'} {millimetres(way.diameter_m)}" if way.diameter_m > 0.0 else ""
    )
    return (
        f"No way{thick} from {way.start} to {way.end} through the holes that are there: take a cable out of one that "
        "is full, or drill (routecut drill says where)"
    )


def way_text(way: OneMore) -> str:
    """From space to space, with the hole that is best for each crossing."""
    if way.start == way.end:
        return f"both ends in {way.start}: no hole to pass"
    told = [way.start]
    for c in way.crossings:
        by = f"{c.holes[0].hole}{_ARROW}" if c.holes else ""
        told.append(f"{by}{c.to_space}")
    return _ARROW.join(told)


def hole_text(plan: Plan, hole: SpareHole) -> str:
    """A hole, how full it is and what still goes in."""
    number = hole_numbers(plan).get(hole.hole)
    named = f"{hole.hole} (H{number})" if number is not None else hole.hole
    through = next(h.pass_through for h in plan.holes if h.pass_through.name == hole.hole)
    told = [f"{named}: {millimetres(hole.clear_m)} clear"]
    if through.in_use_m > 0.0:
        told.append(f"{millimetres(through.in_use_m)} of the vehicle's own in it")
    if hole.used_by:
        told.append(f"{share(round(hole.filled, 2))} filled by {count(len(hole.used_by), 'cable')}")
    else:
        told.append("not used by this job")
    told.append(f"takes one more up to {room_text(hole)}" if hole.largest_m > 0.0 else "TAKES NO MORE")
    if ANY not in through.classes:
        told.append(f"only for {', '.join(through.classes)}")
    if not through.confirmed:
        told.append("nobody has seen it yet: look first")
    return ", ".join(told)


def room_text(hole: SpareHole) -> str:
    """The thickest that still goes in, and the share that may be filled then."""
    return f"{millimetres(hole.largest_m)} thick (at most {share(hole.most)} then)"


def got_at(plan: Plan, hole: SpareHole) -> str:
    """What comes off to get at both of its sides."""
    places = {} if plan.service is None else {p.key: p for p in (*plan.service.places, *plan.service.unused)}
    told = [f"from {places[k].space}: {reach_text(plan, places[k])}" for k in hole.sides if k in places]
    return "; ".join(told) or "how it is got at is not known: plan again for it"


def follow_text(plan: Plan, way: OneMore) -> str:
    """The cable it is laid along, what that is tied to, and where it leaves it for a hole of its own."""
    if way.start == way.end:
        return f"whatever is clipped in {way.start} near it"
    tied = f"; they are tied in {', '.join(way.bundles)}" if way.bundles else ""
    if way.follow:
        others = f"; the same way go {', '.join(way.follow[1:_MOST])}" if len(way.follow) > 1 else ""
        return f"{_followed(plan, way.follow[0])}{others}{tied}{_own_holes(plan, way, way.follow[:1])}"
    parts = [
        f"{c.from_space} to {c.to_space}: "
        + (_followed(plan, c.follow[0]) if c.follow else "no cable, lay it along panels and clip it")
        for c in way.crossings
    ]
    firsts = tuple(c.follow[0] for c in way.crossings if c.follow)
    return f"no cable goes all of this way; {'; '.join(parts)}{tied}{_own_holes(plan, way, firsts)}"


def _followed(plan: Plan, name: str) -> str:
    lengths = Lengths(plan.job.length_unit)
    planned = next(c for c in plan.cables if c.cable.name == name)
    cable, route = planned.cable, planned.route
    run = "" if route is None else f", {lengths.text(route.length_m)} of run"
    return f"{name} ({cable.cable_class}, {cable.from_port} to {cable.to_port}{run})"


def _own_holes(plan: Plan, way: OneMore, follow: tuple[str, ...]) -> str:
    """That a cable that is followed goes through another hole than the one that is best."""
    used = {
        p.name
        for c in plan.cables
        if c.cable.name in follow and c.route is not None
        for p in c.route.passages
    }
    own = [
        f"{c.holes[0].hole} in place of {', '.join(theirs)}"
        for c in way.crossings
        if c.holes
        and c.holes[0].hole not in used
        and (theirs := [h.hole for h in c.holes[1:] if h.hole in used])
    ]
    return f"; at the hole leave it: {'; '.join(own)}" if own else ""


def off_text(plan: Plan, way: OneMore) -> str:
    """Trim in its order, with the minutes."""
    if not way.trims:
        return "Nothing."
    removal = Removal(trims=way.trims, minutes=way.minutes, unknown=way.unknown)
    return f"{', '.join(trim_text(plan, t) for t in way.trims)}: {minutes_in_all(removal)}."
