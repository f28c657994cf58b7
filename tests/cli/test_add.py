"""``routecut add``: shown first, asked for, written whole or not at all."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import Run

MARK = '[[landmark]]\nname = "step" # the rear one\nat = [0.1, 0, 0]\n'


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "picks.toml"
    path.write_text(MARK, encoding="utf-8")
    return path


def test_the_difference_is_shown_and_nothing_written_without_a_yes(run: Run, job: Path, file: Path) -> None:
    before = (job / "job.toml").read_bytes()
    ran = run("add", job, file)
    assert ran.code == 1
    assert '+name = "step" # the rear one' in ran.out.splitlines()
    assert "--yes" in ran.err
    assert (job / "job.toml").read_bytes() == before


def test_with_yes_it_is_added_and_every_byte_stays(run: Run, job: Path, file: Path) -> None:
    before = (job / "job.toml").read_bytes()
    ran = run("add", job, file, "--yes")
    assert ran.code == 0
    assert '[[landmark]] "step"' in ran.out
    after = (job / "job.toml").read_bytes()
    assert len(after) > len(before)
    assert after.replace(MARK.encode(), b"").replace(b"\n\n", b"\n") == before.replace(b"\n\n", b"\n")
    assert run("check", job).code == 0
    assert "name = " not in ran.out, "with --yes the lines are left out"
    again = run("add", job, file, "--yes")
    assert again.code == 2
    assert "duplicate-name" in again.err
    assert (job / "job.toml").read_bytes() == after


def test_kinds_are_said_once_and_every_line_is_shown_on_request(run: Run, job: Path, file: Path) -> None:
    file.write_text(MARK + MARK.replace("step", "hook"), encoding="utf-8")
    ran = run("add", job, file, "--yes", "--lines")
    assert '+name = "step" # the rear one' in ran.out.splitlines()
    assert ran.out.splitlines()[-1] == f'added to {job / "job.toml"}: [[landmark]] "step", "hook"'


def test_for_programs(run: Run, job: Path, file: Path) -> None:
    told = json.loads(run("add", job, file, "--json").out)
    assert told["added"] == ['[[landmark]] "step"']
    assert told["written"] is False
    assert json.loads(run("add", job, file, "--json", "--yes").out)["written"] is True
    assert json.loads(run("add", job, file, "--json", "--yes").out)["findings"][0]["code"] == "duplicate-name"


def test_a_job_changed_meanwhile_is_left_alone(
    run: Run, job: Path, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import routecut.cli.add

    monkeypatch.setattr(routecut.cli.add, "_is_asked", lambda: True)

    def somebody_else(entries: int) -> bool:
        with (job / "job.toml").open("a") as stream:
            stream.write("# mine\n")
        return True

    monkeypatch.setattr(routecut.cli.add, "_agreed", somebody_else)
    ran = run("add", job, file)
    assert ran.code == 1
    assert "changed in the meantime" in ran.err
    assert (job / "job.toml").read_text().endswith("# mine\n")
    assert "step" not in (job / "job.toml").read_text()


@pytest.mark.parametrize(("answer", "code"), [("y\n", 0), ("n\n", 1), ("\n", 1)])
def test_on_a_terminal_it_asks(job: Path, file: Path, answer: str, code: int) -> None:
    ours, theirs = pty.openpty()
    os.write(ours, answer.encode())
    ended = subprocess.run(
        [sys.executable, "-m", "routecut", "add", str(job), str(file)],
        stdin=theirs,
        stderr=theirs,
        stdout=subprocess.PIPE,
        check=False,
        timeout=120,
    )
    os.close(theirs)
    os.close(ours)
    assert ended.returncode == code
    assert ("step" in (job / "job.toml").read_text()) is (code == 0)
