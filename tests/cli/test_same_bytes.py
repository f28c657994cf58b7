"""The same job gives the same bytes: in another process, another folder, with another hash seed.

What could differ without anybody noticing is the order of sets and dictionaries, a path, a clock.
Pictures are judged by their pixels elsewhere; here none are drawn.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.cli.conftest import world

MORE = """
[[keep_out]]
name = "pipe"
capsule = { from = [-30, -600, -2000], to = [-30, -600, 1300], radius = 20 }
clearance = 30
applies_to = ["power", "control"]
[[keep_out]]
name = "box"
box = [[-100, 300, 800], [-1, 500, 1000]]
reason = "sharp"

[[device]]
name = "c"
at = [-6, -1400, -900]
space = "front"
[[device.port]]
name = "p"
termination = "ring M6"
[[device.port]]
name = "q"
offset = [0, 0, 100]
termination = "ring M6"
[[device]]
name = "d"
at = [6, -1200, -1300]
space = "rear"
[[device.port]]
name = "p"
service_loop = 100
[[device.port]]
name = "q"
offset = [0, 0, -100]

[[cable]]
name = "C2"
from = "c.p"
to = "d.p"
type = "thread"
ready_made = true
[[cable]]
name = "C10"
from = "c.q"
to = "d.q"
type = "thread"
avoid = ["H3"]
[[cable]]
name = "C3"
from = "c.q"
to = "b.p"
type = "thread"
[[cable]]
name = "D1"
from = "a.p"
to = "c.p"
class = "data"

[[stock]]
type = "thread"
lengths = [1000, 2000, 5000]
[[stock]]
type = "thread"
reel = 100000
"""
QUIET = "import sys, routecut.preview as p; p.can_draw = lambda: False; from routecut.cli import main; main()"


def plan(job: Path, seed: int) -> dict[str, bytes]:
    """Plan a job in a process of its own; what it wrote and printed."""
    ended = subprocess.run(
        [sys.executable, "-c", QUIET, "plan", str(job), "--json"],
        check=False,
        capture_output=True,
        timeout=900,
        env={**os.environ, "PYTHONHASHSEED": str(seed), "TZ": f"UTC{seed:+d}"},
    )
    assert ended.returncode in (0, 1), ended.stderr.decode()
    assert b"Traceback" not in ended.stderr, ended.stderr.decode()
    folder = job / "plan"
    files = {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    return files | {"printed": ended.stdout}


def test_another_process_folder_and_hash_seed_give_the_same_bytes(tmp_path: Path) -> None:
    results = []
    for seed, name in ((1, "one"), (2, "another one")):
        job = world("wall-three-holes", tmp_path / name)
        with (job / "job.toml").open("a", encoding="utf-8") as file:
            file.write(MORE)
        results.append(plan(job, seed))
    first, second = results
    assert {"plan.json", "cut-list.csv", "pack.html", "printed"} <= first.keys()
    assert first["plan.json"].count(b'"points_m"') >= 4  # there is something to compare
    assert first.keys() == second.keys()
    assert [name for name in first if first[name] != second[name]] == []
    again = plan(tmp_path / "one", 3)
    assert [name for name in first if first[name] != again[name]] == []
