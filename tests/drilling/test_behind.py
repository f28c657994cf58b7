"""Behind the panel: scenes whose depth is known by construction, answered within a millimetre."""

from __future__ import annotations

import numpy as np
import pytest

from routecut.drilling.behind import IGNORED, LEAN_DEG, look
from routecut.drilling.scene import Scene
from routecut.model.drilling import HoleSide
from routecut.model.job import Box, Capsule, KeepOut, PartShape, Reason, Sphere
from tests.drilling.scenes import OBSTACLE, PANEL, TRIM, box, pipe, plate, scene_of

MM = 0.001
FLOOR = ("floor", (plate(0.0), PANEL))


def below(scene: Scene, diameter: float = 0.020, depth: float = 0.0) -> HoleSide:
    """The side under the floor of a hole in its middle."""
    low, _ = look(scene, (0, 0, 0), (0, 0, 1), diameter_m=diameter, depth_m=depth, spaces=("below", "above"))
    return low


def test_a_tank_25_mm_behind_the_floor() -> None:
    tank = box((-0.3, -0.3, -0.2), (0.3, 0.3, -0.025))
    side = below(scene_of(dict([FLOOR, ("tank", (tank, OBSTACLE))])))
    assert side.met is not None
    assert side.met.free_m == pytest.approx(0.025, abs=MM)
    assert (side.met.what, side.met.panel, side.seen) == ("tank", False, 1.0)


@pytest.mark.parametrize(
    "keep_out",
    [
        KeepOut(
            name="tank", shape=Box(low_m=(-0.3, -0.3, -0.3), high_m=(0.3, 0.3, -0.025)), reason=Reason.FUEL
        ),
        KeepOut(name="tank", shape=Sphere(at_m=(0, 0, -0.125), radius_m=0.1), reason=Reason.FUEL),
        KeepOut(
            name="tank",
            shape=Capsule(from_m=(-0.5, 0, -0.075), to_m=(0.5, 0, -0.075), radius_m=0.05),
            reason=Reason.FUEL,
        ),
        KeepOut(name="tank", shape=PartShape(part="tank"), reason=Reason.FUEL),
        # 200 mm away at one end of its travel, 25 mm at the other
        KeepOut(
            name="tank",
            shape=Box(low_m=(-0.3, -0.3, -0.3), high_m=(0.3, 0.3, -0.2)),
            reason=Reason.FUEL,
            sweep_m=(0.0, 0.0, 0.175),
        ),
    ],
    ids=["box", "sphere", "capsule", "part", "swept"],
)
def test_a_keep_out_of_every_shape_without_its_clearance(keep_out: KeepOut) -> None:
    parts = dict([FLOOR])
    if isinstance(keep_out.shape, PartShape):
        parts["tank"] = (box((-0.3, -0.3, -0.3), (0.3, 0.3, -0.025)), OBSTACLE)
    side = below(scene_of(parts, keep_outs=[keep_out]))
    assert side.met is not None
    assert side.met.free_m == pytest.approx(0.025, abs=MM)
    assert (side.met.what, side.met.reason) == ("tank", Reason.FUEL)


def test_a_brace_that_only_the_rim_of_the_hole_meets() -> None:
    """Its edge lies 9.5 mm off the axis: a line through the middle alone would miss it."""
    brace = box((0.0095, -0.3, -0.060), (0.3, 0.3, -0.030))
    parts = dict([FLOOR, ("brace", (brace, PANEL))])
    side = below(scene_of(parts))
    assert side.met is not None
    assert side.met.free_m == pytest.approx(0.030, abs=MM)
    assert side.met.panel
    # a hole of 4 mm passes beside it, and so does a drill that leans by ten degrees over 30 mm
    assert np.tan(np.radians(LEAN_DEG)) * 0.030 + 0.002 < 0.0095
    passed = below(scene_of(parts), diameter=0.004)
    assert passed.met is None or passed.met.free_m > 0.030 + MM


def test_a_drill_that_leans_meets_what_stands_beside_the_way() -> None:
    """At 60 mm a drill 10 degrees off square is 10.6 mm aside: 10 mm of hole and that much more."""
    beside = box((0.012, -0.3, -0.08), (0.3, 0.3, -0.060))
    side = below(scene_of(dict([FLOOR, ("rail", (beside, OBSTACLE))])))
    assert side.met is not None
    assert side.met.free_m == pytest.approx(0.060, abs=MM)
    far = box((0.030, -0.3, -0.08), (0.3, 0.3, -0.060))
    assert below(scene_of(dict([FLOOR, ("rail", (far, OBSTACLE))]))).met is None


def test_a_second_skin() -> None:
    parts = dict([FLOOR, ("skin", (plate(-0.035), PANEL)), ("tank", (plate(-0.155), OBSTACLE))])
    side = below(scene_of(parts))
    assert side.met is not None
    assert (side.met.what, side.met.panel) == ("skin", True)
    assert side.met.free_m == pytest.approx(0.035, abs=MM)


