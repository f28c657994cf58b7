"""The promise to somebody with a bad job: every fault in one run, with its place and what is allowed.

The job is the wall with one hole of tests/worlds, spoilt in a dozen places at once; each fault is one
that people really make. Truth: the list of places, written here by hand.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from routecut.cli.exits import ExitCode
from routecut.model.codes import CODES
from tests.cli.conftest import Run

MARKS = """
[[landmark]]
name = "left bolt"
at = [0, 0, 0]
[[landmark]]
name = "right bolt"
at = [1000, 0, 0]
[[landmark]]
name = "roof bolt"
at = [0, 1000, 0]
[[landmark]]
name = "left bolt"
at = [0, 0, 1]
"""

BAD = (
    """
length_unit = "mm"
titel = "Boat van"

[vehicle]
mesh = "bodi.ply"
mesh_unit = "yd"
axes = "+x rear, +y right, +z up"
scan_error_percent = 150

[[surface]]
part = "*"
kind = "panel"
thicknes = 0.8

[[space]]
name = "cab"
box = [[0, 0, 0], [1000, 1000, 1000]]
[[space]]
name = "load area"
box = [[1000, 0, 0], [0, 1000, 1000]]

[[keep_out]]
name = "exhaust"
sphere = { at = [1, 2, 3], radius = "40 yd" }
reason = "hott"

[[pass_through]]
name = "grommet"
at = [500, 500, 500]
diameter = -30
joins = ["cab", "lode area"]

[[device]]
name = "radio"
at = { at = [1, 2, 3], tape = { "left bolt" = 500 } }
space = "cab"
[[device.port]]
name = "power"
made_up = "van"

[[device]]
name = "battery"
at = { tape = { "left bolt" = 100, "right bolt" = 100, "roof bolt" = 900 } }
space = "cab"
[[device.port]]
name = "positive"
service_loop = "long"

[[device]]
name = "aerial"
at = { tape = { "left bolt" = 700, "right bolt" = 700, "roof bolt" = 900 } }
space = "cab"
[[device.port]]
name = "coax"

[[cable]]
name = "P1"
from = "battery.postive"
to = "radio.power"
type = "wire-10awg-red"
through = ["gromet"]
[[cable]]
name = "P1"
from = "battery.positive"
to = "radio.power"
load = { amps = nan }

[routing]
stand_off = true
"""
    + MARKS
)

EXPECTED = {
    # (code, table, key, nearest)
    ("unknown-key", "", "titel", "title"),
    ("not-allowed", "[vehicle]", "mesh_unit", ""),
    ("out-of-range", "[vehicle]", "scan_error_percent", ""),
    ("mesh-unreadable", "[vehicle]", "mesh", "body.ply"),
    ("unknown-key", '[[surface]] "*"', "thicknes", "thickness"),
    ("out-of-range", '[[space]] "load area"', "box", ""),
    ("wrong-type", '[[keep_out]] "exhaust", sphere', "radius", ""),
    ("not-allowed", '[[keep_out]] "exhaust"', "reason", "hot"),
    ("missing-key", '[[pass_through]] "grommet"', "axis", ""),
    ("out-of-range", '[[pass_through]] "grommet"', "diameter", ""),
    ("unknown-name", '[[pass_through]] "grommet"', "joins", "load area"),
    ("bad-position", '[[device]] "radio", at', "tape", ""),
    ("not-allowed", '[[device]] "radio", [[device.port]] "power"', "made_up", ""),
    ("bad-position", '[[device]] "battery", at', "tape", ""),
    ("wrong-type", '[[device]] "battery", [[device.port]] "positive"', "service_loop", ""),
    ("bad-position", '[[device]] "aerial", at', "side", ""),
    ("unknown-name", '[[cable]] "P1"', "from", "battery.positive"),
    ("unknown-name", '[[cable]] "P1"', "through", "grommet"),
    ("duplicate-name", '[[cable]] "P1"', "name", ""),
    ("missing-key", '[[cable]] "P1"', "type", ""),
    ("out-of-range", '[[cable]] "P1", load', "amps", ""),
    ("wrong-type", "[routing]", "stand_off", ""),
    ("duplicate-name", '[[landmark]] "left bolt"', "name", ""),
}  # fmt: skip


@pytest.fixture
def very_bad_job(job: Path) -> Path:
    (job / "job.toml").write_text(BAD, encoding="utf-8")
    return job


def test_every_fault_is_found_in_one_run(run: Run, very_bad_job: Path) -> None:
    ran = run("check", very_bad_job, "--json")
    assert ran.code == ExitCode.BAD_INPUT
    errors = [f for f in json.loads(ran.out) if f["severity"] == "error"]
    assert {(f["code"], f["table"], f["key"], f["nearest"]) for f in errors} == EXPECTED
    assert len(errors) == len(EXPECTED)
    for finding in errors:
        assert finding["file"] == "job.toml"
        assert finding["where"] == ", ".join(p for p in ("job.toml", finding["table"], finding["key"]) if p)
        assert finding["code"] in CODES
        if finding["code"] not in {"bad-position", "duplicate-name"}:
            assert finding["allowed"], finding


@pytest.mark.parametrize("command", ["check", "plan", "view"])
def test_every_command_tells_all_of_it_and_writes_nothing(run: Run, very_bad_job: Path, command: str) -> None:
    before = {p.name: p.read_bytes() for p in very_bad_job.iterdir()}
    ran = run(command, very_bad_job)
    said = ran.out if command == "check" else ran.err
    assert ran.code == ExitCode.BAD_INPUT
    assert said.splitlines()[0] == f"{len(EXPECTED)} errors"
    for code, table, key, nearest in EXPECTED:
        where = ", ".join(part for part in ("job.toml", table, key) if part)
        lines = [line for line in said.splitlines() if line.startswith(f"  {where}: ")]
        assert [line for line in lines if line.endswith(f"[{code}]") and nearest in line], (where, code)
    assert {p.name: p.read_bytes() for p in very_bad_job.iterdir()} == before
