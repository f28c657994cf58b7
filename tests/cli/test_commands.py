"""Each command: what it prints where, what it writes, and its exit code."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import routecut.geometry.sheets
import routecut.planning
import routecut.preview
from routecut.cli import demo as demo_command
from routecut.cli import printing
from routecut.cli.exits import ExitCode
from routecut.errors import OutOfRangeError, OutputError
from routecut.model.body import Floats
from routecut.model.codes import CODES
from tests.cli.conftest import PICTURES, WORLDS, Drawing, Run, change, written

# --- check ----------------------------------------------------------------------------


def test_check_of_a_good_job_is_done_and_writes_nothing(run: Run, job: Path) -> None:
    before = {p.name: p.read_bytes() for p in job.iterdir()}
    ran = run("check", job)
    assert ran.code == ExitCode.DONE
    assert ran.out.endswith("no errors\n")
    assert set(re.findall(r"\[([a-z-]+)\]$", ran.out, re.M)) <= {"job-incomplete", "measure-next"}
    assert {p.name: p.read_bytes() for p in job.iterdir()} == before


def test_check_takes_the_job_file_for_its_folder(run: Run, job: Path) -> None:
    assert run("check", job / "job.toml").out == run("check", job).out


def test_check_prints_all_faults_worst_first(run: Run, bad_job: Path) -> None:
    ran = run("check", bad_job)
    assert ran.code == ExitCode.BAD_INPUT
    lines = ran.out.splitlines()
    assert lines[0] == "2 errors"
    assert lines[-1] == "2 errors to mend before this job can be planned"
    assert any("pannel" in line and "[not-allowed]" in line for line in lines)
    assert any("nobody.p" in line and "[unknown-name]" in line for line in lines)
    assert ran.err == ""


def test_check_as_json_is_a_list_of_findings_in_parts(run: Run, bad_job: Path) -> None:
    ran = run("check", bad_job, "--json")
    findings: list[dict[str, Any]] = json.loads(ran.out)
    assert ran.code == ExitCode.BAD_INPUT
    assert {f["code"] for f in findings if f["severity"] == "error"} == {"not-allowed", "unknown-name"}
    assert all(f["code"] in CODES and f["message"] for f in findings)
    assert any("pannel" in f["found"] for f in findings)


def test_check_says_where_everything_came_to_lie(run: Run, job: Path) -> None:
    ran = run("check", job, "--places")
    head, titles, ruled, *rows = ran.out.split("\n\n")[0].splitlines()
    assert head == "places in mm: x to the rear, y to the right, z up"
    assert titles.split() == ["place", "x", "y", "z", "in"]
    assert set(ruled) == {"-", " "}
    told = json.loads(run("check", job, "--places", "--json").out)
    assert told["findings"] == json.loads(run("check", job, "--json").out)
    assert [row.split("  ")[0] for row in rows] == [p["name"] for p in told["places"]]
    for row, one in zip(rows, told["places"], strict=True):
        assert [int(v) for v in row.split()[1:4]] == [round(1000 * v) for v in one["at_m"]]
    assert ran.out.endswith(run("check", job).out)


def test_check_of_a_bad_job_has_no_places(run: Run, bad_job: Path) -> None:
    assert run("check", bad_job, "--places").out == run("check", bad_job).out
    assert json.loads(run("check", bad_job, "--places", "--json").out)["places"] is None


def test_check_as_json_of_a_good_job_is_an_empty_list(run: Run, job: Path) -> None:
    told = json.loads(run("check", job, "--json").out)
    assert {f["code"] for f in told} <= {"job-incomplete", "measure-next"}
    assert all(f["severity"] != "error" for f in told)


FILES = {
    "plan.json",
    "cut-list.csv",
    "order-list.csv",
    "order-list.xlsx",
    "tables.xlsx",
    "harness.svg",
    "labels.pdf",
    "labels-1.svg",
    "scene.glb",
    "pack.html",
}
"""What a plan folder holds where nothing is drilled, pictures aside."""


# --- plan -----------------------------------------------------------------------------


def test_plan_writes_the_whole_folder_and_prints_the_summary(run: Run, job: Path) -> None:
    ran = run("plan", job)
    assert ran.code == ExitCode.DONE
    assert written(job) == FILES | {"views/front.png", "views/top.png"}
    assert (job / "plan" / "views" / "front.png").read_bytes() == PICTURES["front.png"]
    assert "C1" in ran.out
    assert str(job / "plan") in ran.out
    assert ran.err == ""


def test_plan_as_json_prints_what_it_wrote(run: Run, job: Path) -> None:
    ran = run("plan", job, "--json")
    assert json.loads(ran.out) == json.loads((job / "plan" / "plan.json").read_text(encoding="utf-8"))
    assert [c["name"] for c in json.loads(ran.out)["cables"]] == ["C1"]


def test_plan_twice_gives_the_same_bytes(run: Run, job: Path) -> None:
    run("plan", job)
    first = {name: (job / "plan" / name).read_bytes() for name in written(job)}
    run("plan", job)
    assert {name: (job / "plan" / name).read_bytes() for name in written(job)} == first


def test_without_opengl_all_but_the_pictures_is_written_and_one_line_says_what_to_install(
    run: Run, job: Path, drawing: Drawing
) -> None:
    drawing.works = False
    ran = run("plan", job)
    assert ran.code == ExitCode.DONE
    assert written(job) == FILES
    assert len(ran.err.splitlines()) == 1
    assert "apt-get install" in ran.err
    assert "libegl1 libgl1" in ran.err


def test_pictures_that_fail_do_not_cost_the_plan(
    run: Run, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise OutputError("the pictures could not be drawn (out of memory)")

    monkeypatch.setattr(routecut.preview, "stills", fails)
    ran = run("plan", job)
    assert ran.code == ExitCode.DONE
    assert written(job) == FILES
    assert ran.err == "the pictures could not be drawn (out of memory)\n"


def test_a_cable_without_a_way_is_exit_1_with_the_reason_and_the_plan_is_written(
    run: Run, blocked_job: Path
) -> None:
    ran = run("plan", blocked_job, "--json")
    assert ran.code == ExitCode.NOT_AS_ASKED
    assert "[no-route]" in ran.err
    assert "C1" in ran.err
    assert json.loads(ran.out) == json.loads((blocked_job / "plan" / "plan.json").read_text(encoding="utf-8"))


def test_what_is_wrong_with_a_plan_is_printed_once(run: Run, blocked_job: Path) -> None:
    ran = run("plan", blocked_job)
    assert ran.out.count("[no-route]") == 1
    assert ran.err == "not done: C1; all other cables are planned\n"


def test_a_bad_job_is_exit_2_with_all_faults_and_the_last_plan_stays(run: Run, job: Path) -> None:
    run("plan", job)
    last = (job / "plan" / "plan.json").read_bytes()
    change(job, 'kind = "panel"', 'kind = "pannel"')
    change(job, 'from = "a.p"', 'from = "nobody.p"')
    ran = run("plan", job)
    assert ran.code == ExitCode.BAD_INPUT
    assert "pannel" in ran.err
    assert "nobody.p" in ran.err
    assert ran.out == ""
    assert (job / "plan" / "plan.json").read_bytes() == last


@pytest.mark.parametrize("command", ["plan", "view"])
def test_a_bad_job_as_json_is_findings_on_stdout_and_nothing_else(
    run: Run, bad_job: Path, command: str
) -> None:
    ran = run(command, bad_job, "--json")
    assert ran.code == ExitCode.BAD_INPUT
    assert ran.err == ""
    told = json.loads(ran.out)
    assert told["error"] == "the job can't be used: 2 errors"
    assert told["findings"] == json.loads(run("check", bad_job, "--json").out)
    assert "pannel" in run(command, bad_job).err  # the next command speaks to people again


def test_any_error_as_json_is_json(run: Run, job: Path) -> None:
    (job / "plan").write_text("mine")
    ran = run("plan", job, "--json")
    assert ran.code == ExitCode.NOT_AS_ASKED
    told = json.loads(ran.out)
    assert "is a file" in told["error"]
    assert told["findings"] == []
    assert ran.err == ""


def test_an_unwritable_plan_is_said_before_the_work_is_done(
    run: Run, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (job / "plan").symlink_to(job / "elsewhere")
    monkeypatch.setattr(routecut.planning, "make_plan", lambda *_, **__: pytest.fail("it went to work"))
    ran = run("plan", job)
    assert ran.code == ExitCode.NOT_AS_ASKED
    assert "is a link" in ran.err


def test_what_is_not_the_tools_is_kept_and_said(run: Run, job: Path) -> None:
    run("plan", job)
    cut_list = job / "plan" / "cut-list.csv"
    first = cut_list.read_bytes()
    cut_list.write_bytes(first + b"mine: 2 m more\n")
    (job / "plan" / "notes.txt").write_text("mine")
    (job / "plan" / ".hidden").write_text("of a file manager")
    ran = run("plan", job)
    assert ran.code == ExitCode.DONE
    assert cut_list.read_bytes() == first
    assert (job / "plan" / "cut-list.yours.csv").read_bytes() == first + b"mine: 2 m more\n"
    assert (job / "plan" / "notes.txt").read_text() == "mine"
    assert ran.err.splitlines() == [
        "plan/cut-list.csv was not as it had been written: it is now plan/cut-list.yours.csv",
        "kept in plan/, not part of the plan: notes.txt",
    ]
    assert (job / "plan" / ".hidden").is_file()


# --- demo (on a small world; the real sample is run by tests/docs) --------------------


@pytest.fixture
def _small_sample(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(demo_command, "samples_folder", lambda: WORLDS)


SMALL = ("--sample", "wall-hole")


@pytest.mark.usefixtures("_small_sample")
def test_demo_copies_plans_and_says_what_to_open(run: Run, tmp_path: Path) -> None:
    ran = run("demo", tmp_path / "a b", *SMALL)
    assert ran.code == ExitCode.DONE
    assert (tmp_path / "a b" / "job.toml").read_bytes() == (WORLDS / "wall-hole" / "job.toml").read_bytes()
    assert str(tmp_path / "a b" / "plan" / "pack.html") in ran.out
    assert f"routecut view '{tmp_path / 'a b'}'" in ran.out
    assert "plan.json" in written(tmp_path / "a b")


@pytest.mark.usefixtures("_small_sample")
def test_demo_goes_to_its_own_folder_when_none_is_named(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    told = json.loads(run("demo", "--json", *SMALL).out)
    assert told["complete"] is True
    assert told["cables"] == 1
    assert Path(told["pack"]).is_file()
    assert Path(told["job"]) == Path("routecut-demo")


@pytest.mark.usefixtures("_small_sample")
def test_demo_leaves_a_folder_in_use_alone_unless_forced(run: Run, tmp_path: Path) -> None:
    torn = '{"line": 1, "what": "no'  # a record that its writer did not finish
    (tmp_path / "job.toml").write_text("mine")
    (tmp_path / "record.jsonl").write_text(torn)
    ran = run("demo", tmp_path, *SMALL)
    assert ran.code == ExitCode.NOT_AS_ASKED
    assert "--force" in ran.err
    assert {p.name for p in tmp_path.iterdir()} == {"job.toml", "record.jsonl"}
    assert (tmp_path / "job.toml").read_text() == "mine"
    assert run("demo", tmp_path, "--force", *SMALL).code == ExitCode.DONE
    assert (tmp_path / "job.toml").read_bytes() == (WORLDS / "wall-hole" / "job.toml").read_bytes()
    assert (tmp_path / "record.jsonl").read_text() == torn


def test_demo_refuses_a_file_in_the_place_of_the_folder(run: Run, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("mine")
    ran = run("demo", tmp_path / "taken", "--force")
    assert ran.code == ExitCode.NOT_AS_ASKED
    assert "is a file" in ran.err
    assert (tmp_path / "taken").read_text() == "mine"


def test_a_sample_that_is_not_there_is_refused_with_the_nearest_name(run: Run, tmp_path: Path) -> None:
    ran = run("demo", tmp_path / "new", "--sample", "river-rescue-bot")
    assert ran.code == ExitCode.BAD_INPUT
    assert "'river-rescue-bot'; the nearest is 'river-rescue-boat'" in ran.err
    assert all(name in ran.err for name in demo_command.sample_names())
    assert not (tmp_path / "new").exists()


def test_the_samples_are_listed_with_their_titles(run: Run) -> None:
    told = json.loads(run("demo", "--list", "--json").out)
    names = {p.parent.name for p in demo_command.samples_folder().glob("*/job.toml")}
    assert set(told) == names >= {"river-rescue-boat", "river-rescue-van"}
    lines = run("demo", "--list").out.splitlines()
    assert [line.split("   ", 1)[0].strip() for line in lines] == sorted(told)
    assert all(title in line for line, (_, title) in zip(lines, sorted(told.items()), strict=True))


def test_the_sample_is_there() -> None:
    sample = demo_command.samples_folder() / demo_command.SAMPLE
    assert (sample / "job.toml").is_file()
    assert (sample / "body.glb").stat().st_size > 100_000


# --- errors become messages in one place ----------------------------------------------


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (OutputError("disk full"), ExitCode.NOT_AS_ASKED, "error: disk full"),
        (OutOfRangeError("lay: 7"), ExitCode.BAD_INPUT, "error: lay: 7"),
        (PermissionError(13, "Permission denied", "body.ply"), ExitCode.NOT_AS_ASKED, "body.ply: Permission"),
        (KeyboardInterrupt(), ExitCode.STOPPED, "stopped"),
    ],
)
def test_an_error_is_one_line_and_an_exit_code(
    run: Run, job: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException, code: ExitCode, said: str
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(routecut.planning, "make_plan", fails)
    ran = run("plan", job)
    assert ran.code == code
    assert said in ran.err
    assert len(ran.err.splitlines()) == 1
    assert ran.out == ""
    assert not (job / "plan").exists()


def test_a_fault_of_ours_is_not_dressed_up_as_the_users(
    run: Run, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(routecut.planning, "make_plan", fails)
    with pytest.raises(ZeroDivisionError):
        run("plan", job)


MISTAKES: list[tuple[str, ...]] = [
    (),
    ("nonsense",),
    ("plan",),
    ("plan", "nowhere"),
    ("plan", "/dev/null"),
    ("plan", "a", "b"),
    ("plan", "--jsn", "a"),
    ("check", ""),
    ("check", "nowhere\x00"),
    ("view", "nowhere"),
    ("check", "x" * 5000),
]


@pytest.mark.parametrize("arguments", MISTAKES, ids=lambda a: " ".join(a)[:20])
def test_a_users_mistake_is_exit_2_and_never_a_traceback(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run(*arguments)
    assert ran.code == ExitCode.BAD_INPUT
    assert ran.out + ran.err
    assert list(tmp_path.iterdir()) == []


def test_a_control_character_in_a_name_does_not_reach_the_terminal(run: Run, job: Path) -> None:
    change(job, 'title = "wall with holes"', 'title = "wall \\u001b]0;x\\u0007"')
    change(job, 'from = "a.p"', 'from = "a.\\u001b[2J"')
    ran = run("plan", job)
    assert ran.code == ExitCode.BAD_INPUT
    assert "[2J" in ran.err
    assert "\x1b" not in ran.out + ran.err


def test_json_is_printed_to_the_letter_and_text_is_defused(capsys: pytest.CaptureFixture[str]) -> None:
    """The reader refuses such names, but a message may quote what it refused."""
    hostile = "turn\N{RIGHT-TO-LEFT OVERRIDE}ed\x1b[2J\nnext line"
    printing.data(hostile)
    assert capsys.readouterr().out == hostile + "\n"
    for say, stream in ((printing.result, "out"), (printing.note, "err")):
        say(hostile)
        assert getattr(capsys.readouterr(), stream) == "turn\ufffded\ufffd[2J\nnext line\n"


def test_check_makes_the_sheets_to_route_on_once(
    run: Run, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Judging ports and first bends asks the same sheets; built for each they cost twice."""
    from routecut.survey import survey_job

    triangles = survey_job(job).body.routing_triangles_m
    made: list[int] = []
    build = routecut.geometry.sheets.Sheets.__init__

    def counted(self: routecut.geometry.sheets.Sheets, triangles_m: Floats) -> None:
        if np.array_equal(triangles_m, triangles):
            made.append(1)
        build(self, triangles_m)

    monkeypatch.setattr(routecut.geometry.sheets.Sheets, "__init__", counted)
    assert run("check", job).code == 0
    assert len(made) == 1


def test_the_survey_page_of_a_body_without_rims_says_what_to_do_about_holes(run: Run, job: Path) -> None:
    ran = run("survey", job)
    assert ran.code == ExitCode.DONE
    assert (
        "no round rim found in the mesh: tap where the middle of a hole is, and type its diameter\n"
        in ran.out
    )
    assert "0 round rims" not in ran.out
