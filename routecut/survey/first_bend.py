"""Ports before which there is no room for the first bend of a cable: a plan could not lay it there.

Stage      survey, with the judgement before work
Units      m
Safe side  says nothing where any way of straight and one bend has room: the plan knows better
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from routecut.geometry.clip_reach import lead_out_m, shortest_lead_m, straight_m, wanted_m
from routecut.geometry.keep_out import KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.geometry.triangles import plane_axes
from routecut.model.body import Body, Floats
from routecut.model.finding import Finding, Severity
from routecut.model.fitout import CableType
from routecut.model.job import Cable, Job, Port, Vec3
from routecut.plain import enumerated
from routecut.survey.faults import Collector
from routecut.survey.unseen import port_table
from routecut.units import format_length

_TURNS: Final = np.radians([0.0, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0])
"""How far a way turns before it goes on straight."""

_AROUND: Final = 24
"""Sides a way may turn to; 15 degrees apart."""

_ALONG: Final = 16
"""Places looked at on each way: about a tenth of the bend radius apart."""

_SLACK_M: Final = 0.004
"""What a plan may find more room than is found here: by bends a little tighter, legs a little nearer. [m]"""

_SKIN_M: Final = 5e-4
"""A way that a facet of a curved sheet stands into by no more than this is free. [m]"""

_AXES: Final = (
    ("front", (-1.0, 0.0, 0.0)),
    ("rear", (1.0, 0.0, 0.0)),
    ("left", (0.0, -1.0, 0.0)),
    ("right", (0.0, 1.0, 0.0)),
    ("down", (0.0, 0.0, -1.0)),
    ("up", (0.0, 0.0, 1.0)),
)


def first_bends(
    job: Job, body: Body, sizes: Mapping[str, CableType], *, sheets: Sheets | None = None
) -> tuple[Finding, ...]:
    """One warning for each port that a cable can't leave the way it is said to.

    Parameters
    ----------
    job : Job
        As `resolve` returns it.
    body : Body
    sizes : mapping of str to CableType
        What cables with an open type are laid as; one that is not in it is not looked at.
    sheets : Sheets, optional
        Of the body as it is routed on, where they are at hand.
    """
    collector = Collector()
    fields = [KeepOutField(k, body) for k in job.keep_outs]
    ahead = _Ahead(body, sheets or Sheets(body.routing_triangles_m), fields, job)
    told: set[str] = set()
    fine = set()  # what has room for one cable has for another like it
    for cable in job.cables:
        kind = sizes.get(cable.name) if cable.type_assumed else cable.type
        if kind is None:
            continue
        for name in (cable.from_port, cable.to_port):
            port = job.port(name)
            alike = (name, cable.cable_class, kind)
            if port.leaves is None or name in told or alike in fine:
                continue
            if ahead.has_room(port, port.leaves, cable, kind):
                fine.add(alike)
                continue
            told.add(name)
            _tell(port, port.leaves, cable, kind, ahead=ahead, to=collector)
    return tuple(collector.findings)


def _tell(port: Port, leaves: Vec3, cable: Cable, kind: CableType, *, ahead: _Ahead, to: Collector) -> None:
    unit = ahead.job.length_unit
    straight = straight_m(kind.diameter_m, kind.min_bend_radius_m)
    need = straight + kind.min_bend_radius_m + max(kind.diameter_m / 2, ahead.job.routing.stand_off_m)
    free = [word for word, way in _AXES if ahead.has_room(port, way, cable, kind)]
    turned = f"turn it: there is room to the {enumerated(free, 'or')}" if free else "turn it"
    to.add(
        "port-cramped",
        f"Cable {cable.name} has no room to bend as it leaves {port.full_name!r}: "
        f"{ahead.what(port, leaves, cable, need)}. "
        f"{kind.name} goes {format_length(straight, unit)} straight out of its connector and bends at "
        f"{format_length(kind.min_bend_radius_m, unit)}, so about {format_length(need, unit, 'up')} are wanted. "
        f"Move the device, {turned} (facing, or leaves = [x, y, z] of the port), or take a more flexible type.",
        severity=Severity.WARNING,
        table=port_table(port),
        key="leaves",
        found=cable.name,
        allowed=f"about {format_length(need, unit, 'up')}",
    )


@dataclass(frozen=True, eq=False)
class _Ahead:
    """What stands before ports."""

    body: Body
    sheets: Sheets
    fields: list[KeepOutField]
    job: Job

    def has_room(self, port: Port, leaves: Vec3, cable: Cable, kind: CableType) -> bool:
        """Whether some way of a straight, one bend and a straight leads out of a port that way."""
        radius, bend = kind.diameter_m / 2, max(kind.min_bend_radius_m, _SLACK_M)
        points = lead_out_m(self.sheets, replace(port, leaves=leaves), radius_m=radius, bend_m=bend)
        if len(points) < 2:  # no lead-out at all; one that only grazes a sheet beside it is no matter
            out = points + np.array(leaves) * shortest_lead_m(radius, bend)
            return not bool(self.sheets.blocked(points + 1e-3 * np.array(leaves), out)[0])
        lead = float(np.linalg.norm(points[1] - points[0]))
        towards = (points[1] - points[0]) / lead
        start = points[0] + towards * straight_m(kind.diameter_m, lead)
        ways = _ways(start, towards, bend)
        flat = ways.reshape(-1, 3)
        beside = float(self.sheets.closest(start[None], self.job.routing.stand_off_m)[0][0])
        near = self.sheets.closest(flat, self.job.routing.stand_off_m)[0].reshape(ways.shape[:2])
        # a cable that comes from further away is kept a stand-off from every sheet
        kept = min(max(self.job.routing.stand_off_m - _SLACK_M, radius), beside)
        free = np.asarray((near >= kept - _SKIN_M).all(axis=1))
        for field in (f for f in self.fields if f.applies_to(cable.cable_class)):
            rows = np.flatnonzero(free)
            gap = field.distance_m(ways[rows].reshape(-1, 3)).reshape(len(rows), _ALONG)
            free[rows] = (gap >= wanted_m(field, radius) - _SKIN_M).all(axis=1)
        rows = np.flatnonzero(free)
        legs = ways[rows]
        crossed = self.sheets.blocked(legs[:, :-1].reshape(-1, 3), legs[:, 1:].reshape(-1, 3))
        return bool((~crossed.reshape(len(rows), _ALONG - 1).any(axis=1)).any())

    def what(self, port: Port, leaves: Vec3, cable: Cable, need_m: float) -> str:
        """What stands before it and how far off, in words."""
        at, towards = np.array(port.position.at_m), np.array(leaves)
        along, face = self.sheets.first_hit((at + 1e-3 * towards)[None], towards[None], need_m)
        if face[0] >= 0:
            off = format_length(float(along[0]) + 1e-3, self.job.length_unit)
            return f"{self.body.parts[int(self.body.face_part[face[0]])]!r} is {off} before it"
        before = at + np.linspace(0.0, need_m, _ALONG)[:, None] * towards
        for field in (f for f in self.fields if f.applies_to(cable.cable_class)):
            if (field.distance_m(before) < field.clearance_m).any():
                return f"the keep-out {field.name!r} is before it"
        return "what lies round it leaves none"


def _ways(start_m: Floats, towards: Floats, bend_m: float) -> Floats:
    """Ways on from a point, (n, along, 3): a bend of that radius to each side, then straight. [m]"""
    across, up = plane_axes(towards)
    turn = np.arange(_AROUND) * (2 * np.pi / _AROUND)
    side = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * up
    run = np.linspace(0.0, bend_m * np.pi / 2, _ALONG)
    angle = np.minimum(run[None, :] / bend_m, _TURNS[:, None])
    on = run[None, :] - bend_m * angle
    ahead = bend_m * np.sin(angle) + on * np.cos(angle)
    aside = bend_m * (1 - np.cos(angle)) + on * np.sin(angle)
    ways = start_m + ahead[:, None, :, None] * towards + aside[:, None, :, None] * side[None, :, None, :]
    return np.asarray(ways.reshape(-1, _ALONG, 3))
