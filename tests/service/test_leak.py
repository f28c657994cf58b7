"""Water at a hole: what seals it, the drip loops, what it runs to; asked by a hole or by what it leads to."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routecut.documents import service_text
from routecut.documents.markup import html as written
from routecut.documents.pack_find import find_panel
from routecut.documents.pack_service import service
from routecut.documents.service_leak import seal_lines, wet_holes
from routecut.model.job import Exposure, HoleState
from routecut.model.plan import Plan, SumLine
from routecut.model.service import Asked, Focus
from routecut.planning.service import answers, question
from tests.service.test_one_more import emptied


@pytest.fixture(scope="module")
def wet() -> Plan:
    """The room is wet; D1 comes from it through H1 into the cavity, with a drip loop."""
    plan_ = emptied()
    spaces = tuple(
        replace(s, exposure=(Exposure.WET,) if s.name == "room" else (Exposure.DRY,))
        for s in plan_.job.spaces
    )
    (d1,) = plan_.cables
    assert d1.cut is not None
    loop = SumLine(what="drip loop at H1", length_m=0.075, why="w")
    with_loop = replace(d1, cut=replace(d1.cut, lines=(*d1.cut.lines, loop)))
    return replace(plan_, job=replace(plan_.job, spaces=spaces), cables=(with_loop,))


def test_what_seals_it_its_loops_and_what_the_water_runs_to(wet: Plan) -> None:
    assert wet_holes(wet) == ("H1",)
    hole = wet.holes[0]
    lines = list(seal_lines(wet, hole))
    assert lines[0] == "wet side: room, dry side: cavity"
    assert "grommet or gland with 20 mm bore in a 20 mm hole, with sealant" in lines[1]
    assert lines[2] == "D1: drip loop of 75 mm planned on the wet side; water along it gets to beacon.p1"
    assert any(line.startswith("from room: post trim, lining (20 min) off") for line in lines)
    (d1,) = wet.cables
    assert d1.cut is not None
    bare = replace(wet, cables=(replace(d1, cut=replace(d1.cut, lines=d1.cut.lines[:-1])),))
    assert list(seal_lines(bare, hole))[2].startswith("D1: NO DRIP LOOP planned")
    through = replace(hole.pass_through, state=HoleState.EXISTING, grommet=False)
    there = replace(hole, drill=False, state=HoleState.EXISTING, pass_through=through)
    assert "one was ordered" in list(seal_lines(wet, there))[1]
    own = replace(there, pass_through=replace(through, grommet=True))
    assert "the vehicle's own" in list(seal_lines(wet, own))[1]
    never = replace(hole, drill=False)
    assert next(seal_lines(wet, never)) == "not drilled in this plan: there is nothing that leaks"
    both = replace(wet.job, spaces=tuple(replace(s, exposure=(Exposure.WET,)) for s in wet.job.spaces))
    assert not list(seal_lines(replace(wet, job=both), hole))


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("H1 leaks", ["H1"]),
        ("water at H1", ["H1"]),
        ("is the slot sealed?", ["slot"]),
        ("where is the drip loop of D1", ["H1"]),
        ("the beacon gets wet", ["H1"]),
        ("water in the cavity", ["H1"]),
        ("it leaks somewhere", ["everything"]),
    ],
)
def test_water_is_asked_about_by_what_it_comes_to(wet: Plan, text: str, names: list[str]) -> None:
    found = answers(wet, text)
    assert [a.name for a in found] == names
    assert all(a.focus is Focus.LEAK for a in found)
    if names == ["everything"]:
        assert found[0].asked is Asked.JOB
        assert "no hole is named" in question(wet, text).taken
    if names == ["slot"]:
        assert "the water is from elsewhere" in service_text(wet, found)
    else:
        assert "H1 (H1):" in service_text(wet, found)
    assert "Battery off before wet plugs" in service_text(wet, found)


def test_holes_between_dry_spaces_are_left_out_where_none_is_named(wet: Plan) -> None:
    used = tuple(replace(h, cables=("D1",)) if h.pass_through.name == "slot" else h for h in wet.holes)
    assert [a.name for a in answers(replace(wet, holes=used), "water in the cavity")] == ["H1"]


def test_the_pack_tells_of_water_and_finds_it(wet: Plan) -> None:
    page = written(service(wet))
    assert "drip loop of 75 mm planned on the wet side" in page
    assert 'href="#service-leak"' in written(find_panel(wet))
    assert 'id="service-leak"' in page
    dry = replace(wet, job=replace(wet.job, spaces=tuple(replace(s, exposure=()) for s in wet.job.spaces)))
    assert "service-leak" not in written(service(dry)) + written(find_panel(dry))
