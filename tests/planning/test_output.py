"""The plan folder is the old plan or the new one, whatever goes wrong and wherever.

Every step that touches the disk is made to fail once: by an error the system could give,
and by the process ending there. Truth: the bytes that were put in.
"""

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from routecut.errors import OutputError
from routecut.planning.kept import MANIFEST, Kept
from routecut.planning.output import refuse_unwritable, write_file, write_plan_folder

OLD = {"plan.json": b"old", "views/front.png": b"old picture", "gone.txt": b"only in the old one"}
NEW = {"plan.json": b"new", "views/front.png": b"new picture", "views/top.png": b"one more"}


def read(folder: Path) -> dict[str, bytes]:
    """Every file but the list of the tool's own."""
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file() and p.name != MANIFEST
    }


def leftovers(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.parent.iterdir() if p != folder)


@pytest.fixture(autouse=True)
def _quick_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a disk does on fsync can't be seen from here; that it is called is counted below."""
    monkeypatch.setattr(os, "fsync", lambda _: None)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A plan folder that holds the old plan, alone in its job folder."""
    job = tmp_path / "job"
    job.mkdir()
    write_plan_folder(job / "plan", OLD)
    return job / "plan"


# --- Steps of the writer, counted and broken ------------------------------------------

STEPS = [
    (Path, "mkdir"),
    (Path, "open"),
    (Path, "rename"),
    (os, "fsync"),
    (os, "open"),
    (Path, "hardlink_to"),
    (Path, "symlink_to"),
]


class PowerCut(BaseException):
    """The process ends here: nothing of ours runs any more."""


@contextmanager
def breaking_at(number: int, error: BaseException) -> Iterator[list[str]]:
    """Let the step of that number fail; yields the names of the steps that were begun."""
    begun: list[str] = []

    def counted(name: str, real: Callable[..., object]) -> Callable[..., object]:
        def step(*args: object, **kwargs: object) -> object:
            if any(isinstance(e, PowerCut) for e in failed):
                raise failed[0]  # the machine is off: not even the tidying up happens
            begun.append(name)
            if len(begun) == number:
                failed.append(error)
                raise error
            return real(*args, **kwargs)

        return step

    failed: list[BaseException] = []
    with pytest.MonkeyPatch.context() as patch:
        for holder, name in STEPS:
            patch.setattr(holder, name, counted(name, getattr(holder, name)))
        # What is removed in the tidying up would be removed after the power cut.
        real_rmtree = shutil.rmtree
        patch.setattr(
            "shutil.rmtree",
            lambda *a, **k: None if any(isinstance(e, PowerCut) for e in failed) else real_rmtree(*a, **k),
        )
        yield begun


def number_of_steps(folder: Path) -> int:
    """How many steps an undisturbed run takes, run on a copy's terms."""
    with breaking_at(0, OSError()) as begun:
        write_plan_folder(folder, NEW)
    return len(begun)


def test_new_plan_replaces_the_old_one_whole(folder: Path) -> None:
    write_plan_folder(folder, NEW)
    assert read(folder) == NEW
    assert leftovers(folder) == []


def test_every_kind_of_step_is_really_counted(folder: Path) -> None:
    with breaking_at(0, OSError()) as begun:
        write_plan_folder(folder, NEW)
    assert {"mkdir", "open", "rename", "fsync"} <= set(begun)
    (folder / "notes.txt").write_bytes(b"mine")
    (folder / "link").symlink_to("notes.txt")
    with breaking_at(0, OSError()) as begun:
        write_plan_folder(folder, NEW)
    assert {"hardlink_to", "symlink_to"} <= set(begun)
    assert begun.count("rename") == 3  # the old one aside, the new one in, the old one off
    assert begun.count("fsync") >= len(NEW) + 2  # each file, each folder


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), PermissionError(13, "denied")])
def test_an_error_at_any_step_leaves_the_old_plan_or_the_new(tmp_path: Path, error: OSError) -> None:
    job = tmp_path / "count"
    job.mkdir()
    write_plan_folder(job / "plan", OLD)
    steps = number_of_steps(job / "plan")
    outcomes = set()
    for number in range(1, steps + 1):
        place = tmp_path / f"job{number}"
        place.mkdir()
        plan = place / "plan"
        write_plan_folder(plan, OLD)
        with breaking_at(number, error):
            try:
                write_plan_folder(plan, NEW)
                outcome, told = "written", ""
            except OutputError as refusal:
                outcome, told = "refused", str(refusal)
        if outcome == "refused":
            assert str(plan) in told
            assert str(error.strerror) in told
        assert read(plan) == (NEW if outcome == "written" else OLD), f"step {number}"
        # Only the old plan itself may be left over, once the new one is in place.
        old = {".plan.routecut-old", ".plan.routecut-gone"}
        assert set(leftovers(plan)) <= (old if outcome == "written" else set())
        write_plan_folder(plan, NEW)
        assert (read(plan), leftovers(plan)) == (NEW, []), f"step {number}"
        outcomes.add(outcome)
    assert "refused" in outcomes


def test_power_cut_at_any_step_leaves_the_old_plan_or_the_new(tmp_path: Path) -> None:
    job = tmp_path / "count"
    job.mkdir()
    write_plan_folder(job / "plan", OLD)
    for number in range(1, number_of_steps(job / "plan") + 1):
        place = tmp_path / f"job{number}"
        place.mkdir()
        plan = place / "plan"
        write_plan_folder(plan, OLD)
        with breaking_at(number, PowerCut()), pytest.raises(PowerCut):
            write_plan_folder(plan, NEW)
        refuse_unwritable(plan)  # what the next run does first
        assert read(plan) in (OLD, NEW), f"step {number}"
        assert leftovers(plan) == [], f"step {number}"
        write_plan_folder(plan, NEW)
        assert read(plan) == NEW, f"step {number}"


