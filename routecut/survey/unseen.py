"""Ports from which no panel is seen within reach: a plan would find no way to lay their cables.

Stage      survey, with the judgement before work
Units      m
Safe side  says nothing where anything at all is seen, of whatever space: the plan knows better
"""

from __future__ import annotations

from typing import Final

from routecut.geometry.clip_reach import Outlook
from routecut.geometry.keep_out import KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.model.body import Body
from routecut.model.finding import Severity
from routecut.model.job import Job, Port
from routecut.survey.faults import Collector

_THIN_M: Final = 0.001


def port_table(port: Port) -> str:
    """Where a port stands in the job file."""
    return f'[[device]] "{port.device}", [[device.port]] "{port.name}"'


def check_seen(
    job: Job,
    body: Body,
    fields: list[KeepOutField],
    ports: list[Port],
    collector: Collector,
    *,
    sheets: Sheets,
) -> None:
    """One warning for each port from which one of its cables sees nothing to be clipped to.

    Parameters
    ----------
    job : Job
    body : Body
    fields : list of KeepOutField
        One for each keep-out of the job.
    ports : list of Port
        Those to look at.
    collector : Collector
    sheets : Sheets
        Of the body as it is routed on.
    """
    for port in ports:
        fine = set()  # a cable like one that was looked at here sees what that one sees
        for cable in job.cables:
            alike = (cable.cable_class, cable.type, cable.type_assumed)
            if port.full_name not in (cable.from_port, cable.to_port) or alike in fine:
                continue
            applying = [f for f in fields if f.applies_to(cable.cable_class)]
            shapes = [(cable.type.diameter_m / 2, cable.type.min_bend_radius_m)]
            if cable.type_assumed:
                shapes.append((_THIN_M, 0.0))  # a plan may choose a thinner one than is assumed
            outlooks = [
                Outlook.of(port, body, sheets, job.routing, applying, radius_m=radius, bend_m=bend)
                for radius, bend in shapes
            ]
            if any(outlook.sees_panel() for outlook in outlooks):
                fine.add(alike)
                continue
            collector.add(
                "port-unseen",
                f"Cable {cable.name} sees nothing it can be clipped to from {port.full_name!r} within reach. "
                f"{outlooks[0].nearest(job.length_unit)} Type: the port's place again, leaves = [x, y, z] "
                "towards a panel, or [routing] bridge = .. if the cable may hang free that far.",
                severity=Severity.WARNING,
                table=port_table(port),
                key="at" if port.offset_m is None else "offset",
                found=cable.name,
            )
            break
