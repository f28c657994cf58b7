"""Answers about one thing alone: reflected power, and what was built otherwise; and the places of any answer.

Stage      documents
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import replace
from typing import Final

from routecut.documents.difference_text import sides
from routecut.documents.figures import count
from routecut.documents.service_lengths import as_laid
from routecut.documents.service_reach import Section, reach_text
from routecut.documents.service_readings import reading_lines
from routecut.documents.service_short import joined_text
from routecut.model.job import CableClass
from routecut.model.plan import Plan
from routecut.model.record import Record
from routecut.model.service import Answer, Asked, PlaceKind

_LOOK: Final = (
    "Look at the antenna: its foot, its ground, its whip.",
    "Undo and look at each plug, the outdoor one first: water, a loose pin, a broken screen.",
    (
        "Put a dummy load in place of the antenna, at the far end of the coax: where it reads well now, it is the "
        "antenna or its ground; where not, the coax or a plug."
    ),
)

FIRST: Final = "Transmitter off while a plug is open: never transmit without an antenna or a dummy load."


def only_reflected(plan: Plan, answer: Answer, record: Record) -> list[Section]:
    """Coax alone: what may come back, what did, where its connectors are."""
    coax = [
        c.cable
        for c in plan.cables
        if c.cable.cable_class is CableClass.COAX and c.cable.name in answer.cables
    ]
    ends = {end for c in coax for end in (c.from_port, c.to_port)}
    names = [c.name for c in coax]
    none = ("No coax of this job ends there.",)
    return [
        Section(
            "Reflected power, expected and measured", tuple(reading_lines(plan, names, (), record)) or none
        ),
        Section("First", (FIRST,)),
        Section(
            "Built otherwise than planned: look there before all else",
            tuple(f"{name}: {line}" for name in names for line in as_laid(plan, name)),
        ),
        Section("Its connectors, and how one gets at each", tuple(_connector_lines(plan, answer, ends))),
        Section(
            "What its ends are bonded to, and how one gets at each",
            _bonds(plan, answer, ends, record) if names else (),
        ),
        Section("Joints", tuple(f"{name}: {joined_text(plan, name, record)}" for name in names)),
        Section("In this order (common practice, no source)", _LOOK if names else (), numbered=True),
    ]


def _connector_lines(plan: Plan, answer: Answer, ends: Set[str]) -> Iterator[str]:
    """How one gets at the connectors of those names."""
    places = () if plan.service is None else plan.service.places
    at = tuple(p for p in places if p.kind is PlaceKind.CONNECTOR and p.name in ends)
    return place_lines(plan, replace(answer, places=at))


def _bonds(plan: Plan, answer: Answer, ends: Set[str], record: Record) -> tuple[str, ...]:
    """The bonds of the devices at those ends, what each reads and each end of it; or that none is in the job."""
    devices = {plan.job.device_of(end).name for end in ends}
    told: list[str] = []
    for bond in (c.cable for c in plan.cables if c.cable.cable_class is CableClass.BOND):
        own = (bond.from_port, bond.to_port)
        if not devices & {plan.job.device_of(end).name for end in own}:
            continue
        told += [
            f"{bond.name}: {bond.from_port} to {bond.to_port}",
            *reading_lines(plan, [bond.name], (), record),
            *_connector_lines(plan, answer, frozenset(own)),
        ]
    return tuple(told) or ("No bond in the job: an antenna may have its ground through its own foot.",)


def only_built(plan: Plan, _answer: Answer, record: Record) -> list[Section]:
    """All that was built otherwise, or that nobody recorded anything."""
    rows = [row for row in (() if plan.as_built is None else plan.as_built.rows) if row.marked]
    told = tuple(
        f"{r.about}, {r.what}: {after}"
        + (f", planned {before}" if before else "")
        + (f" ({r.why})" if r.why else "")
        for r, (before, after) in ((row, sides(row, plan.job)) for row in rows)
    )
    if not record.lines:
        told = (
            "Nothing is recorded: what follows of this plan is as planned, nobody said how it was built.",
        )
    rest = (
        "What was recorded without a figure of the plan to hold it against (joints, notes, photos, serial numbers) is "
        "not counted here: `routecut record JOB --show` has every line. What nobody recorded is taken to be as planned."
    )
    return [Section(f"As built: {count(len(rows), 'deviation')}", (*told, *([rest] if record.lines else [])))]


def place_lines(plan: Plan, answer: Answer) -> Iterator[str]:
    """Each place of an answer, and how one gets at it."""
    for place in answer.places:
        if place.kind is PlaceKind.HOLE:
            name = (
                f"{place.name} from {place.space}"
                if answer.asked is not Asked.SPACE
                else f"hole {place.name}"
            )
        elif place.kind is PlaceKind.CONNECTOR:
            port = plan.job.port(place.name)
            plug = f" ({port.termination})" if port.termination else ""
            name = f"{place.name}{plug}, {', '.join(place.cables)}"
        else:
            name = f"{place.name} in {place.space}"
        far = [
            end
            for c in plan.cables
            if place.removal is None and place.kind is PlaceKind.CONNECTOR and c.cable.name in place.cables
            for end in (c.cable.from_port, c.cable.to_port)
            if end != place.name
        ]
        rest = f"; its cable ends at {', '.join(far)}" if far else ""
        yield f"{name}: {reach_text(plan, place)}{rest}"
