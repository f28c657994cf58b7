"""``python -m tests.bench``: run the comparison, print its table, write docs/benchmarks.md; ``--help`` tells more.

On a quiet machine the full run takes some ten to fifteen minutes, ``--quick`` two.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import platform
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

import numpy as np

from routecut.survey import survey_job
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

SAMPLERS: Final = ("BIT*", "RRT*")
SAMPLED: Final = 3
"""Sampling planners get the first so many cables: ten times our time for each of their legs adds up."""


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
    seen = survey_job(folder)
    done: dict[str, tuple[dict[str, float], Paths]] = {}
    for planner in ["routecut", *planners]:
        more = {}
        if planner in SAMPLERS:
            more = {
                "BENCH_SECONDS": str(10 * done["routecut"][0]["seconds"]),
                "BENCH_OURS": str(folder / "routecut.npz"),
                "BENCH_SAMPLED": str(SAMPLED),
            }
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


def _options(arguments: Sequence[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="40,000 faces and 12 cables alone")
    parser.add_argument(
        "--case",
        action="append",
        metavar="FACESxCABLES",
        help="this case in place of the usual ones, e.g. 200000x12; may be given again",
    )
    parser.add_argument(
        "--ompl",
        action="store_true",
        help=f"the sampling planners too, on {SAMPLED} cables with ten times our time for each of their legs",
    )
    parser.add_argument("--rows", type=Path, metavar="FILE", help="write the rows to this file, and no page")
    parser.add_argument(
        "--page", type=Path, nargs="+", metavar="FILE", help="run nothing, write the page from such files"
    )
    return parser.parse_args(arguments)


def main(arguments: Sequence[str]) -> None:
    """Run the cases and write the page."""
    options = _options(arguments)
    there = [p for p, module in NEEDS.items() if importlib.util.find_spec(module)]
    left_out = sorted(set(NEEDS) - set(there))
    if not options.ompl:
        there = [p for p in there if p not in SAMPLERS]
    rows: list[Row] = []
    if options.page:
        rows = [Row(**row) for file in options.page for row in json.loads(file.read_text(encoding="utf-8"))]
        PAGE.write_text(page(rows, versions(), left_out, FULL), encoding="utf-8")
        return
    given = [tuple(int(n) for n in case.split("x")) for case in options.case or ()]
    with tempfile.TemporaryDirectory() as name:
        for faces, cables in given or (QUICK if options.quick else FULL):
            peers = there if cables <= PEERS_UP_TO and faces >= QUICK[0][0] else []
            rows += case(Path(name) / f"{faces}-{cables}", faces, cables, peers)
            print(page(rows, versions(), left_out, FULL), flush=True)  # noqa: T201
            if options.rows:
                told = json.dumps([asdict(row) for row in rows], indent=1)
                options.rows.write_text(told + "\n", encoding="utf-8")
    if not options.rows:
        PAGE.write_text(page(rows, versions(), left_out, FULL), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
