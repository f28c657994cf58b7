"""The plan folder is the old plan or the new one, whatever goes wrong and wherever.

Every step that touches the disk is made to fail once: by an error the system could give,
and by the process ending there. Truth: the bytes that were put in.
"""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from routecut.errors import OutputError
from routecut.planning.output import refuse_unwritable, write_file, write_files, write_plan_folder
from tests.planning.steps import NEW, OLD, PowerCut, breaking_at, leftovers, number_of_steps, read


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


@pytest.mark.parametrize("there", [True, False])
@pytest.mark.parametrize("kind", ["open", "fsync", "replace"])
def test_of_two_files_both_are_new_or_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool, kind: str
) -> None:
    """A fault at the second file takes back the first."""
    one, two = tmp_path / "one.csv", tmp_path / "two.xlsx"
    before = {"one.csv": b"old 1", "two.xlsx": b"old 2"} if there else {}
    for name, data in before.items():
        (tmp_path / name).write_bytes(data)
    real, calls = getattr(os if kind == "fsync" else Path, kind), []

    def second_fails(*a: object, **k: object) -> object:
        calls.append(a)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        return real(*a, **k)

    monkeypatch.setattr(os if kind == "fsync" else Path, kind, second_fails)
    with pytest.raises(OutputError, match="No space left"):
        write_files({one: b"new 1", two: b"new 2"})
    monkeypatch.undo()
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before
    write_files({one: b"new 1", two: b"new 2"})
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {"one.csv": b"new 1", "two.xlsx": b"new 2"}
