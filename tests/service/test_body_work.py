"""What lies where the body is worked on, held against every millimetre of every cable."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree

from routecut.documents import service_text
from routecut.errors import OutOfRangeError
from routecut.model.body import Floats
from routecut.model.body_work import KEEP_OUT, NEAR_WORK_M
from routecut.model.job import Box, Capsule, KeepOut, PartShape, Reason, Sphere
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
    "left rear door lining": [(Asked.TRIM, "rear-door-lining-left")],
    "left rear wheel": [(Asked.KEEP_OUT, "left rear wheel")],
    "weld nut": [(Asked.DEVICE, "weld nut")],
}


@pytest.mark.parametrize(
    ("text", "names", "sides"),
    [
        ("the body shop wants to weld at the front of the left sill", ["sill-trim-left"], ("front",)),
        ("left B-pillar was crushed", ["b-post-trim-left"], ()),
        ("grinding beside the fuel tank", ["fuel tank"], ()),
        ("welding in the cab", ["cab"], ()),
        ("the van was hit on the left side, what could be damaged?", ["everything"], ("left",)),
        ("crash at the back, right corner", ["everything"], ("right", "rear")),
        ("rammed from the front", ["everything"], ("front",)),
        ("weld at the left sill", ["sill-trim-left"], ()),
        ("hit at the rear left", ["everything"], ("left", "rear")),
        ("somebody backed into the right side", ["everything"], ("right",)),
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


def corner(values: Floats) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return (x, y, z)


def strewn(keep_out: KeepOut, rng: np.random.Generator, count: int = 40_000) -> Floats:
    """Points all over what a keep-out takes up or passes, made without any distance."""
    shape = keep_out.shape
    if isinstance(shape, Box):
        points = rng.uniform(shape.low_m, shape.high_m, (count, 3))
    else:
        assert isinstance(shape, Sphere | Capsule)
        ball = rng.normal(size=(count, 3))
        ball *= shape.radius_m / np.linalg.norm(ball, axis=1)[:, None]
        a, b = (shape.at_m, shape.at_m) if isinstance(shape, Sphere) else (shape.from_m, shape.to_m)
        points = np.array(a) + rng.uniform(size=(count, 1)) * (np.array(b) - np.array(a)) + ball
    return np.asarray(points + rng.uniform(size=(count, 1)) * np.array(keep_out.sweep_m))


def kept_out(rng: np.random.Generator, k: int) -> KeepOut:
    at, other = rng.uniform((-0.6, -0.6, -0.6), (1.2, 3.0, 0.6), (2, 3))
    other = at + 0.3 * (other - at)
    shapes: tuple[Box | Sphere | Capsule, ...] = (
        Box(low_m=corner(np.minimum(at, other)), high_m=corner(np.maximum(at, other))),
        Sphere(at_m=corner(at), radius_m=0.1),
        Capsule(from_m=corner(at), to_m=corner(other), radius_m=0.05),
    )
    sweep = corner(rng.uniform(-0.2, 0.2, 3)) if k % 2 else (0.0, 0.0, 0.0)
    return KeepOut(name=f"keep-out {k}", shape=shapes[k % 3], reason=Reason.FUEL, sweep_m=sweep)


def test_keep_outs_are_near_a_stretch_by_the_stretch_not_by_where_the_cable_is_nearest(plan: Plan) -> None:
    rng = np.random.default_rng(7)
    keep_outs = tuple(kept_out(rng, k) for k in range(60))
    full = replace(plan, job=replace(plan.job, keep_outs=keep_outs))
    found = body_work(full, Asked.TRIM, "lining")
    behind = by_millimetre(plan, "D1")[1][by_millimetre(plan, "D1")[0] <= 1.0]
    there = {one.name: one.far_m for one in found.lies if one.kind == KEEP_OUT}
    seen = 0
    for keep_out in keep_outs:
        tree = cKDTree(strewn(keep_out, rng))
        gap = float(tree.query(behind[::5])[0].min())
        assert (keep_out.name in there) or gap > NEAR_WORK_M
        assert (keep_out.name not in there) or gap < NEAR_WORK_M + 0.06
        for one in found.lies:
            if one.kind != "cable":
                continue
            at, own = by_millimetre(plan, one.name)
            on = np.any([(at >= a) & (at <= b) for a, b in one.stretches_m], axis=0)
            cable = next(c.cable for c in plan.cables if c.cable.name == one.name)
            gap = float(tree.query(own[on][::5])[0].min()) - 0.5 * cable.type.diameter_m
            told = dict(one.near).get(keep_out.name)
            if told is None:
                assert gap > NEAR_WORK_M - 0.01
            else:
                assert told == pytest.approx(max(gap, 0.0), abs=0.03)
                seen += 1
    assert seen > 20


@pytest.mark.parametrize("side", ["left", "front", "floor"])
def test_a_keep_out_reaches_into_a_side_though_no_cable_is_near_it(plan: Plan, side: str) -> None:
    axis = {"front": 0, "left": 1, "floor": 2}[side]
    boxes = [box for space in plan.job.spaces for box in space.boxes]
    low = np.min([b.low_m for b in boxes], axis=0)[axis]
    high = np.max([b.high_m for b in boxes], axis=0)[axis]
    limit = low + (high - low) / 3
    for reach, there in ((limit - 0.01, True), (limit + 0.01, False)):
        middle, near, end = np.full(3, 9.0), np.full(3, 9.0), np.full(3, 9.5)
        middle[axis], near[axis], end[axis] = reach + 0.1, reach, reach + 0.4
        shapes: tuple[Box | Sphere | Capsule, ...] = (
            Sphere(at_m=corner(middle), radius_m=0.1),
            Capsule(from_m=corner(middle), to_m=corner(np.maximum(middle, end)), radius_m=0.1),
            Box(low_m=corner(near), high_m=corner(end)),
        )
        tanks = tuple(KeepOut(name=f"tank {k}", shape=s, reason=Reason.FUEL) for k, s in enumerate(shapes))
        full = replace(plan, job=replace(plan.job, keep_outs=tanks))
        found = body_work(full, Asked.JOB, "everything", [side])
        told = {one.name for one in found.lies if one.kind == KEEP_OUT}
        assert told == ({"tank 0", "tank 1", "tank 2"} if there else set())
        text = service_text(full, [found])
        assert ("tank 0 (fuel): there, none of these cables near it" in text) is there


def test_a_keep_out_that_is_part_of_the_mesh_is_said_not_to_be_known(plan: Plan) -> None:
    tank = KeepOut(name="tank", shape=PartShape(part="tank"), reason=Reason.FUEL)
    full = replace(plan, job=replace(plan.job, keep_outs=(*plan.job.keep_outs, tank)))
    text = service_text(full, [body_work(full, Asked.TRIM, "lining")])
    assert "not known here, they are parts of the 3D model: tank (fuel)." in text
