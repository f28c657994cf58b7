"""What was laid again for the record is read back, and answers about service are of what lies there."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routecut.documents import pack_html, plan_json, service_text
from routecut.documents.reading import pulling_order
from routecut.documents.service_reach import reach_text
from routecut.documents.service_strip import strip_sections
from routecut.model.plan import Plan
from routecut.model.service import Asked, PlaceKind
from routecut.planning import make_plan
from routecut.planning.service import answers, kept_plan, strip
from routecut.records import append
from routecut.service import answer
from tests.planning.test_as_built import SECOND, WORLD, holes, moved, string

THICK = """
[[cable_type]]
name = "rope"
class = "control"
diameter = 9
min_bend_radius = 40
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan, Plan]:
    """A job with a hole moved and a cable swapped, planned and written; the plan before and the one with the record."""
    job = tmp_path_factory.mktemp("built") / "job"
    job.mkdir()
    for file in ("job.toml", "body.ply"):
        shutil.copy(WORLD / file, job / file)
    text = (job / "job.toml").read_text(encoding="utf-8")
    (job / "job.toml").write_text(text + SECOND + THICK, encoding="utf-8")
    before, _ = make_plan(job)
    (hole,) = holes(before, "C1")
    at = next(h.at_m for h in before.holes if h.pass_through.name == hole)
    append(
        job,
        [
            moved(hole, f"0 {1000 * at[1] + 60:.3f} {1000 * at[2] - 25:.3f}"),
            {"what": "swapped", "kind": "cable", "name": "C2", "for": "rope"},
            {"what": "cut", "kind": "cable", "name": "C1", "length": "500 mm"},
            {"what": "swapped", "kind": "device", "name": "a", "for": "another of its kind"},
            {"what": "joint", "kind": "cable", "name": "C1", "length": "200 mm"},
        ],
    )
    plan, _ = make_plan(job)
    (job / "plan").mkdir()
    (job / "plan" / "plan.json").write_text(plan_json(plan), encoding="utf-8")
    return job, before, plan


def test_a_kept_plan_has_the_routes_that_were_laid_again(made: tuple[Path, Plan, Plan]) -> None:
    job, before, plan = made
    read = kept_plan(job, "plan")
    kept = read.plan
    assert (read.warning, read.findings) == ("", ())
    assert plan.as_built is not None
    (hole,) = holes(before, "C1")
    for name in ("C1", "C2"):
        relaid, found = plan.as_built.relaid[name], next(c for c in kept.cables if c.cable.name == name)
        assert relaid.route is not None
        assert found.route is not None
        assert found.verified is not None
        assert np.allclose(found.route.points_m, relaid.route.points_m, atol=1e-6)
        assert found.route.length_m == pytest.approx(relaid.route.length_m, abs=1e-4)
    assert next(c.cable.type.name for c in kept.cables if c.cable.name == "C2") == "rope"
    there = next(h.at_m for h in kept.holes if h.pass_through.name == hole)
    planned = next(h.at_m for h in before.holes if h.pass_through.name == hole)
    assert np.linalg.norm(np.subtract(there, planned)) == pytest.approx(0.065, abs=0.001)
    assert kept.as_built is not None
    assert [row.what for row in kept.as_built.rows] == [row.what for row in plan.as_built.rows]
    # read and written again it is the same: nothing is lost on the way
    assert (
        json.loads(plan_json(kept))["as_built"]["fitted"] == json.loads(plan_json(plan))["as_built"]["fitted"]
    )


def test_service_answers_of_what_lies_there(made: tuple[Path, Plan, Plan]) -> None:
    job, before, plan = made
    kept = kept_plan(job, "plan").plan
    assert plan.as_built is not None
    record = plan.as_built.record
    (hole,) = holes(before, "C1")
    relaid = plan.as_built.relaid["C1"].route
    was = next(c.route for c in before.cables if c.cable.name == "C1")
    assert relaid is not None
    assert was is not None
    text = " ".join(service_text(kept, answers(kept, "C1"), record).split())
    assert f"run {1000 * relaid.length_m:.0f} mm" in text
    assert f"{hole} is elsewhere; the run told here is laid anew for it" in text
    assert f"through {hole} {1000 * relaid.passages[0].at_route_m:.0f} mm from a.p" in text
    assert round(1000 * relaid.passages[0].at_route_m) != round(1000 * was.passages[0].at_route_m)
    where = " ".join(service_text(kept, answers(kept, hole), record).split())
    at, planned = (next(h.at_m for h in p.holes if h.pass_through.name == hole) for p in (kept, before))
    assert f"AS BUILT: X {1000 * at[0]:.0f} mm, Y {1000 * at[1]:.0f} mm" in where
    assert f"planned: X {1000 * planned[0]:.0f} mm, Y {1000 * planned[1]:.0f} mm" in where
    swapped = " ".join(service_text(kept, answers(kept, "C2"), record).split())
    assert "cable C2: rope, from" in swapped
    assert "thickness: 9 mm, planned" in swapped


