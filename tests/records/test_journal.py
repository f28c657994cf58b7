"""The record file against everything that can happen to it.

Truth: the bytes and the lines that were put in.
"""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecut.errors import OutputError
from routecut.model.finding import Severity
from routecut.records import RECORD_FILE, append, read_journal
from routecut.records.journal import Journal, check
from tests.records.kill import kill_records


def entry(number: int) -> dict[str, object]:
    return {"what": "note", "kind": "job", "name": "job", "text": f"entry {number} \N{EM DASH} \u2028 ü"}


@pytest.fixture
def data(tmp_path: Path) -> bytes:
    """Six lines, written by three calls."""
    for first in (0, 2, 4):
        append(tmp_path, [entry(first), entry(first + 1)])
    return (tmp_path / RECORD_FILE).read_bytes()


def texts(journal: Journal) -> list[str]:
    return [line.table["text"] for line in journal.lines]


ALL = [str(entry(n)["text"]) for n in range(6)]


def test_lines_come_back_as_they_were_written(data: bytes, tmp_path: Path) -> None:
    found = read_journal(tmp_path)
    assert texts(found) == ALL
    assert [line.number for line in found.lines] == [1, 2, 3, 4, 5, 6]
    assert not found.findings
    assert data.count(b"\n") == 6  # a line separator in a text is no new line
    assert "entry 0 \N{EM DASH}".encode() in data  # readable by people


def test_cut_off_anywhere_every_whole_line_is_used_and_a_torn_one_is_said(data: bytes) -> None:
    ends = [i + 1 for i, byte in enumerate(data) if byte == ord("\n")]
    for at in range(len(data) + 1):
        found = check(data[:at])
        whole = sum(end <= at for end in ends)
        if at + 1 in ends:  # all but its end is there: it is used, and the end is missed
            assert texts(found) == ALL[: whole + 1]
            assert [f.code for f in found.findings] == ["record-torn"]
        else:
            assert texts(found) == ALL[:whole]
            torn = at not in {0, *ends}
            assert [(f.code, f.severity) for f in found.findings] == [
                ("record-torn", Severity.WARNING)
            ] * torn


@pytest.mark.parametrize("left", [1, 50, 180])
def test_what_is_written_after_a_torn_line_is_on_a_line_of_its_own(
    data: bytes, tmp_path: Path, left: int
) -> None:
    (tmp_path / RECORD_FILE).write_bytes(data[:-left])
    made = append(tmp_path, [{"text": "after"}])
    found = read_journal(tmp_path)
    whole = left == 1  # only its end was missing
    assert texts(found) == [*ALL[: 6 if whole else 5], "after"]
    assert [(f.code, f.where) for f in found.findings] == (
        [] if whole else [("record-torn", f"{RECORD_FILE}, line 6")]
    )
    assert made[0].number == 7
    assert (tmp_path / RECORD_FILE).read_bytes().startswith(data[:-left])  # nothing was rewritten


@given(where=st.floats(0, 1, exclude_max=True), byte=st.integers(0, 255))
def test_no_byte_can_be_changed_unseen(where: float, byte: int) -> None:
    data = _DATA
    at = int(where * len(data))
    if data[at] == byte:
        return
    changed = data[:at] + bytes([byte]) + data[at + 1 :]
    found = check(changed)
    assert found.findings
    assert set(texts(found)) <= set(ALL)  # what is used is what was written
    line = data[: at + 1].count(b"\n") + (data[at : at + 1] != b"\n")
    # all lines but the one that was hit are used; where its end was hit, the next one is hit too
    hit = {line, line + 1} if data[at : at + 1] == b"\n" else {line}
    assert {t for n, t in enumerate(ALL, start=1) if n not in hit} <= set(texts(found))
    assert any(f"line {n}" in f.where for f in found.findings for n in (line, line + 1))


def _made() -> bytes:
    import tempfile

    with tempfile.TemporaryDirectory() as place:
        for number in range(6):
            append(Path(place), [entry(number)])
        return (Path(place) / RECORD_FILE).read_bytes()


_DATA = _made()


def test_a_changed_figure_is_named_and_all_others_are_used(data: bytes) -> None:
    found = check(data.replace(b"entry 2", b"entry 9"))
    assert texts(found) == [t for t in ALL if "entry 2" not in t]
    (only,) = found.findings
    assert (only.code, only.severity, only.where) == (
        "record-changed",
        Severity.ERROR,
        f"{RECORD_FILE}, line 3",
    )


