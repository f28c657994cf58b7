"""What nobody checked on the vehicle and what nobody planned is said where the hand is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routecut.documents import study_text, summary_text
from routecut.documents.caution_texts import Topic
from routecut.documents.cautions import at, placed_cautions
from routecut.documents.look_first import NOT_SEEN, mounting_holes, mounting_text, unchecked_text
from routecut.documents.markup import html as written
from routecut.documents.pack_front import header, overview
from routecut.documents.pack_holes import holes
from routecut.model.fitout import CableClass
from routecut.model.job import Job
from routecut.model.plan import Plan
from tests.documents.test_drill_text import STUDY

DONT = "Don't cut or drill by this plan yet."


def unseen(plan: Plan, *, keep_outs: int, pass_throughs: int) -> Plan:
    """The first so many of each not confirmed, in the job and, as a planner does, in the holes."""
    job = plan.job
    shapes = tuple(replace(k, confirmed=n >= keep_outs) for n, k in enumerate(job.keep_outs))
    through = tuple(replace(h, confirmed=n >= pass_throughs) for n, h in enumerate(job.pass_throughs))
    named = {h.name: h for h in through}
    found = tuple(replace(h, pass_through=named[h.pass_through.name]) for h in plan.holes)
    return replace(plan, job=replace(job, keep_outs=shapes, pass_throughs=through), holes=found)


def sunk(job: Job, *names: str, by_m: float = 0.02) -> Job:
    """The ports of some devices moved down: the cable of an antenna leaves under the skin."""

    def moved(x: float, y: float, z: float) -> tuple[float, float, float]:
        return (x, y, z - by_m)

    devices = tuple(
        replace(
            d,
            ports=tuple(
                replace(p, position=replace(p.position, at_m=moved(*d.position.at_m))) for p in d.ports
            ),
        )
        if d.name in names
        else d
        for d in job.devices
    )
    return replace(job, devices=devices)


@pytest.mark.parametrize(
    ("keep_outs", "pass_throughs", "told"),
    [
        (5, 3, f"8 entries nobody has checked on the vehicle: 5 keep-outs, 3 pass-throughs. {DONT}"),
        (1, 0, f"1 entry nobody has checked on the vehicle: 1 keep-out. {DONT}"),
        (0, 1, f"1 entry nobody has checked on the vehicle: 1 pass-through. {DONT}"),
    ],
)
def test_what_nobody_checked_is_counted_in_the_overview_and_on_the_terminal(
    plan: Plan, keep_outs: int, pass_throughs: int, told: str
) -> None:
    found = unseen(plan, keep_outs=keep_outs, pass_throughs=pass_throughs)
    assert unchecked_text(found.job) == told
    assert told in summary_text(found).splitlines()
    front = written(overview(found))
    assert told in front
    assert 'href="#findings"' in front.split(told, 1)[1].split("</div>", 1)[0]
    assert told in study_text(STUDY, found, asked=found.job).splitlines()


def test_drill_counts_the_candidates_it_did_not_choose_as_the_plan_does(plan: Plan) -> None:
    """The plan of a drill study has only the holes that are used; whoever counts means the lines of the job."""
    asked = unseen(plan, keep_outs=2, pass_throughs=3)
    chosen = replace(
        asked, job=replace(asked.job, pass_throughs=tuple(h for h in asked.job.pass_throughs if h.confirmed))
    )
    told = f"5 entries nobody has checked on the vehicle: 2 keep-outs, 3 pass-throughs. {DONT}"
    assert told in summary_text(asked).splitlines()
    assert told in study_text(STUDY, chosen, asked=asked.job).splitlines()


def test_the_head_calls_no_plan_good_with_entries_nobody_checked(plan: Plan) -> None:
    sound = replace(
        plan, cables=tuple(c for c in plan.cables if c.verified is not None and c.verified.ok), findings=()
    )
    assert 'class="state good"' in written(header(sound))
    head = written(header(unseen(sound, keep_outs=2, pass_throughs=0)))
    assert 'class="state bad"' in head
    assert "2 entries nobody has checked on the vehicle: 2 keep-outs: see the overview." in head


def test_a_job_that_is_confirmed_says_nothing_of_it(plan: Plan) -> None:
    assert unchecked_text(plan.job) == ""
    for text in (
        summary_text(plan),
        written(overview(plan)),
        written(header(plan)),
        study_text(STUDY, plan, asked=plan.job),
    ):
        assert "nobody has checked" not in text
    assert NOT_SEEN not in written(holes(plan, placed_cautions(plan)))


def test_each_hole_nobody_saw_says_so_on_its_card_and_no_other(plan: Plan) -> None:
    every = unseen(plan, keep_outs=0, pass_throughs=len(plan.job.pass_throughs))
    page = written(holes(every, placed_cautions(every)))
    assert f"there already ({NOT_SEEN}); if it has to be changed" in page
    heads = [h.split("</h4>", 1)[0] for h in page.split("<h4>")[1:]]
    assert len(heads) == sum(h.drill or bool(h.cables) for h in plan.holes)
    assert all(NOT_SEEN in head for head in heads)
    left = page.split("Not used:", 1)[1]
    assert left.count(f"({NOT_SEEN})") == left.count("<li>") > 0
    one = unseen(plan, keep_outs=0, pass_throughs=1)
    heads = written(holes(one, placed_cautions(one))).split("<h4>")[1:]
    name = plan.job.pass_throughs[0].name
    assert [NOT_SEEN in h.split("</h4>", 1)[0] for h in heads] == [f": {name} " in h[:80] for h in heads]
    assert f"  {name} ({NOT_SEEN}), " in summary_text(one)


def test_antennas_whose_coax_leaves_under_the_skin_have_mounting_holes_nobody_planned(plan: Plan) -> None:
    assert mounting_holes(plan.job) == ()  # here the ports are where the antennas stand
    both = sunk(plan.job, "antenna front", "antenna rear")
    assert mounting_holes(both) == ("antenna front", "antenna rear")
    told = (
        "The mounting holes of antenna front, antenna rear are not planned here: drill them by the maker's "
        "template; look behind first."
    )
    assert mounting_text(both) == told
    none = tuple(replace(h, drill=False) for h in plan.holes)
    found = replace(plan, job=both, holes=none)
    page = written(holes(found, placed_cautions(found)))
    assert told in page
    assert "No hole for a cable is drilled in this job." in page
    assert "Nothing is drilled" not in page
    assert 'href="#caution-drilling"' in page
    assert any(p.caution.topic is Topic.DRILLING for p in at(placed_cautions(found), "job"))
    assert told in summary_text(found).splitlines()
    study = study_text(STUDY, found, asked=found.job)
    assert told in study.splitlines()
    assert "Drill nothing:" not in study
    assert "CAUTION drilling: " in study
    bare = replace(plan, holes=none)
    assert "Nothing is drilled in this job." in written(holes(bare, placed_cautions(bare)))


def test_what_is_no_antenna_or_has_no_coax_or_starts_outside_needs_no_mounting_hole(plan: Plan) -> None:
    assert mounting_holes(sunk(plan.job, *(d.name for d in plan.job.devices))) == (
        "antenna front",
        "antenna rear",
    )
    assert mounting_holes(sunk(plan.job, "antenna front", by_m=-0.03)) == ()
    down = sunk(plan.job, "antenna front")
    wires = tuple(replace(c, cable_class=CableClass.DATA) for c in down.cables)
    assert mounting_holes(replace(down, cables=wires)) == ()
    for kind, is_one in (
        ("antenna splitter", False),
        ("VHF antenna", True),
        ("antenna base, roof hole", True),
    ):
        called = tuple(replace(d, kind=kind) if d.name == "antenna front" else d for d in down.devices)
        assert bool(mounting_holes(replace(down, devices=called))) is is_one
