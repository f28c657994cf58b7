"""The cautions of an answer about service: what is near the hand, not what is near the cable somewhere else.

Safe side  battery and airbags are always told
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from routecut.documents.caution_texts import CAUTIONS, Topic
from routecut.documents.cautions import AT_M, TOPIC_OF, at, is_near, placed_cautions
from routecut.documents.figures import Lengths
from routecut.documents.keep_out_words import close_by_text
from routecut.documents.nearness import distance_m
from routecut.documents.reading import natural
from routecut.documents.service_reach import trim_text
from routecut.model.fitout import CableClass
from routecut.model.job import Exposure, KeepOut, Reason
from routecut.model.plan import Plan
from routecut.model.service import Answer, Asked, Focus

_DRILLING = {Topic.DRILLING, Topic.BLIND, Topic.HOLE}


def caution_lines(plan: Plan, answer: Answer, *, at_steps: bool = False) -> Iterator[str]:
    """The cautions in short, a line for each topic.

    `at_steps`: without those of trim, which stand where it comes off (`step_cautions`).
    """
    by_topic: dict[Topic, list[str]] = {}
    for topic, of_trim, what in _noticed(plan, answer):
        if not (at_steps and of_trim):
            by_topic.setdefault(topic, []).append(what)
    for topic, found in by_topic.items():
        yield f"CAUTION {topic}: {'; '.join(dict.fromkeys(found))}"
    if answer.asked is Asked.CABLE:
        planned = next(c for c in plan.cables if c.cable.name == answer.name)
        if close := close_by_text(plan, planned):
            yield f"CAUTION: {close}"


def step_cautions(plan: Plan, answer: Answer, trim: str) -> str:
    """What to mind where a piece of trim comes off, in a few words; empty when nothing is near."""
    return _near_text(plan, [(named, far) for of, named, far in answer.near if of == trim])


def trim_cautions(plan: Plan) -> dict[str, str]:
    """The same for all trim, by the name it goes by; nothing of trim that nothing is near."""
    trims = () if plan.service is None else plan.service.trims
    return {trim_text(plan, t.name): text for t in trims if (text := _near_text(plan, t.near))}


def drawn_cautions(plan: Plan) -> Iterator[str]:
    """What lies near the cables, where all of them are drawn out: a line for each topic."""
    lengths, by_topic = Lengths(plan.job.length_unit), dict[Topic, list[str]]()
    for keep_out in plan.job.keep_outs:
        topic = TOPIC_OF.get(keep_out.reason)
        found = sorted(
            (far, natural(c.cable.name), c.cable.name)
            for c in plan.cables
            if c.verified is not None
            and (far := c.verified.least_clearance_m.get(keep_out.name)) is not None
            and is_near(far, keep_out.clearance_m)
        )
        if topic is not None and found:
            near = ", ".join(f"{name} {lengths.free(max(far, 0.0))}" for far, _, name in found)
            by_topic.setdefault(topic, []).append(f"{keep_out.name} (from {near})")
    for topic, told in by_topic.items():
        yield f"CAUTION {topic}: {'; '.join(told)}"


def _near_text(plan: Plan, near: Iterable[tuple[str, float]]) -> str:
    """Keep-outs near a piece of trim, by topic."""
    lengths = Lengths(plan.job.length_unit)
    by_topic: dict[Topic, list[str]] = {}
    for named, far in near:
        topic = TOPIC_OF.get(_reason_of(plan, named))
        if topic is not None:
            gap = "at it" if far < AT_M else lengths.free(far)
            by_topic.setdefault(topic, []).append(f"{named} {gap}")
    return "; ".join(f"CAUTION {topic}: {', '.join(found)}" for topic, found in by_topic.items())


def _noticed(plan: Plan, answer: Answer) -> Iterator[tuple[Topic, bool, str]]:
    """Each caution with its topic, whether it is about trim that comes off, and what it is near or about."""
    lengths = Lengths(plan.job.length_unit)
    for trim, named, far in answer.near:
        topic = TOPIC_OF.get(_reason_of(plan, named))
        if topic is not None:
            gap = "at" if far < AT_M else f"{lengths.free(far)} from"
            yield topic, True, f"{named} {gap} {trim_text(plan, trim)}"
    for keep_out in plan.job.keep_outs:
        topic = TOPIC_OF.get(keep_out.reason)
        found = None if topic is None else _nearest(answer, keep_out)
        if topic is not None and found is not None:
            far, name = found
            yield topic, False, f"{keep_out.name} {lengths.free(far)} from {name}"
    if answer.asked is Asked.KEEP_OUT:
        topic = TOPIC_OF.get(_reason_of(plan, answer.name))
        if topic is not None:
            yield topic, False, f"{answer.name} is worked on"
    hot = {s.name for s in plan.job.spaces if Exposure.HOT in s.exposure}
    for space in dict.fromkeys(p.space for p in answer.places if p.space in hot):
        yield Topic.HOT, False, f"{space} is a hot space"
    classes = {c.cable.cable_class for c in plan.cables if c.cable.name in answer.cables}
    if CableClass.COAX in classes and answer.asked is not Asked.CABLE:
        yield Topic.RF, False, "an antenna cable is worked on"
    placed = placed_cautions(plan)
    if answer.asked is Asked.CABLE:
        run = at(placed, "cable", answer.name)
    else:
        run = at(placed, "hole", answer.name) if answer.asked is Asked.HOLE else ()
    for p in run:
        if p.because and p.caution.topic not in _DRILLING:
            where = "along its run, " if answer.asked is Asked.CABLE else ""
            yield p.caution.topic, False, f"{where}{p.because}"


def topics(plan: Plan, answer: Answer) -> tuple[Topic, ...]:
    """The cautions that an answer needs in full."""
    if answer.focus in {Focus.FUSES, Focus.SPARE}:
        return (Topic.BATTERY,)
    if answer.focus is Focus.BODY and answer.asked is Asked.JOB:
        return (Topic.BATTERY, Topic.AIRBAG, Topic.FUEL)
    told = (topic for topic, _, _ in _noticed(plan, answer))
    return tuple(dict.fromkeys((Topic.BATTERY, Topic.AIRBAG, *told)))


def caution_text(topic: Topic) -> str:
    """A caution in full."""
    return f"CAUTION {topic}: {CAUTIONS[topic].text}"


def _nearest(answer: Answer, keep_out: KeepOut) -> tuple[float, str] | None:
    """The place of an answer that is nearest to a keep-out, if it is near."""
    found = [
        (far, place.name)
        for place in answer.places
        if (far := distance_m(place.at_m, keep_out)) is not None and is_near(far, keep_out.clearance_m)
    ]
    return min(found, default=None)


def _reason_of(plan: Plan, keep_out: str) -> Reason:
    return next((k.reason for k in plan.job.keep_outs if k.name == keep_out), Reason.OTHER)
