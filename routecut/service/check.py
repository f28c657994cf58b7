"""The service check of a plan: can everything that has to be got at again be got at in time?

Stage      service, with the mesh
Units      m, minutes
Sources    minutes allowed: common practice, no source. Loop: a marine electronics manual, 150 mm of slack for
           each conductor before its terminal; hidden equipment comes out without being disconnected (Navy
           facilities handbook 1012/1)
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from routecut.model.body import Body
from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.job import Access, Device, Job
from routecut.model.plan import LeadJoint, PlannedCable
from routecut.model.service import PlaceKind, Removal, Service, ServicePlace
from routecut.routes.polyline import points_at, running_m
from routecut.routes.whereabouts import space_at
from routecut.service.graph import removal_of
from routecut.service.hands import Hands
from routecut.service.study import loop_wanted_m, ways_of
from routecut.units import format_length

_STEP_M: Final = 0.050
_NOISE_M: Final = 1e-9


def service_findings(
    job: Job, body: Body, cables: Sequence[PlannedCable], service: Service
) -> tuple[Finding, ...]:
    """What can't be serviced as the job asks, each with the nearest cure.

    Parameters
    ----------
    job : Job
    body : Body
    cables : sequence of PlannedCable
    service : Service
        Of these cables.
    """
    return (
        *_about_devices(job, service),
        *_about_joints(job, body, cables, service),
    )


def weighed(service: Service, removal: Removal) -> float:
    """Minutes of a removal, trim of unknown time counted. [min]"""
    return sum(service.trim(t).counts_as for t in removal.trims)


# --- devices -----------------------------------------------------------------------------


def _about_devices(job: Job, service: Service) -> Iterator[Finding]:
    for device in (d for d in job.devices if d.serviceable):
        ports = {p.full_name for p in device.ports}
        places = [p for p in service.places if p.kind is PlaceKind.CONNECTOR and p.name in ports]
        sealed = [p for p in places if p.removal is None]
        if sealed:
            yield _finding(
                "service-sealed",
                device,
                f"nobody gets at {_listed(sealed)}: {device.space} is sealed. Put the device where it can be got "
                "at, or say what opens the space.",
            )
        late = [
            p for p in places if p.removal is not None and weighed(service, p.removal) > job.service.minutes
        ]
        if late:
            yield _late(job, device, late, service)
        yield from _loops(job, device, places)


def _late(job: Job, device: Device, late: Sequence[ServicePlace], service: Service) -> Finding:
    worst = max(late, key=lambda p: weighed(service, _of(p)))
    removal = _of(worst)
    unit = job.length_unit
    short = _short_of(job, device, {p.name for p in late})
    if device.pulls_out_m:
        most = max(device.pulls_out_m - loop for _, loop in short)
        cure = (
            f"It comes out by {format_length(device.pulls_out_m, unit)}, but the loops do not: make service_loop "
            f"{format_length(most, unit, 'up')} longer at {', '.join(port for port, _ in short)}"
        )
    else:
        # the device is at the front of what hides its connectors: how far they are behind it
        out_m = max(job.service.loop_m, *(_behind_m(device, p) for p in late))
        cure = (
            f"If it comes out to the front, say pulls_out, and give each of its connectors a loop as long, about "
            f"{format_length(out_m, unit, 'up')}; else set it where less trim is in front"
        )
    return _finding(
        "service-minutes",
        device,
        f"{_listed(late)} {'is' if len(late) == 1 else 'are'} reached in {_minutes(service, removal)} "
        f"({_trims(removal)} off); {job.service.minutes:g} min are allowed. {cure}.",
        found=f"{weighed(service, removal):g} min",
        allowed=f"{job.service.minutes:g} min",
    )


def _loops(job: Job, device: Device, places: Sequence[ServicePlace]) -> Iterator[Finding]:
    wanted = loop_wanted_m(job, device)
    short = [
        (port, loop)
        for port, loop in _short_of(job, device, {p.name for p in places})
        if loop < wanted - _NOISE_M
    ]
    if not short:
        return
    unit = job.length_unit
    told = ", ".join(f"{format_length(wanted - loop, unit, 'up')} longer at {port}" for port, loop in short)
    least = min(loop for _, loop in short)
    why = "it comes out by that much" if device.pulls_out_m is not None else "loop of [service]"
    yield _finding(
        "service-loop",
        device,
        f"a loop of {format_length(wanted, unit)} is wanted at each connector to take it out and work on it ({why}). "
        f"Make service_loop {told}; or say pulls_out = 0 if it is worked on where it sits.",
        found=format_length(least, unit),
        allowed=format_length(wanted, unit),
    )


def _short_of(job: Job, device: Device, ports: set[str]) -> list[tuple[str, float]]:
    """The ports of some whose loop is less than wanted, with their loop. [m]"""
    wanted = loop_wanted_m(job, device)
    return [
        (p.full_name, p.service_loop_m)
        for p in device.ports
        if p.full_name in ports and p.service_loop_m < wanted - _NOISE_M
    ]


def _behind_m(device: Device, place: ServicePlace) -> float:
    return float(np.linalg.norm(np.array(place.at_m) - np.array(device.position.at_m)))


# --- joints ------------------------------------------------------------------------------


def _about_joints(
    job: Job, body: Body, cables: Sequence[PlannedCable], service: Service
) -> Iterator[Finding]:
    hands: Hands | None = None
    for planned in cables:
        joints = planned.lead.joints if planned.lead is not None else ()
        places = [p for p in service.places if p.kind is PlaceKind.JOINT and planned.cable.name in p.cables]
        for joint, place in zip(joints, places, strict=False):
            if place.removal is None or weighed(service, place.removal) <= job.service.minutes:
                continue  # a sealed one is told where leads are chosen
            hands = hands or Hands(body)
            yield cable_finding(
                "service-minutes",
                Severity.WARNING,
                planned.cable.name,
                f"the {place.name} in {place.space} is reached in {_minutes(service, place.removal)} "
                f"({_trims(place.removal)} off); {job.service.minutes:g} min are allowed. "
                f"{_elsewhere(job, planned, joint, place, service=service, hands=hands)}",
                found=f"{weighed(service, place.removal):g} min",
                allowed=f"{job.service.minutes:g} min",
            )


def _elsewhere(
    job: Job, planned: PlannedCable, joint: LeadJoint, place: ServicePlace, *, service: Service, hands: Hands
) -> str:
    """The nearest place the joint could lie in that is reached in time."""
    route = planned.route
    assert route is not None  # noqa: S101 - a lead has a route
    run = running_m(route.points_m)
    low, high = sorted((max(joint.from_m, 0.0), min(joint.to_m, float(run[-1]))))
    at = np.linspace(low, high, max(2, int((high - low) / _STEP_M) + 1))
    unit = job.length_unit
    for x in sorted(at.tolist(), key=lambda v: abs(v - joint.at_route_m)):
        point = points_at(np.array([x]), run, route.points_m)[0]
        space = space_at(job, route, x, point)
        if any(s.name == space and s.access is Access.SEALED for s in job.spaces):
            continue
        moved = replace(place, space=space, ways=ways_of(job, hands, space, point))
        removal = removal_of(service, [moved])
        if removal is not None and weighed(service, removal) <= job.service.minutes:
            much = format_length(abs(x - joint.at_route_m), unit)
            way = "further on" if x > joint.at_route_m else "sooner"
            return (
                f"Park the surplus so that it lies {much} {way}, {format_length(x, unit)} along the run in "
                f"{space}: {_minutes(service, removal)} there."
            )
    return (
        f"Between {format_length(low, unit)} and {format_length(high, unit)} along the run, where the surplus can "
        "move it, no place is better: take leads of other lengths, or one that reaches alone."
    )


# --- words -------------------------------------------------------------------------------


def _finding(code: str, device: Device, message: str, **parts: str) -> Finding:
    return Finding(
        code=code,
        severity=Severity.WARNING,
        where=f"device {device.name}",
        message=message,
        table="device",
        key=device.name,
        **parts,
    )


def _of(place: ServicePlace) -> Removal:
    assert place.removal is not None  # noqa: S101 - asked of places that are reached only
    return place.removal


def _listed(places: Sequence[ServicePlace]) -> str:
    return ", ".join(p.name for p in places)


def _minutes(service: Service, removal: Removal) -> str:
    guessed = f", {', '.join(removal.unknown)} counted as an hour each" if removal.unknown else ""
    return f"{weighed(service, removal):g} min{guessed}"


def _trims(removal: Removal) -> str:
    return ", ".join(removal.trims)