def test_killed_between_the_two_renames_the_next_run_finds_the_old_plan(folder: Path) -> None:
    """A real process, really killed, at the one moment when no folder has the right name."""
    script = (
        "import os, signal, sys\n"
        "from pathlib import Path\n"
        "from routecut.planning import output\n"
        "real = Path.rename\n"
        "def rename(self, target):\n"
        "    if self.name.endswith('new'): os.kill(os.getpid(), signal.SIGKILL)\n"
        "    return real(self, target)\n"
        "Path.rename = rename\n"
        "output.write_plan_folder(Path(sys.argv[1]), {'plan.json': b'new'})\n"
    )
    ended = subprocess.run([sys.executable, "-c", script, str(folder)], check=False, timeout=60)
    assert ended.returncode == -signal.SIGKILL
    assert not folder.exists()
    refuse_unwritable(folder)
    assert read(folder) == OLD


def test_an_interrupt_between_the_renames_puts_the_old_plan_back(folder: Path) -> None:
    with breaking_at(0, OSError()) as begun:
        write_plan_folder(folder, OLD)
    second_rename = [i for i, name in enumerate(begun, start=1) if name == "rename"][1]
    with breaking_at(second_rename, KeyboardInterrupt()), pytest.raises(KeyboardInterrupt):
        write_plan_folder(folder, NEW)
    assert read(folder) == OLD


def test_when_even_putting_back_fails_the_message_says_where_the_plan_is(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = Path.rename

    def only_aside(self: Path, target: Path) -> Path:
        if target == folder:
            raise OSError(5, "Input/output error")
        return real(self, target)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "rename", only_aside)
        with pytest.raises(OutputError, match=r"\.plan\.routecut-old.*next run puts it back"):
            write_plan_folder(folder, NEW)
    refuse_unwritable(folder)
    assert read(folder) == OLD


# --- What the tool did not write ------------------------------------------------------

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


# --- What is not written to -----------------------------------------------------------


def test_a_linked_plan_folder_is_refused_and_its_target_untouched(tmp_path: Path) -> None:
    target = tmp_path / "elsewhere"
    target.mkdir()
    (target / "mine.txt").write_bytes(b"mine")
    (tmp_path / "plan").symlink_to(target)
    with pytest.raises(OutputError, match="is a link"):
        write_plan_folder(tmp_path / "plan", NEW)
    assert read(target) == {"mine.txt": b"mine"}


def test_a_dangling_link_is_refused_too(tmp_path: Path) -> None:
    (tmp_path / "plan").symlink_to(tmp_path / "nowhere")
    with pytest.raises(OutputError, match="is a link"):
        write_plan_folder(tmp_path / "plan", NEW)
    assert not (tmp_path / "nowhere").exists()


def test_links_in_the_place_of_the_new_folder_are_not_followed(folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "elsewhere"
    target.mkdir()
    (target / "mine.txt").write_bytes(b"mine")
    (folder.parent / ".plan.routecut-new").symlink_to(target)
    write_plan_folder(folder, NEW)
    assert read(target) == {"mine.txt": b"mine"}
    assert read(folder) == NEW


def test_a_file_called_plan_is_refused(tmp_path: Path) -> None:
    (tmp_path / "plan").write_bytes(b"mine")
    with pytest.raises(OutputError, match="is a file"):
        write_plan_folder(tmp_path / "plan", NEW)
    assert (tmp_path / "plan").read_bytes() == b"mine"


@pytest.mark.parametrize("name", ["", ".", "/etc/x", "../x", "views/../../x", "views\\x"])
def test_a_path_out_of_the_folder_is_refused_before_anything_is_touched(folder: Path, name: str) -> None:
    with pytest.raises(ValueError, match="not a path inside"):
        write_plan_folder(folder, {"plan.json": b"new", name: b"x"})
    assert read(folder) == OLD


def test_two_runs_at_once_do_not_mix(folder: Path) -> None:
    script = (
        "import fcntl, os, sys, time\n"
        "handle = os.open(sys.argv[1], os.O_RDONLY)\n"
        "fcntl.flock(handle, fcntl.LOCK_EX)\n"
        "print('held', flush=True)\n"
        "sys.stdin.read()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script, str(folder.parent)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as other:
        assert other.stdout is not None
        assert other.stdin is not None
        assert other.stdout.readline() == b"held\n"
        with pytest.raises(OutputError, match="another routecut is writing it"):
            write_plan_folder(folder, NEW)
        assert read(folder) == OLD
        other.stdin.close()
        other.wait(timeout=60)
    write_plan_folder(folder, NEW)
    assert read(folder) == NEW


def test_missing_job_folder_is_an_output_error(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="No such file"):
        write_plan_folder(tmp_path / "nowhere" / "plan", NEW)


# --- Single files ---------------------------------------------------------------------


def test_a_linked_file_is_replaced_not_followed(tmp_path: Path) -> None:
    (tmp_path / "precious").write_bytes(b"mine")
    (tmp_path / "job.toml").symlink_to(tmp_path / "precious")
    write_file(tmp_path / "job.toml", b"new")
    assert (tmp_path / "precious").read_bytes() == b"mine"
    assert (tmp_path / "job.toml").read_bytes() == b"new"
    assert not (tmp_path / "job.toml").is_symlink()


def test_a_failed_file_leaves_the_old_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "job.toml").write_bytes(b"old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left"):
        write_file(tmp_path / "job.toml", b"new")
    assert (tmp_path / "job.toml").read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]
