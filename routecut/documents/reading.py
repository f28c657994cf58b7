"""What several documents ask of a plan: the order of pulling, the findings, the digest."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
import re
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Final

from routecut.model.drilled import was_drilled
from routecut.model.finding import Finding, Severity
from routecut.model.job import Cable, CableClass, HoleState, Job, MadeUp, Port
from routecut.model.plan import Plan, PlannedCable, PlannedHole

PULLING_ORDER: Final = (
    "In this order: first what has its connectors made up and has to go through a hole, while the holes "
    "are empty; then the thickest and stiffest; then the longest (common practice, no source). "
    "Cables without a route stand last."
)

SEVERITIES: Final = (Severity.ERROR, Severity.WARNING, Severity.NOTE)

TYPE_ASSUMED: Final = "TYPE ASSUMED"
CHOOSE_TYPE: Final = "the thickest of its class stands in; choose the type before you order or cut"
SIZE_PICKED: Final = "SIZE PICKED"
CHECK_SIZE: Final = "the job names no type; the thinnest that holds was picked, check it before you order"

NO_ROUTE: Final = "no safe route"

NO_TERMINATION: Final = "bare: the job names no plug or lug for it"


def natural(name: str) -> tuple[tuple[int, str], ...]:
    """Sort key under which C2 comes before C10."""
    pieces = re.split(r"([0-9]+)", name)
    return tuple((int(p), "") if k % 2 else (-1, p) for k, p in enumerate(pieces))


def plugs_pass(job: Job, planned: PlannedCable) -> bool:
    """Both ends have their connectors before the cable is pulled: one of them must pass the holes."""
    cable = planned.cable
    ends = (job.port(cable.from_port), job.port(cable.to_port))
    return cable.ready_made or all(end.made_up is MadeUp.BENCH for end in ends)


def pulling_order(plan: Plan) -> tuple[PlannedCable, ...]:
    """The cables in the order `PULLING_ORDER` describes; as built, in that of the plan."""
    if plan.pulled:
        by_name = {planned.cable.name: planned for planned in plan.cables}
        return tuple(by_name[name] for name in plan.pulled)

    def key(planned: PlannedCable) -> tuple[bool, bool, float, float, tuple[tuple[int, str], ...]]:
        route = planned.route
        first = route is not None and bool(route.passages) and plugs_pass(plan.job, planned)
        length = 0.0 if route is None else route.length_m
        thick = round(planned.cable.type.diameter_m, 4)
        return (route is None, not first, -thick, -round(length, 4), natural(planned.cable.name))

    return tuple(sorted(plan.cables, key=key))


def all_findings(plan: Plan) -> tuple[Finding, ...]:
    """Every finding once, the severe first, otherwise in the order of the stages."""
    verified = (f for c in plan.cables if c.verified is not None for f in c.verified.findings)
    unique = dict.fromkeys((*plan.findings, *verified))
    return tuple(sorted(unique, key=lambda f: SEVERITIES.index(f.severity)))


def reasons_for(plan: Plan, name: str) -> tuple[Finding, ...]:
    """Why a cable has no route: the errors whose `where` names the cable."""
    named = re.compile(rf"(?<!\w){re.escape(name)}(?!\w)")
    return tuple(f for f in all_findings(plan) if f.severity is Severity.ERROR and named.search(f.where))


def length_by_class(plan: Plan) -> tuple[tuple[CableClass, int, float], ...]:
    """For each class in use: class, number of cables, total of cut lengths. [m]"""
    found = []
    for cable_class in CableClass:
        of_class = [c for c in plan.cables if c.cable.cable_class is cable_class]
        if of_class:
            total = math.fsum(c.cut.length_m for c in of_class if c.cut is not None)
            found.append((cable_class, len(of_class), total))
    return tuple(found)


def holes_to_drill(plan: Plan) -> tuple[PlannedHole, ...]:
    """The holes that have to be made, by name."""
    return _by_name(h for h in plan.holes if h.drill)


def holes_used(plan: Plan) -> tuple[PlannedHole, ...]:
    """The holes that are there and are used, by name."""
    return _by_name(h for h in plan.holes if not h.drill and h.cables)


def cable_numbers(plan: Plan) -> dict[str, int]:
    """The number of the card of each cable: when it is pulled."""
    return {c.cable.name: n for n, c in enumerate(pulling_order(plan), start=1)}


def hole_numbers(plan: Plan) -> dict[str, int]:
    """The number of the card of each hole that has one, those to drill first."""
    return {h.pass_through.name: n for n, h in enumerate((*holes_to_drill(plan), *holes_used(plan)), start=1)}


def holes_left(plan: Plan) -> tuple[PlannedHole, ...]:
    """The holes nothing uses, by name."""
    return _by_name(h for h in plan.holes if not h.drill and not h.cables)


def _by_name(holes: Iterable[PlannedHole]) -> tuple[PlannedHole, ...]:
    return tuple(sorted(holes, key=lambda h: natural(h.pass_through.name)))


def state_text(plan: Plan, hole: PlannedHole) -> str:
    """What stands where the hole is, in words."""
    if hole.drill:
        return "drilled, by the record" if was_drilled(plan, hole) else "to be drilled"
    return {
        HoleState.EXISTING: "there already",
        HoleState.FOUND: "found in the 3D model, nobody has confirmed it",
        HoleState.CANDIDATE: "could be drilled, is not needed",
    }[hole.state]


def type_mark(plan: Plan, cable: Cable) -> tuple[str, str] | None:
    """A type nobody named: the words that mark it, and what to do about it; None where the job names one."""
    if not cable.type_assumed:
        return None
    picked = plan.sizing is not None and plan.sizing.picks(cable.name)
    return (SIZE_PICKED, CHECK_SIZE) if picked else (TYPE_ASSUMED, CHOOSE_TYPE)


def verification_text(plan: Plan) -> str:
    """How far the routes have been checked, in one sentence."""
    total = len(plan.cables)
    routed = sum(c.route is not None for c in plan.cables)
    checked = [c.verified for c in plan.cables if c.route is not None and c.verified is not None]
    passed = sum(v.ok for v in checked)
    if plan.complete and total:
        return f"All {total} routes were checked against the whole 3D model and hold."
    parts = []
    if routed < total:
        parts.append(f"{total - routed} of {total} cables without a safe route")
    if passed < len(checked):
        parts.append(f"{len(checked) - passed} of {len(checked)} checked routes not holding")
    if len(checked) < routed:
        parts.append(f"{routed - len(checked)} of {routed} routes not checked")
    return f"NOT COMPLETE: {'; '.join(parts)}." if parts else "NOT COMPLETE: the job has no cables."


def made_up_text(port: Port, *, ready_made: bool) -> str:
    """Where an end gets its connector."""
    return "ready-made" if ready_made else str(port.made_up)


def fitted_text(port: Port, *, ready_made: bool) -> str:
    """What an end gets and where, in the words of a card; a job that names nothing for it is told so."""
    if ready_made:
        return ", ".join(filter(None, [port.termination, "ready-made"]))
    if not port.termination:
        return NO_TERMINATION
    where = {
        MadeUp.BENCH: "put on at the bench, before pulling",
        MadeUp.IN_VEHICLE: "put on in the vehicle, after pulling",
    }
    return f"{port.termination}, {where[port.made_up]}"


@lru_cache(maxsize=1)  # asked for every cable, and of one plan
def bare_ends(plan: Plan) -> tuple[tuple[str, str], ...]:
    """The ends of cables to be cut for which the job names nothing: cable and ``device.port``."""
    return tuple(
        (planned.cable.name, name)
        for planned in sorted(plan.cables, key=lambda c: natural(c.cable.name))
        if not planned.cable.ready_made and planned.route is not None
        for name in (planned.cable.from_port, planned.cable.to_port)
        if not plan.job.port(name).termination
    )


def job_digest(job: Job) -> str:
    """SHA-256 over everything the job says, its folder aside; hexadecimal."""
    fields = dataclasses.asdict(job)
    del fields["folder"]
    written = json.dumps(fields, sort_keys=True, ensure_ascii=True, default=_as_text)
    return hashlib.sha256(written.encode("ascii")).hexdigest()


@lru_cache(maxsize=1)  # asked for every card and label, and of one plan
def revision_mark(plan: Plan) -> str:
    """Eight digits that change with the job, the mesh or the version of the program."""
    made_of = f"{plan.version} {job_digest(plan.job)} {plan.body_digest}"
    return hashlib.sha256(made_of.encode()).hexdigest()[:8]


def _as_text(value: object) -> str:
    if isinstance(value, Path):
        return value.as_posix()
    raise TypeError(f"{type(value).__name__} has no place in a digest")
