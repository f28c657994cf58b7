"""Brings job and mesh together: snapped points, seated pass-throughs, spaces, landmarks.

Stage      survey, third step; the last that changes the job
Units      m
Safe side  nothing is moved without being asked, except along a pass-through's own axis;
           every move is reported
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from routecut.model.body import Body
from routecut.model.finding import Finding, Severity
from routecut.model.job import (
    Device,
    HoleState,
    Job,
    Landmark,
    PassThrough,
    Port,
    Position,
    SurfaceKind,
    Vec3,
    vec3,
)
from routecut.survey.faults import Collector
from routecut.survey.seat_holes import seat_pass_throughs
from routecut.survey.sheets import Sheets
from routecut.survey.tape_checks import report_tape_checks
from routecut.units import format_length

SPACE_MARGIN_M: Final = 0.060
"""Boxes of spaces are never exact: a point this far outside still counts as inside."""

_BEYOND_MOUTH_M = 0.020
_SAME_PLACE_M: Final = 0.010
_LANDMARK_OFF_M: Final = 0.050
# A landmark this close to the middle is on neither side.
_CENTRE_SHARE: Final = 0.05


def resolve(job: Job, body: Body) -> tuple[Job, Body, tuple[Finding, ...]]:
    """Fit the job to the mesh.

    Parameters
    ----------
    job : Job
    body : Body

    Returns
    -------
    job : Job
        With snapped points and seated pass-throughs.
    body : Body
        As given: a rescaled mesh was scaled when it was read.
    findings : tuple of Finding
        Warnings and notes.
    """
    collector = Collector()
    job = replace(job, vehicle=replace(job.vehicle, noise_m=body.noise_m))
    sheets = Sheets(body)
    report_tape_checks(
        job.vehicle, {mark.name: mark.position for mark in job.landmarks}, body, job.length_unit, collector
    )
    _check_landmarks(job, body, collector)
    job = replace(
        job,
        landmarks=tuple(
            replace(
                mark, position=_snapped(mark.position, sheets, job, f'[[landmark]] "{mark.name}"', collector)
            )
            for mark in job.landmarks
        ),
        devices=tuple(_snapped_device(device, sheets, job, collector) for device in job.devices),
        pass_throughs=tuple(
            replace(
                hole,
                position=_snapped(hole.position, sheets, job, f'[[pass_through]] "{hole.name}"', collector),
            )
            for hole in job.pass_throughs
        ),
    )
    job = replace(job, pass_throughs=seat_pass_throughs(job, sheets, collector))
    _report_unconfirmed(job, collector)
    for device in job.devices:
        _check_device(device, job, sheets, collector)
    for hole in job.pass_throughs:
        _check_joins(hole, job, collector)
    _check_cable_ends(job, collector)
    return job, body, tuple(collector.findings)


# --- snapping --------------------------------------------------------------------------


def _snapped(position: Position, sheets: Sheets, job: Job, table: str, collector: Collector) -> Position:
    found = sheets.nearest(position.at_m) if position.snap else None
    if found is None:
        return position
    place, distance = found
    collector.add(
        "point-snapped",
        f"Moved {format_length(distance, job.length_unit)} onto the nearest surface.",
        severity=Severity.NOTE,
        table=table,
        key="snap",
        found=format_length(distance, job.length_unit),
    )
    return replace(position, at_m=vec3(place), snapped_m=distance)


def _snapped_device(device: Device, sheets: Sheets, job: Job, collector: Collector) -> Device:
    table = f'[[device]] "{device.name}"'
    position = _snapped(device.position, sheets, job, table, collector)
    ports = []
    for port in device.ports:
        own = port.position
        if port.offset_m is not None:
            own = replace(own, at_m=vec3(np.add(position.at_m, port.offset_m)))
        own = _snapped(own, sheets, job, f'{table}, [[device.port]] "{port.name}"', collector)
        ports.append(replace(port, position=own))
    return replace(device, position=position, ports=tuple(ports))


# --- checks ----------------------------------------------------------------------------


def _in_space(job: Job, name: str, point_m: Vec3) -> bool:
    """In a space grown by the margin; True for a space that the job lost to a fault."""
    boxes = [box for space in job.spaces if space.name == name for box in space.boxes]
    return not boxes or any(box.holds(point_m, SPACE_MARGIN_M) for box in boxes)


def _report_unconfirmed(job: Job, collector: Collector) -> None:
    """One warning for each keep-out and pass-through that nobody has looked for on the real vehicle."""
    for keep_out in job.keep_outs:
        if not keep_out.confirmed:
            collector.add(
                "keep-out-unconfirmed",
                f"Check this one: is it where the job says ({keep_out.reason}), and are there others? Mend the "
                "shape, then take out confirmed = false.",
                severity=Severity.WARNING,
                table=f'[[keep_out]] "{keep_out.name}"',
                key="confirmed",
                found="false",
                about=str(keep_out.reason),
            )
    for hole in job.pass_throughs:
        if not hole.confirmed:
            size = format_length(hole.diameter_m, job.length_unit)
            what = "is there a hole" if hole.state is HoleState.EXISTING else "can a hole be drilled"
            collector.add(
                "pass-through-unconfirmed",
                f"Check this one: {what} of {size} from {hole.joins[0]} to {hole.joins[1]}? Mend its "
                "place and size, then take out confirmed = false.",
                severity=Severity.WARNING,
                table=f'[[pass_through]] "{hole.name}"',
                key="confirmed",
                found="false",
                about=f"{'' if hole.state is HoleState.EXISTING else 'to drill, '}{size}, "
                f"{hole.joins[0]} to {hole.joins[1]}",
            )


def _check_device(device: Device, job: Job, sheets: Sheets, collector: Collector) -> None:
    table = f'[[device]] "{device.name}"'
    places: list[tuple[str, str, Vec3]] = [
        (f'{table}, [[device.port]] "{port.name}"', _given_as(port), port.position.at_m)
        for port in device.ports
    ] or [(table, "at", device.position.at_m)]
    for where, key, point in places:
        if not _in_space(job, device.space, point):
            really = job.space_at(point)
            collector.add(
                "wrong-space",
                f"The point lies {f'in {really!r}' if really else 'in no space'}, not in {device.space!r}, "
                f"where {device.name!r} is said to be. Check the sign of y, the height, the box of the space, or name "
                "the other space.",
                severity=Severity.WARNING,
                table=where,
                key=key,
                found=really,
                allowed=f"a point in {device.space!r} or within "
                f"{format_length(SPACE_MARGIN_M, job.length_unit)} of it",
            )
    reach = max(job.routing.bridge_m, job.routing.stand_off_m + 3 * job.vehicle.point_error_m)
    for port in device.ports:
        found = sheets.nearest(port.position.at_m)
        if found is not None and found[1] > reach:
            collector.add(
                "point-off-surface",
                f"The port is {format_length(found[1], job.length_unit)} from the nearest panel or trim; "
                f"a cable may hang free for {format_length(job.routing.bridge_m, job.length_unit)}.",
                severity=Severity.WARNING,
                table=f'{table}, [[device.port]] "{port.name}"',
                key=_given_as(port),
                found=format_length(found[1], job.length_unit),
                allowed=f"at most {format_length(reach, job.length_unit)}",
            )


def _given_as(port: Port) -> str:
    return "at" if port.offset_m is None else "offset"


def _check_joins(hole: PassThrough, job: Job, collector: Collector) -> None:
    """Do the two mouths lie in the two spaces, whichever way round the axis points?"""
    reach = hole.depth_m / 2 + _BEYOND_MOUTH_M
    centre, axis = np.array(hole.position.at_m), np.array(hole.axis)
    mouths = [vec3(centre + sign * reach * axis) for sign in (-1.0, 1.0)]
    first, second = hole.joins
    straight = _in_space(job, first, mouths[0]) and _in_space(job, second, mouths[1])
    turned = _in_space(job, second, mouths[0]) and _in_space(job, first, mouths[1])
    if straight or turned:
        return
    really = " and ".join(
        repr(job.space_at(mouth)) if job.space_at(mouth) else "no space" for mouth in mouths
    )
    collector.add(
        "wrong-space",
        f"The two mouths of {hole.name!r} lie in {really}, but it is said to join {first!r} and {second!r}.",
        severity=Severity.WARNING,
        table=f'[[pass_through]] "{hole.name}"',
        key="joins",
        found=really,
        allowed="spaces whose boxes reach the pass-through on either side",
    )


def _check_landmarks(job: Job, body: Body, collector: Collector) -> None:
    if not job.landmarks:
        return
    sheets = Sheets(body, *SurfaceKind)
    low, high = body.vertices_m.min(axis=0), body.vertices_m.max(axis=0)
    middle, width = (low[1] + high[1]) / 2, high[1] - low[1]
    limit = max(_LANDMARK_OFF_M, 3 * job.vehicle.point_error_m)
    for mark in job.landmarks:
        table = f'[[landmark]] "{mark.name}"'
        _check_side(mark, float(middle), float(width), table, collector)
        found = sheets.nearest(mark.position.at_m)
        if found is not None and found[1] > limit and not mark.position.snap:
            collector.add(
                "point-off-surface",
                f"The landmark is {format_length(found[1], job.length_unit)} from the nearest face of "
                "the mesh; check it, and the mesh's unit and axes.",
                severity=Severity.WARNING,
                table=table,
                key="at",
                found=format_length(found[1], job.length_unit),
                allowed=f"at most {format_length(limit, job.length_unit)}",
            )


def _check_side(mark: Landmark, middle_m: float, width_m: float, table: str, collector: Collector) -> None:
    """A left landmark on the right means a mirrored mesh or a wrong sign."""
    words = mark.name.lower().replace("-", " ").replace("_", " ").split()
    said = [side for side in ("left", "right") if side in words]
    off = mark.position.at_m[1] - middle_m
    if len(said) != 1 or abs(off) < _CENTRE_SHARE * width_m:
        return
    really = "right" if off > 0 else "left"
    if really != said[0]:
        collector.add(
            "bad-position",
            f"{mark.name!r} lies on the {really} of the mesh. Y points to the right of the vehicle: check "
            "its sign, and whether the mesh is mirrored.",
            severity=Severity.WARNING,
            table=table,
            key="at",
            found=really,
            allowed=said[0],
        )


def _check_cable_ends(job: Job, collector: Collector) -> None:
    """A cable whose ends lie in one place is a slip of the pen: the same position twice."""
    place = {port.full_name: port.position.at_m for device in job.devices for port in device.ports}
    for cable in job.cables:
        if cable.from_port not in place or cable.to_port not in place:
            continue  # of a device that was left out for a fault of its own
        apart = float(np.linalg.norm(np.subtract(place[cable.from_port], place[cable.to_port])))
        if apart < _SAME_PLACE_M:
            collector.add(
                "ports-together",
                f"{cable.from_port!r} and {cable.to_port!r} lie in the same place: nothing can be laid.",
                table=f'[[cable]] "{cable.name}"',
                key="to",
                found=format_length(apart, job.length_unit),
                allowed=f"ports at least {format_length(_SAME_PLACE_M, job.length_unit)} apart",
            )
