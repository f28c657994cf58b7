"""Spans, bends, spaces and passages: each way of being wrong is caught.

Truth      the scenes are built so that what is wrong, and by how much, is known exactly
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from routecut.model.job import (
    Routing,
    SurfaceKind,
)
from routecut.model.plan import Passage, Verification
from tests.verify.scenes import (
    STAND_OFF,
    Scene,
    along_floor,
    codes,
    fillet,
    flat_scene,
    judge,
    make_body,
    make_cable,
    make_job,
    make_route,
    plate,
    run_of,
    space,
    wall_scene,
)


# --- spans -------------------------------------------------------------------------------
def test_a_span_over_the_bridge_length_is_caught() -> None:
    corners = [
        (0.2, 0.3, STAND_OFF),
        (0.5, 0.3, STAND_OFF),
        (0.6, 0.3, 0.1),
        (0.9, 0.3, 0.1),
        (1.0, 0.3, STAND_OFF),
    ]
    corners.append((1.5, 0.3, STAND_OFF))
    scene = along_floor(*corners)
    verified = judge(scene)
    assert codes(verified) == {"verify-span"}
    assert 0.45 < verified.longest_span_m < 0.60
    ((start, end),) = verified.free_spans_m
    assert end - start == verified.longest_span_m
    assert 0.30 < start < 0.36
    longer = replace(scene[0], routing=replace(scene[0].routing, bridge_m=0.60))
    assert codes(judge((longer, *scene[1:]))) == set()


def test_without_bridges_a_bend_may_still_lift_off() -> None:
    """A square inside corner with a bend of 60 mm: off both sheets over less than 4 radii."""
    body = make_body(
        floor=(SurfaceKind.PANEL, plate((0, 0, 0), (1, 0, 0), (0, 1, 0))),
        wall=(SurfaceKind.PANEL, plate((0, 0, 0), (0, 1, 0), (0, 0, 1))),
    )
    s = STAND_OFF
    points = fillet([(0.8, 0.5, s), (s, 0.5, s), (s, 0.5, 0.8)], 0.060)
    cab = space("cab", (-0.1, -0.1, -0.1), (2, 2, 2))
    job = make_job(points[0], points[-1], spaces=(cab,), routing=Routing(stand_off_m=s, bridge_m=0.0))
    cable = make_cable(type=replace(make_cable().type, min_bend_radius_m=0.060))
    verified = judge((job, body, cable, make_route(points, ("cab",))))
    assert codes(verified) == set()
    assert verified.longest_span_m > 0.03
    # the same lift without the radius that asks for it hangs free
    assert codes(
        judge(
            (
                job,
                body,
                make_cable(type=replace(cable.type, min_bend_radius_m=0.005)),
                make_route(points, ("cab",)),
            )
        )
    ) == {"verify-span"}


def test_a_deep_passage_carries_the_cable() -> None:
    """Two sheets 450 mm apart: free only as far as the bends into the hole take it."""
    job, body, cable, route = wall_scene(skins=(-0.225, 0.225), depth=0.45)
    assert codes(judge((job, body, cable, route))) == set()
    assert "verify-span" in codes(judge((job, body, cable, replace(route, passages=()))))


@pytest.mark.parametrize("kind", [SurfaceKind.TRIM, SurfaceKind.OBSTACLE])
def test_nothing_clips_to_what_is_not_a_panel(kind: SurfaceKind) -> None:
    scene = along_floor((0.2, 0.3, STAND_OFF), (1.5, 0.3, STAND_OFF), kind=kind)
    verified = judge(scene)
    assert codes(verified) == {"verify-span"}
    assert verified.longest_span_m == pytest.approx(1.3, abs=1e-9)


def test_a_curve_in_free_air_is_caught() -> None:
    verified = judge(along_floor((0.2, 0.3, 0.5), (1.5, 0.3, 0.5)))
    assert codes(verified) == {"verify-span"}
    assert any("nearest surface is 500 mm away" in f.message for f in verified.findings)


def test_a_body_without_faces_holds_nothing() -> None:
    job, _, cable, route = flat_scene()
    empty = make_body(floor=(SurfaceKind.PANEL, np.zeros((0, 3, 3))))
    assert codes(judge((job, empty, cable, route))) == {"verify-span"}


# --- bends -------------------------------------------------------------------------------
@pytest.mark.parametrize("turn", [35, 90, 150])
def test_a_kink_is_caught(turn: float) -> None:
    way = np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn)), 0.0])
    corner = np.array([1.0, 0.8, STAND_OFF])
    points = np.array([(0.5, 0.8, STAND_OFF), corner, corner + 0.5 * way])
    job, body, cable, _ = flat_scene()
    job = make_job(points[0], points[-1], spaces=job.spaces)
    verified = judge((job, body, cable, make_route(points, ("cab",))))
    assert codes(verified) == {"verify-bend"}
    assert "at 0.50 m" in verified.findings[0].where


def test_the_radius_of_the_type_counts_not_that_of_the_route() -> None:
    job, body, cable, route = flat_scene()
    thick = replace(cable, type=replace(cable.type, min_bend_radius_m=0.04))
    assert codes(judge((job, body, thick, replace(route, bend_radius_m=0.001)))) == {"verify-bend"}


# --- spaces and passages -----------------------------------------------------------------
def test_boxes_may_be_60_mm_off_but_not_more() -> None:
    """The bay's box ends short of the wall, or reaches through it."""
    job, body, cable, route = wall_scene()
    for end, fine in ((-0.055, True), (0.055, True), (-0.2, False)):
        bay = space("engine bay", (-1, -1.1, -1.1), (end, 1.1, 1.1))
        cab = space("cab", (max(end, 0.0), -1.1, -1.1), (1, 1.1, 1.1))
        verified = judge((replace(job, spaces=(bay, cab)), body, cable, route))
        assert codes(verified) == (set() if fine else {"verify-space"}), end


