"""``routecut new`` up to its exit code: which way in, which folder, whole or not at all."""

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from routecut.errors import OutputError
from routecut.patterns import PATTERNS
from routecut.patterns.job_text import is_as_made
from routecut.planning import output
from routecut.planning.new_folder import write_job_folder
from routecut.survey import load_job
from tests.cli.conftest import Run


def test_a_way_in_has_to_be_named(run: Run, tmp_path: Path) -> None:
    ran = run("new", tmp_path / "van")
    assert ran.code == 2
    assert "nothing says where the vehicle comes from; give one of --pattern" in ran.err
    assert not (tmp_path / "van").exists()


def test_the_example_of_a_pattern_stands_as_entries_where_it_is_asked_for(run: Run, tmp_path: Path) -> None:
    assert run("new", tmp_path / "a", "--pattern", "panel van", "--example").code == 0
    assert run("new", tmp_path / "b", "--pattern", "panel van", "--title", "a").code == 0
    with_it, without = ((tmp_path / name / "job.toml").read_text(encoding="utf-8") for name in "ab")
    job, findings = load_job(tmp_path / "a")
    assert job is not None
    assert len(job.cables) == 3
    assert not [f for f in findings if f.severity == "error"]
    assert tomllib.loads(without).get("cable", []) == []
    # nothing else is another, comments of the example stay comments; but there is no # to take off any more
    body = [text.rpartition("\n#")[0].splitlines() for text in (with_it, without)]
    other = [
        two for two in zip(*body, strict=True) if two[0] != two[1].removeprefix("# ") and two[0] != two[1]
    ]
    assert ["# off" in line for two in other for line in two] == [False, True] * 2
    assert is_as_made(with_it)
    ran = run("new", tmp_path / "c", "--like", tmp_path / "a", "--example")
    assert (ran.code, (tmp_path / "c").exists()) == (2, False)
    assert "--example goes with --pattern" in ran.err


def test_the_help_names_every_pattern(run: Run) -> None:
    told = " ".join(run("new", "--help").out.replace("│", " ").split())
    assert [name for name in PATTERNS if name not in told] == []


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


# --- from a pattern ------------------------------------------------------------------------

VAN = ("--pattern", "panel van")


def test_patterns_and_what_they_are_measured_by_are_listed(run: Run) -> None:
    ran = run("new", "--list")
    assert ran.code == 0
    assert [line.split("  ")[0] for line in ran.out.splitlines()[:-1]] == list(PATTERNS)
    ran = run("new", "--list", *VAN, "--unit", "in")
    assert "wheelbase            129.92   (102.36 to 177.17)  from the middle of the front wheel" in ran.out
    keys = [m["key"] for m in json.loads(run("new", "--list", *VAN, "--json").out)]
    assert keys == [m.key for m in PATTERNS["panel van"].measurements]


def test_a_pattern_makes_a_job_and_says_what_each_measurement_changed(run: Run, tmp_path: Path) -> None:
    ran = run("new", tmp_path / "van", *VAN, "--set", "wheelbase=3665", "--set", "overall_width=2 m")
    assert ran.code == 0
    assert sorted(p.name for p in (tmp_path / "van").iterdir()) == ["body.glb", "job.toml", "measure.html"]
    assert "  wheelbase              3665   measured, within 5 mm two times in three\n" in ran.out
    assert "changes where the rear wheels, their arches" in ran.out
    assert "  overall_width          2000   measured" in ran.out
    assert "overall_length         5688   NOT measured: scaled by 1.05 with what was" in ran.out
    assert "not measured, so every cut gets longer: overall_length, front_overhang," in ran.out
    page = (tmp_path / "van" / "measure.html").read_text(encoding="utf-8")
    assert page.count("<li>") == len(PATTERNS["panel van"].measurements)
    assert "<script" not in page
    assert run("check", tmp_path / "van").code == 0