@pytest.mark.parametrize("gone", [0, 1, 2, 3, 4])
def test_a_line_that_was_taken_out_is_missed(data: bytes, gone: int) -> None:
    lines = data.splitlines(keepends=True)
    found = check(b"".join(lines[:gone] + lines[gone + 1 :]))
    assert [(f.code, f.where) for f in found.findings] == [
        ("record-changed", f"{RECORD_FILE}, line {gone + 1}")
    ]


def test_lines_that_changed_places_or_came_from_elsewhere_are_named(data: bytes, tmp_path: Path) -> None:
    lines = data.splitlines(keepends=True)
    assert {f.code for f in check(b"".join([lines[1], lines[0], *lines[2:]])).findings} == {"record-changed"}
    assert {f.code for f in check(b"".join([*lines[:3], lines[2], *lines[3:]])).findings} == {
        "record-changed"
    }
    # a whole line with a digest of its own, put in place of another
    other = tmp_path / "other"
    other.mkdir()
    append(other, [entry(7)])
    forged = (other / RECORD_FILE).read_bytes()
    found = check(b"".join([lines[0], forged, *lines[2:]]))
    # it does not follow line 1, is numbered like it, and line 3 does not follow it
    assert [f.where for f in found.findings] == [f"{RECORD_FILE}, line {n}" for n in (2, 2, 3)]
    assert texts(found) == [ALL[0], *ALL[2:]]


def test_many_writers_at_once_never_mix(tmp_path: Path) -> None:
    writer = (
        "import sys; from pathlib import Path; from routecut.records import append\n"
        "for n in range(12):\n"
        "    append(Path(sys.argv[1]), [{'text': f'{sys.argv[2]} {n} {half} ' + 'x' * 3000} for half in 'ab'])\n"
    )
    running = [
        subprocess.Popen([sys.executable, "-c", writer, str(tmp_path), str(name)]) for name in range(8)
    ]
    assert [process.wait(60) for process in running] == [0] * 8
    found = read_journal(tmp_path)
    assert not found.findings
    said = [line.table["text"].split()[:3] for line in found.lines]
    assert sorted((name, int(n), half) for name, n, half in said) == [
        (str(name), n, half) for name in range(8) for n in range(12) for half in "ab"
    ]
    # the two lines of a call follow each other, and one writer's calls come in their order
    assert all(
        said[k][:2] == said[k + 1][:2] and said[k][2] + said[k + 1][2] == "ab" for k in range(0, len(said), 2)
    )
    for name in range(8):
        mine = [int(n) for who, n, half in said if who == str(name) and half == "a"]
        assert mine == sorted(mine)


def test_a_full_disk_leaves_the_record_as_it_was(
    data: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    really = os.write

    def full(handle: int, text: bytes) -> int:
        if len(text) < 100:
            raise OSError(errno.ENOSPC, "No space left on device")
        return really(handle, text[:60])

    monkeypatch.setattr("routecut.records.journal.os.write", full)
    with pytest.raises(OutputError, match="No space left on device; nothing was added"):
        append(tmp_path, [entry(9)])
    assert (tmp_path / RECORD_FILE).read_bytes() == data


def test_a_line_is_on_the_disk_before_it_is_said_to_be_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[int] = []

    def note(handle: int) -> None:
        found = os.fstat(handle)
        synced.append(-1 if stat.S_ISDIR(found.st_mode) else found.st_size)

    monkeypatch.setattr("routecut.records.journal.os.fsync", note)
    append(tmp_path, [entry(1)])
    assert synced == [(tmp_path / RECORD_FILE).stat().st_size, -1]  # and the name of the new file
    append(tmp_path, [entry(2)])
    assert synced[2:] == [(tmp_path / RECORD_FILE).stat().st_size]


def test_a_link_or_a_folder_of_that_name_is_refused(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").write_bytes(b"mine")
    (tmp_path / RECORD_FILE).symlink_to("elsewhere")
    with pytest.raises(OutputError, match="is a link"):
        append(tmp_path, [entry(1)])
    assert (tmp_path / "elsewhere").read_bytes() == b"mine"
    (tmp_path / RECORD_FILE).unlink()
    (tmp_path / RECORD_FILE).mkdir()
    with pytest.raises(OutputError):
        append(tmp_path, [entry(1)])


def test_killed_writers_lose_no_accepted_line_and_leave_no_torn_one_unsaid(tmp_path: Path) -> None:
    found = kill_records(tmp_path, 12)
    assert found.sound, found
    assert found.accepted >= 12
    assert found.torn >= 1  # the kills did meet lines half written: two in five do


def test_killed_plans_leave_a_whole_one() -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "tests.records.kill", "--records", "0", "--plans", "6"],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert ended.returncode == 0, ended.stdout + ended.stderr
    assert ended.stdout.startswith("plans: 6 kills")
    assert ended.stdout.endswith(", 0 neither\n")
