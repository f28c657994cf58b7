"""``python -m tests.bench.seeds [JOB]``: how much a plan depends on where the points of the roadmap happen to lie.

The same job is planned on several roadmaps that differ in nothing but the numbers their points are drawn by. Prints
for each cable the length on the shortest of them, how much longer it is on the others, and the holes
where they are not the same; writes docs/seeds.md with ``--page``. A plan of the sample van takes some 40 s of processor
time, and there are ten of them.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from routecut.drilling import find
from routecut.planning import make_plan
from routecut.planning.chart_cache import OFF, VARIABLE
from routecut.roadmap import sample

TOP: Final = Path(__file__).parents[2]
PAGE: Final = TOP / "docs" / "seeds.md"
SAMPLE: Final = TOP / "meshes" / "river-rescue-van"
WANTED: Final = 0.005
"""A cable is to be no longer than this share over the shortest it was on any roadmap."""

_HEAD: Final = """# How much a plan depends on chance

Made by `python -m tests.bench.seeds --page` from the program as it is. The roadmap of a vehicle is made of
points drawn at random along its panels; a plan draws the same ones each time, so that the same job gives the
same plan. Here the sample van is planned on {count} roadmaps drawn otherwise. What is wanted: the same holes,
and every cable within 0.5 % of its shortest. A cable that is longer on some of them lies another way there: it
shares a longer run with others, leaves the way to a cable it has to keep apart from, hangs free where elsewhere
it follows a panel, or goes round a corner of the body on its other side. Each plan is verified; none is wrong,
but some are not the shortest.

| cable | shortest | longer on the worst | in the middle | as planned | holes on all |
| --- | --- | --- | --- | --- | --- |
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A plan on one roadmap.

    Attributes
    ----------
    length_m : dict of str to float
        Of the cables that have a route. [m]
    holes : dict of str to list of str
        What each of them goes through, in order.
    unverified : list of str
        Cables without a route, or with one the verifier refuses.
    """

    length_m: dict[str, float]
    holes: dict[str, list[str]]
    unverified: list[str]


def drawn(job: Path, number: int) -> Drawn:
    """The plan on the roadmap of that number; 0 is the one that is always used."""
    for module in (sample, find):
        setattr(module, "_SEED", getattr(module, "_SEED") + 1000 * number)  # noqa: B009, B010  not theirs to offer
    plan, _ = make_plan(job)
    routed = {c.cable.name: c.route for c in plan.cables if c.route is not None}
    return Drawn(
        length_m={name: route.length_m for name, route in routed.items()},
        holes={name: [p.name for p in route.passages] for name, route in routed.items()},
        unverified=[c.cable.name for c in plan.cables if c.verified is None or not c.verified.ok],
    )


def child(job: Path, number: int) -> Drawn:
    """The same in a process of its own, so that no number is left set."""
    command = [sys.executable, "-m", "tests.bench.seeds", str(job), "--number", str(number)]
    done = subprocess.run(
        command, capture_output=True, text=True, check=True, cwd=TOP, env={**os.environ, VARIABLE: OFF}
    )
    return Drawn(**json.loads(done.stdout.splitlines()[-1]))


def spread(plans: Sequence[Drawn]) -> Mapping[str, np.ndarray]:
    """By cable its length on each roadmap over the shortest of them, less one, (n,); nan where it has no route."""
    names = dict.fromkeys(name for plan in plans for name in plan.length_m)
    lengths = {name: np.array([p.length_m.get(name, np.nan) for p in plans]) for name in names}
    return {name: length / np.nanmin(length) - 1 for name, length in lengths.items()}


def table(plans: Sequence[Drawn]) -> str:
    """The page; the first of the plans is the one that is always made."""
    over = spread(plans)
    lines = []
    for name in sorted(over, key=lambda n: (-np.nanmax(over[n]), n)):
        shortest = min(p.length_m[name] for p in plans if name in p.length_m)
        ways = {tuple(p.holes.get(name, ["no route"])) for p in plans}
        holes = "the same" if len(ways) == 1 else " / ".join(sorted(", ".join(w) or "none" for w in ways))
        worst, middle, own = (
            100 * x for x in (np.nanmax(over[name]), np.nanmedian(over[name]), over[name][0])
        )
        lines.append(
            f"| {name} | {shortest:.3f} m | {worst:.1f} % | {middle:.1f} % | {own:.1f} % | {holes} |"
        )
    within = sum(float(np.nanmax(share)) <= WANTED for share in over.values())
    told = sum(length for length in plans[0].length_m.values())
    best = sum(min(p.length_m[n] for p in plans if n in p.length_m) for n in over)
    refused = sum(len(p.unverified) for p in plans)
    return (
        _HEAD.format(count=len(plans))
        + "\n".join(lines)
        + f"\n\n{within} of {len(over)} cables are within 0.5 % on all of them. All cables as planned are "
        f"{told:.2f} m, {100 * (told / best - 1):.1f} % longer than each on its shortest roadmap ({best:.2f} m). "
        f"Routes missing or refused by the verifier: {refused}.\n"
    )


def main(arguments: Sequence[str]) -> None:
    """Plans, prints, writes."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.seeds", description=__doc__)
    parser.add_argument("job", nargs="?", type=Path, default=SAMPLE)
    parser.add_argument("--seeds", type=int, default=10, help="how many roadmaps")
    parser.add_argument("--number", type=int, help="one roadmap alone, as JSON")
    parser.add_argument("--page", action="store_true", help="write docs/seeds.md")
    options = parser.parse_args(arguments)
    if options.number is not None:
        made = drawn(options.job, options.number)
        print(json.dumps({"length_m": made.length_m, "holes": made.holes, "unverified": made.unverified}))  # noqa: T201
        return
    plans = [child(options.job, number) for number in range(options.seeds)]
    told = table(plans)
    print(told)  # noqa: T201
    if options.page:
        PAGE.write_text(told, encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
