"""Which cautions a plan needs, and where: at the hole, at the cable, or before work begins.

Safe side  what is not known to be far is treated as near; a caution too many is no fault
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, Literal

from routecut.documents.caution_texts import CAUTIONS, Caution, Topic
from routecut.documents.figures import Lengths
from routecut.documents.look_first import mounting_holes
from routecut.documents.nearness import distance_m
from routecut.documents.part_words import spoken
from routecut.documents.reading import natural
from routecut.model.job import CableClass, Exposure, HoleState, KeepOut, Reason
from routecut.model.plan import Plan, PlannedCable, PlannedHole
from routecut.model.running import along

DRILLED_NEAR_M: Final = 0.5
"""Nearer than this to a hole that is drilled, a keep-out is named there (common practice, no source)."""

NEAR_M: Final = 0.15
NEAR_TIMES: Final = 3.0
"""A cable, or a hole that is there, is near a keep-out within the first, or within so many times its clearance
(common practice, no source)."""

AT_M: Final = 0.005
"""A keep-out this near to a piece of trim is said to be at it."""

TOPIC_OF: Final[dict[Reason, Topic]] = {
    Reason.HOT: Topic.HOT,
    Reason.MOVING: Topic.MOVING,
    Reason.FUEL: Topic.FUEL,
    Reason.AIRBAG: Topic.AIRBAG,
    Reason.HIGH_VOLTAGE: Topic.HIGH_VOLTAGE,
    Reason.SHARP: Topic.SHARP,
}

PlaceKind = Literal["job", "hole", "cable"]


@dataclass(frozen=True, slots=True)
class Placed:
    """A caution at the place where the hand is.

    Attributes
    ----------
    kind : {"job", "hole", "cable"}
    name : str
        Of the hole or the cable; empty for the whole job.
    caution : Caution
    because : str
        What calls for it here.
    """

    kind: PlaceKind
    name: str
    caution: Caution
    because: str


def is_near(distance_m: float, clearance_m: float) -> bool:
    """Whether a cable this far from a keep-out is near enough to it to be told so."""
    return distance_m < max(NEAR_M, NEAR_TIMES * clearance_m)


def placed_cautions(plan: Plan) -> tuple[Placed, ...]:
    """All cautions of a plan: the job's, then hole by hole, then cable by cable.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of Placed
        No topic twice at one place.
    """
    found = [Placed("job", "", CAUTIONS[t], why) for t, why in _by_topic(_for_job(plan))]
    for hole in sorted(plan.holes, key=lambda h: natural(h.pass_through.name)):
        if hole.drill or hole.cables:
            name = hole.pass_through.name
            found += [Placed("hole", name, CAUTIONS[t], why) for t, why in _by_topic(_for_hole(plan, hole))]
    for planned in plan.cables:
        name = planned.cable.name
        found += [Placed("cable", name, CAUTIONS[t], why) for t, why in _by_topic(_for_cable(plan, planned))]
    return tuple(found)


def at(placed: Iterable[Placed], kind: PlaceKind, name: str = "") -> tuple[Placed, ...]:
    """Those of one place."""
    return tuple(p for p in placed if p.kind == kind and p.name == name)


Reasoned = tuple[Topic, str]


def _by_topic(found: Iterable[Reasoned]) -> list[Reasoned]:
    """One entry for each topic, its reasons joined, in the order in which they came up."""
    reasons: dict[Topic, list[str]] = {}
    for topic, why in found:
        whys = reasons.setdefault(topic, [])
        if why and why not in whys:
            whys.append(why)
    return [(topic, "; ".join(whys)) for topic, whys in reasons.items()]


def _for_job(plan: Plan) -> Iterator[Reasoned]:
    yield Topic.BATTERY, ""
    yield Topic.AIRBAG, _tagged(plan, Reason.AIRBAG) or "every vehicle; none is tagged in this job"
    yield Topic.HIGH_VOLTAGE, _tagged(plan, Reason.HIGH_VOLTAGE) or "none is tagged in this job: look for it"
    yield Topic.FUEL, _tagged(plan, Reason.FUEL) or "none is tagged in this job: look for it"
    for reason in (Reason.HOT, Reason.MOVING, Reason.SHARP):
        tagged = _tagged(plan, reason)
        if tagged:
            yield TOPIC_OF[reason], tagged
    if any(h.drill for h in plan.holes):
        yield Topic.DRILLING, "there are holes to drill"
    if mounting := mounting_holes(plan.job):
        yield Topic.DRILLING, f"mounting holes of {', '.join(mounting)}"
    if any(c.cable.cable_class is CableClass.COAX or c.cable.signal is not None for c in plan.cables):
        yield Topic.RF, "there is a transmitter to connect and test"
    yield Topic.CONTROLS, ""


def _tagged(plan: Plan, reason: Reason) -> str:
    return ", ".join(k.name for k in plan.job.keep_outs if k.reason is reason)


def _for_hole(plan: Plan, hole: PlannedHole) -> Iterator[Reasoned]:
    lengths = Lengths(plan.job.length_unit)
    if hole.drill:
        yield Topic.DRILLING, ""
        card = next((c for c in plan.drilling if c.name == hole.pass_through.name), None)
        for space in hole.pass_through.joins:
            # the side the drill and the tape are held on is seen by who holds them
            seen = card is not None and card.near.space == card.marked_in == space
            if hole.behind_m.get(space) is None and not seen:
                yield Topic.BLIND, f"free depth in {space} is not known"
        if card is not None and card.size.sheets > 1:
            yield Topic.BLIND, "what lies between the sheets is not known"
        yield Topic.HOLE, ""
    elif hole.state is HoleState.FOUND:
        yield Topic.BLIND, "found in the 3D model only: look whether it is there and clear"
    else:
        yield Topic.SHARP, "the rim, unless the grommet is sound: look, and change it where it is not"
    # an existing hole may have to be opened up or its plug cut: what is near counts there too
    for keep_out in plan.job.keep_outs:
        topic = TOPIC_OF.get(keep_out.reason)
        if topic is None:
            continue
        distance = distance_m(hole.at_m, keep_out)
        if distance is None:
            if hole.drill:
                yield topic, f"{keep_out.name}: where it lies was not compared with this hole, look"
        elif distance < DRILLED_NEAR_M if hole.drill else is_near(distance, keep_out.clearance_m):
            yield topic, f"{keep_out.name} {lengths.free(distance)} away"


def _for_cable(plan: Plan, planned: PlannedCable) -> Iterator[Reasoned]:
    cable, route = planned.cable, planned.route
    if cable.cable_class is CableClass.POWER:
        yield Topic.BATTERY, "supply cable"
    if cable.cable_class is CableClass.COAX:
        yield Topic.RF, "antenna cable"
    if route is None:
        return
    lengths = Lengths(plan.job.length_unit)
    near: dict[Topic, list[str]] = {}
    for keep_out, distance in _near(plan, planned):
        told = (
            f"{keep_out.name} {lengths.free(distance)} away{where_nearest(lengths, planned, keep_out.name)}"
        )
        near.setdefault(TOPIC_OF[keep_out.reason], []).append(told)
    for topic, named in near.items():
        yield topic, ", ".join(named)
    yield from _behind_trim(plan, planned)
    hot = {s.name for s in plan.job.spaces if Exposure.HOT in s.exposure}
    for space in dict.fromkeys(route.spaces):
        if space in hot:
            yield Topic.HOT, f"runs through {space}"
    for hinge in route.hinges:
        yield Topic.MOVING, f"crosses the hinge {hinge.name}"


def where_nearest(lengths: Lengths, planned: PlannedCable, keep_out: str) -> str:
    """Where along its run a cable is nearest to a keep-out, with a blank before it; empty where it is not known."""
    at_m = {} if planned.verified is None else planned.verified.least_clearance_at_m
    return f" at {lengths.text(along(planned)(at_m[keep_out]))} of the run" if keep_out in at_m else ""


def _behind_trim(plan: Plan, planned: PlannedCable) -> Iterator[Reasoned]:
    """Keep-outs near the trim that comes off for this cable: the hand is there before the cable is."""
    if plan.service is None:
        return
    lengths = Lengths(plan.job.length_unit)
    spaces = [space.name for space in plan.job.spaces]
    reasons = {k.name: k.reason for k in plan.job.keep_outs}
    trims = {trim.name: trim for trim in plan.service.trims}
    for name in dict.fromkeys(cover.trim for cover in planned.covered):
        by_topic: dict[Topic, list[str]] = {}
        for keep_out, far in trims[name].near if name in trims else ():
            topic = TOPIC_OF.get(reasons.get(keep_out, Reason.OTHER))
            if topic is not None:
                gap = "at it" if far < AT_M else f"{lengths.free(far)} from it"
                by_topic.setdefault(topic, []).append(f"{keep_out} {gap}")
        for topic, named in by_topic.items():
            yield topic, f"near {spoken(name, spaces=spaces)}, which has to come off: {', '.join(named)}"


def _near(plan: Plan, planned: PlannedCable) -> Iterator[tuple[KeepOut, float]]:
    """The keep-outs near this route (`is_near`), the nearest first."""
    if planned.verified is None:
        return
    by_name = {k.name: k for k in plan.job.keep_outs}
    known = planned.verified.least_clearance_m
    for name in sorted(known, key=lambda name: (known[name], name)):
        keep_out = by_name.get(name)
        applies = keep_out is not None and keep_out.reason in TOPIC_OF
        if keep_out is not None and applies and is_near(known[name], keep_out.clearance_m):
            yield keep_out, max(known[name], 0.0)
