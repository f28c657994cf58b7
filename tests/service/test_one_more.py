"""One more cable: room by the fill rule, the way, what it follows and what comes off; holes that nothing uses."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from routecut.documents import service_text
from routecut.documents.markup import html as written
from routecut.documents.pack_find import find_panel
from routecut.documents.pack_service import service
from routecut.errors import OutOfRangeError
from routecut.model.job import HoleState, PassThrough
from routecut.model.plan import Passage, Plan, PlannedHole
from routecut.model.service import Asked, Focus
from routecut.planning.service import answers
from routecut.service import later, one_more, service_study, spare_holes
from tests.service.rooms import HOLE, body, cable, device, job_with, planned

UNUSED = replace(
    HOLE,
    name="upper tube",
    diameter_m=0.03,
    state=HoleState.EXISTING,
    classes=("coax",),
    position=replace(HOLE.position, at_m=(0.0, -2.0, 0.5)),
)
TO_DUCT = replace(
    HOLE,
    name="slot",
    diameter_m=0.02,
    state=HoleState.EXISTING,
    joins=("cavity", "duct"),
    position=replace(HOLE.position, at_m=(-1.0, 0.0, 0.5)),
)
NEVER = replace(HOLE, name="never drilled", diameter_m=0.05)
HOLES = (HOLE, UNUSED, TO_DUCT, NEVER)


def as_planned(hole: PassThrough, *users: str, drill: bool = False) -> PlannedHole:
    return PlannedHole(
        pass_through=hole,
        state=hole.state,
        drill=drill,
        at_m=hole.position.at_m,
        axis=hole.axis,
        cables=users,
    )


@pytest.fixture(scope="module")
def plan() -> Plan:
    return emptied()


def emptied() -> Plan:
    """D1 goes from the room through H1 into the cavity; the conduit beside it and the slot into the duct are empty."""
    devices = [device("radio", (0.5, 0.0, 0.0)), device("beacon", (-0.5, 0.0, 0.0), "cavity")]
    one = cable("D1", "radio.p1", "beacon.p1")
    job = replace(job_with(*devices, cables=[one]), pass_throughs=HOLES)
    through = Passage(name="H1", at_route_m=0.3, from_space="room", to_space="cavity")
    laid = [planned(one, job, passages=[through])]
    holes = (as_planned(HOLE, "D1", drill=True), *(as_planned(h) for h in HOLES[1:]))
    return Plan(
        version="t",
        job=job,
        cables=tuple(laid),
        holes=holes,
        service=service_study(job, body(), laid, holes=holes),
    )


def test_a_hole_has_the_room_that_the_fill_rule_leaves(plan: Plan) -> None:
    found = {h.hole: h for h in spare_holes(plan)}
    assert set(found) == {"H1", "upper tube", "slot"}  # one that was never drilled is none
    # one cable alone takes 53 %, two take 31 % of 20 mm with 6 mm in it already
    assert found["upper tube"].largest_m == pytest.approx(0.03 * 0.53**0.5, abs=1e-4)
    assert found["H1"].largest_m == pytest.approx((0.31 * 0.02**2 - 0.006**2) ** 0.5, abs=1e-4)
    assert (found["upper tube"].used_by, found["H1"].used_by) == ((), ("D1",))
    assert {k.split(" in ")[1] for k in found["upper tube"].sides} == {"room", "cavity"}


def test_unused_holes_are_looked_at_and_do_not_count_for_everything_out(plan: Plan) -> None:
    assert plan.service is not None
    assert {p.name for p in plan.service.unused} == {"upper tube", "slot"}
    assert not {p.name for p in plan.service.places} & {"upper tube", "slot", "never drilled"}
    there = replace(plan.job, pass_throughs=(replace(HOLE, state=HoleState.EXISTING), *HOLES[1:]))
    assert {p.name for p in service_study(there, body(), plan.cables).unused} == {"upper tube", "slot"}


def test_the_way_goes_through_holes_that_take_it_and_follows_what_is_there(plan: Plan) -> None:
    way = one_more(plan, "room", "cavity")
    (crossing,) = way.crossings
    # H1 is behind the lining, the conduit is free on the side that a hand gets to
    assert [h.hole for h in crossing.holes] == ["upper tube", "H1"]
    assert (way.follow, way.trims, way.minutes) == (("D1",), (), 0.0)
    thick = one_more(plan, "room", "cavity", diameter_m=0.0095)
    assert [[h.hole for h in c.holes] for c in thick.crossings] == [["upper tube"]]
    assert [h.hole for h in thick.full] == ["H1"]
    power = one_more(plan, "room", "cavity", cable_class="power")
    assert [[h.hole for h in c.holes] for c in power.crossings] == [["H1"]]
    assert power.trims == ("post trim", "lining")
    assert power.minutes == 20.0
    further = one_more(plan, "room", "duct")
    assert [(c.from_space, c.to_space) for c in further.crossings] == [("room", "cavity"), ("cavity", "duct")]
    assert further.follow == ()
    assert [c.follow for c in further.crossings] == [("D1",), ()]
    assert one_more(plan, "room", "duct", diameter_m=0.016).crossings == ()
    assert one_more(plan, "duct", "room").crossings[0].holes[0].hole == "slot"
    assert one_more(plan, "cavity", "room").follow == ("D1",)  # against the way it was laid


@pytest.mark.parametrize(
    "text",
    [
        "one more cable from the room to the cavity",
        "run another 9,5 mm cable from the radio up to the cavity",
        "is there room for an additional cable between room and cavity?",
        "get a new coax from the room into the cavity",
    ],
)
def test_one_more_is_asked_in_anybodys_words(plan: Plan, text: str) -> None:
    (found,) = answers(plan, text)
    assert found.focus is Focus.ROOM
    assert found.one_more is not None
    assert (found.one_more.start, found.one_more.end) == ("room", "cavity")
    assert found.one_more.diameter_m == pytest.approx(0.0095 if "9,5" in text else 0.0)
    assert found.one_more.cable_class == ("coax" if "coax" in text else "")
    told = " ".join(service_text(plan, [found]).split())
    assert "room \N{RIGHTWARDS ARROW} upper tube \N{RIGHTWARDS ARROW} cavity" in told
    assert "D1 (data, radio.p1 to beacon.p1" in told
    assert "at the hole leave it: upper tube in place of H1" in told or "9,5" in text


@pytest.mark.parametrize("text", ["spare conduit", "which holes are unused?", "is there a free hole"])
def test_spare_holes_are_listed_with_their_size(plan: Plan, text: str) -> None:
    (found,) = answers(plan, text)
    told = " ".join(service_text(plan, [found]).split())
    assert "Not used by this job: upper tube, slot." in told
    assert "upper tube: 30 mm clear, not used by this job, takes one more up to 21.8 mm thick" in told
    assert "nobody gets at it: cavity is closed all round" in told


def test_an_end_that_is_no_space_is_told_with_those_there_are(plan: Plan) -> None:
    with pytest.raises(OutOfRangeError, match=r"'moon' is no space.*'duct', 'cavity', 'room'"):
        answers(plan, "one more cable from the room to the moon")
    (spare,) = answers(plan, "which cable is spare")
    assert (spare.asked, spare.focus) == (Asked.JOB, Focus.SPARE)


def test_the_pack_has_the_room_and_the_ways_and_finds_them(plan: Plan) -> None:
    found = later(plan)
    page, panel = written(service(plan, found)), written(find_panel(plan, found))
    told = re.sub(r"<[^>]+>", "|", page)
    assert "21.8 mm thick (at most 53 % then)" in told
    assert "; only for coax" in told
    assert "|cavity to room|" in told  # in the order of the spaces of the job
    keys = set(re.findall(r'href="#(room-\d+|service-room)"', panel))
    assert len(keys) == 3  # the table, and the two that are unused
    assert keys <= set(re.findall(r'id="([^"]+)"', page))
    assert "spare: upper tube" in panel
