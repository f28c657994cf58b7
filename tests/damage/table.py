"""Writes docs/accuracy.md: what damage to a mesh and errors in a job do to lengths.

python -m tests.damage.table
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from routecut.planning import make_plan
from tests.damage import ways
from tests.damage.cabin import ENDS, Parts, cabin, write

PAGE: Final = Path(__file__).parents[2] / "docs" / "accuracy.md"


@dataclass(frozen=True, kw_only=True)
class Case:
    """One way to damage the cabin: in words, what it does to the parts, what else differs in the job."""

    words: str
    damage: Callable[[Parts], Parts] = dict
    job: dict[str, Any] = field(default_factory=dict)


CASES: Final[dict[str, Case]] = {
    "clean": Case(words="as it is"),
    "cracks": Case(
        words="every triangle apart from its neighbours by 1 mm", damage=lambda p: ways.cracked(p, 0.001)
    ),
    "rough 2": Case(words="scan noise, points up to 2 mm off", damage=lambda p: ways.rough(p, 0.002)),
    "rough 5": Case(words="scan noise, points up to 5 mm off", damage=lambda p: ways.rough(p, 0.005)),
    "flipped": Case(words="half of the faces wound the other way", damage=ways.flipped),
    "doubled": Case(words="half of the faces twice, others without area", damage=ways.doubled),
    "holed": Case(words="8 % of the area missing in places of 60 mm", damage=ways.holed),
    "pieces": Case(words="cut into 100 loose parts", damage=ways.pieces),
    "uneven": Case(words="tiny triangles among the others, two huge ones beside", damage=ways.uneven),
    "spaces 30": Case(words="boxes of the spaces 30 mm too large all round", job={"grow": 0.03}),
    "spaces 60": Case(words="boxes of the spaces 60 mm too large all round", job={"grow": 0.06}),
    "window": Case(
        words="a window of 300 mm open between the rooms, boxes 60 mm too large",
        damage=ways.windowed,
        job={"grow": 0.06},
    ),
    "tag 15": Case(words="the pass-through tagged 15 mm off its sheets", job={"tag_off": 0.015}),
    "tag 30": Case(words="30 mm off", job={"tag_off": 0.03}),
    "tag 60": Case(words="60 mm off", job={"tag_off": 0.06}),
}


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """Length of each cable that has a route [m], violations of the verifier, codes of what `check` says of the mesh."""

    length_m: dict[str, float]
    violations: tuple[str, ...]
    said: dict[str, str]


def outcome(case: Case, *, cell: float = 0.04, cables: tuple[str, ...] = tuple(ENDS)) -> Outcome:
    """Plan the cabin with one kind of damage."""
    with tempfile.TemporaryDirectory() as folder:
        write(Path(folder), case.damage(cabin(cell)), cables=cables, **case.job)
        plan, _ = make_plan(folder)
    routed = [(c.cable.name, c.route, c.verified) for c in plan.cables]
    return Outcome(
        length_m={name: route.length_m for name, route, _ in routed if route is not None},
        violations=tuple(f.code for _, _, v in routed if v is not None for f in v.findings),
        said={f.code: f.message for f in plan.findings if f.code.startswith("mesh-")},
    )


def off_percent(found: Outcome, clean: Outcome) -> dict[str, float]:
    """How much longer each cable is than on the clean body."""
    return {name: 100 * (found.length_m[name] / clean.length_m[name] - 1) for name in found.length_m}


def _percent(off: float) -> str:
    """To a hundredth, never a negative zero."""
    return f"{round(off, 2) + 0.0:+.2f} %"


def main() -> None:
    """Plan every case and write the page."""
    clean = outcome(CASES["clean"])
    lines = [
        "# Accuracy on meshes as they come",
        "",
        "Made by `python -m tests.damage.table` from the program as it is. Lengths of four cables in a small body of",
        "two rooms (double wall, wheel arch, bench, post; `tests/damage/cabin.py`), damaged in one way at a time,",
        "against the same cables on the clean body. Each route is verified on the damaged mesh. Where a cable has two",
        "ways of nearly the same length, damage may tip it from one to the other.",
        "",
        "| damage | " + " | ".join(ENDS) + " | violations |",
        "| --- | " + "--- | " * len(ENDS) + "--- |",
        "| clean: length | " + " | ".join(f"{clean.length_m[n]:.3f} m" for n in ENDS) + " | 0 |",
    ]
    for key, case in CASES.items():
        if key == "clean":
            continue
        found = outcome(case)
        off = off_percent(found, clean)
        cells = [_percent(off[n]) if n in off else "no route" for n in ENDS]
        lines.append(f"| {case.words} | " + " | ".join(cells) + f" | {len(found.violations)} |")
    lines += [
        "",
        "Noise is read off the mesh, said by `routecut check` (`mesh-rough`) and smoothed away for routing; what is",
        "left of it is at most a third, one sigma. One sigma of the noise for each metre goes into the error of every",
        "length.",
        "Noise of more than a quarter of the triangles' edges can't be told from edges of the body.",
        "",
        "Exact lengths in worlds with a known answer: `pytest tests/validation -k worlds`, from -0.2 % to +0.5 %, most",
        "within 0.1 %.",
    ]
    PAGE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
