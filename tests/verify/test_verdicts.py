"""A verdict is kept only while all it rests on stays: a stale one would hide a fault."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from routecut.model.body import Body
from routecut.model.job import Cable, Device, Job, KeepOut, Port, Position, Routing
from routecut.model.plan import Passage, Route
from routecut.verify import Verdicts, verify_plan
from tests.verify.scenes import box, flat_scene, vec

JOB, BODY, CABLE, ROUTE = flat_scene()
CORNER = ROUTE.points_m[len(ROUTE.points_m) // 2]
OVER_IT = KeepOut(
    name="hot pipe", shape=box(CORNER - 0.05, CORNER + 0.05), clearance_m=0.05
)  # fmt: skip
ELSEWHERE = Position(at_m=vec(ROUTE.points_m[0] + [0.0, 0.2, 0.0]))


def moved(device: Device) -> Device:
    port = device.ports[0]
    return replace(device, position=ELSEWHERE, ports=(replace(port, position=ELSEWHERE),))


def stranger() -> Device:
    port = Port(device="lamp", name="power", position=ELSEWHERE)
    return replace(JOB.devices[0], name="lamp", ports=(port,))


def lifted(route: Route) -> Route:
    """The middle of it through the floor."""
    points = route.points_m.copy()
    points[1:-1, 2] -= 0.03
    return replace(route, points_m=points)


CHANGED: dict[str, tuple[Job, Body, Cable, Route]] = {
    "a keep-out over it": (replace(JOB, keep_outs=(OVER_IT,)), BODY, CABLE, ROUTE),
    "another stand-off": (replace(JOB, routing=Routing(stand_off_m=0.02, bridge_m=0.1)), BODY, CABLE, ROUTE),
    "a device at its start moved": (
        replace(JOB, devices=(moved(JOB.devices[0]), JOB.devices[1])), BODY, CABLE, ROUTE
    ),
    "a device at its end moved": (
        replace(JOB, devices=(JOB.devices[0], moved(JOB.devices[1]))), BODY, CABLE, ROUTE
    ),
    "another mesh": (JOB, replace(BODY), CABLE, ROUTE),
    "a thicker cable": (JOB, BODY, replace(CABLE, type=replace(CABLE.type, diameter_m=0.03)), ROUTE),
    "another cable": (JOB, BODY, replace(CABLE, name="C2"), ROUTE),
    "another curve": (JOB, BODY, CABLE, lifted(ROUTE)),
    "another length": (JOB, BODY, CABLE, replace(ROUTE, length_m=ROUTE.length_m - 0.1)),
    "a passage": (
        JOB, BODY, CABLE,
        replace(ROUTE, passages=(Passage(name="hole", at_route_m=0.5, from_space="cab", to_space="cab"),)),
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CHANGED)
def test_what_it_rests_on_makes_it_stale(case: str) -> None:
    known = Verdicts()
    verdict = verify_plan(job=JOB, body=BODY, routed=[(CABLE, ROUTE)], verdicts=known)[CABLE.name]
    assert verdict.ok
    job, body, cable, route = CHANGED[case]
    assert known.on(job, body, cable, route) is None
    asked: dict[str, Any] = {"job": job, "body": body, "routed": [(cable, route)]}
    assert verify_plan(**asked, verdicts=known) == verify_plan(**asked)  # as if nothing were known


def test_what_it_does_not_rest_on_leaves_it() -> None:
    known = Verdicts()
    verdict = verify_plan(job=JOB, body=BODY, routed=[(CABLE, ROUTE)], verdicts=known)[CABLE.name]
    same = replace(ROUTE, points_m=ROUTE.points_m.copy())
    others: dict[str, Any] = {"cables": (replace(CABLE, name="C2"),), "devices": (*JOB.devices, stranger())}
    job = replace(JOB, **others)
    assert known.on(job, BODY, CABLE, same) == verdict
    assert verify_plan(job=job, body=BODY, routed=[(CABLE, same)], verdicts=known)[CABLE.name] == verdict


def test_each_cable_keeps_its_own_and_another_mesh_forgets_all() -> None:
    known = Verdicts()
    bad, worse = lifted(ROUTE), replace(CABLE, name="C2")
    fresh = verify_plan(job=JOB, body=BODY, routed=[(CABLE, ROUTE), (worse, bad)], verdicts=known)
    assert (fresh["C1"].ok, fresh["C2"].ok) == (True, False)
    assert known.on(JOB, BODY, CABLE, ROUTE) == fresh["C1"]
    assert known.on(JOB, BODY, worse, bad) is not None
    again = verify_plan(job=JOB, body=BODY, routed=[(CABLE, ROUTE), (worse, bad)], verdicts=known)
    assert again == fresh
    other = replace(BODY, vertices_m=np.array(BODY.vertices_m))
    verify_plan(job=JOB, body=other, routed=[(CABLE, ROUTE)], verdicts=known)
    assert known.on(JOB, other, CABLE, ROUTE) is not None
    assert known.on(JOB, other, worse, bad) is None
    assert known.on(JOB, BODY, CABLE, ROUTE) is None