def test_another_type_is_judged_anew_figure_by_figure(made: tuple[Path, Plan, Plan]) -> None:
    _, before, plan = made
    assert plan.as_built is not None
    rows = {r.what: r for r in plan.as_built.rows if r.about == "cable C2"}
    was = next(c.cable.type for c in before.cables if c.cable.name == "C2")
    assert (rows["thickness"].before, rows["thickness"].after) == pytest.approx((1000 * was.diameter_m, 9.0))
    assert rows["bend radius, at least"].after == pytest.approx(0.04)
    assert rows["connectors"].marked
    (hole,) = holes(before, "C2")
    filled = rows[f"{hole} filled"]
    diameter = next(h.pass_through.diameter_m for h in plan.holes if h.pass_through.name == hole)
    assert filled.after == pytest.approx(100 * (0.009 / diameter) ** 2, abs=0.01)
    assert filled.marked
    kept_type = [r for r in plan.as_built.rows if r.about == "cable C1" and r.what == "thickness"]
    assert kept_type == []


def test_room_in_holes_is_of_the_cables_that_are_in_them(made: tuple[Path, Plan, Plan]) -> None:
    """By the fill rule: one more of the same is twice the area; the thickest that fits just fits, a step more not."""
    from routecut.routes.harness import fill
    from routecut.service.room import hole_room

    job, _, _ = made
    kept = kept_plan(job, "plan").plan
    (room,) = answer(kept, Asked.CABLE, "C2").rooms
    hole = next(h for h in kept.holes if h.pass_through.name == room.hole)
    assert room.with_one_more == pytest.approx(2 * room.filled)
    inside = [0.009]
    taken, most = fill(hole.pass_through, [*inside, room.largest_m])
    over, _ = fill(hole.pass_through, [*inside, room.largest_m + 0.0001])
    assert taken <= most < over
    assert hole_room(kept.holes, kept.cables, room.hole, room.largest_m + 0.0001).fits is False
    # asked about by itself: the limit that is told is the one the thickest was held against, of two cables
    assert (
        hole_room(kept.holes, kept.cables, room.hole).most_with == most < fill(hole.pass_through, inside)[1]
    )


def test_a_record_that_has_gone_on_is_said(made: tuple[Path, Plan, Plan], tmp_path: Path) -> None:
    """A note changes nothing; a string laid since asks for another plan."""
    job = tmp_path / "job"
    shutil.copytree(made[0], job)
    append(job, [{"what": "note", "kind": "job", "name": "job", "text": "all well"}])
    found = kept_plan(job, "plan")
    kept, warning = found.plan, found.warning
    assert warning == ""
    assert kept.as_built is not None
    assert kept.as_built.relaid
    (hole,) = holes(made[1], "C1")
    append(job, [string("C1", "a.p", hole, "700 mm")])
    found = kept_plan(job, "plan")
    kept, warning = found.plan, found.warning
    assert f"Plan again for those as built: routecut plan {job}" in warning
    assert kept.as_built is not None
    assert set(kept.as_built.relaid) == {"C1", "C2"}  # as they were laid again then
    append(job, [{"what": "withdrawn", "corrects": 1}])
    found = kept_plan(job, "plan")
    kept, warning = found.plan, found.warning
    assert warning
    assert kept.as_built is not None
    assert kept.as_built.relaid == {}


def test_a_strip_list_minds_a_length_that_does_not_go_with_its_way(made: tuple[Path, Plan, Plan]) -> None:
    kept = kept_plan(made[0], "plan").plan
    assert kept.as_built is not None
    told = " ".join(service_text(kept, strip(kept), kept.as_built.record).split())
    assert "500 mm long by the record; MIND ITS LENGTH: " in told
    assert told.count("MIND ITS LENGTH") == 1


