"""``routecut new --mesh``: nothing is guessed, everything that is missing is asked for at once."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.survey.test_intake import IN, SAID, Y_UP, source


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    source(tmp_path, unit_m=IN, turn=Y_UP)
    return tmp_path / "in.ply"


def test_without_an_answer_nothing_is_made_and_all_is_asked_for(run: Run, scan: Path, tmp_path: Path) -> None:
    ran = run("new", tmp_path / "van", "--mesh", scan)
    assert ran.code == 2
    for option in ("--axes", "--tape-check", "--mesh-unit"):
        assert option in ran.err
    assert SAID in ran.err
    assert not (tmp_path / "van").exists()


def test_a_job_is_made_and_can_be_checked(run: Run, scan: Path, tmp_path: Path) -> None:
    ran = run("new", tmp_path / "van", "--mesh", scan, "--axes", SAID, "--tape-check", "length = 4000 mm")
    assert ran.code == 0
    assert "unit of the file is in" in ran.err
    assert "the mesh agrees" in ran.out
    assert (tmp_path / "van" / "source-in.ply").read_bytes() == scan.read_bytes()
    assert run("check", tmp_path / "van").code == 0
    assert run("new", tmp_path / "van", "--mesh", scan, "--axes", SAID, "--untaped").code != 0


def test_a_wrong_unit_is_refused_before_anything_is_written(run: Run, scan: Path, tmp_path: Path) -> None:
    options = ("--axes", SAID, "--mesh-unit", "cm", "--tape-check", "length = 4000 mm")
    ran = run("new", tmp_path / "van", "--mesh", scan, *options)
    assert ran.code == 2
    assert "it would fit in" in ran.err
    assert not (tmp_path / "van").exists()


@pytest.mark.parametrize(
    "options",
    [
        ("--mesh-unit", "yard"),
        ("--split", "colours"),
        ("--split", "boxes"),
        ("--align", "front=1,2,3"),
        ("--axes", "+x up"),
        ("--tape-check", "long"),
        ("--box", "seat"),
    ],
)
def test_what_is_typed_wrongly_is_said(
    run: Run, scan: Path, tmp_path: Path, options: tuple[str, str]
) -> None:
    more = () if options[0] in {"--axes", "--align"} else ("--axes", SAID)
    ran = run("new", tmp_path / "van", "--mesh", scan, *more, "--untaped", *options)
    assert ran.code == 2
    assert ran.err.startswith("error: ")
    assert not (tmp_path / "van").exists()


def test_for_programs(run: Run, scan: Path, tmp_path: Path) -> None:
    options = ("--axes", SAID, "--mesh-unit", "in", "--untaped", "--split", "pieces", "--json")
    told = json.loads(run("new", tmp_path / "van", "--mesh", scan, *options).out)
    assert told["mesh_unit"] == "in"
    assert sorted(told["files"]) == ["body.glb", "job.toml", "source-in.ply"]


def test_on_a_terminal_it_asks_and_asks_again(scan: Path, tmp_path: Path) -> None:
    ours, theirs = pty.openpty()
    os.write(ours, f"sideways\n{SAID}\n\nyard\nin\n".encode())
    ended = subprocess.run(
        [sys.executable, "-m", "routecut", "new", str(tmp_path / "van"), "--mesh", str(scan)],
        stdin=theirs,
        stderr=theirs,
        stdout=subprocess.PIPE,
        check=False,
        timeout=120,
    )
    os.close(theirs)
    said = os.read(ours, 65536).decode()
    os.close(ours)
    assert ended.returncode == 0, said
    assert "not understood" in said
    assert "Which way does it lie?" in said
    text = (tmp_path / "van" / "job.toml").read_text()
    assert "its unit in" in text
    assert "scan_error_percent = 2 " in text
