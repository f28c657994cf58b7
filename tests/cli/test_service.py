"""``routecut service``: from the kept plan, which is never made again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import routecut.planning.stages
from tests.cli.conftest import Drawing, Run, change


@pytest.fixture
def kept(run: Run, job: Path, drawing: Drawing, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A planned job; from here on planning fails."""
    assert run("plan", job).code == 0

    def never(*_: object, **__: object) -> None:
        raise AssertionError("service plans nothing")

    monkeypatch.setattr(routecut.planning.stages, "plan_survey", never)
    return job


def test_all_names_that_are_listed_are_answered(run: Run, kept: Path) -> None:
    listed = json.loads(run("service", kept, "--json").out)
    assert listed["device"]
    assert listed["hole"]
    for kind, names in listed.items():
        for name in names:
            ran = run("service", kept, name, "--json")
            assert ran.code == 0, ran.err
            assert (kind, name) in {(a["asked"], a["name"]) for a in json.loads(ran.out)["answers"]}
            assert run("service", kept, name).out


def test_a_hole_tells_what_runs_through_it(run: Run, kept: Path) -> None:
    (hole, *_) = json.loads(run("service", kept, "--json").out)["hole"]
    (cable, *_) = json.loads(run("service", kept, "--json").out)["cable"]
    ran = run("service", kept, f"what runs through {hole}?")
    assert ran.code == 0
    assert f"{cable}: " in ran.out.split("What runs through it:")[1]
    assert "CAUTION battery" in ran.out


def test_a_question_need_not_be_quoted(run: Run, kept: Path) -> None:
    (hole, *_) = json.loads(run("service", kept, "--json").out)["hole"]
    words = f"what runs through {hole}".split()
    assert len(words) > 3
    loose = run("service", kept, *words)
    assert (loose.code, loose.out) == (0, run("service", kept, " ".join(words)).out)


def test_without_a_plan_it_says_what_to_do_and_writes_nothing(run: Run, job: Path) -> None:
    ran = run("service", job)
    assert (ran.code, ran.out) == (1, "")
    assert f"routecut plan {job}" in ran.err
    assert not (job / "plan").exists()


def test_an_unknown_name_and_two_questions_at_once_are_bad_input(run: Run, kept: Path) -> None:
    (device, *_) = json.loads(run("service", kept, "--json").out)["device"]
    ran = run("service", kept, f"{device}9")
    assert ran.code == 2
    assert repr(device) in ran.err
    assert run("service", kept, "").code == 2
    assert run("service", kept, device, "--strip").code == 2


def test_a_job_changed_since_is_answered_from_the_old_plan_with_a_warning(run: Run, kept: Path) -> None:
    before = (kept / "plan" / "plan.json").read_bytes()
    (device, *_) = json.loads(run("service", kept, "--json").out)["device"]
    quiet = run("service", kept, device)
    assert quiet.err == ""
    change(kept, 'type = "thread"\nclass', 'type = "thread"\nsurplus = "fold"\nclass')
    ran = run("service", kept, device)
    assert (ran.code, ran.out) == (0, quiet.out)
    assert "warning: the plan in" in ran.err
    assert (kept / "plan" / "plan.json").read_bytes() == before


def test_a_plan_that_is_none_is_said_to_be_none(run: Run, kept: Path) -> None:
    for text in ("", "{}", "[]", '{"format": 1}', "no json", "\xff"):
        (kept / "plan" / "plan.json").write_bytes(text.encode("latin-1"))
        ran = run("service", kept)
        assert ran.code == 1
        assert "is no plan of the job as it stands" in ran.err


def test_what_is_recorded_is_told(run: Run, kept: Path) -> None:
    (cable, *_) = json.loads(run("service", kept, "--json").out)["cable"]
    assert run("record", kept, "--cut", f"{cable}=1234").code == 0
    assert "cut to 1234 mm" in run("service", kept, cable).out
