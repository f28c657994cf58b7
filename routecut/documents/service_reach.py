"""How one gets at a place, in words; the sections an answer is made of.

Units      m in; the job's unit out; minutes
Safe side  what nobody saw a way to is marked
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from routecut.documents.figures import Lengths, count
from routecut.documents.part_words import spoken
from routecut.model.plan import Plan
from routecut.model.service import PlaceKind, Removal, Room, ServicePlace

NOTHING_OFF: Final = "nothing to take off"
"""What stands where the hand gets in as things are."""

_GUESSED: Final = (
    "as the job says; the 3D model, bonnet and doors shut, shows no way in for a hand: open them and look"
)


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its lines; `numbered` where their order is that of the work."""

    title: str
    lines: tuple[str, ...]
    numbered: bool = False


def place_of(plan: Plan, kind: PlaceKind, name: str) -> ServicePlace | None:
    """A place of the service study by its name; None where there is none."""
    places = () if plan.service is None else plan.service.places
    return next((p for p in places if p.kind is kind and p.name == name), None)


def reach_text(plan: Plan, place: ServicePlace) -> str:
    """What it takes to get at a place, in a few words."""
    if place.removal is None:
        return f"nobody gets at it: {place.space} is closed all round, no hand gets in"
    if place.drawn_out_m > 0.0:
        return f"comes out with its box, {Lengths(plan.job.length_unit).free(place.drawn_out_m)}"
    told = NOTHING_OFF if not place.removal.trims else f"{removal_text(plan, place.removal)} off"
    used = set(place.removal.trims)
    rooms = {w.room for w in place.ways if set(w.trims) <= used}
    if place.guessed:
        return f"{told} {_GUESSED}"
    return told if Room.HAND in rooms else f"{told}; room for two fingers only"


def removal_text(plan: Plan, removal: Removal) -> str:
    """Trim in its order, with the minutes.

    Unknown times are said, not counted.
    """
    names = ", ".join(trim_text(plan, t) for t in removal.trims)
    known = f"{removal.minutes:g} min" if removal.minutes > 0.0 else ""
    unknown = (
        f"{', '.join(trim_text(plan, t) for t in removal.unknown)}: time not given" if removal.unknown else ""
    )
    return f"{names} ({'; '.join(part for part in (known, unknown) if part)})"


def trim_text(plan: Plan, name: str) -> str:
    """A piece of trim as one says it."""
    return spoken(name, spaces=[s.name for s in plan.job.spaces])


def minutes_in_all(removal: Removal) -> str:
    """The time of a removal in words."""
    unknown = (
        f", and {count(len(removal.unknown), 'piece')} of which no time is given" if removal.unknown else ""
    )
    return f"{removal.minutes:g} min{unknown}"
