"""What is asked for by a figure, or by a word that only the job can tell.

That is a fuse by its rating, a bundle by its number, a point by its coordinates, the driver's side.

Stage      planning
Units      lengths in the job's unit in; m out
Safe side  a side of the driver that the job does not tell is asked back, never assumed
"""

from __future__ import annotations

import re
from typing import Final

from routecut.errors import OutOfRangeError
from routecut.model.job import Job
from routecut.model.plan import Plan
from routecut.model.service import Asked, Focus, PlaceKind
from routecut.model.vehicle import Vec3
from routecut.planning.questions import BODY, Calls, Question, folded, meant
from routecut.units import to_m

_RATING: Final = re.compile(r"(?<![\w.])(\d+(?:[.,]\d+)?) ?(?:a|amp|amps|ampere|amperes)\b")
_FUSE: Final = re.compile(r"\b(fuses?|breakers?)\b")
_BUNDLE: Final = re.compile(r"\b(?:bundle|loom) (\d+)\b")
_NUMBER: Final = r"(-?\d+(?:\.\d+)?)"
_BETWEEN: Final = r"(?:\s*[,;]\s*|\s+)"
_POINT: Final = re.compile(rf"(?<![\w.-]){_NUMBER}{_BETWEEN}{_NUMBER}{_BETWEEN}{_NUMBER}(?![\w.])")
_AXIS: Final = re.compile(r"\b[xyz]\s*[=:]?\s*(?=-?\d)")
_AT: Final = re.compile(r"\b(what|which)\b.*\b(at|near|by|around|beside|behind)\b")
_SEAT: Final = re.compile(r"\b(driver|passenger)(?:'s|s)?[ -]?(?:hand )?side\b")
_NEAR_OFF: Final = re.compile(r"\b(near|off)[ -]?side\b")
_MIDDLE_M: Final = 0.1
"""What lies nearer to the middle of the vehicle tells no side. [m]"""


def by_number(plan: Plan, called: Calls, text: str) -> Question | None:
    """A fuse by its rating, a bundle, a point; None where none of them is asked for.

    Raises
    ------
    OutOfRangeError
        No fuse has that rating, or there is no such bundle: those that there are stand in the message.
    """
    whole = folded(text)
    if whole in called:
        return None
    if (found := _BUNDLE.search(whole)) and not meant(called, found[0]):
        return _bundle(plan, found[1], body=bool(BODY.search(whole)))
    if (
        (rating := _RATING.search(whole))
        and _FUSE.search(whole)
        and not meant(called, _RATING.sub("", whole))
    ):
        return _fuse(plan, float(rating[1].replace(",", ".")))
    point = _POINT.search(_AXIS.sub("", whole))
    if point is not None and (BODY.search(whole) or _AT.search(whole)):
        x, y, z = (to_m(float(v), plan.job.length_unit) for v in point.groups())
        return Question(things=((Asked.JOB, "everything"),), focus=Focus.BODY, at_m=(x, y, z))
    return None


def _fuse(plan: Plan, rating_a: float) -> Question:
    sized = {} if plan.sizing is None else plan.sizing.electrical
    there = {
        p.name: fuse.rating_a
        for p in (() if plan.service is None else plan.service.places)
        if p.kind is PlaceKind.FUSE and (fuse := sized[p.cables[0]].fuse) is not None
    }
    named = [name for name, amps in there.items() if abs(amps - rating_a) < 1e-6]
    if not named:
        known = ", ".join(f"{amps:g} A ({name})" for name, amps in sorted(there.items(), key=lambda x: -x[1]))
        raise OutOfRangeError(
            f"no fuse of this job is {rating_a:g} A; there are: {known or 'none'}. A fuse of another rating is not of "
            "this job, or was changed since"
        )
    return Question(things=tuple((Asked.FUSE, name) for name in named), focus=Focus.FUSES)


def _bundle(plan: Plan, number: str, *, body: bool) -> Question:
    """The cables tied in a bundle, one by one."""
    name = f"bundle {number}"
    members = next(([m.cable for m in b.members] for b in plan.bundles if b.name == name), [])
    if not members:
        known = ", ".join(b.name for b in plan.bundles) or "none"
        raise OutOfRangeError(f"there is no {name} in the plan; the bundles: {known}")
    return Question(
        things=tuple((Asked.CABLE, cable) for cable in members),
        focus=Focus.BODY if body else None,
        taken=f"{name} is {' and '.join(members)} tied together; told one by one",
    )


def sided(job: Job, text: str) -> str:
    """A text about work on the body with left or right in place of the driver's and the passenger's side.

    Raises
    ------
    OutOfRangeError
        The job does not tell where the driver sits.
    """
    whole = folded(text)
    if not BODY.search(whole):
        return text
    if found := _NEAR_OFF.search(whole):
        raise OutOfRangeError(
            f"{found[0]!r} depends on the country: say left or right, as seen by the driver"
        )
    if not _SEAT.search(whole):
        return text
    driver = driver_side(job)
    if not driver:
        raise OutOfRangeError(
            "the job does not say on which side the driver sits (no landmark, hole or device is called after the "
            "driver or the passenger): say left or right, as seen by the driver"
        )
    other = {"left": "right", "right": "left"}[driver]
    return _SEAT.sub(lambda m: f"{driver if m[1] == 'driver' else other} side", whole)


def driver_side(job: Job) -> str:
    """Where the driver sits, by what is named after the driver or the passenger; empty where that tells nothing."""
    places: list[tuple[str, Vec3]] = [(m.name, m.position.at_m) for m in job.landmarks]
    places += [(d.name, d.position.at_m) for d in job.devices]
    places += [(p.name, p.position.at_m) for p in job.pass_throughs]
    told = set()
    for name, (_, y, _) in places:
        for word, turned in (("driver", 1.0), ("passenger", -1.0)):
            if re.search(rf"\b{word}\b", name.casefold()) and abs(y) > _MIDDLE_M:
                told.add("left" if y * turned < 0.0 else "right")
    return told.pop() if len(told) == 1 else ""
