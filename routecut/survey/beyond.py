"""Ports on the other side of a panel from their device: their cables would begin in another room.

Boxes of spaces are never exact, so a port a little outside its own is no fault; with a panel between it
and its device it is one.

Stage      survey, with the judgement before work
Units      m
Safe side  says nothing of a port inside its space, as that of an antenna through the roof is
"""

from __future__ import annotations

import numpy as np

from routecut.geometry.sheets import Sheets
from routecut.model.body import Body, Floats
from routecut.model.finding import Severity
from routecut.model.job import Job, Port, SurfaceKind
from routecut.survey.faults import Collector
from routecut.survey.seat import SPACE_MARGIN_M
from routecut.survey.unseen import port_table
from routecut.units import format_length

_ROUNDING_M = 1e-5
"""What a ray may be off, with the single precision it is traced in. [m]"""


def check_beyond(job: Job, body: Body, sheets: Sheets, collector: Collector) -> None:
    """One warning for each port outside its space that a panel parts from its device.

    Parameters
    ----------
    job : Job
        As `resolve` returns it.
    body : Body
    sheets : Sheets
        Of the body as it is routed on.
    collector : Collector
    """
    panel = body.faces_of_kind(SurfaceKind.PANEL)
    for device in job.devices:
        space, at = job.space(device.space), device.position.at_m
        if not space.holds(at, SPACE_MARGIN_M):
            continue
        for port in (port for port in device.ports if not space.holds(port.position.at_m)):
            met = _first_met(sheets, np.array(at), np.array(port.position.at_m))
            if met is not None and panel[met[1]]:
                past = format_length(met[0] - _ROUNDING_M, job.length_unit, "up")
                _tell(port, body.parts[int(body.face_part[met[1]])], past, space.name, to=collector)


def _first_met(sheets: Sheets, from_m: Floats, to_m: Floats) -> tuple[float, int] | None:
    """How far a point lies behind the first sheet on the straight way to it, and the face; None when none is."""
    length = float(np.linalg.norm(to_m - from_m))
    if length <= 0.0:
        return None
    along, face = sheets.first_hit(from_m[None], (to_m - from_m)[None] / length, length)
    return None if face[0] < 0 else (length - float(along[0]), int(face[0]))


def _tell(port: Port, part: str, past: str, space: str, *, to: Collector) -> None:
    to.add(
        "port-beyond",
        f"{port.full_name!r} lies {past} beyond {part!r}, seen from its device {port.device!r}, and outside the space "
        f"{space!r}: no cable gets to it there. Move the device away from {part!r} by {past} and the room its cables "
        "need to bend, or turn it (facing, or offset = [x, y, z] of the port).",
        severity=Severity.WARNING,
        table=port_table(port),
        key="at" if port.offset_m is None else "offset",
        found=part,
        allowed=f"a place on the side of {port.device!r}",
    )
