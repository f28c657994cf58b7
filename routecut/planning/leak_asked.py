"""Water that comes in: at a hole that is named, at those of a cable, a device or a space, or at any.

Stage      planning; names only
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from routecut.documents.service_leak import wet_holes
from routecut.errors import OutOfRangeError
from routecut.model.plan import Plan
from routecut.model.service import Answer, Asked, Focus
from routecut.planning.questions import Calls, Question, Thing, folded, meant, understood
from routecut.service import answer

_LEAK: Final = re.compile(
    r"\b(leak(s|ed|ing|age|y)?|water(proof|tight)?|damp|drips?|dripping|drip loops?|rain(water)?|seal(s|ed|ing|ant)?"
    r"|(is|are|gets?|got|comes|runs) wet)\b"
)


def leak_question(plan: Plan, called: Calls, text: str) -> Question | None:
    """What a text asks of water at holes; None where it tells of none."""
    whole = folded(text)
    if whole in called or not _LEAK.search(whole):
        return None
    rest = " ".join(_LEAK.sub(" ", whole).split())
    things, taken = meant(called, whole), ""
    if not things:
        try:
            found = understood(called, rest)
        except OutOfRangeError:
            found = Question()
        things, taken = list(found.things), found.taken
    holes = list(dict.fromkeys(name for thing in things for name in _holes(plan, thing)))
    holes = [name for name in holes if name in wet_holes(plan)] or holes
    if not holes:
        return Question(
            things=((Asked.JOB, "everything"),),
            focus=Focus.LEAK,
            taken="no hole is named in it; these join a wet space to a dry one",
        )
    return Question(things=tuple((Asked.HOLE, name) for name in holes), focus=Focus.LEAK, taken=taken)


def leak_answers(plan: Plan, asked: Question) -> list[Answer]:
    """One answer for all holes that were asked about: what to do is the same for each."""
    found = [replace(answer(plan, kind, name), focus=Focus.LEAK) for kind, name in asked.things]
    if len(found) < 2:
        return found
    places = tuple(place for one in found for place in one.places)
    return [Answer(asked=Asked.JOB, name="everything", focus=Focus.LEAK, places=places)]


def _holes(plan: Plan, thing: Thing) -> list[str]:
    """The holes in use that belong to what was named."""
    kind, name = thing
    if kind is Asked.HOLE:
        return [name]
    if kind is Asked.CABLE:
        return [h.pass_through.name for h in plan.holes if name in h.cables]
    space = ""
    if kind is Asked.DEVICE:
        space = next(d.space for d in plan.job.devices if d.name == name)
    elif kind is Asked.CONNECTOR:
        space = plan.job.device_of(name).space
    elif kind is Asked.SPACE:
        space = name
    return [h.pass_through.name for h in plan.holes if h.cables and space in h.pass_through.joins]
