"""What lies where the body is worked on, held against every millimetre of every cable."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routecut.documents import service_text
from routecut.errors import OutOfRangeError
from routecut.model.body import Floats
from routecut.model.body_work import NEAR_WORK_M
from routecut.model.plan import Plan
from routecut.model.service import Answer, Asked, Focus
from routecut.planning.questions import understood
from routecut.planning.service import answers
from routecut.routes.polyline import in_steps
from routecut.service import body_work
from tests.service.test_answer import room

STEPS_M = 0.03
"""Cables are looked at every 20 mm, those behind trim too."""


@pytest.fixture(scope="module")
def plan() -> Plan:
    return room()


def by_millimetre(plan: Plan, name: str) -> tuple[Floats, Floats]:
    route = next(c.route for c in plan.cables if c.cable.name == name)
    assert route is not None
    return in_steps(route.points_m, 0.001)


def held(plan: Plan, found: Answer, inside: dict[str, Floats]) -> None:
    """What is well inside is told, and nothing that is well outside; `inside` is how deep, in metres."""
    told = {one.name: one for one in found.lies if one.kind == "cable"}
    for name, depth in inside.items():
        at, _ = by_millimetre(plan, name)
        stretches = told[name].stretches_m if name in told else ()
        within = (
            np.any([(at >= a - 1e-9) & (at <= b + 1e-9) for a, b in stretches], axis=0)
            if stretches
            else at < 0
        )
        assert within[depth > STEPS_M].all(), name
        assert not within[depth < -STEPS_M].any(), name


def test_near_trim_is_what_a_tape_finds_near_the_cables_behind_it(plan: Plan) -> None:
    found = body_work(plan, Asked.TRIM, "lining")
    at, points = by_millimetre(plan, "D1")
    behind = points[at <= 1.0]
    depths = {}
    for planned in plan.cables:
        _, own = by_millimetre(plan, planned.cable.name)
        gaps = np.linalg.norm(own[:, None] - behind[None, ::10], axis=2).min(axis=1)
        depths[planned.cable.name] = NEAR_WORK_M - gaps
    held(plan, found, depths)
    assert [one.far_m for one in found.lies] == sorted(one.far_m for one in found.lies)
    assert "radio" in found.devices
    assert "head" not in found.devices
    (hole,) = plan.holes
    for z, there in ((0.48, True), (0.52, False)):
        moved = replace(plan, holes=(replace(hole, at_m=(0.012, 0.0, z)),))
        assert any(one.kind == "hole" for one in body_work(moved, Asked.TRIM, "lining").lies) is there


@pytest.mark.parametrize(
    "sides", [("left",), ("right",), ("front",), ("left", "rear"), ("left", "right"), ("roof",)]
)
def test_a_side_is_the_outer_third_of_the_spaces(plan: Plan, sides: tuple[str, ...]) -> None:
    found = body_work(plan, Asked.JOB, "everything", sides)
    boxes = [box for space in plan.job.spaces for box in space.boxes]
    low, high = np.min([b.low_m for b in boxes], axis=0), np.max([b.high_m for b in boxes], axis=0)
    depths = {}
    for planned in plan.cables:
        _, own = by_millimetre(plan, planned.cable.name)
        third = (high - low) / 3
        below, above = low + third - own, own - (high - third)
        of = {
            "front": below[:, 0],
            "rear": above[:, 0],
            "left": below[:, 1],
            "right": above[:, 1],
            "roof": above[:, 2],
        }
        axes = [[s for s in pair if s in sides] for pair in (("front", "rear"), ("left", "right"), ("roof",))]
        depths[planned.cable.name] = np.min(
            [np.max([of[s] for s in pair], axis=0) for pair in axes if pair], axis=0
        )
    held(plan, found, depths)


CALLED = {
    "left sill trim": [(Asked.TRIM, "sill-trim-left")],
    "left b-post trim": [(Asked.TRIM, "b-post-trim-left")],
    "right b-post trim": [(Asked.TRIM, "b-post-trim-right")],
    "fuel tank": [(Asked.KEEP_OUT, "fuel tank")],
    "cab": [(Asked.SPACE, "cab")],
    "weld nut": [(Asked.DEVICE, "weld nut")],
}


@pytest.mark.parametrize(
    ("text", "names", "sides"),
    [
        ("the body shop wants to weld at the front of the left sill", ["sill-trim-left"], ()),
        ("left B-pillar was crushed", ["b-post-trim-left"], ()),
        ("grinding beside the fuel tank", ["fuel tank"], ()),
        ("welding in the cab", ["cab"], ()),
        ("the van was hit on the left side, what could be damaged?", ["everything"], ("left",)),
        ("crash at the back, right corner", ["everything"], ("right", "rear")),
        ("rammed from the front", ["everything"], ("front",)),
    ],
)
def test_where_the_body_is_worked_on(text: str, names: list[str], sides: tuple[str, ...]) -> None:
    found = understood(CALLED, text)
    assert [name for _, name in found.things] == names
    assert found.focus is Focus.BODY
    assert found.sides == sides


def test_a_name_goes_before_the_word_in_it_and_a_place_is_asked_back() -> None:
    assert understood(CALLED, "weld nut").focus is None
    with pytest.raises(OutOfRangeError, match=r"it is not said where.*left, right, front, rear, roof, floor"):
        understood(CALLED, "where can I weld?")


def test_the_battery_comes_before_the_heat_and_what_lies_there_before_both(plan: Plan) -> None:
    text = service_text(plan, answers(plan, "they weld at the lining"))
    order = [
        "D1 (data), 0 to",
        "Ignition off, key out",
        "Earth clamp of the welder",
        "After it, and after a crash",
    ]
    assert sorted(order, key=text.index) == order
    assert "cable D3" not in text


def test_of_trim_that_no_cable_tells_the_place_of_nothing_is_made_up(plan: Plan) -> None:
    bare = replace(plan, cables=tuple(replace(c, covered=()) for c in plan.cables))
    found = body_work(bare, Asked.TRIM, "lining")
    assert found.lies == ()
    assert "the plan does not tell where it is" in service_text(bare, [found])
