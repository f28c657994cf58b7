"""What the user put into a plan folder, or changed in it, is there after every run, also one cut short."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from routecut.errors import OutputError
from routecut.planning.kept import MANIFEST, Kept
from routecut.planning.output import refuse_unwritable, write_plan_folder
from tests.planning.steps import NEW, OLD, PowerCut, breaking_at, leftovers, number_of_steps, read

MINE = {"notes.txt": b"mine", "views/sketch.png": b"drawn by hand", "mine/deep/er.txt": b"also mine"}


def put(folder: Path, files: dict[str, bytes]) -> None:
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)


def test_files_of_the_user_stay_where_they_are(folder: Path) -> None:
    put(folder, MINE)
    assert write_plan_folder(folder, NEW) == Kept(
        where_it_was=("notes.txt", "mine/deep/er.txt", "views/sketch.png")
    )
    assert read(folder) == NEW | MINE
    write_plan_folder(folder, {"plan.json": b"third"})
    assert read(folder) == {"plan.json": b"third"} | MINE
    assert leftovers(folder) == []


def test_a_changed_file_of_ours_is_the_users_and_gets_another_name(folder: Path) -> None:
    (folder / "plan.json").write_bytes(b"changed")
    (folder / "gone.txt").write_bytes(b"changed too")
    kept = write_plan_folder(folder, NEW)
    assert kept == Kept(where_it_was=("gone.txt",), renamed=(("plan.json", "plan.yours.json"),))
    mine = {"plan.yours.json": b"changed", "gone.txt": b"changed too"}
    assert read(folder) == NEW | mine
    (folder / "plan.json").write_bytes(b"changed again")
    assert write_plan_folder(folder, NEW).renamed == (("plan.json", "plan.yours-2.json"),)
    assert read(folder) == NEW | mine | {"plan.yours-2.json": b"changed again"}


def test_writing_the_same_over_a_changed_file_that_became_the_same_saves_nothing(folder: Path) -> None:
    (folder / "plan.json").write_bytes(NEW["plan.json"])
    assert write_plan_folder(folder, NEW) == Kept()
    assert read(folder) == NEW


def test_a_file_in_the_place_of_a_folder_and_the_other_way_round(folder: Path) -> None:
    shutil.rmtree(folder / "views")
    (folder / "plan.json").unlink()
    put(folder, {"views": b"a file", "plan.json/inside.txt": b"in a folder"})
    write_plan_folder(folder, NEW)
    assert read(folder) == NEW | {"views.yours": b"a file", "plan.yours.json/inside.txt": b"in a folder"}


def test_links_and_empty_folders_of_the_user_are_kept_as_they_are(folder: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    put(elsewhere, {"x.txt": b"not in the plan"})
    (folder / "there").symlink_to(elsewhere)
    (folder / "nowhere").symlink_to("not-there")
    (folder / "empty").mkdir()
    write_plan_folder(folder, NEW)
    assert (folder / "there").readlink() == elsewhere
    assert (folder / "nowhere").readlink() == Path("not-there")
    assert list((folder / "empty").iterdir()) == []
    assert read(elsewhere) == {"x.txt": b"not in the plan"}


@pytest.mark.parametrize("listed", [None, b"", b"[]", b"{}", b"\xff", b'{"plan.json": 7}', b"[" * 100_000])
def test_without_a_list_that_can_be_read_everything_is_the_users(folder: Path, listed: bytes | None) -> None:
    (folder / MANIFEST).unlink()
    if listed is not None:
        (folder / MANIFEST).write_bytes(listed)
    write_plan_folder(folder, NEW)
    renamed = {"plan.yours.json": OLD["plan.json"], "views/front.yours.png": OLD["views/front.png"]}
    assert read(folder) == NEW | renamed | {"gone.txt": OLD["gone.txt"]}
    assert write_plan_folder(folder, NEW).renamed == ()  # and now there is one


def test_the_same_files_give_the_same_list(folder: Path, tmp_path: Path) -> None:
    write_plan_folder(folder, NEW)
    write_plan_folder(tmp_path / "other", dict(reversed(NEW.items())))
    assert (folder / MANIFEST).read_bytes() == (tmp_path / "other" / MANIFEST).read_bytes()


def test_without_hard_links_files_are_copied(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuses(self: Path, target: Path) -> None:
        raise OSError(95, "Operation not supported")

    put(folder, MINE)
    monkeypatch.setattr(Path, "hardlink_to", refuses)
    before = (folder / "notes.txt").stat()
    write_plan_folder(folder, NEW)
    assert read(folder) == NEW | MINE
    assert (folder / "notes.txt").stat().st_mtime_ns == before.st_mtime_ns


def test_a_file_that_cannot_be_kept_stops_the_writing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuses(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    put(folder, MINE)
    monkeypatch.setattr(Path, "hardlink_to", refuses)
    monkeypatch.setattr(shutil, "copy2", refuses)
    with pytest.raises(OutputError, match=r"(?s)notes\.txt.*could not be kept: Permission denied"):
        write_plan_folder(folder, NEW)
    assert read(folder) == OLD | MINE
    assert leftovers(folder) == []


def test_a_file_that_comes_while_the_new_plan_is_made_is_kept(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = Path.rename

    def saves_late(self: Path, target: Path) -> Path:
        if self == folder:  # the last moment at which a program can save into the old folder
            put(folder, {"late.txt": b"just in time", "cut-list.csv": b"mine, too"})
        return real(self, target)

    monkeypatch.setattr(Path, "rename", saves_late)
    write_plan_folder(folder, NEW | {"cut-list.csv": b"ours"})
    late = {"late.txt": b"just in time", "cut-list.yours.csv": b"mine, too"}
    assert read(folder) == NEW | {"cut-list.csv": b"ours"} | late
    assert leftovers(folder) == []


CHANGED = MINE | {"plan.json": b"changed by hand"}


@pytest.mark.parametrize("error", [PowerCut(), OSError(28, "No space left on device")])
def test_nothing_of_the_users_is_lost_whatever_step_fails(tmp_path: Path, error: BaseException) -> None:
    """With files of theirs and a changed one of ours; cut short at every step in turn, then run again."""

    def ready(name: str) -> Path:
        plan = tmp_path / name / "plan"
        plan.parent.mkdir()
        write_plan_folder(plan, OLD)
        put(plan, CHANGED)
        (plan / "link").symlink_to("notes.txt")
        return plan

    steps = number_of_steps(ready("count"))
    done = NEW | MINE | {"plan.yours.json": b"changed by hand", "link": b"mine"}
    assert read(tmp_path / "count" / "plan") == done
    for number in range(1, steps + 1):
        plan = ready(str(number))
        with breaking_at(number, error), suppress(PowerCut, OutputError):
            write_plan_folder(plan, NEW)
        refuse_unwritable(plan)  # what the next run does first
        assert read(plan) in (OLD | CHANGED | {"link": b"mine"}, done), f"step {number}"
        assert leftovers(plan) == []
        write_plan_folder(plan, NEW)
        assert read(plan) == done, f"step {number}"


def test_leftovers_of_two_runs_are_both_put_in_order(folder: Path) -> None:
    put(folder.parent / ".plan.routecut-gone", {"plan.json": b"of no use any more"})
    put(folder.parent / ".plan.routecut-old", {"late.txt": b"mine"})
    refuse_unwritable(folder)
    assert read(folder) == OLD | {"late.txt": b"mine"}
    assert leftovers(folder) == []


def test_killed_for_real_with_files_of_the_user_in_the_plan(folder: Path) -> None:
    """A real process, killed at each of its renames and links in turn."""
    put(folder, CHANGED)
    script = (
        "import os, signal, sys\n"
        "from pathlib import Path\n"
        "from routecut.planning import output\n"
        "left = [int(sys.argv[2])]\n"
        "def deadly(real):\n"
        "    def step(*a):\n"
        "        left[0] -= 1\n"
        "        if left[0] < 0: os.kill(os.getpid(), signal.SIGKILL)\n"
        "        return real(*a)\n"
        "    return step\n"
        "Path.rename, Path.hardlink_to = deadly(Path.rename), deadly(Path.hardlink_to)\n"
        "output.write_plan_folder(Path(sys.argv[1]), {'plan.json': b'new'})\n"
    )
    done = {"plan.json": b"new", "plan.yours.json": b"changed by hand"} | MINE
    for steps in range(20):
        command = [sys.executable, "-c", script, str(folder), str(steps)]
        ended = subprocess.run(command, check=False, timeout=60)
        if ended.returncode == 0:
            break
        assert ended.returncode == -signal.SIGKILL
        refuse_unwritable(folder)
        if read(folder) == done:  # killed when only the old one was left to be removed
            break
        assert read(folder) == OLD | CHANGED
    assert steps == len(CHANGED) + 2
    assert read(folder) == done
