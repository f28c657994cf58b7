"""``NAME=X,Y,Z``: a device or a candidate at another place, tried and not written.

Stage      survey, between the reading of the job and its fitting to the mesh
Units      in the job's unit and axes; out m
Safe side  held to what the job reader holds a position to, and to the size of the mesh; a
           length measured with a string to what was moved does not hold any more and is left out
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from routecut.model.body import Body
from routecut.model.job import Cable, Device, HoleState, Job, PassThrough, Port, Position, Vec3, vec3
from routecut.model.whatif import Moved
from routecut.plain import nearest_name, shown
from routecut.survey.faults import Collector, listed
from routecut.survey.seat import SPACE_MARGIN_M
from routecut.survey.toml_fields import Fields
from routecut.units import format_length, from_m, plain_number

OPTION = "--move"


def move(job: Job, body: Body, moves: Sequence[str], collector: Collector) -> tuple[Job, tuple[Moved, ...]]:
    """The job with things at other places.

    Parameters
    ----------
    job : Job
        As read, before it is fitted to the mesh.
    body : Body
    moves : sequence of str
        Each ``NAME=X,Y,Z``, in the job's unit and axes; a coordinate may carry its own unit.
    collector : Collector
        Gets every fault.

    Returns
    -------
    Job
    tuple of Moved
        In the order of `moves`, places as asked for.
    """
    told: list[Moved] = []
    for text in moves:
        asked = _read(job, text, collector)
        if asked is None:
            continue
        name, at, fields = asked
        if any(name == other.name for other in told):
            fields.fault("duplicate-name", "", f"{shown(name)} is moved more than once.", found=name)
        elif _inside(job, body, at, fields):
            job, one = placed(job, name, Position(at_m=at))
            told.append(one)
    return job, tuple(told)


def _read(job: Job, text: str, collector: Collector) -> tuple[str, Vec3, Fields] | None:
    """Name and place of one move; None after a fault."""
    name, equals, place = text.rpartition("=")
    name, place = name.strip(), place.strip()
    table = shown(name) if name else shown(text)
    inner = place[1:-1] if place.startswith("[") and place.endswith("]") else place
    value = [_number(part.strip()) for part in inner.split(",")]
    fields = Fields({"at": value}, table, collector, job.length_unit)
    fields.scale = job.vehicle.mesh_scale
    wanted = f"NAME=X,Y,Z in {job.length_unit}, x rear, y right, z up"
    if not equals or not name:
        fields.fault(
            "bad-position",
            "",
            f"{shown(text)} names nothing to move; wanted is {wanted}.",
            found=text,
            allowed=wanted,
        )
        return None
    known = _known(job, name, fields)
    if len(value) != 3:
        parts = "no coordinates" if not inner.strip() else f"{len(value)} coordinates"
        more = " A decimal sign is a point." if len(value) in {4, 5, 6} else ""
        fields.fault(
            "wrong-type",
            "at",
            f"{shown(place)} is {parts}; wanted is {wanted}.{more}",
            found=place,
            allowed=wanted,
        )
        return None
    at = fields.as_place("at", value)
    return (name, at, fields) if known and at is not None else None


def _number(text: str) -> float | str:
    """A plain number, or the text for the reader of lengths to judge."""
    number = plain_number(text)
    return text if number is None else number


def _known(job: Job, name: str, fields: Fields) -> bool:
    """Whether a name is of one thing that can be moved; the fault is reported."""
    devices = [d.name for d in job.devices]
    holes = {h.name: h for h in job.pass_throughs}
    candidates = [h.name for h in job.pass_throughs if h.state is HoleState.CANDIDATE]
    if name in devices and name in candidates:
        fields.fault(
            "duplicate-name",
            "",
            f"{shown(name)} is a device and a pass-through; rename one in job.toml to move it.",
            found=name,
        )
        return False
    if name in devices or name in candidates:
        return True
    allowed = listed([*devices, *candidates]) or "the job has none"
    if name in holes:
        fields.fault(
            "not-allowed",
            "",
            f"{shown(name)} is a hole that is there; what can be moved is a device or a candidate.",
            found=name,
            allowed=allowed,
        )
        return False
    fields.fault(
        "unknown-name",
        "",
        f"{shown(name)} is no device and no candidate pass-through of this job; known are {allowed}.",
        found=name,
        allowed=allowed,
        nearest=nearest_name(name, [*devices, *candidates]),
    )
    return False


def _inside(job: Job, body: Body, at: Vec3, fields: Fields) -> bool:
    """Whether a place lies in or at the vehicle: no further off its outermost points than a cable may hang."""
    reach = max(job.routing.bridge_m, job.routing.stand_off_m + 3 * job.vehicle.point_error_m)
    low, high = body.vertices_m.min(axis=0), body.vertices_m.max(axis=0)
    off = float(np.max(np.maximum(low - np.array(at), np.array(at) - high)))
    if off <= reach:
        return True
    scale = job.vehicle.mesh_scale
    allowed = ", ".join(
        f"{axis} {from_m(a / scale, job.length_unit):.6g} to {from_m(b / scale, job.length_unit):.6g}"
        for axis, a, b in zip("xyz", low.tolist(), high.tolist(), strict=True)
    )
    fields.fault(
        "out-of-range",
        "at",
        f"The place lies {format_length(off, job.length_unit)} outside the vehicle, whose mesh reaches from "
        f"{allowed} {job.length_unit}; a cable reaches {format_length(reach, job.length_unit)} beyond it.",
        found=shown(fields.data["at"]),
        allowed=allowed,
    )
    return False


def placed(job: Job, name: str, to: Position, *, hole: bool = False) -> tuple[Job, Moved]:
    """The job with a device or a pass-through at another place.

    What is measured with a string to it does not hold any more and is left out.

    Parameters
    ----------
    job : Job
        As read, before it is fitted to the mesh.
    name : str
        Of a device or, if there is none or `hole`, of a pass-through.
    to : Position
        What snapped before still does.
    hole : bool
        It is the pass-through of that name that moves, whatever device has the same.
    """
    at = to.at_m
    device = None if hole else next((d for d in job.devices if d.name == name), None)
    if device is not None:
        new, one = _moved_device(job, device, at)
        job = replace(job, devices=tuple(new if d is device else d for d in job.devices))
        ends = {f"{name}.{port}" for port in one.along}
    else:
        through = next(h for h in job.pass_throughs if h.name == name)
        job, one = _moved_hole(job, through, at)
        ends = {name}
    cables: list[Cable] = []
    unmeasured: list[str] = []
    for cable in job.cables:
        kept = tuple(m for m in cable.measured if not ends & {m.from_name, m.to_name})
        if len(kept) < len(cable.measured):
            unmeasured.append(cable.name)
        cables.append(replace(cable, measured=kept))
    return replace(job, cables=tuple(cables)), replace(one, unmeasured=tuple(unmeasured))


def _at(position: Position, at: Vec3) -> Position:
    """The same position with other coordinates: what snapped before still does."""
    return Position(at_m=at, snap=position.snap)


def _moved_device(job: Job, device: Device, at: Vec3) -> tuple[Device, Moved]:
    ports: list[Port] = []
    for port in device.ports:
        if port.offset_m is None:
            ports.append(port)
        else:
            ports.append(replace(port, position=_at(port.position, vec3(np.add(at, port.offset_m)))))
    space = _space_of(job, device, at)
    new = replace(device, position=_at(device.position, at), ports=tuple(ports), space=space)
    return new, Moved(
        name=device.name,
        kind="device",
        from_m=device.position.at_m,
        to_m=at,
        from_space=device.space,
        to_space=space,
        along=tuple(p.name for p in device.ports if p.offset_m is not None),
        stay=tuple(p.name for p in device.ports if p.offset_m is None),
    )


def _space_of(job: Job, device: Device, at: Vec3) -> str:
    """The space a device is in at a new place; its own where the place is in none or at its edge."""
    really = job.space_at(at)
    own = [box for s in job.spaces if s.name == device.space for box in s.boxes]
    at_edge = any(b.holds(at, SPACE_MARGIN_M) for b in own) and not any(b.holds(at) for b in own)
    return device.space if at_edge or not really else really


def _moved_hole(job: Job, hole: PassThrough, at: Vec3) -> tuple[Job, Moved]:
    new = replace(hole, position=_at(hole.position, at))
    job = replace(job, pass_throughs=tuple(new if h is hole else h for h in job.pass_throughs))
    return job, Moved(name=hole.name, kind="pass-through", from_m=hole.position.at_m, to_m=at)
