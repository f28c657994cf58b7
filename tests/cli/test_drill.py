"""``routecut drill``: advice, what-ifs, exit codes."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

import routecut.planning.drill
import routecut.planning.stages
from routecut.model.body import Body
from routecut.model.job import Job
from routecut.model.plan import Plan
from routecut.survey import Survey
from tests.cli.conftest import Run, change, world, written


@pytest.fixture
def walled(tmp_path: Path) -> Path:
    """Two sides of a wall 4 m square with three old holes; the wall may be drilled."""
    job = world("wall-three-holes", tmp_path / "walled")
    change(job, "drill = false", "drill = true\nthickness = 1")
    return job


@pytest.fixture
def shut(walled: Path) -> Path:
    """The same, the old holes taken by other cables."""
    text = (walled / "job.toml").read_text(encoding="utf-8")
    (walled / "job.toml").write_text(
        text.replace("diameter = 30", "diameter = 30\nin_use = 29"), encoding="utf-8"
    )
    return walled


def test_drill_nothing_is_advice_too(run: Run, walled: Path) -> None:
    ran = run("drill", walled)
    assert ran.code == 0
    assert "Drill nothing: every cable is reached through holes that are there" in ran.out
    assert "> no new hole; about 2.7 m of cable\n" in ran.out
    assert not (walled / "plan").exists()


def test_a_wall_without_a_free_hole_gets_one_and_how_to_keep_it(run: Run, shut: Path) -> None:
    ran = run("drill", shut)
    assert ran.code == 0
    assert "Drill 1 hole: place " in ran.out
    assert "Without drilling C1 can't be reached" in ran.out
    assert "nothing seen behind: probe by hand" in ran.out  # the world is a wall and nothing else
    # each caution of the card is spelled out once at the end
    topics = re.findall(r"^  CAUTION    ([a-z ]+)", ran.out, re.MULTILINE)
    assert {"drilling", "blind drilling"} <= set(topics)
    for topic in topics:
        assert len(re.findall(rf"^CAUTION {topic}: \S.{{20,}}", ran.out, re.MULTILINE)) == 1
    block = ran.out.split("then add to job.toml:\n", 1)[1].split("\n\n", 1)[0]
    with (shut / "job.toml").open("a", encoding="utf-8") as file:
        file.write("\n" + "\n".join(line.strip() for line in block.splitlines()) + "\n")
    assert run("check", shut).code == 0
    planned = run("plan", shut, "--json")
    assert planned.code == 0
    hole = next(h for h in json.loads(planned.out)["holes"] if h["drill"])
    assert hole["state"] == "candidate"
    assert hole["cables"] == ["C1"]
    stem = f"templates/01-{hole['name'].replace(' ', '-')}"
    assert {"drill-schedule.csv", f"{stem}.svg", f"{stem}.pdf"} <= written(shut)
    assert json.loads(planned.out)["drilling"][0]["name"] == hole["name"]


def test_a_plan_that_is_there_is_not_made_again_and_says_the_same(
    run: Run, walled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text, told = run("drill", walled), run("drill", walled, "--json")
    moved = run("drill", walled, "--move", "b=6,1500,900")
    moved_told = run("drill", walled, "--move", "b=6,1500,900", "--json")
    assert run("plan", walled).code == 0
    made: list[Job] = []
    really = routecut.planning.stages.plan_survey

    def counted(surveyed: Survey, **known: Any) -> tuple[Plan, Body]:
        made.append(surveyed.job)
        return really(surveyed, **known)

    monkeypatch.setattr(routecut.planning.drill, "plan_survey", counted)
    assert run("drill", walled) == text
    assert run("drill", walled, "--json") == told
    assert not made
    assert run("drill", walled, "--move", "b=6,1500,900") == moved
    assert run("drill", walled, "--move", "b=6,1500,900", "--json") == moved_told
    assert len(made) == 2  # what is asked about; the job as it is has its plan
    # neither a hole that is not to be used nor another job is answered from it
    assert run("drill", walled, "--without", "H2").code == 0
    assert len(made) == 3
    change(walled, "bridge = 0", "bridge = 40")
    assert run("drill", walled).code == 0
    assert len(made) == 4


def test_holes_to_drill_have_their_cards_with_a_plan_there_too(run: Run, shut: Path) -> None:
    with (shut / "job.toml").open("a", encoding="utf-8") as file:
        file.write(
            '[[pass_through]]\nname = "new"\nat = [0, 0, 900]\naxis = [1, 0, 0]\ndiameter = 20\n'
            'state = "candidate"\njoins = ["front", "rear"]\n'
        )
    change(shut, "drill = true", "drill = false")  # no other place
    before = run("drill", shut)
    assert "Drill 1 hole: new." in before.out
    assert run("plan", shut).code == 0
    assert run("drill", shut) == before
    assert "  stop  " in before.out


def test_no_panel_to_drill_and_a_candidate_that_does_not_pay_are_said(run: Run, walled: Path) -> None:
    change(walled, "drill = true", "drill = false")
    with (walled / "job.toml").open("a", encoding="utf-8") as file:
        file.write(
            '[[pass_through]]\nname = "spare place"\nat = [0, -1900, -1900]\naxis = [1, 0, 0]\ndiameter = 20\n'
            'state = "candidate"\njoins = ["front", "rear"]\n'
        )
    ran = run("drill", walled)
    assert (
        "No place was looked for: the job says of no panel that it may be drilled (drill = true in its"
        in ran.out
    )
    assert "  in none of these choices, though the job proposes to drill it: spare place\n" in ran.out


def test_at_most_none_is_exit_1_and_names_who_is_lost(run: Run, shut: Path) -> None:
    ran = run("drill", shut, "--at-most", "0")
    assert ran.code == 1
    assert "Drill nothing of what is allowed: C1 can't be reached either way." in ran.out
    assert "not done: C1" in ran.err


def test_without_a_hole_the_next_is_taken(run: Run, walled: Path) -> None:
    ways = []
    for without in ((), ("--without", "H2"), ("--without", "H2", "--without", "H1")):
        ran = run("drill", walled, *without, "--json")
        told = json.loads(ran.out)
        best = told["rows"][told["best"]]
        assert best["optimal"]
        ways.append(tuple(best["ways"]["C1"]))
        assert told["routed_m"]["C1"] == pytest.approx(best["lengths_m"]["C1"], rel=0.12)
    assert len(set(ways)) == 3
    assert ways[0] == ("H2",) or ways[0] == ("H1",)


def test_a_name_of_no_hole_is_exit_2_with_those_there_are(run: Run, walled: Path) -> None:
    ran = run("drill", walled, "--without", "H9")
    assert ran.code == 2
    assert "'H9'" in ran.err
    assert "'H1', 'H2', 'H3'" in ran.err


def test_a_candidate_with_something_behind_is_left_out_of_the_plan_with_the_reason(
    run: Run, shut: Path
) -> None:
    """A cable would pass between wall and pipe, a drill would not stop there."""
    with (shut / "job.toml").open("a", encoding="utf-8") as file:
        file.write(
            '[[pass_through]]\nname = "new"\nat = [0, 0, 900]\naxis = [1, 0, 0]\ndiameter = 20\n'
            'state = "candidate"\njoins = ["front", "rear"]\n'
            '[[keep_out]]\nname = "pipe"\nbox = [[25, -200, 700], [300, 200, 1100]]\nreason = "other"\n'
            "clearance = 0\n"
        )
    ran = run("plan", shut, "--json")
    assert ran.code == 1  # nothing else reaches
    plan = json.loads(ran.out)
    hole = next(h for h in plan["holes"] if h["name"] == "new")
    assert hole["drill"] is False
    assert "pipe lies 25 mm behind it in rear; 40 mm are wanted" in hole["refused"]
    assert [f["code"] for f in plan["findings"] if "new" in f["where"]] == ["hole-refused"]
    # a little further off it is drilled
    change(shut, "[[25, -200, 700], [300", "[[41, -200, 700], [300")
    assert run("plan", shut).code == 0
    # but not if it is fuel, which keeps its 152 mm (FAA AC 43.13-1B, 6 in) whatever is asked behind
    change(shut, 'reason = "other"\nclearance = 0', 'reason = "fuel"')
    assert "its clearance is 152 mm" in run("plan", shut).out
