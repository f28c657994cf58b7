"""From which side a hole is drilled, and when it is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routecut.drilling.behind import look
from routecut.drilling.judge import APPROACH_M, sides, too_close
from routecut.drilling.scene import Scene
from routecut.model.body import Floats
from routecut.model.drilling import HoleSide
from routecut.model.job import Box, Drilling, KeepOut, Reason, SurfaceRule
from tests.drilling.scenes import OBSTACLE, PANEL, plate, scene_of

Parts = dict[str, tuple[Floats, SurfaceRule]]


def judged(scene: Scene) -> tuple[HoleSide, HoleSide, str | None]:
    low, high = look(scene, (0, 0, 0), (0, 0, 1), diameter_m=0.020, depth_m=0.0, spaces=("below", "above"))
    return sides(scene, low, high)


def scene(under: float | None = None, over: float | None = None, *keep_outs: KeepOut) -> Scene:
    """A floor with a sheet so far under and over it."""
    parts: Parts = {"floor": (plate(0.0), PANEL)}
    if under is not None:
        parts["under"] = (plate(-under), OBSTACLE)
    if over is not None:
        parts["over"] = (plate(over), OBSTACLE)
    return scene_of(parts, keep_outs=keep_outs)


def block(low: float, high: float, reason: Reason, clearance: float = 0.0) -> KeepOut:
    return KeepOut(
        name="thing",
        shape=Box(low_m=(-0.3, -0.3, low), high_m=(0.3, 0.3, high)),
        reason=reason,
        clearance_m=clearance,
    )


def test_it_is_drilled_from_where_a_drill_can_stand() -> None:
    for under, over, from_space in ((0.1, 0.5, "above"), (0.5, 0.1, "below")):
        near, far, why = judged(scene(under, over))
        assert (near.space, why) == (from_space, None)
        assert far.met is not None
        assert far.met.free_m == pytest.approx(0.1, abs=1e-4)


def test_where_no_drill_can_stand_nothing_is_drilled() -> None:
    _, _, why = judged(scene(APPROACH_M - 0.01, APPROACH_M - 0.02))
    assert why is not None
    assert "no drill can stand" in why
    assert "150 mm are wanted" in why


def test_of_two_sides_the_one_is_taken_that_shows_what_is_behind() -> None:
    near, far, why = judged(scene(0.5, None))
    assert (near.space, far.space, why) == ("above", "below", None)
    near, far, why = judged(scene(None, 0.5))
    assert (near.space, far.space, why) == ("below", "above", None)

    # moving things leave a drill its room, and are known all the same
    near, _, _ = judged(scene(None, None, block(-0.3, -0.06, Reason.MOVING)))
    assert near.space == "above"


def test_just_enough_behind_and_just_too_little() -> None:
    """40 mm are wanted by default."""
    assert judged(scene(0.0401))[2] is None
    why = judged(scene(0.039))[2]
    assert why is not None
    assert "under lies 39 mm behind it in below; 40 mm are wanted" in why


@pytest.mark.parametrize("reason", [Reason.FUEL, Reason.HIGH_VOLTAGE, Reason.AIRBAG])
def test_what_can_kill_refuses_on_either_side(reason: Reason) -> None:
    """25 mm off on one side, with all the room of the world on the other."""
    for low, high in ((-0.3, -0.025), (0.025, 0.3)):
        _, _, why = judged(scene(None, None, block(low, high, reason)))
        assert why is not None
        assert "thing" in why


def test_a_seat_can_be_moved_out_of_the_way_of_a_drill() -> None:
    """Its travel begins 60 mm over the floor; a hot pipe there would be in the way."""
    near, _, why = judged(scene(0.5, None, block(0.06, 0.3, Reason.MOVING)))
    assert (near.space, why) == ("above", None)
    near, _, _ = judged(scene(0.5, None, block(0.06, 0.3, Reason.HOT)))
    assert near.space == "below"


def test_a_clearance_counts_in_every_direction_for_what_can_kill() -> None:
    beside = KeepOut(
        name="tank",
        shape=Box(low_m=(0.1, -0.3, -0.3), high_m=(0.3, 0.3, -0.05)),
        reason=Reason.FUEL,
        clearance_m=0.15,
    )
    near = scene(None, None, beside)
    # 100 mm aside and 50 down: 112 mm, less 10 mm of hole
    (text,) = too_close(near, np.zeros(3), 0.010)
    assert "tank is 101 mm away; its clearance is 150 mm" in text
    assert too_close(near, np.array([-0.1, 0.0, 0.0]), 0.010) == []
    hot = scene(None, None, block(-0.3, -0.05, Reason.HOT, 0.15))
    assert too_close(hot, np.zeros(3), 0.010) == []


def test_what_can_kill_on_the_near_side_counts_as_far_as_is_asked_behind() -> None:
    """200 mm off, where a drill can stand and 300 mm are asked: no side will do; a hot thing leaves one."""
    for reason, refused in ((Reason.FUEL, True), (Reason.HOT, False)):
        told = scene(None, None, block(-0.5, -0.2, reason))
        told.job = replace(told.job, drilling=Drilling(behind_m=0.3))
        near, _, why = judged(told)
        assert (why is not None) is refused
        assert refused or near.space == "below"
