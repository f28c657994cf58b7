"""Each piece of the engine that keeps a rule, broken: the verifier sees it in the curve that comes out.

The same world whole, in the first test, is planned without a finding, so that it is the break that is seen.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.properties import breaks
from tests.properties.rooms import Ball, Block, End, Hole, Laid, World, lay

# Two rooms whose hole is far off the straight way, a window nobody has declared right on it.
WINDOW = World(
    size=(0.8, 0.6, 0.45),
    wall=0.4,
    holes=(Hole(y=0.08, z=0.10, diameter=0.03),),
    window=(0.35, 0.15, 0.50, 0.30),
    start=End(at=(0.2, 0.45, 0.012)),
    end=End(at=(0.6, 0.45, 0.012)),
)
# One room with a plate across it that leaves a gap at one end.
BAFFLE = World(
    size=(0.9, 0.8, 0.45),
    baffles=((0.45, 0.0, 0.0, 0.6, 0.45),),
    start=End(at=(0.2, 0.3, 0.012)),
    end=End(at=(0.7, 0.25, 0.012)),
)
# A block beside the straight way and within its clearance of it; a ball on the way.
BESIDE = World(
    size=(1.0, 0.7, 0.4),
    keep_outs=(Block(low=(0.45, 0.36, 0.0), high=(0.55, 0.46, 0.1), clearance=0.05),),
    start=End(at=(0.15, 0.35, 0.012)),
    end=End(at=(0.85, 0.35, 0.012)),
)
ON_IT = replace(BESIDE, keep_outs=(Ball(at=(0.5, 0.35, 0.0), radius=0.06, clearance=0.02),))
CORNER = World(
    size=(0.8, 0.6, 0.5),
    start=End(at=(0.3, 0.3, 0.012)),
    end=End(at=(0.012, 0.3, 0.3)),
    bend=0.030,
)

CASES: dict[str, tuple[World, str, str]] = {
    "rays": (BAFFLE, "rays", "verify-crossing"),
    "clearance": (BESIDE, "clearance", "verify-clearance"),
    "keep_out": (ON_IT, "keep_out", "verify-clearance"),
    "spaces": (WINDOW, "spaces", "verify-space"),
    "fillet": (CORNER, "fillet", "verify-bend"),
}


def violations(laid: Laid) -> set[str]:
    assert laid.verified is not None
    return {f.code for f in laid.verified.findings}


@pytest.mark.parametrize("case", CASES)
def test_whole_the_engine_finds_a_way_without_fault(case: str) -> None:
    assert lay(CASES[case][0]).done


@pytest.mark.parametrize("case", CASES)
def test_broken_the_engine_is_found_out_by_the_verifier(case: str, monkeypatch: pytest.MonkeyPatch) -> None:
    world, name, code = CASES[case]

    def patch(owner: Any, attribute: str, value: Any) -> None:
        monkeypatch.setattr(owner, attribute, value)

    breaks.BREAKS[name](patch)
    laid = lay(world)
    assert laid.route is not None
    assert code in violations(laid)


def test_every_break_has_its_case() -> None:
    assert {name for _, name, _ in CASES.values()} == set(breaks.BREAKS)


def test_the_way_through_the_window_would_be_shorter() -> None:
    # Or the space rule would not have been what kept the cable from it.
    laid = lay(WINDOW)
    straight = float(np.linalg.norm(np.array(WINDOW.end.at) - np.array(WINDOW.start.at)))
    assert laid.length_m > 1.6 * straight
