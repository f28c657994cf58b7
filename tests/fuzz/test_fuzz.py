"""Every door takes every seed and every file kept, and a few hundred changed ones; and trouble is seen as such.

The long runs are `python -m tests.fuzz`.
"""

from __future__ import annotations

import json
import random
import sys
from collections import Counter
from pathlib import Path

import pytest

from routecut.survey import mesh_files
from routecut.survey.mesh_raw import RawPart
from tests.fuzz import targets
from tests.fuzz.child import Feeder, changed
from tests.fuzz.edits import edited
from tests.fuzz.seeds import WORDS, first, kept
from tests.fuzz.targets import MESH_KINDS, TARGETS, Trouble, mesh_of
from tests.survey.conftest import FULL_JOB

TRIES = {"job": 60, "edits": 60, "mesh": 300, "jobs": 3}


@pytest.mark.parametrize("target", TARGETS)
def test_good_files_and_those_kept_are_taken_well(target: str) -> None:
    ended = Counter(TARGETS[target](raw) for raw in first(target))
    assert ended["planned" if target == "jobs" else "read"]
    assert set(ended) <= {"read", "refused", "planned", "planned in part", "no job"}


def test_one_good_file_of_every_kind_is_read() -> None:
    assert [TARGETS["mesh"](raw) for raw in first("mesh")[: len(MESH_KINDS)]] == ["read"] * len(MESH_KINDS)
    assert TARGETS["job"](FULL_JOB.encode()) == "read"


@pytest.mark.parametrize("target", TARGETS)
def test_files_changed_at_random_are_taken_well(target: str) -> None:
    chance = random.Random(20)  # noqa: S311 - no secret
    seeds = first(target)
    made = (
        chance.randbytes(4000) if target == "jobs" else changed(chance, seeds, WORDS)
        for _ in range(TRIES[target])
    )
    ended = Counter(TARGETS[target](raw) for raw in made)
    assert ended["refused"]


def test_what_is_kept_is_small() -> None:
    sizes = [path.stat().st_size for target in TARGETS for path in kept(target)]
    assert sum(sizes) < 300_000


def test_no_bytes_change_nothing_and_some_change_something() -> None:
    assert edited(b"") == FULL_JOB.encode() == edited(b"abc")
    assert edited(b"\0\0\0\0") != FULL_JOB.encode()


# --- trouble is seen ------------------------------------------------------------------------


def test_a_traceback_is_trouble_and_is_written_down(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(raw: bytes, *, most_faces: int) -> list[RawPart]:
        raise RuntimeError("broken on purpose")

    monkeypatch.setattr(mesh_files, "read_obj", breaks)
    (tmp_path / "found").mkdir()
    feed = Feeder(TARGETS["mesh"], tmp_path)
    for raw in (b"\0v 0 0 0\n", b"\0v"):
        feed(raw)
    (found,) = (tmp_path / "found").iterdir()
    assert found.read_bytes() == b"\0v"  # the shorter of the two
    assert "broken on purpose" in (tmp_path / f"{found.name}.txt").read_text(encoding="utf-8")
    assert json.loads((tmp_path / "stats.json").read_text(encoding="utf-8"))["ended"] == {"trouble": 2}


def test_too_much_time_is_trouble(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(targets, "MOST_SECONDS", 0.0)
    with pytest.raises(Trouble, match="took"):
        mesh_of("obj", b"v 0 0 0\n")


def test_a_word_on_the_terminal_is_trouble(monkeypatch: pytest.MonkeyPatch) -> None:
    def speaks(raw: bytes, *, most_faces: int) -> list[RawPart]:
        sys.stdout.write("a library says something")
        return []

    monkeypatch.setattr(mesh_files, "read_obj", speaks)
    with pytest.raises(Trouble, match="printed"):
        mesh_of("obj", b"v 0 0 0\n")
