"""A wire that is too thin is a rule broken: said, with what holds, and exit code 1."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Run, change, world


def power_job(tmp_path: Path, wire: str) -> Path:
    job = world("plate-straight", tmp_path / "job")
    change(
        job, 'type = "thread"\nclass = "control"', f'type = "{wire}"\nload = {{ amps = 25, peak_amps = 30 }}'
    )
    change(job, 'name = "a"', 'name = "a"\nkind = "battery"')
    change(job, "bridge = 0", "bridge = 450")
    return job


def test_too_thin_a_wire_ends_with_1(run: Run, tmp_path: Path) -> None:
    job = power_job(tmp_path, "wire-16awg-red")
    done = run("plan", job)
    assert done.code == 1
    assert "What holds: wire-" in done.out
    assert "every cable is planned, but 3 rules broken: cable C1; device b" in done.err
    assert (job / "plan" / "pack.html").exists()


def test_check_does_not_say_of_a_wire_to_be_sized_that_the_thickest_stands_in(
    run: Run, tmp_path: Path
) -> None:
    job = power_job(tmp_path, "wire-16awg-red")
    change(job, 'type = "wire-16awg-red"\n', 'class = "power"\n')
    assert "type-assumed" not in run("check", job).out
    change(job, "load = { amps = 25, peak_amps = 30 }\n", "")
    assert "the thickest of class power, stands in" in run("check", job).out


def test_for_programs_the_same(run: Run, tmp_path: Path) -> None:
    done = run("plan", power_job(tmp_path, "wire-16awg-red"), "--json")
    assert done.code == 1
    (cable,) = json.loads(done.out)["cables"]
    assert cable["electrical"]["ok"] is False


def test_one_that_holds_ends_with_0(run: Run, tmp_path: Path) -> None:
    done = run("plan", power_job(tmp_path, "wire-2awg-red"), "--json")
    assert done.code == 0
    (cable,) = json.loads(done.out)["cables"]
    assert cable["electrical"]["ok"] is True
    assert cable["electrical"]["fuse_a"] == 40
