"""What has to come off in a room whose trim is known, and the findings about it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routecut.model.finding import Finding
from routecut.model.job import Job
from routecut.model.plan import Passage, PlannedCable
from routecut.model.service import PlaceKind, Removal, Room
from routecut.service import service_findings, service_study
from tests.service.rooms import AIRBAG, body, cable, device, job_with, plan_of, planned, with_joint

OPEN = (0.012, 2.0, 0.0)
BEHIND = (0.012, 0.0, 0.0)
IN_DUCT = (-1.4, 0.0, 0.0)
IN_CAVITY = (-0.1, 0.0, 0.0)


def removals(job: Job, *cables: PlannedCable) -> dict[str, Removal | None]:
    found = service_study(job, body(), cables)
    return {p.name: p.removal for p in found.places if p.kind is PlaceKind.CONNECTOR}


def pair(*devices: object, **more: float) -> tuple[Job, PlannedCable]:
    one = cable("D1", "a.p1", "b.p1")
    job = job_with(*devices, cables=[one], **more)  # type: ignore[arg-type]
    return job, planned(one, job)


def test_open_behind_trim_behind_its_order_and_in_a_sealed_space() -> None:
    job, d1 = pair(device("a", OPEN), device("b", BEHIND))
    assert removals(job, d1) == {
        "a.p1": Removal(),
        "b.p1": Removal(trims=("post trim", "lining"), minutes=20.0),
    }
    job, d1 = pair(device("a", IN_DUCT, "duct"), device("b", IN_CAVITY, "cavity"))
    assert removals(job, d1) == {"a.p1": Removal(trims=("door lining",), minutes=6.0), "b.p1": None}
    assert service_study(job, body(), [d1]).doors == {"duct": ("door lining",), "cavity": ()}


def test_a_space_said_to_be_behind_trim_is_never_open() -> None:
    """Before the door lining, where the mesh shows nothing in the way, and in a space without trim."""
    job, d1 = pair(device("a", (-1.2, 0.0, 0.0), "duct"), device("b", OPEN))
    assert removals(job, d1)["a.p1"] == Removal(trims=("door lining",), minutes=6.0)
    bare = replace(job.spaces[0], boxes=(replace(job.spaces[0].boxes[0], high_m=(-1.7, 2.0, 1.5)),))
    job = replace(job, spaces=(bare, *job.spaces[1:]))
    assert removals(job, d1)["a.p1"] == Removal(trims=("trim of duct",), unknown=("trim of duct",))


def test_a_hole_has_a_place_on_each_side() -> None:
    job, d1 = pair(device("a", OPEN), device("b", IN_CAVITY, "cavity"))
    through = Passage(name="H1", at_route_m=0.5, from_space="room", to_space="cavity")
    assert d1.route is not None
    d1 = replace(d1, route=replace(d1.route, passages=(through,)))
    sides = {p.space: p for p in plan_of(job, [d1]).service.places if p.kind is PlaceKind.HOLE}  # type: ignore[union-attr]
    assert sides["cavity"].removal is None
    assert sides["room"].removal == Removal(trims=("post trim", "lining"), minutes=20.0)
    assert sides["room"].cables == ("D1",)
    assert sides["room"].ways[0].room is Room.HAND


def test_a_box_that_comes_out_brings_its_connectors_and_one_short_loop_keeps_it_in() -> None:
    behind = device("b", BEHIND, loops=(0.2,), pulls_out=0.2)
    job, d1 = pair(device("a", OPEN), behind)
    assert removals(job, d1)["b.p1"] == Removal()
    job, d1 = pair(device("a", OPEN), device("b", BEHIND, loops=(0.19,), pulls_out=0.2))
    assert removals(job, d1)["b.p1"] == Removal(trims=("post trim", "lining"), minutes=20.0)


def test_what_hurts_a_hand_is_told_with_the_trim_it_is_near() -> None:
    job, d1 = pair(device("a", OPEN), device("b", BEHIND))
    near = {t.name: dict(t.near) for t in service_study(job, body(), [d1]).trims}
    assert near["post trim"][AIRBAG.name] == pytest.approx(0.12 - 0.05, abs=0.005)
    assert near["door lining"] == {}


# --- findings ----------------------------------------------------------------------------


def about(job: Job, *cables: PlannedCable) -> list[Finding]:
    return list(service_findings(job, body(), cables, service_study(job, body(), cables)))


def test_nothing_is_found_where_all_is_as_asked() -> None:
    assert about(*pair(device("a", OPEN), device("b", BEHIND), minutes=20.0)) == []


def test_a_connector_that_takes_longer_than_allowed_is_found_with_what_would_help() -> None:
    (one,) = about(*pair(device("a", OPEN), device("b", BEHIND), minutes=19.0))
    assert (one.code, one.key, one.found, one.allowed) == ("service-minutes", "b", "20 min", "19 min")
    assert "post trim, lining off" in one.message
    assert "pulls_out" in one.message


def test_an_unknown_time_counts_as_an_hour() -> None:
    job, d1 = pair(device("a", OPEN), device("b", BEHIND), minutes=67.0)
    unknown = body(lining_minutes=0.0)
    (one,) = service_findings(job, unknown, [d1], service_study(job, unknown, [d1]))
    assert (one.code, one.found) == ("service-minutes", "68 min")


def test_a_loop_too_short_is_told_by_how_much() -> None:
    (one,) = about(*pair(device("a", OPEN, loops=(0.120,)), device("b", OPEN)))
    assert (one.code, one.key) == ("service-loop", "a")
    assert "30 mm longer at a.p1" in one.message
    (one,) = about(*pair(device("a", OPEN, loops=(0.2,), pulls_out=0.25), device("b", OPEN)))
    assert "50 mm longer at a.p1" in one.message
    assert about(*pair(device("a", OPEN, loops=(0.0,), pulls_out=0.0), device("b", OPEN))) == []


def test_a_port_without_a_cable_needs_no_loop() -> None:
    assert about(*pair(device("a", OPEN, loops=(0.2, 0.0)), device("b", OPEN))) == []


def test_a_serviceable_device_in_a_sealed_space_is_found() -> None:
    (one,) = about(*pair(device("a", OPEN), device("b", IN_CAVITY, "cavity")))
    assert (one.code, one.key) == ("service-sealed", "b")


def test_a_joint_is_moved_to_where_it_is_reached_in_time_or_it_is_said_that_it_can_not() -> None:
    """The run goes from Y 2 to Y -2 along the wall, behind the lining from 1 m to 3 m of it."""
    job, d1 = pair(device("a", OPEN), device("b", (0.012, -2.0, 0.0)), minutes=10.0)
    (one,) = about(job, with_joint(d1, at_m=1.5, from_m=0.4, to_m=1.6))
    assert (one.code, one.where) == ("service-minutes", "cable D1")
    # at the edge of the lining a hand gets behind it once the post trim is off
    assert "500 mm sooner" in one.message
    assert "8 min there" in one.message
    (one,) = about(job, with_joint(d1, at_m=2.0, from_m=1.9, to_m=2.1))
    assert "no place is better" in one.message
    assert about(job, with_joint(d1, at_m=0.5, from_m=0.4, to_m=0.6)) == []