def window_scene() -> Scene:
    """A wall with an open window 0.4 m wide; the route slips through it and back."""
    wall = np.concatenate(
        [
            plate((0, -1, -1), (0, 0.8, 0), (0, 0, 2)),
            plate((0, 0.2, -1), (0, 0.8, 0), (0, 0, 2)),
            plate((0, -0.2, -1), (0, 0.4, 0), (0, 0, 0.8)),
            plate((0, -0.2, 0.2), (0, 0.4, 0), (0, 0, 0.8)),
        ]
    )
    body = make_body(wall=(SurfaceKind.PANEL, wall))
    inside, out = -STAND_OFF, STAND_OFF
    points = fillet(
        [(inside, -0.8, 0), (inside, -0.15, 0), (0.2, 0, 0), (0.2, 0.1, 0), (out, 0.3, 0), (out, 0.8, 0)],
        0.03,
    )
    cab = space("cab", (-1, -1.1, -1.1), (0, 1.1, 1.1))
    outside = space("outside", (-2, -2, -2), (2, 2, 2))
    job = make_job(
        points[0], points[-1], spaces=(cab, outside), routing=Routing(stand_off_m=STAND_OFF, bridge_m=0.8)
    )
    return job, body, make_cable(), make_route(points, ("cab", "outside"))


def test_slipping_out_through_a_window_is_caught() -> None:
    scene = window_scene()
    verified = judge(scene)
    assert verified.crossings == 0
    assert codes(verified) == {"verify-space"}
    assert "changes from cab to outside without a passage" in verified.findings[0].message
    # saying that it never left does not help
    job = make_job(
        *scene[3].points_m[[0, -1]],
        spaces=scene[0].spaces,
        routing=scene[0].routing,
        device_spaces=("cab", "cab"),
    )
    verified = judge((job, *scene[1:3], replace(scene[3], spaces=("cab",))))
    assert codes(verified) == {"verify-space"}
    assert "leaves cab by more than 60 mm from 0." in verified.findings[0].message
    assert (
        "the box of that [[space]] stops short of the panel it is on: move that side"
        in verified.findings[0].message
    )
    # nor that it was always outside: where it runs on the inside of the wall is seen
    job = make_job(
        *scene[3].points_m[[0, -1]],
        spaces=scene[0].spaces,
        routing=scene[0].routing,
        device_spaces=("outside", "outside"),
    )
    verified = judge((job, *scene[1:3], replace(scene[3], spaces=("outside",))))
    assert codes(verified) == {"verify-space"}
    assert "is on the side of cab from" in verified.findings[0].message
    # an open border is a way
    cab, outside = scene[0].spaces
    opened = replace(scene[0], spaces=(cab, replace(outside, open_to=("cab",))))
    assert codes(judge((opened, *scene[1:]))) == set()


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ((), "begins in no space"),
        (("cab",), "begins in cab"),
        (("engine bay",), "ends in engine bay"),
        (("engine bay", "boot", "cab"), "visits boot"),
        (("engine bay", "cab", "engine bay", "cab"), "without a passage"),
        (("cab", "engine bay"), "begins in cab"),
    ],
)
def test_a_wrong_list_of_spaces_is_caught(stated: tuple[str, ...], said: str) -> None:
    verified = judge(wall_scene(), spaces=stated)
    assert codes(verified) == {"verify-space"}
    assert any(said in f.message for f in verified.findings)


@pytest.mark.parametrize("inside", [True, False])
def test_running_along_the_wrong_side_of_a_door_is_caught(inside: bool) -> None:
    """Out through a window and along the outer skin, never 60 mm from it: boxes can't tell."""
    job, body, cable, _ = window_scene()
    near, far = -STAND_OFF, STAND_OFF
    corners = [(near, -0.8, 0.0), (near, -0.15, 0.0), (far, 0.05, 0.0), (far, 0.8, 0.0)]
    points = np.array([(near, -0.8, 0.0), (near, 0.8, 0.0)]) if inside else fillet(corners, 0.03)
    spaces = job.spaces
    job = make_job(points[0], points[-1], spaces=spaces, routing=job.routing, device_spaces=("cab", "cab"))
    verified = judge((job, body, cable, make_route(points, ("cab",))))
    assert verified.crossings == 0
    assert codes(verified) == (set() if inside else {"verify-space"})
    if not inside:
        assert "is on the side of outside from" in verified.findings[0].message