def test_a_device_that_hangs_on_cables_nobody_gets_at_is_said_to(made: tuple[Path, Plan, Plan]) -> None:
    kept = kept_plan(made[0], "plan").plan
    assert kept.service is not None
    (found,) = strip(kept)
    ends = [p for p in kept.service.places if p.kind is PlaceKind.CONNECTOR and p.name.startswith("a.")]
    told = {
        line.split(",")[0]: line
        for section in strip_sections(kept, replace(found, blocked=tuple(ends)))
        if section.title == "Then the devices"
        for line in section.lines
    }
    assert ends
    assert told["a"].endswith("it comes out with its cables cut off, or stays (see above)")
    assert "cut off" not in told["b"]


def test_what_laid_no_cable_may_be_withdrawn_and_the_routes_as_built_stay(
    made: tuple[Path, Plan, Plan], tmp_path: Path
) -> None:
    job = tmp_path / "job"
    shutil.copytree(made[0], job)
    append(job, [{"what": "withdrawn", "corrects": 4}])
    found = kept_plan(job, "plan")
    kept, warning = found.plan, found.warning
    assert warning == ""
    assert kept.as_built is not None
    assert set(kept.as_built.relaid) == {"C1", "C2"}


def test_cables_come_out_in_the_order_of_the_plan_on_paper_and_on_screen(
    made: tuple[Path, Plan, Plan],
) -> None:
    """C2 is the thickest as built and not as planned: numbers of cards and steps stay those of the plan."""
    job, before, plan = made
    kept = kept_plan(job, "plan").plan
    (found,) = strip(kept)
    first = next(s for s in strip_sections(kept, found) if s.numbered).lines
    told = [line.partition(":")[0] for line in first]
    assert told == [c.cable.name for c in reversed(pulling_order(before))]
    page = pack_html(plan, pictures={})
    steps = page[page.index("Then the cables, last in first out") :]
    assert [steps.index(f"<li>{name}:") for name in told] == sorted(
        steps.index(f"<li>{name}:") for name in told
    )
    assert [c.cable.name for c in pulling_order(replace(kept, pulled=()))] != list(reversed(told))


def test_a_joint_of_the_record_is_got_at_on_paper_and_on_screen(made: tuple[Path, Plan, Plan]) -> None:
    job, _, plan = made
    kept = kept_plan(job, "plan").plan
    assert kept.service is not None
    (place,) = [p for p in kept.service.places if p.kind is PlaceKind.JOINT]
    told = f"joint of C1, reached from {place.space}: {reach_text(kept, place)}"
    assert told in pack_html(plan, pictures={})
    assert kept.as_built is not None
    text = " ".join(service_text(kept, strip(kept), kept.as_built.record).split())
    assert "part it at its joint 200 mm along the run from a.p" in text


def test_a_cable_in_another_type_is_told_by_what_it_asks_for_not_by_what_was_planned(
    made: tuple[Path, Plan, Plan],
) -> None:
    job, before, plan = made
    kept = kept_plan(job, "plan").plan
    was = next(c.cable.type.name for c in before.cables if c.cable.name == "C2")
    assert plan.as_built is not None
    cut = plan.as_built.relaid["C2"].cut
    assert cut is not None
    told = " ".join(service_text(kept, answers(kept, "C2"), plan.as_built.record).split())
    assert f"by the plan for {was}, not for what was fitted" in told
    assert "its way as built in rope asks for" in told
    page = pack_html(plan, pictures={})
    assert "asked for by rope as it lies; nobody recorded what lies there" in page
    assert f"of {was}</small>" in page


def test_what_came_with_another_device_is_not_forgotten_at_the_end(made: tuple[Path, Plan, Plan]) -> None:
    kept = kept_plan(made[0], "plan").plan
    assert kept.as_built is not None
    told = " ".join(service_text(kept, strip(kept), kept.as_built.record).split())
    assert "What came with another of its kind, fitted in place of a: its own parts and leads." in told


def test_spare_of_a_length_that_contradicts_itself_is_doubted(made: tuple[Path, Plan, Plan]) -> None:
    """C1 was cut shorter than its way: what the plan keeps for its ends may have gone into the run."""
    kept = kept_plan(made[0], "plan").plan
    assert kept.as_built is not None
    told = " ".join(service_text(kept, answers(kept, "C1"), kept.as_built.record).split())
    assert told.count("MIND ITS LENGTH, this may not be there") == 2
