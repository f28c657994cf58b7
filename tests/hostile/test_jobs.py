"""Jobs that can't be: each ends with exit code 1, the reason, and the nearest way out; contradictions are bad input.

Truth: what was spoilt, by hand, in a job that can be done.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Final

import pytest

from tests.hostile.runner import Runner
from tests.hostile.wall import CABLE, HOLE, extra_cables, wall_job

PIPE: Final = '[[keep_out]]\nname = "pipe"\nsphere = {{ at = {at}, radius = {radius} }}\nclearance = 20\n'
READY: Final = "ready_made = true\n"

Changes = tuple[tuple[str, str], ...]

JOBS: Final[dict[str, tuple[Changes, str, int, tuple[str, ...]]]] = {
    # in words: what is changed, what is added, the exit code, what is said
    "a port inside a keep-out": (
        (),
        PIPE.format(at="[-6, 300, 400]", radius=50),
        1,
        ("a.p", "[no-route]", "keep-outs round it"),
    ),
    "the hole inside a keep-out": (
        (),
        PIPE.format(at="[0, 0, 0]", radius=150),
        1,
        ("[no-route]", 'without the keep-out "pipe"'),
    ),
    "no route": (((HOLE, ""),), "", 1, ("[no-route]", 'a pass-through from "front" to "rear"')),
    "told to avoid the only hole": ((), 'avoid = ["H1"]\n', 1, ("[no-route]", 'let it use "H1"')),
    "a cable too fat for every hole": (
        (("diameter = 2\nmin_bend_radius = 1", "diameter = 60\nmin_bend_radius = 60"),),
        "",
        1,
        ("[no-route]", "does not fit its 30 mm"),
    ),
    "a hole that is full": (
        (("diameter = 30", "diameter = 30\nin_use = 29"),),
        "",
        1,
        ("[no-route]", "beside the 1 in it"),
    ),
    "a bundle too fat for every hole": ((), extra_cables(5, 14.0), 1, ("30 mm", "D")),
    "a bend that is impossible": (
        (("min_bend_radius = 1", "min_bend_radius = 3000"),),
        "",
        1,
        ("[bend-not-kept]", "a more flexible type"),
    ),
    "must use what it must avoid": (
        (),
        'through = ["H1"]\navoid = ["H1"]\n',
        2,
        ("in through and in avoid",),
    ),
    "must use a hole twice": ((), 'through = ["H1", "H1"]\n', 2, ("more than once",)),
    "must use a hole it can't come back through": (
        (
            (
                'at = [6.0000, -500.0000, -1200.0000]\nspace = "rear"',
                'at = [-6, -500, -1200]\nspace = "front"',
            ),
            ('name = "p"\nat = [6.0000, -500.0000, -1200.0000]', 'name = "p"\nat = [-6, -500, -1200]'),
        ),
        'through = ["H1"]\n',
        1,
        ("[no-route]", "another order of its pass-throughs"),
    ),
    "no cable at all": (((CABLE, ""),), "", 1, ("this job has no cable", "[[cable]]")),
    "a stock that never reaches": (
        (),
        READY + '[[stock]]\ntype = "thread"\nlengths = [100]\n',
        1,
        ("the longest in stock is 100 mm", "[no-stock-lead]", "add a longer length"),
    ),
    "no stock": ((), READY, 1, ("no ready-made length of thread is in stock", "[no-stock-lead]")),
}


@pytest.mark.parametrize("what", JOBS)
def test_a_job_that_cannot_be_says_why_and_the_nearest_way_out(
    tmp_path: Path, runner: Runner, what: str
) -> None:
    changes, more, code, said = JOBS[what]
    folder = wall_job(tmp_path / "job", *changes, more=more)
    ended = runner("plan", folder)
    assert ended.code == code, ended
    # what is wrong with a plan stands with its result, what is wrong with a job in its place
    told = ended.out + ended.err
    assert all(piece in told for piece in said), told
    assert "Traceback" not in told
    assert ended.seconds < 60
    # what can be planned is planned all the same
    assert (folder / "plan" / "plan.json").exists() == (code == 1)


def test_the_same_job_unspoilt_is_done(tmp_path: Path, runner: Runner) -> None:
    assert runner("plan", wall_job(tmp_path / "job")).code == 0


def test_a_reel_that_never_reaches_is_bought_for(tmp_path: Path, runner: Runner) -> None:
    """A reel on the shelf that is too short is no reason not to plan: the cable is on the order list whole."""
    folder = wall_job(tmp_path / "job", more='[[stock]]\ntype = "thread"\nreel = 500\nquantity = 1\n')
    assert runner("plan", folder).code == 0
    order = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))["order"]
    assert any("thread" in line["what"] and "C1" in line["for"] for line in order)


def test_more_cables_than_can_be_read_are_refused_at_once(tmp_path: Path, runner: Runner) -> None:
    ended = runner("plan", wall_job(tmp_path / "job", more=extra_cables(2000)))
    assert ended.code == 2
    assert re.search(r"There are 2001 \[\[cable\]\]; 2000 can be read", ended.err), ended.err
    assert ended.seconds < 20


def test_2000_cables_are_read_and_judged(tmp_path: Path, runner: Runner) -> None:
    ended = runner("check", wall_job(tmp_path / "job", (CABLE, ""), more=extra_cables(2000)))
    assert ended.code == 0, ended.out[-500:]
    assert ended.seconds < 60
    assert ended.peak_bytes < 2_000_000_000