def test_a_job_without_spaces_is_judged_by_the_rest() -> None:
    job, body, cable, route = flat_scene()
    assert codes(judge((replace(job, spaces=()), body, cable, replace(route, spaces=())))) == set()


def with_passage(**changes: Any) -> Verification:
    scene = wall_scene()
    passage = replace(scene[3].passages[0], **changes)
    return judge(scene, passages=(passage,))


def test_a_passage_stated_wrongly_is_caught() -> None:
    run = wall_scene()[3].passages[0].at_route_m
    assert with_passage(at_route_m=run + 0.0015).ok
    for wrong in (run + 0.02, run - 0.02, 0.0, -5.0, 99.0, float("nan")):
        verified = with_passage(at_route_m=wrong)
        assert codes(verified) == {"verify-space"}
        assert "is said to go through grommet" in verified.findings[0].message
    verified = with_passage(name="gromet")
    assert {"verify-space", "verify-crossing"} <= codes(verified)
    assert any("no pass-through gromet" in f.message for f in verified.findings)
    assert any("joins engine bay and cab" in f.message for f in with_passage(to_space="boot").findings)


def test_a_passage_listed_but_not_gone_through_is_caught() -> None:
    """The curve turns back in front of the hole, or has its end in it."""
    job, body, cable, route = wall_scene()
    half = route.points_m[: len(route.points_m) // 2]
    half = half[half[:, 0] < -0.001]
    points = np.concatenate([half, [(-0.001, 0.0, 0.0)], half[::-1] + np.array([0, 1e-4, 0])])
    passage = Passage(
        name="grommet", at_route_m=run_of(points, (0, 0, 0)), from_space="engine bay", to_space="cab"
    )
    verified = judge((job, body, cable, replace(route, points_m=points, passages=(passage,))))
    assert any("comes back out on the same side" in f.message for f in verified.findings)
    far = replace(job.pass_throughs[0], position=replace(job.pass_throughs[0].position, at_m=(0.0, 0.5, 0.0)))
    verified = judge((replace(job, pass_throughs=(far,)), body, cable, route))
    assert any("misses the passage by" in f.message for f in verified.findings)


def test_who_may_use_a_passage() -> None:
    job, body, cable, route = wall_scene()
    for classes, fine in ((("*",), True), (("power",), True), (("coax", "data"), False)):
        hole = replace(job.pass_throughs[0], classes=classes)
        assert judge((replace(job, pass_throughs=(hole,)), body, cable, route)).ok is fine
    for wish, fine in (
        ({"through": ("grommet",)}, True),
        ({"avoid": ("boot",)}, True),
        ({"avoid": ("grommet",)}, False),
        ({"through": ("boot",)}, False),
        ({"through": ("grommet", "grommet")}, False),
    ):
        asked = replace(cable, **wish)
        assert codes(judge((job, body, asked, route))) == (set() if fine else {"verify-space"}), wish


def test_passages_out_of_order_are_caught() -> None:
    """There and back through the same wall, listed the wrong way round."""
    job, body, cable, _ = wall_scene()
    hole = job.pass_throughs[0]
    second = replace(hole, name="second", position=replace(hole.position, at_m=(0.0, 0.5, 0.0)))
    b, f = STAND_OFF, -STAND_OFF
    lead = 0.06
    points = fillet(
        [
            (f, 0, 0.5),
            (f, 0, 0.2),
            (f - lead, 0, 0.1),
            (f - lead, 0, 0),
            (b + lead, 0, 0),
            (b + lead, 0.1, 0),
            (b, 0.2, 0),
            (b, 0.3, 0),
            (b + lead, 0.4, 0),
            (b + lead, 0.5, 0),
            (f - lead, 0.5, 0),
            (f - lead, 0.5, 0.1),
            (f, 0.5, 0.2),
            (f, 0.5, 0.5),
        ],
        0.03,
    )
    two = make_job(
        points[0],
        points[-1],
        spaces=job.spaces,
        pass_throughs=(hole, second),
        device_spaces=("engine bay", "engine bay"),
    )
    first_way = Passage(
        name="grommet", at_route_m=run_of(points, (0, 0, 0)), from_space="engine bay", to_space="cab"
    )
    way_back = Passage(
        name="second", at_route_m=run_of(points, (0, 0.5, 0)), from_space="cab", to_space="engine bay"
    )
    route = make_route(points, ("engine bay", "cab", "engine bay"), (first_way, way_back))
    assert codes(judge((two, body, cable, route))) == set()
    swapped = (
        replace(way_back, from_space="engine bay", to_space="cab"),
        replace(first_way, from_space="cab", to_space="engine bay"),
    )
    verified = judge((two, body, cable, replace(route, passages=swapped)))
    assert codes(verified) == {"verify-space"}
    assert any("listed after a passage that lies behind it" in f.message for f in verified.findings)
    # one of the two is not declared: the sheet is met there
    assert judge((two, body, cable, replace(route, passages=(first_way,)))).crossings == 1
