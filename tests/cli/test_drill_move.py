"""``routecut drill --move``: the study again with something elsewhere, and what that changes."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run, change, world

LEFT = "a=-6,-1200,-900"


@pytest.fixture
def walled(tmp_path: Path) -> Path:
    """Two sides of a wall 4 m square with three old holes; `a` has its port by an offset, `b` by coordinates."""
    job = world("wall-three-holes", tmp_path / "walled")
    file = job / "job.toml"
    text = file.read_text(encoding="utf-8")
    device, port = "at = [-6.0000, -1200.0000, 900.0000]", "offset = [0, 0, 0]"
    first = text.index(device) + len(device)
    file.write_text(text[:first] + text[first:].replace(device, port, 1), encoding="utf-8")
    return job


@pytest.fixture
def shut(walled: Path) -> Path:
    """The same, the old holes taken by other cables, and one candidate near where `b` is."""
    file = walled / "job.toml"
    text = file.read_text(encoding="utf-8").replace("diameter = 30", "diameter = 30\nin_use = 29")
    text = text.replace("drill = false", "drill = true\nthickness = 1")
    text += (
        '\n[[pass_through]]\nname = "new"\nat = [0, 1200, 600]\naxis = [1, 0, 0]\ndiameter = 20\n'
        'state = "candidate"\njoins = ["front", "rear"]\n'
    )
    file.write_text(text, encoding="utf-8")
    return walled


def plan_of(run: Run, job: Path) -> dict[str, Any]:
    planned = json.loads(run("plan", job, "--json").out)
    return {c["name"]: c for c in planned["cables"]}


def test_the_answer_is_that_of_the_job_written_so(run: Run, walled: Path) -> None:
    """Both sides of the comparison against plans of two jobs that say the same in job.toml."""
    ran = run("drill", walled, "--move", LEFT, "--json")
    assert ran.code == 0
    told = json.loads(ran.out)["what_if"]
    assert not (walled / "plan").exists()
    was = plan_of(run, walled)["C1"]
    change(walled, "at = [-6.0000, -1200.0000, 900.0000]", "at = [-6, -1200, -900]")
    now = plan_of(run, walled)["C1"]
    pair = told["cables"]["C1"]
    # plan.json has tenths of a millimetre
    for side, planned in (("before", was), ("after", now)):
        assert pair[side]["route_m"] == pytest.approx(planned["route"]["length_m"], abs=1e-4)
        assert pair[side]["cut_m"] == pytest.approx(planned["cut"]["length_m"], abs=1e-4)
        assert pair[side]["holes"] == planned["route"]["pass_throughs"]
    # by H2, or by H1: two straight lines over the wall each
    assert pair["before"]["holes"] == ["H2"]
    assert pair["after"]["holes"] == ["H1"]
    assert pair["after"]["route_m"] == pytest.approx(2 * math.hypot(1.2, 0.9), rel=0.01)
    (moved,) = told["moved"]
    assert moved["to_m"] == [-0.006, -1.2, -0.9]
    assert moved["along"] == ["p"]


def test_in_words(run: Run, walled: Path) -> None:
    out = run("drill", walled, "--move", LEFT).out
    assert out.startswith("What if: nothing is written, job.toml stays as it is.\n")
    assert "  a moved by 1800 mm: from -6, -1200, 900 to -6, -1200, -900 mm\n" in out
    assert "    goes along: p (given by an offset)\n" in out
    assert "  holes      the same: none to drill\n" in out
    assert "; through H1 instead of H2\n" in out
    assert " longer (route 30" in out
    assert "wall with holes: where to drill" in out


def test_a_port_of_its_own_coordinates_stays_and_that_is_said(run: Run, walled: Path) -> None:
    ran = run("drill", walled, "--move", "b=6,1500,900")
    assert ran.code == 0
    assert "STAYS where it is: p (given by coordinates or tapes of its own, not by an offset" in ran.out
    assert "no cable ends elsewhere for this move" in ran.out
    assert "  no cable changes\n" in ran.out


def test_a_candidate_moved_is_drilled_there(run: Run, shut: Path) -> None:
    ran = run("drill", shut, "--move", "new=0,0,900", "--without", "place 1", "--json")
    assert ran.code == 0
    told = json.loads(ran.out)
    what = told["what_if"]
    assert [(h["name"], h["at_m"]) for h in what["holes_before"]] == [("new", [0.0, 1.2, 0.6])]
    assert [(h["name"], h["at_m"]) for h in what["holes_after"]] == [("new", [0.0, 0.0, 0.9])]
    pair = what["cables"]["C1"]
    # from 300 mm down and up again to straight across
    assert pair["before"]["route_m"] == pytest.approx(math.hypot(2.4, 0.3) + 0.3, rel=0.01)
    assert pair["after"]["route_m"] == pytest.approx(2.4, rel=0.01)
    assert told["cards"][0]["at_m"] == [0.0, 0.0, 0.9]
    out = run("drill", shut, "--move", "new=0,0,900").out
    assert "  holes      the same: 1 to drill (new), new at the new place\n" in out


def test_both_sides_keep_to_at_most_and_without(run: Run, shut: Path) -> None:
    """Nothing may be drilled: lost as it is; moved beside the candidate it is lost as well."""
    ran = run("drill", shut, "--move", LEFT, "--at-most", "0", "--json")
    assert ran.code == 1
    pair = json.loads(ran.out)["what_if"]["cables"]["C1"]
    assert pair["before"]["route_m"] is pair["after"]["route_m"] is None
    ran = run("drill", shut, "--move", LEFT, "--without", "new", "--json")
    what = json.loads(ran.out)["what_if"]
    for side in ("holes_before", "holes_after"):
        (hole,) = what[side]
        assert hole["found"]
    text = run("drill", shut, "--move", LEFT, "--without", "new").out
    # numbers of places found count anew: the two are told apart by where they are
    line = next(line for line in text.splitlines() if line.startswith("  holes"))
    assert line.count(" at ") == (1 if "the same" in line else 2)


def test_what_is_lost_by_a_move_is_said_first(run: Run, shut: Path) -> None:
    """No panel may be drilled but at the candidate, and a pipe lies behind where it is moved to."""
    change(shut, "drill = true", "drill = false")
    with (shut / "job.toml").open("a", encoding="utf-8") as file:
        file.write('[[keep_out]]\nname = "pipe"\nbox = [[25, -200, 700], [300, 200, 1100]]\nclearance = 0\n')
    ran = run("drill", shut, "--move", "new=0,0,900")
    assert ran.code == 1
    lines = ran.out.split("Against the job as it is:\n")[1].splitlines()
    assert lines[0] == "  LOST       C1: laid as it is, not laid any more"
    assert lines[1] == "  holes      none to drill; as it is 1 to drill (new)"
    assert "pipe lies 25 mm behind it in rear" in ran.out
    # and the other way round
    change(shut, "at = [0, 1200, 600]", "at = [0, 0, 900]")
    ran = run("drill", shut, "--move", "new=0,1200,600")
    assert ran.code == 0
    assert (
        "  gained     C1: not laid as it is, laid now\n  holes      1 to drill (new); as it is none"
        in ran.out
    )


def test_bad_moves_are_exit_2(run: Run, walled: Path) -> None:
    ran = run("drill", walled, "--move", "aa=1,2,3", "--move", "b=1,2")
    assert ran.code == 2
    assert ran.out == ""
    assert "2 errors" in ran.err
    assert "The nearest known name is 'a'" in ran.err
    assert "'1,2' is 2 coordinates" in ran.err
    ran = run("drill", walled, "--move", LEFT, "--without", "H9")
    assert ran.code == 2
    assert "'H9'" in ran.err
    ran = run("drill", walled, "--move", "aa=1,2,3", "--json")
    assert ran.code == 2
    assert json.loads(ran.out)["findings"][0]["code"] == "unknown-name"
