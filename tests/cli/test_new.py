"""``routecut new`` up to its exit code: which way in, which folder, whole or not at all."""

from pathlib import Path

import pytest

from routecut.errors import OutputError
from routecut.planning import output
from routecut.planning.new_folder import write_job_folder
from tests.cli.conftest import Run


def test_a_way_in_has_to_be_named(run: Run, tmp_path: Path) -> None:
    ran = run("new", tmp_path / "van")
    assert ran.code == 2
    assert "nothing says where the vehicle comes from; give one of --pattern" in ran.err
    assert not (tmp_path / "van").exists()


def test_a_folder_in_use_is_refused_before_any_work(run: Run, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    ran = run("new", tmp_path, "--pattern", "panel van")
    assert ran.code == 1
    assert "is not empty; name a new folder, or use --force" in ran.err
    assert [p.name for p in tmp_path.iterdir()] == ["notes.txt"]


def test_a_folder_that_fails_half_way_is_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_new = output._write_new

    def full(path: Path, data: bytes) -> None:
        if "job.toml" in path.name:
            raise OSError(28, "No space left on device")
        write_new(path, data)

    monkeypatch.setattr(output, "_write_new", full)
    folder = tmp_path / "yard" / "van"
    with pytest.raises(OutputError, match="No space left"):
        write_job_folder(folder, {"job.toml": b"x", "body.glb": b"y"})
    assert list(tmp_path.iterdir()) == []


def test_a_forced_folder_that_fails_is_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = {"job.toml": b"old", "notes.txt": b"mine"}
    for name, data in before.items():
        (tmp_path / name).write_bytes(data)

    def sync(folder: Path) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(output, "_sync_folder", sync)
    with pytest.raises(OutputError):
        write_job_folder(tmp_path, {"job.toml": b"new", "body.glb": b"new"})
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before


def test_a_name_never_leaves_the_folder(tmp_path: Path) -> None:
    for name in ("../job.toml", "a/b", "", ".."):
        with pytest.raises(ValueError, match="no file name"):
            write_job_folder(tmp_path / "van", {name: b""})
    assert list(tmp_path.iterdir()) == []
