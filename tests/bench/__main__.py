"""``python -m tests.bench [--quick] [--ompl]``: run the comparison, print its table, write docs/benchmarks.md.

``--quick`` is 40,000 faces and 12 cables alone. ``--ompl`` adds the sampling planners, which are given ten
times our time each. On a quiet machine the full run takes some ten to fifteen minutes, the quick one two.
"""

from __future__ import annotations

import importlib.util
import json
import os
import platform
import subprocess
import sys
import tempfile
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

import numpy as np

from routecut.survey import survey
from tests.bench.judged import faults, length_m
from tests.bench.paths import Paths
from tests.bench.table import Row, page
from tests.bench.vans import write

PAGE: Final = Path(__file__).parents[2] / "docs" / "benchmarks.md"
FULL: Final = ((17_000, 12), (40_000, 12), (200_000, 12), (200_000, 40), (1_000_000, 100))
QUICK: Final = ((40_000, 12),)
NEEDS: Final = {
    "lattice 50": "networkx",
    "lattice 25": "networkx",
    "wavefront 25": "skimage",
    "BIT*": "ompl",
    "RRT*": "ompl",
}
PACKAGES: Final = ("numpy", "scipy", "networkx", "scikit-image", "ompl", "embreex", "clarabel")
PEERS_UP_TO: Final = 12
"""With more cables than this ours runs alone: what a peer costs a cable is known by then."""


def child(planner: str, folder: Path, out: Path, **more: str) -> tuple[dict[str, float], Paths] | None:
    """One planner in a process of its own; None when it failed."""
    command = [sys.executable, "-m", "tests.bench.child", planner, str(folder), str(out)]
    done = subprocess.run(command, capture_output=True, text=True, env={**os.environ, **more}, check=False)
    if done.returncode != 0:
        print(f"{planner}: {done.stderr.strip().splitlines()[-1:]}", file=sys.stderr)  # noqa: T201
        return None
    with np.load(out) as found:
        return json.loads(done.stdout.splitlines()[-1]), dict(found)


def case(folder: Path, faces: int, cables: int, planners: list[str]) -> list[Row]:
    """All planners on one van, our own first."""
    write(folder, faces, cables)
    seen = survey(folder)
    done: dict[str, tuple[dict[str, float], Paths]] = {}
    for planner in ["routecut", *planners]:
        more = {}
        if planner in {"BIT*", "RRT*"}:
            seconds = 10 * done["routecut"][0]["seconds"]
            more = {"BENCH_SECONDS": str(seconds), "BENCH_OURS": str(folder / "routecut.npz")}
        found = child(planner, folder, folder / f"{planner.replace(' ', '')}.npz", **more)
        if found is not None:
            done[planner] = found
    clean = {name: faults(seen, paths) for name, (_, paths) in done.items()}
    best: dict[str, float] = {}
    for name, (_, paths) in done.items():
        for cable, points in paths.items():
            if not clean[name][cable]:
                best[cable] = min(best.get(cable, np.inf), length_m(points))
    rows = []
    for name, (told, paths) in done.items():
        over = [100 * (length_m(points) / best[c] - 1) for c, points in paths.items() if c in best]
        rows.append(
            Row(
                planner=name,
                faces=len(seen.body.faces),
                cables=cables,
                routed=len(paths),
                faulty=sum(n > 0 for n in clean[name].values()),
                over_percent=(float(np.median(over)), float(max(over))) if over else (np.nan, np.nan),
                seconds=told["seconds"],
                ratio=told["seconds"] / done["routecut"][0]["seconds"],
                peak_mb=told["peak_mb"],
                what_if_seconds=told.get("what_if_seconds", float("nan")),
            )
        )
    return rows


def versions() -> str:
    """Machine and versions, as one line."""
    found = []
    for name in PACKAGES:
        try:
            found.append(f"{name} {version(name)}")
        except PackageNotFoundError:
            found.append(f"{name} not installed")
    return f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}; {', '.join(found)}"


def main(arguments: list[str]) -> None:
    """Run the cases and write the page."""
    there = [p for p, module in NEEDS.items() if importlib.util.find_spec(module)]
    left_out = sorted(set(NEEDS) - set(there))
    if "--ompl" not in arguments:
        there = [p for p in there if NEEDS[p] != "ompl"]
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as name:
        for faces, cables in QUICK if "--quick" in arguments else FULL:
            peers = there if cables <= PEERS_UP_TO and faces >= QUICK[0][0] else []
            rows += case(Path(name) / f"{faces}-{cables}", faces, cables, peers)
            print(page(rows, versions(), left_out), flush=True)  # noqa: T201
    PAGE.write_text(page(rows, versions(), left_out), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
