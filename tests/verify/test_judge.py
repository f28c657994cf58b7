"""Right curves pass; wrong ends, lengths and fill are caught; all is said at once.

Truth      the scenes are built so that what is wrong, and by how much, is known exactly
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routecut.model.job import (
    KeepOut,
    Sphere,
    SurfaceKind,
)
from routecut.model.plan import Stretch, Verification
from routecut.verify import verify_plan, verify_route
from tests.verify.scenes import (
    RADIUS,
    STAND_OFF,
    along_floor,
    codes,
    flat_scene,
    judge,
    length,
    make_body,
    make_cable,
    make_job,
    make_route,
    plate,
    space,
    wall_scene,
)


# --- right curves ------------------------------------------------------------------------
def test_a_route_on_a_floor_passes() -> None:
    scene = flat_scene()
    verified = judge(scene)
    assert codes(verified) == set()
    assert verified.crossings == 0
    assert verified.longest_span_m == 0.0
    assert verified.least_sheet_m == pytest.approx(STAND_OFF, abs=1e-9)
    assert verified.least_bend_radius_m == pytest.approx(RADIUS, rel=1e-3)
    assert verified.length_m == pytest.approx(length(scene[3].points_m), abs=1e-9)


@pytest.mark.parametrize(
    ("skins", "depth"), [((0.0,), 0.0), ((-0.02, 0.02), 0.04), ((-0.05, 0.0, 0.05), 0.1)]
)
def test_a_route_through_a_passage_passes(skins: tuple[float, ...], depth: float) -> None:
    verified = judge(wall_scene(skins=skins, depth=depth))
    assert codes(verified) == set()
    assert verified.least_sheet_m == pytest.approx(STAND_OFF, abs=1e-9)
    assert 0.05 < verified.longest_span_m < 0.30


def test_a_route_that_starts_on_metal_passes() -> None:
    """A connector sits on metal: clearance to sheets is not asked for in the last 30 mm."""
    scene = along_floor((0.2, 0.3, 0.001), (0.226, 0.3, STAND_OFF), (1.5, 0.3, STAND_OFF))
    gentle = replace(scene[2], type=replace(scene[2].type, min_bend_radius_m=0.005))
    assert codes(judge((scene[0], scene[1], gentle, scene[3]))) == set()


def test_a_short_bridge_passes_and_is_reported() -> None:
    """A gap of 200 mm in the floor: the bridge is as long as the gap less the reach of two clips."""
    body = make_body(
        front=(SurfaceKind.PANEL, plate((0, 0, 0), (0.6, 0, 0), (0, 1, 0))),
        rear=(SurfaceKind.PANEL, plate((0.8, 0, 0), (0.6, 0, 0), (0, 1, 0))),
    )
    points = np.array([(0.1, 0.5, STAND_OFF), (1.3, 0.5, STAND_OFF)])
    cab = space("cab", (-0.1, -0.1, -0.5), (2.1, 2.1, 1.0))
    scene = make_job(*points, spaces=(cab,)), body, make_cable(), make_route(points, ("cab",))
    verified = judge(scene)
    assert codes(verified) == set()
    reach = np.sqrt((1.25 * STAND_OFF + 0.001) ** 2 - STAND_OFF**2)
    assert verified.longest_span_m == pytest.approx(0.2 - 2 * reach, abs=0.01)


# --- ends and length ---------------------------------------------------------------------
@pytest.mark.parametrize("end", [0, -1])
def test_an_end_off_its_port_is_caught(end: int) -> None:
    scene = flat_scene()
    points = scene[3].points_m.copy()
    points[end] += (0.0, 0.003, 0.0)
    verified = judge(scene, points_m=points, length_m=length(points))
    assert codes(verified) == {"verify-ends"}
    name = "battery.positive" if end else "radio.power"
    assert f"3 mm from {name}" in verified.findings[0].message


@pytest.mark.parametrize(
    "bad", [np.zeros((0, 3)), np.zeros((1, 3)), np.ones((5, 3)), np.full((4, 3), np.nan)]
)
def test_what_is_no_curve_is_refused(bad: np.ndarray) -> None:
    verified = judge(flat_scene(), points_m=bad)
    assert codes(verified) == {"verify-ends"}


@pytest.mark.parametrize("off", [0.002, -0.002, float("nan"), float("inf")])
def test_a_wrong_length_is_caught(off: float) -> None:
    scene = flat_scene()
    verified = judge(scene, length_m=scene[3].length_m + off)
    assert codes(verified) == {"verify-length"}


def test_a_measured_stretch_takes_the_place_of_the_computed_one() -> None:
    scene = flat_scene()
    stretch = Stretch(from_name="radio.power", to_name="battery.positive", computed_m=1.0, measured_m=1.25)
    right = scene[3].length_m + 0.25
    assert codes(judge(scene, length_m=right, measured=(stretch,))) == set()
    assert codes(judge(scene, length_m=right + 0.01, measured=(stretch,))) == {"verify-length"}


# --- the plan ----------------------------------------------------------------------------
def filled(diameters: list[float], in_use: float = 0.0) -> dict[str, Verification]:
    job, body, cable, route = wall_scene()
    job = replace(job, pass_throughs=(replace(job.pass_throughs[0], in_use_m=in_use),))
    cables = [
        replace(cable, name=f"C{k}", type=replace(cable.type, diameter_m=d)) for k, d in enumerate(diameters)
    ]
    return verify_plan(job=job, body=body, routed=[(c, route) for c in reversed(cables)])


# NEC chapter 9 table 1 on a hole of 30 mm: 53 % is 21.84 mm for one, 31 % is 11.81 mm each
# for two, 40 % is 10.95 mm each for three (square root of share x 900 / number)
@pytest.mark.parametrize(
    ("diameters", "in_use", "fine"),
    [
        ([0.0218], 0.0, True),
        ([0.0219], 0.0, False),
        ([0.0118] * 2, 0.0, True),
        ([0.0119] * 2, 0.0, False),
        ([0.0109] * 3, 0.0, True),
        ([0.0110] * 3, 0.0, False),
        ([0.0118], 0.0118, True),
        ([0.0118], 0.0119, False),
        ([0.0060] * 2, 0.017, False),
        ([0.0060] * 2, 0.016, True),
    ],
)
def test_fill_is_judged_over_all_cables(diameters: list[float], in_use: float, fine: bool) -> None:
    verified = filled(diameters, in_use)
    assert list(verified) == sorted(verified)
    for one in verified.values():
        # thick cables are too near the sheets for other reasons; only the fill is asked here
        assert ("verify-fill" in codes(one)) is not fine


def test_the_plan_says_of_each_route_what_it_says_alone() -> None:
    job, body, cable, route = wall_scene()
    other = replace(cable, name="A9")
    plan = verify_plan(job=job, body=body, routed=[(cable, route), (other, route)])
    assert list(plan) == ["A9", "C1"]
    assert plan["C1"] == verify_route(job=job, body=body, cable=cable, route=route)
    assert plan["A9"].ok


def test_all_that_is_wrong_is_said_at_once() -> None:
    job, body, cable, route = wall_scene()
    points = route.points_m.copy()
    points[0] += (0, 0.01, 0)
    hot = KeepOut(name="pipe", shape=Sphere(at_m=(0.2, 0, 0), radius_m=0.01), clearance_m=0.3)
    bad = replace(route, points_m=points, length_m=9.9, passages=(), spaces=("cab",))
    thick = replace(cable, type=replace(cable.type, min_bend_radius_m=0.06))
    verified = judge((replace(job, keep_outs=(hot,)), body, thick, bad))
    assert codes(verified) >= {
        "verify-ends",
        "verify-length",
        "verify-crossing",
        "verify-clearance",
        "verify-bend",
        "verify-space",
    }
