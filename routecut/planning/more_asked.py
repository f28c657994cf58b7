"""One more cable: from where to where, how thick; or where there is room at all.

Stage      planning; names only
Units      m
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from routecut.errors import OutOfRangeError
from routecut.model.job import CableClass, Job
from routecut.model.plan import Plan
from routecut.model.service import Answer, Asked, Focus
from routecut.plain import shown
from routecut.planning.questions import Calls, Question, folded, meant, nearest_word
from routecut.service import more_answer, one_more, spare_holes
from routecut.units import to_m

_CABLE: Final = r"(cable|wire|lead|coax|pair|line|feeder|one)s?"
_MORE: Final = re.compile(
    r"\b(one more|another|additional|extra|further|second|new|a|any|more|\d+(\.\d+)? ?mm) "
    rf"((\d+(\.\d+)? ?mm|thick|power|coax|speaker|data|control|audio|single) )*{_CABLE}\b"
)
_BETWEEN: Final = re.compile(
    r"\b(?:from|between) (?:the )?(.+?) (?:in|up|down|back|through)?(?:to|into|onto|and) (?:the )?(.+)$"
)
_ROOM: Final = re.compile(
    r"\b((spare|unused|empty|free|vacant) (hole|conduit|pass.?through|grommet|gland|duct|tube|room|space|slot|boot)s?"
    r"|(hole|conduit|pass.?through|grommet|gland|duct|slot|boot)s?( which| that)? (is|are|has|have|with)"
    r" (still |any |some )?(spare|unused|empty|free|room|not used)"
    r"|(room|place|space) (left )?(for|in) .*\b(hole|conduit|cable|wire|more)s?\b|unused)\b"
)
_CLASSES: Final = {
    str(CableClass.POWER): {"power", "supply"},
    str(CableClass.COAX): {"coax", "coaxial", "feeder"},
    str(CableClass.AUDIO): {"audio", "speaker"},
    str(CableClass.DATA): {"data"},
    str(CableClass.CONTROL): {"control"},
}
"""Words for the classes of cables."""
_THICK: Final = re.compile(r"\b(\d+(?:[.,]\d+)?) ?mm\b(?! ?(2|²))")


def more_question(plan: Plan, called: Calls, text: str) -> Question | None:
    """What a text asks of one more cable or of room in holes; None where it asks for neither.

    Raises
    ------
    OutOfRangeError
        Its ends are none of the job, or too many fit.
    """
    whole = folded(text)
    if whole in called or any(kind in {Asked.CABLE, Asked.HOLE} for kind, _ in meant(called, text)):
        return None
    if (ends := _BETWEEN.search(whole)) and _MORE.search(
        whole[: ends.start()] + " " if ends.start() else whole
    ):
        two = tuple(_space(plan.job, part) for part in ends.groups()[:2])
        return Question(
            things=tuple((Asked.SPACE, s) for s in two),
            focus=Focus.ROOM,
            diameter_m=_thick(whole),
            cable_class=_class(whole),
        )
    if _ROOM.search(whole):
        return Question(things=((Asked.JOB, "everything"),), focus=Focus.ROOM)
    return None


def more_answers(plan: Plan, asked: Question) -> list[Answer]:
    """The way of one more cable, or all holes."""
    spaces = [name for kind, name in asked.things if kind is Asked.SPACE]
    if len(spaces) < 2:
        return [Answer(asked=Asked.JOB, name="everything", focus=Focus.ROOM, spare_holes=spare_holes(plan))]
    way = one_more(plan, spaces[0], spaces[1], diameter_m=asked.diameter_m, cable_class=asked.cable_class)
    return [more_answer(plan, way)]


def _thick(whole: str) -> float:
    """How thick a cable is that is asked about, 0 where that is not said. [m]"""
    found = _THICK.search(whole)
    return to_m(float(found[1].replace(",", ".")), "mm") if found else 0.0


def _class(whole: str) -> str:
    """The class of a cable that is asked about; empty where that is not said."""
    words = set(re.findall(r"\w+", whole.split(" from ", maxsplit=1)[0]))
    return next((kind for kind, said in _CLASSES.items() if said & words), "")


def _space(job: Job, text: str) -> str:
    """The space an end lies in: by its name, by that of a device or a port in it, or by words of a space's name.

    Raises
    ------
    OutOfRangeError
        There is none, or several.
    """
    said = text.strip(" ?.!,")
    said = re.sub(r"\b(possible|please|fits?|go|goes|if any|later)\b.*$", "", said).strip()
    for space in job.spaces:
        if folded(space.name) == said:
            return space.name
    for device in sorted(job.devices, key=lambda d: -len(d.name)):
        if re.search(rf"(?<!\w){re.escape(folded(device.name))}(?!\w)", said):
            return device.space
    words = {s.name: set(re.findall(r"\w+", folded(s.name))) for s in job.spaces}
    known = {w for own in words.values() for w in own}
    hits = {hit for w in re.findall(r"\w+", said) if (hit := nearest_word(w, known))}
    fits = [n for n, own in words.items() if hits and hits <= own]
    if len(fits) == 1:
        return fits[0]
    raise OutOfRangeError(_which(job, said, fits))


def _which(job: Job, said: str, fits: Sequence[str]) -> str:
    if fits:
        return f"{len(fits)} spaces fit {shown(said)}: {', '.join(repr(n) for n in fits)}. Say which"
    names = ", ".join(repr(s.name) for s in job.spaces)
    return f"{shown(said)} is no space of this job and no device in one; the spaces: {names}"