def test_the_job_is_in_the_unit_asked_for(run: Run, tmp_path: Path) -> None:
    ran = run("new", tmp_path / "van", *VAN, "--unit", "in", "--set", "wheelbase=144 1/4 in", "--json")
    told = json.loads(ran.out)
    wheelbase = next(m for m in told["measurements"] if m["key"] == "wheelbase")
    assert wheelbase == {"key": "wheelbase", "value_m": 3.6639, "error_m": 0.005, "measured": True}
    inches, _ = load_job(tmp_path / "van")
    run("new", tmp_path / "same", *VAN, "--set", "wheelbase=3663.95")
    metric, _ = load_job(tmp_path / "same")
    assert inches is not None
    assert metric is not None
    assert inches.length_unit == "in"
    for a, b in zip(inches.landmarks, metric.landmarks, strict=True):
        assert a.position.at_m == pytest.approx(b.position.at_m, abs=0.001)


def test_every_fault_is_told_and_nothing_is_made(run: Run, tmp_path: Path) -> None:
    ran = run("new", tmp_path / "van", *VAN, "--set", "wheelbas=3300", "--set", "overall_width=5")
    assert ran.code == 2
    assert "2 errors" in ran.err
    assert "the nearest is 'wheelbase'" in ran.err
    assert "Overall width of 5 mm is not plausible for a panel van: 1700 mm to 2200 mm is" in ran.err
    assert run("new", tmp_path / "van", "--pattern", "panel vn").code == 2
    assert run("new", tmp_path / "van", *VAN, "--unit", "yd").code == 2
    assert run("new", *VAN).code == 2
    assert list(tmp_path.iterdir()) == []


def test_what_was_written_into_a_job_is_kept_when_it_is_made_again(run: Run, tmp_path: Path) -> None:
    van = tmp_path / "van"
    run("new", van, *VAN)
    ran = run("new", van, *VAN, "--force", "--set", "wheelbase=3665")
    assert "kept" not in ran.out  # nobody had written in it
    own = (van / "job.toml").read_text(encoding="utf-8").replace('title = "van"', 'title = "mine"')
    (van / "job.toml").write_text(own, encoding="utf-8")
    (van / "body.glb").write_bytes(b"a scan of mine")
    ran = run("new", van, *VAN, "--force", "--set", "wheelbase=3500")
    assert "what you had is kept as" in ran.out
    assert (van / "job.yours.toml").read_text(encoding="utf-8") == own
    assert (van / "body.yours.glb").read_bytes() == b"a scan of mine"
    run("new", van, *VAN, "--force", "--set", "wheelbase=3500")
    assert not (van / "job.yours-2.toml").exists()


def test_on_a_terminal_each_measurement_is_asked_for(tmp_path: Path) -> None:
    """A real terminal: a slip is asked again, enter leaves out, what was typed counts."""
    pty = pytest.importorskip("pty")
    hand, terminal = pty.openpty()
    keys = [m.key for m in PATTERNS["panel van"].measurements]
    answers = {"front_overhang": ["5", "950"], "wheelbase": ["12 ft"]}
    typed = "".join(f"{text}\n" for key in keys for text in answers.get(key, [""]))
    os.write(hand, typed.encode())
    ran = subprocess.run(
        [sys.executable, "-m", "routecut", "new", str(tmp_path / "van"), *VAN],
        stdin=terminal, stderr=terminal, stdout=subprocess.PIPE, text=True, check=False, timeout=120,
    )  # fmt: skip
    said = os.read(hand, 100_000).decode()
    os.close(terminal)
    os.close(hand)
    assert ran.returncode == 0, said
    assert "2. Front overhang: from the front of the bumper to the middle of the front wheel" in said
    assert "not plausible for a panel van: 700 mm to 1150 mm" in said
    assert "front_overhang          950   measured" in ran.stdout
    assert "wheelbase              3658   measured" in ran.stdout
    assert ran.stdout.count("NOT measured") == len(keys) - 2
