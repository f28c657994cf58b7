"""What goes wrong while a plan is made: nothing of the user's is lost, nothing is half written, the end is told.

Real commands in processes of their own; what goes wrong is put into place there (`upsets`). Truth: the
folder as it was before.
"""

from __future__ import annotations

import fcntl
import os
from pathlib import Path
from typing import Final

import pytest

from tests.hostile.files import written
from tests.hostile.runner import Runner
from tests.hostile.wall import wall_job

UPSET: Final[dict[str, tuple[int, str]]] = {
    "disk_full": (1, "could not be written: File too large; what was there before is untouched"),
    "plain_user": (1, "could not be written: Permission denied; what was there before is untouched"),
    "mesh_vanishes": (2, "body.ply: The mesh can't be read: No such file or directory."),
    "interrupted_planning": (130, "stopped"),
    "ended_planning": (143, "stopped"),
    "interrupted_writing": (130, "stopped"),
    "ended_writing": (143, "stopped"),
}


@pytest.fixture
def planned(tmp_path: Path, runner: Runner) -> Path:
    """A job folder with a plan, and a file of the user's in it."""
    folder = wall_job(tmp_path / "job")
    assert runner("plan", folder).code == 0
    (folder / "plan" / "mine.txt").write_text("a note", encoding="utf-8")
    return folder


@pytest.mark.parametrize("upset", UPSET)
def test_the_last_good_plan_stays_and_nothing_is_left_over(planned: Path, runner: Runner, upset: str) -> None:
    code, said = UPSET[upset]
    before = written(planned)
    if upset == "plain_user":
        planned.chmod(0o555)
    ended = runner("plan", planned, upset=upset)
    planned.chmod(0o755)
    assert ended.code == code, ended
    assert said in ended.err
    assert "Traceback" not in ended.err
    if upset == "mesh_vanishes":
        del before["body.ply"]
    assert written(planned) == before
    assert {path.name for path in planned.iterdir()} <= {"job.toml", "body.ply", "plan"}


def test_killed_while_writing_the_last_good_plan_stays_and_the_next_run_tidies_up(
    planned: Path, runner: Runner
) -> None:
    before = written(planned / "plan")
    assert runner("plan", planned, upset="killed_writing").code == -9
    assert written(planned / "plan") == before
    assert runner("plan", planned).code == 0
    assert {path.name for path in planned.iterdir()} == {"job.toml", "body.ply", "plan"}
    assert (planned / "plan" / "mine.txt").read_text(encoding="utf-8") == "a note"


def test_a_plan_that_vanishes_meanwhile_is_written_anew(planned: Path, runner: Runner) -> None:
    assert runner("plan", planned, upset="plan_vanishes").code == 0
    assert (planned / "plan" / "pack.html").exists()


def test_a_job_folder_that_vanishes_meanwhile_is_told(planned: Path, runner: Runner) -> None:
    ended = runner("plan", planned, upset="folder_vanishes")
    assert ended.code == 1
    assert "could not be written: No such file or directory" in ended.err
    assert not planned.exists()


@pytest.mark.parametrize("command", ["plan", "view"])
def test_two_runs_in_one_folder_do_not_mix(tmp_path: Path, runner: Runner, command: str) -> None:
    folder = wall_job(tmp_path / "job")
    before = written(folder)
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)  # as a run does while it writes
        ended = runner(command, folder)
    finally:
        os.close(handle)
    assert ended.code == 1
    assert "another routecut is writing it; run this again when it is done" in ended.err
    assert written(folder) == before
    assert runner("plan", folder).code == 0


def test_no_command_asks_a_network(tmp_path: Path, runner: Runner) -> None:
    """The runner ends a command that reaches for a socket with a traceback."""
    folder = wall_job(tmp_path / "job")
    codes = [runner(command, folder).code for command in ("check", "plan", "order", "drill")]
    assert codes == [0, 0, 0, 0]
    assert runner("view", folder).code == 1  # nothing to draw with
