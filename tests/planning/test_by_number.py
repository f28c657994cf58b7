"""Questions by a figure: a fuse by its rating, a bundle, a point; and the driver's side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routecut.documents import service_text
from routecut.errors import OutOfRangeError
from routecut.model.body_work import NEAR_WORK_M
from routecut.model.job import Landmark, Position
from routecut.model.plan import Plan
from routecut.model.service import Asked, Focus
from routecut.planning.by_number import driver_side
from routecut.planning.service import answers, question
from routecut.service import body_work
from tests.service.test_answer import fed, room
from tests.service.test_body_work import by_millimetre


@pytest.fixture(scope="module")
def plan() -> Plan:
    return room()


def rated(amps: dict[str, float]) -> Plan:
    plan = fed()
    assert plan.sizing is not None
    sized = dict(plan.sizing.electrical)
    for name, a in amps.items():
        fuse = sized[name].fuse
        assert fuse is not None
        sized[name] = replace(sized[name], fuse=replace(fuse, rating_a=a))
    return replace(plan, sizing=replace(plan.sizing, electrical=sized))


def test_a_fuse_is_found_by_its_rating() -> None:
    plan = rated({"P1": 50.0, "P2": 7.5, "P3": 7.5})
    for text, names in (
        ("which fuse is 50 A", ["fuse of P1"]),
        ("what is the 50 amp fuse for?", ["fuse of P1"]),
        ("which fuses are 7.5A", ["fuse of P2", "fuse of P3"]),
        ("the 7,5 ampere fuse blew", ["fuse of P2", "fuse of P3"]),
    ):
        found = answers(plan, text)
        assert [(a.asked, a.name, a.focus) for a in found] == [(Asked.FUSE, n, Focus.FUSES) for n in names]
    assert "Pull the 50 A fuse of P1" in service_text(plan, answers(plan, "which fuse is 50 A"))
    with pytest.raises(
        OutOfRangeError, match=r"no fuse of this job is 30 A; there are: 50 A \(fuse of P1\), 7.5 A"
    ):
        answers(plan, "which fuse is 30 A")
    assert [a.name for a in answers(plan, "is the 50 A fuse of the radio")] == ["radio"]  # a name goes before


def test_a_bundle_is_no_hole(plan: Plan) -> None:
    for text, focus in (("what is in bundle 1", None), ("weld at bundle 1", Focus.BODY)):
        found = answers(plan, text)
        assert [(a.asked, a.name, a.focus) for a in found] == [(Asked.CABLE, n, focus) for n in ("D1", "D2")]
        assert "bundle 1 is D1 and D2" in question(plan, text).taken
    with pytest.raises(OutOfRangeError, match="there is no bundle 7 in the plan; the bundles: bundle 1"):
        answers(plan, "bundle 7")


@pytest.mark.parametrize(
    "text",
    ["weld at 400 900 0", "what lies near 400, 900, 0?", "hit at x 400 y 900 z 0", "dent at 400;900;0.0"],
)
def test_a_point_is_told_by_coordinates(plan: Plan, text: str) -> None:
    (found,) = answers(plan, text)
    assert (found.asked, found.focus, found.at_m) == (Asked.JOB, Focus.BODY, (0.4, 0.9, 0.0))
    told = {one.name for one in found.lies if one.kind == "cable"}
    for planned in plan.cables:
        _, points = by_millimetre(plan, planned.cable.name)
        gap = float(np.linalg.norm(points - np.array([0.4, 0.9, 0.0]), axis=1).min())
        assert abs(gap - NEAR_WORK_M) > 0.02  # the steps can't decide
        assert (planned.cable.name in told) is (gap < NEAR_WORK_M)
    assert "work on the body: X 400 mm, Y 900 mm, Z 0 mm" in service_text(plan, [found])


def test_of_what_is_named_only_the_part_on_that_side_counts(plan: Plan) -> None:
    """Behind the lining D1 lies from Y 0 to 1: its right third begins at Y 0.667."""
    whole = body_work(plan, Asked.TRIM, "lining")
    part = body_work(plan, Asked.TRIM, "lining", ["right"])
    (all_of_it,) = [x for x in whole.lies if x.name == "D1"]
    (third,) = [x for x in part.lies if x.name == "D1"]
    assert all_of_it.stretches_m[0][0] == pytest.approx(0.0, abs=0.03)
    assert third.stretches_m[0][0] == pytest.approx(2 / 3 - NEAR_WORK_M, abs=0.03)
    assert "radio" in whole.devices
    assert "radio" in body_work(plan, Asked.TRIM, "lining", ["left"]).devices
    assert "radio" not in part.devices
    (asked,) = answers(plan, "weld at the right end of the lining")
    assert (asked.asked, asked.name, asked.sides) == (Asked.TRIM, "lining", ("right",))
    room_, rear = body_work(plan, Asked.SPACE, "room"), body_work(plan, Asked.SPACE, "room", ["rear"])
    assert {x.name for x in room_.lies} > {x.name for x in rear.lies}


def test_the_drivers_side_is_known_or_asked_back(plan: Plan) -> None:
    def marked(**y: float) -> Plan:
        marks = tuple(
            Landmark(name=f"{n} door", position=Position(at_m=(0.0, at, 0.0))) for n, at in y.items()
        )
        return replace(plan, job=replace(plan.job, landmarks=marks))

    left, right = marked(driver=-0.9, passenger=0.9), marked(driver=0.9)
    assert (driver_side(left.job), driver_side(right.job)) == ("left", "right")
    for known, driver, passenger in ((left, "left", "right"), (right, "right", "left")):
        assert question(known, "dent in the driver's side").sides == (driver,)
        assert question(known, "hit at the passenger side rear").sides == (passenger, "rear")
    for unknown in (plan, marked(driver=0.02), marked(driver=-0.9, passenger=-0.9)):
        assert driver_side(unknown.job) == ""
        with pytest.raises(
            OutOfRangeError, match=r"does not say on which side the driver sits.*say left or right"
        ):
            question(unknown, "hit at the driver side")
    with pytest.raises(OutOfRangeError, match="'offside' depends on the country"):
        question(left, "crash at the offside front")
    assert question(plan, "left side was hit").sides == ("left",)


def test_what_is_to_be_unplugged_stands_in_the_short_form(plan: Plan) -> None:
    plan = fed()
    (found,) = answers(
        plan, "weld at 500 2600 0"
    )  # the amplifier sits there, the battery at Y 2.0 is out of reach
    told = " ".join(service_text(plan, [found]).split())
    short = told[told.index("In short") : told.index("Lies within")]
    assert "Unplug, they lie there: amp, head, radio, microphone, block." in short
    (far,) = answers(plan, "weld at 500 1200 0")
    assert "Unplug" not in service_text(plan, [far]).split("Lies within")[0]
    (aerial,) = answers(plan, "weld at 500 1800 0")
    short = service_text(plan, [aerial]).split("Lies within")[0]
    assert "Unplug, they lie there: aerial, block." in " ".join(short.split())
    assert "Unplug at the other ends of the cables there: radio." in " ".join(short.split())
