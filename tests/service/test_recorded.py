"""Joints that were made on the vehicle are got at as joints of the plan are, where they lie."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routecut.documents import service_text
from routecut.model.plan import Passage, Plan, Stretch
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.model.running import along, on_curve
from routecut.model.service import Asked, PlaceKind, Removal, Service, ServicePlace
from routecut.ordering.reach import Cover
from routecut.service import answer, service_study, with_joints
from tests.service.rooms import body, cable, device, job_with, plan_of, planned, with_joint

# along the wall behind the lining from the open; the run is 4 m, the lining from 1 to 3 m of it
ENDS = (device("a", (0.012, -2.0, 0.0)), device("b", (0.012, 2.0, 0.0)))


def fitted() -> Plan:
    one = cable("D1", "a.p1", "b.p1")
    job = job_with(*ENDS, cables=[one])
    run = planned(one, job)
    assert run.route is not None
    return plan_of(job, [replace(run, covered=Cover(job, body()).along(run.route))])


def record(*at: tuple[float, str]) -> Record:
    facts = [
        Fact(what=What.JOINT, kind=Kind.CABLE, name="D1", length_m=at_m, space=space) for at_m, space in at
    ]
    return Record(lines=tuple(RecordLine(number=n, fact=fact) for n, fact in enumerate(facts, start=1)))


def study(plan: Plan, lines: Record, before: Service | None = None) -> Service:
    assert plan.service is not None
    return with_joints(before or plan.service, plan.service, plan.job, plan.cables, lines)


def joints(service: Service) -> list[ServicePlace]:
    return [p for p in service.places if p.kind is PlaceKind.JOINT]


@pytest.mark.parametrize("at_m", [0.3, 0.7, 1.2, 2.0, 2.9, 3.5])
def test_a_recorded_joint_is_got_at_as_the_mesh_says_of_one_planned_there(at_m: float) -> None:
    """Two ways to one answer: rays from the hand to the joint, and the stretches of the cable behind trim."""
    plan = fitted()
    mesh = service_study(plan.job, body(), [with_joint(plan.cables[0], at_m, at_m - 0.1, at_m + 0.1)])
    (seen,), (found,) = joints(mesh), joints(study(plan, record((at_m, ""))))
    assert (found.name, found.space, found.removal) == (seen.name, "room", seen.removal)
    assert found.at_m == pytest.approx(seen.at_m)
    behind = Removal(trims=("post trim", "lining"), minutes=20.0)
    assert found.removal == (behind if 1.0 < at_m < 3.0 else Removal())


def test_it_counts_in_all_that_has_to_come_off_and_in_every_answer() -> None:
    plan = fitted()
    after = study(plan, record((2.0, ""), (0.3, "room")))
    assert [p.name for p in joints(after)] == ["joint 1 of D1", "joint 2 of D1"]
    assert plan.service is not None
    assert (plan.service.every.minutes, after.every.minutes) == (0.0, 20.0)
    built = replace(plan, service=after)
    told = service_text(
        built, [answer(built, Asked.JOINT, "joint 1 of D1")], record((2.0, ""), (0.3, "room"))
    )
    assert "Off: post trim, lining, 20 min" in told
    cable_answer = " ".join(service_text(built, [answer(built, Asked.CABLE, "D1")]).split())
    assert "To get at both ends and its joints, take off: 1. post trim" in cable_answer


def test_where_a_space_is_sealed_nobody_gets_at_it() -> None:
    (place,) = joints(study(fitted(), record((2.0, "cavity"))))
    assert (place.space, place.ways, place.removal) == ("cavity", (), None)


def test_recorded_joints_stand_in_place_of_planned_ones_until_they_are_withdrawn() -> None:
    plan = fitted()
    lead = with_joint(plan.cables[0], 2.0, 1.9, 2.1)
    plan = plan_of(plan.job, [replace(lead, covered=plan.cables[0].covered)])
    (was,) = joints(study(plan, Record(lines=())))
    moved = study(plan, record((0.3, "")))
    (now,) = joints(moved)
    assert was.removal == Removal(trims=("post trim", "lining"), minutes=20.0)
    assert now.removal == Removal()
    assert joints(study(plan, Record(lines=()), before=moved)) == [was]
    assert study(plan, Record(lines=())) is plan.service


def test_a_place_along_the_cable_is_found_on_its_curve_again() -> None:
    """Where 0.5 to 1.5 m of the curve were measured to be 1.8 m, and behind it."""
    run = fitted().cables[0]
    assert run.route is not None
    holes = tuple(
        Passage(name=name, at_route_m=at_m, from_space="room", to_space="room")
        for name, at_m in (("H1", 0.5), ("H2", 1.5))
    )
    string = Stretch(from_name="H1", to_name="H2", computed_m=1.0, measured_m=1.8)
    run = replace(run, route=replace(run.route, passages=holes, measured=(string,), length_m=4.8))
    assert along(run)(1.0) == pytest.approx(1.4)
    assert along(run)(3.0) == pytest.approx(3.8)
    for at_m in (0.0, 0.2, 0.5, 0.7, 1.0, 1.5, 1.9, 3.9):
        assert on_curve(run, along(run)(at_m)) == pytest.approx(at_m)