def test_a_declared_double_sheet_is_passed_and_counted_from_its_far_skin() -> None:
    parts = dict([FLOOR, ("skin", (plate(-0.035), PANEL)), ("tank", (plate(-0.155), OBSTACLE))])
    low, high = look(
        scene_of(parts),
        (0, 0, -0.0175),
        (0, 0, 1),
        diameter_m=0.020,
        depth_m=0.040,
        spaces=("below", "above"),
    )
    assert low.met is not None
    assert low.met.what == "tank"
    assert low.met.free_m == pytest.approx(0.120, abs=MM)
    assert high.met is None


def test_a_tank_between_the_skins_is_no_metal_to_pass() -> None:
    parts = dict(
        [
            FLOOR,
            ("skin", (plate(-0.035), PANEL)),
            ("wire", (pipe((-0.4, 0, -0.02), (0.4, 0, -0.02), 0.004), OBSTACLE)),
        ]
    )
    low, _ = look(
        scene_of(parts),
        (0, 0, -0.0175),
        (0, 0, 1),
        diameter_m=0.020,
        depth_m=0.040,
        spaces=("below", "above"),
    )
    assert low.met is not None
    assert (low.met.what, low.met.free_m) == ("wire", 0.0)


def test_nothing_behind_is_not_known() -> None:
    side = below(scene_of(dict([FLOOR])))
    assert side.met is None
    assert side.seen == 0.0


def test_a_gap_in_the_mesh_shows_as_lines_that_saw_nothing() -> None:
    half = plate(-0.2, (0.0, -0.5), (0.5, 0.5))
    side = below(scene_of(dict([FLOOR, ("under", (half, PANEL))])))
    assert side.met is not None
    assert side.met.free_m == pytest.approx(0.2, abs=MM)
    assert 0.4 < side.seen < 0.65


def test_a_pipe_thinner_than_the_lines_are_apart() -> None:
    """0.4 mm thick, anywhere across the hole, 40 mm down: found by its nearest place."""
    for y in np.linspace(0.0, 0.009, 13):
        thin = pipe((-0.4, y, -0.0402), (0.4, y, -0.0402), 0.0002)
        side = below(scene_of(dict([FLOOR, ("pipe", (thin, OBSTACLE))])))
        assert side.met is not None
        assert side.met.free_m == pytest.approx(0.040, abs=MM)


def test_trim_comes_off_first_and_does_not_count() -> None:
    parts = dict([FLOOR, ("lining", (plate(-0.015), TRIM)), ("tank", (plate(-0.300), OBSTACLE))])
    side = below(scene_of(parts))
    assert side.met is not None
    assert side.met.free_m == pytest.approx(0.300, abs=MM)
    assert side.trim[0][0] == "lining"
    assert side.trim[0][1] == pytest.approx(0.015, abs=MM)


def test_what_the_job_ignores_is_met_all_the_same() -> None:
    side = below(scene_of(dict([FLOOR]), pictured=plate(-0.025)))
    assert side.met is not None
    assert side.met.what == IGNORED
    assert side.met.free_m == pytest.approx(0.025, abs=MM)


def test_screws_round_the_hole_meet_what_the_hole_does_not() -> None:
    rail = box((0.020, -0.3, -0.05), (0.3, 0.3, -0.010))
    side = below(scene_of(dict([FLOOR, ("rail", (rail, OBSTACLE))])))
    assert side.around is not None
    assert side.around.free_m == pytest.approx(0.010, abs=MM)
    assert side.met is None or side.met.free_m > 0.045


def test_the_body_of_the_drill_needs_more_room_than_the_hole() -> None:
    wall = box((0.025, -0.3, -0.2), (0.3, 0.3, -0.1))
    side = below(scene_of(dict([FLOOR, ("wall", (wall, OBSTACLE))])), diameter=0.010)
    assert side.approach_m == pytest.approx(0.1, abs=MM)


@pytest.mark.parametrize("seed", range(12))
def test_any_direction_gives_the_same_depth(seed: int) -> None:
    """The scene turned and moved: a floor with a tank 25 mm under it is that everywhere."""
    rng = np.random.default_rng(seed)
    turn, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    move = rng.normal(size=3)
    depth = float(rng.uniform(0.005, 0.6))
    floor, tank = plate(0.0) @ turn.T + move, plate(-depth) @ turn.T + move
    low, high = look(
        scene_of({"floor": (floor, PANEL), "tank": (tank, OBSTACLE)}),
        move,
        turn[:, 2],
        diameter_m=0.020,
        depth_m=0.0,
        spaces=("below", "above"),
    )
    assert low.met is not None
    assert low.met.free_m == pytest.approx(depth, abs=MM)
    assert high.met is None
