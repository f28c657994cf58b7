"""A room with a wall, a lining before a piece of it, a post trim over the edge of the lining, and a duct.

Seen from above, X to the rear: the wall stands at X 0, the lining before it from Y -1 to 1, the post trim before
the lining's edge; the door duct behind X -1 is said to be behind trim, the cavity under the floor is sealed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from routecut.model.body import Body, Floats
from routecut.model.job import (
    Access,
    Cable,
    CableClass,
    CableType,
    Device,
    Exposure,
    HoleState,
    Job,
    KeepOut,
    PassThrough,
    Port,
    Position,
    Reason,
    ServicePractice,
    Sphere,
    SurfaceKind,
    SurfaceRule,
    Vec3,
)
from routecut.model.plan import (
    Covered,
    CutLength,
    Lead,
    LeadJoint,
    Passage,
    Plan,
    PlannedCable,
    PlannedHole,
    Route,
    SumLine,
)
from routecut.model.service import Service
from routecut.service import service_study
from tests.drilling.scenes import PANEL, body_of, job_of, space


def board(x: float, low: tuple[float, float], high: tuple[float, float]) -> Floats:
    """An upright sheet across X, from (y, z) to (y, z), of squares of half a metre."""
    found = []
    (y0, z0), (y1, z1) = low, high
    ys, zs = (np.linspace(a, b, max(2, int((b - a) / 0.5) + 1)) for a, b in ((y0, y1), (z0, z1)))
    for ya, yb in pairwise(ys):
        for za, zb in pairwise(zs):
            a, b, c, d = [x, ya, za], [x, yb, za], [x, yb, zb], [x, ya, zb]
            found += [[a, b, c], [a, c, d]]
    return np.array(found)


def trim(minutes: float, *after: str) -> SurfaceRule:
    return SurfaceRule(part="*", kind=SurfaceKind.TRIM, removal_minutes=minutes, after=after)


def body(lining_minutes: float = 12.0) -> Body:
    return body_of(
        {
            "wall": (board(0.0, (-4.0, -2.0), (4.0, 2.0)), PANEL),
            "lining": (board(0.062, (-1.0, -1.0), (1.0, 1.0)), trim(lining_minutes, "post trim")),
            "post trim": (board(0.08, (0.9, -1.0), (1.1, 1.0)), trim(8.0)),
            "door lining": (board(-1.5, (-1.0, -1.0), (1.0, 1.0)), trim(6.0)),
        }
    )


SPACES = (
    space("duct", (-2.0, -2.0, -1.5), (-1.0, 2.0, 1.5), access=Access.TRIM, exposure=(Exposure.WET,)),
    space("cavity", (-1.0, -2.0, -1.5), (0.0, 2.0, 1.5), access=Access.SEALED),
    space("room", (0.0, -3.0, -1.5), (3.0, 3.0, 1.5)),
)
KIND = CableType(name="soft", cable_class=CableClass.DATA, diameter_m=0.006, min_bend_radius_m=0.01)


def device(
    name: str,
    at: Vec3,
    room: str = "room",
    *,
    loops: Sequence[float] = (0.2,),
    pulls_out: float | None = None,
) -> Device:
    """A serviceable device with a port for each loop."""
    ports = tuple(
        Port(
            device=name,
            name=f"p{k}",
            position=Position(at_m=at),
            service_loop_m=loop,
            length_used_by_termination_m=0.01,
        )
        for k, loop in enumerate(loops, start=1)
    )
    return Device(
        name=name,
        position=Position(at_m=at),
        space=room,
        serviceable=True,
        ports=ports,
        pulls_out_m=pulls_out,
    )


def cable(name: str, start: str, end: str) -> Cable:
    return Cable(name=name, from_port=start, to_port=end, cable_class=CableClass.DATA, type=KIND)


def planned(
    one: Cable, job: Job, covered: Sequence[Covered] = (), passages: Sequence[Passage] = ()
) -> PlannedCable:
    """A straight run from port to port, with its cut."""
    ends = [job.port(p) for p in (one.from_port, one.to_port)]
    points = np.array([p.position.at_m for p in ends])
    length = float(np.linalg.norm(points[1] - points[0]))
    lines = [SumLine(what="route", length_m=length, why="w")]
    for port in ends:
        lines.append(SumLine(what=f"re-terminations at {port.full_name}", length_m=0.02, why="w"))
        if port.service_loop_m:
            lines.append(
                SumLine(what=f"service loop at {port.full_name}", length_m=port.service_loop_m, why="w")
            )
    spaces = (job.device_of(one.from_port).space, job.device_of(one.to_port).space)
    return PlannedCable(
        cable=one,
        route=Route(
            points_m=points,
            length_m=length,
            spaces=tuple(dict.fromkeys(spaces)),
            bend_radius_m=0.01,
            passages=tuple(passages),
        ),
        cut=CutLength(length_m=sum(x.length_m for x in lines), probability=0.95, lines=tuple(lines)),
        covered=tuple(covered),
    )


def with_joint(one: PlannedCable, at_m: float, from_m: float, to_m: float) -> PlannedCable:
    joint = LeadJoint(at_route_m=at_m, space="room", access="trim", from_m=from_m, to_m=to_m)
    return replace(one, lead=Lead(lengths_m=(1.0, 1.0), surplus_m=0.1, joints=(joint,), parked="parked"))


HOLE = PassThrough(
    name="H1",
    position=Position(at_m=(0.0, 0.0, 0.5)),
    axis=(1.0, 0.0, 0.0),
    diameter_m=0.02,
    state=HoleState.CANDIDATE,
    joins=("cavity", "room"),
)
AIRBAG = KeepOut(
    name="curtain airbag",
    shape=Sphere(at_m=(0.2, 1.0, 0.0), radius_m=0.05),
    clearance_m=0.05,
    reason=Reason.AIRBAG,
)


def job_with(*devices: Device, cables: Sequence[Cable] = (), minutes: float = 30.0) -> Job:
    return job_of(
        spaces=SPACES,
        devices=devices,
        cables=tuple(cables),
        pass_throughs=(HOLE,),
        keep_outs=(AIRBAG,),
        service=ServicePractice(minutes=minutes),
    )


def plan_of(job: Job, cables: Sequence[PlannedCable], the_body: Body | None = None) -> Plan:
    users = tuple(
        c.cable.name for c in cables if c.route is not None and any(p.name == "H1" for p in c.route.passages)
    )
    hole = PlannedHole(
        pass_through=HOLE,
        state=HOLE.state,
        drill=bool(users),
        at_m=HOLE.position.at_m,
        axis=HOLE.axis,
        cables=users,
    )
    found: Service = service_study(job, the_body or body(), cables, holes=[hole])
    return Plan(version="test", job=job, cables=tuple(cables), holes=(hole,), service=found)
