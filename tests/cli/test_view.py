"""``routecut view``: the plan that is there, if it still holds; pictures, or a window."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

import routecut.planning
import routecut.planning.output
from routecut.cli.exits import ExitCode
from routecut.errors import OutputError
from routecut.scene import Picked
from routecut.scene.tagging import Tagger
from routecut.survey import load_job
from tests.cli.conftest import PICTURES, Drawing, Run, change, written


def test_view_without_a_screen_makes_pictures_and_names_them(run: Run, job: Path, drawing: Drawing) -> None:
    ran = run("view", job)
    assert ran.code == ExitCode.DONE
    assert ran.out.splitlines() == [str(job / "plan" / "views" / name) for name in PICTURES]
    assert drawing.shown == []


def test_view_as_json(run: Run, job: Path) -> None:
    views = json.loads(run("view", job, "--json").out)["views"]
    assert [Path(v).name for v in views] == list(PICTURES)
    assert all(Path(v).is_file() for v in views)


@pytest.fixture
def _no_planning(monkeypatch: pytest.MonkeyPatch, job: Path, run: Run) -> None:
    """The job is planned once; after that the engine may not be asked again."""
    run("plan", job)
    for module, name in (
        (routecut.planning, "make_plan"),
        (routecut.planning.as_built, "make_plan"),
        (routecut.planning, "plan_survey"),
        (routecut.planning.stages, "plan_survey"),
    ):
        monkeypatch.setattr(module, name, lambda *_, **__: pytest.fail("it planned again"))


@pytest.mark.usefixtures("_no_planning")
def test_view_of_a_job_that_is_unchanged_does_not_plan_again(
    run: Run, job: Path, drawing: Drawing, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = {name: (job / "plan" / name).read_bytes() for name in written(job)}
    ran = run("view", job, "--json")
    assert [Path(v).name for v in json.loads(ran.out)["views"]] == list(PICTURES)
    assert ran.err == f"this is the plan in {job / 'plan'}; job and mesh are unchanged since it was made\n"
    monkeypatch.setenv("DISPLAY", ":7")
    assert run("view", job).code == ExitCode.DONE
    (shown,) = drawing.shown
    assert [c.cable.name for c in shown.cables] == ["C1"]
    assert shown.cables[0].route is not None
    assert {name: (job / "plan" / name).read_bytes() for name in written(job)} == before


def test_a_plan_that_is_there_is_shown_with_what_is_wrong_with_it(
    run: Run, blocked_job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = run("plan", blocked_job, "--json")
    monkeypatch.setattr(routecut.planning, "make_plan", lambda *_, **__: pytest.fail("it planned again"))
    again = run("view", blocked_job)
    assert first.code == again.code == ExitCode.NOT_AS_ASKED
    assert again.err.splitlines()[1:] == first.err.splitlines()
    assert "[no-route]" in again.err


@pytest.mark.usefixtures("_no_planning")
def test_view_names_only_pictures_of_its_own(run: Run, job: Path) -> None:
    (job / "plan" / "views" / "garage.png").write_bytes(b"mine")
    assert [Path(p).name for p in run("view", job).out.splitlines()] == list(PICTURES)


@pytest.mark.parametrize("change_it", ["job", "mesh", "plan", "version"])
def test_view_plans_again_when_the_plan_is_of_another_job(
    run: Run, job: Path, monkeypatch: pytest.MonkeyPatch, change_it: str
) -> None:
    run("plan", job)
    if change_it == "job":
        change(job, 'title = "wall with holes"', 'title = "another wall"')
    elif change_it == "mesh":
        with (job / "body.ply").open("ab") as mesh:
            mesh.write(b"\n")
    elif change_it == "version":
        monkeypatch.setattr("routecut.planning.stored.__version__", "0.0.9")
    else:
        text = (job / "plan" / "plan.json").read_text(encoding="utf-8")
        (job / "plan" / "plan.json").write_text(text.replace('"ok": true', '"ok": false'), encoding="utf-8")
    asked = []
    real = routecut.planning.make_plan

    def counted(path: Path, **options: Any) -> object:
        asked.append(path)
        return real(path, **options)

    monkeypatch.setattr(routecut.planning, "make_plan", counted)
    ran = run("view", job)
    assert (len(asked), ran.code) == (1, ExitCode.DONE)


def test_view_draws_pictures_that_are_missing(run: Run, job: Path, drawing: Drawing) -> None:
    drawing.works = False
    run("plan", job)
    assert run("view", job).code == ExitCode.NOT_AS_ASKED
    drawing.works = True
    assert len(run("view", job).out.splitlines()) == len(PICTURES)


def test_view_with_a_screen_opens_a_window_and_writes_nothing(
    run: Run, job: Path, drawing: Drawing, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DISPLAY", ":7")
    assert run("view", job).code == ExitCode.DONE
    assert [p.job.title for p in drawing.shown] == ["wall with holes"]
    assert not (job / "plan").exists()


def test_view_with_a_screen_makes_pictures_when_told_to(
    run: Run, job: Path, drawing: Drawing, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DISPLAY", ":7")
    assert "front.png" in run("view", job, "--pictures").out
    assert drawing.shown == []


@pytest.mark.parametrize("screen", ["", ":7"])
def test_view_on_a_machine_that_cannot_draw_says_what_to_install(
    run: Run, job: Path, drawing: Drawing, monkeypatch: pytest.MonkeyPatch, screen: str
) -> None:
    monkeypatch.setenv("DISPLAY", screen)
    drawing.works = False
    ran = run("view", job)
    assert ran.code == ExitCode.NOT_AS_ASKED
    assert "libegl1 libgl1" in ran.err


def test_points_picked_in_the_window_are_printed_as_toml_when_it_is_closed(
    run: Run, job: Path, drawing: Drawing, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DISPLAY", ":7")
    assert run("view", job).out == ""
    part = 'wall "left" \\ </b>'
    tagger = Tagger(load_job(job)[0] or pytest.fail("no job"))
    for _ in range(2):
        tagger.tap(Picked(at_m=(1.2344, -0.5, 0.0), part=part, normal=(0.0, -1.0, 0.0)))
    drawing.picks = tuple(tagger.tags)
    text = run("view", job).out
    found = tomllib.loads(text)["landmark"]
    assert [p["name"] for p in found] == ["landmark 1", "landmark 2"]
    assert found[0]["at"] == [1234, -500, 0]
    assert 'on "wall \\"left\\" \\\\ </b>"' in text
    (job / "picks.toml").write_text(text, encoding="utf-8")
    assert run("add", job, job / "picks.toml", "--yes").code == ExitCode.DONE


def test_picks_go_into_the_file_asked_for_and_what_add_would_refuse_is_told(
    run: Run, job: Path, drawing: Drawing, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = job / "my picks.toml"
    assert run("view", job, "--picks", file).code == ExitCode.NOT_AS_ASKED  # there is no window
    monkeypatch.setenv("DISPLAY", ":7")
    assert run("view", job, "--picks", file).out == ""
    assert not file.exists()  # nothing was picked
    tagger = Tagger(load_job(job)[0] or pytest.fail("no job"))
    for kind in ("landmark", "hole"):
        tagger.choose(kind)
        tagger.tap(Picked(at_m=(50.0, -50.0, 0.0), part="wall", normal=(0.0, -1.0, 0.0)))
    tagger.tags[0].values["name"] = "left striker"
    printed = drawing.picks = tuple(tagger.tags)
    printed_text = run("view", job).out
    ran = run("view", job, "--picks", file)
    assert file.read_text(encoding="utf-8") == printed_text
    assert f"routecut add {job} '{file}'" in ran.out
    assert "hole 1: Say which spaces it joins." in ran.err
    assert "left striker" not in ran.err
    drawing.picks = printed[:1]
    drawing.shown.clear()
    again = run("view", job, "--picks", file)
    assert again.code == ExitCode.NOT_AS_ASKED  # what was picked before is not written over
    assert drawing.shown == []
    assert "hole 1" in file.read_text(encoding="utf-8")


def test_picks_that_cannot_be_saved_are_printed(
    run: Run, job: Path, drawing: Drawing, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DISPLAY", ":7")
    tagger = Tagger(load_job(job)[0] or pytest.fail("no job"))
    tagger.tap(Picked(at_m=(1.0, -0.5, 0.0), part="wall", normal=(0.0, -1.0, 0.0)))
    drawing.picks = tuple(tagger.tags)

    def full(_path: Path, _data: bytes) -> None:
        raise OutputError("no space left on device")

    monkeypatch.setattr(routecut.planning.output, "write_file", full)
    ran = run("view", job, "--picks", job / "picks.toml")
    assert "no space left" in ran.err
    assert ran.code == ExitCode.NOT_AS_ASKED
    assert tomllib.loads(ran.out)["landmark"][0]["name"] == "landmark 1"
