"""Cables moved together where none would move alone.

World      a wall with two holes between two rooms of one floor
"""

from __future__ import annotations

from itertools import islice

import numpy as np
import pytest

from routecut.model.job import CableClass
from routecut.routes.chains import chains
from routecut.routes.company import Company
from routecut.routes.harness import Harness
from routecut.routes.lying import State, alone_m, hops_of, occupy, release, state_of
from routecut.routes.regroup import regroup
from routecut.routes.search import Way, choose, way_by
from tests.routes.scenes import Laid, cable, harness_of

AUDIO = [
    cable(f"A{i}", CableClass.AUDIO, (0.1, 0.33 + 0.01 * i, 0.012), (1.9, 0.33 + 0.01 * i, 0.012))
    for i in range(3)
]
POWER = cable("P", CableClass.POWER, (0.1, 0.44, 0.012), (1.9, 0.44, 0.012))
FAR = {"A0": "right", "A1": "right", "A2": "right"}
"""Together, but all by the hole that is further off."""

APART_M = 0.2


def laid(cables: list[Laid], holes: dict[str, str]) -> tuple[Harness, State]:
    """Cables each through a hole that it is told."""
    harness = harness_of(cables, wall=True)
    ways: dict[str, Way] = {}
    for one in harness.job.cables:
        graph = harness.graph(one)
        by = {
            way.holes[0].name: way
            for chain, _ in islice(chains(one, graph), 8)
            if len((way := way_by(harness, one, graph, chain, alone=True)).holes) == 1
        }
        ways[one.name] = by[holes[one.name]]
    for way in ways.values():
        occupy(harness, way)
    return harness, state_of(harness, ways, len(cables))


def through(state: State) -> dict[str, str]:
    return {name: way.holes[0].name for name, way in state.ways.items()}


def stays_alone(harness: Harness, way: Way) -> bool:
    """Whether a cable that is taken up alone comes back to where it lay."""
    release(harness, way)
    found = choose(harness, way.cable)
    occupy(harness, way)
    return found is not None and hops_of(harness, found).tolist() == hops_of(harness, way).tolist()


def test_a_bundle_leaves_the_longer_way_together() -> None:
    harness, state = laid(AUDIO, FAR)
    for way in state.ways.values():
        release(harness, way)
        alone = choose(harness, way.cable)
        occupy(harness, way)
        assert alone is not None
        assert alone.holes[0].name == "right"  # it would lose its company
    better = regroup(harness, state, 3)
    assert set(through(better).values()) == {"left"}
    assert better.total_m < state.total_m - 0.05


def test_two_get_the_straight_way_that_one_of_another_kind_had() -> None:
    ends = (0.1, 0.4, 0.012), (1.9, 0.4, 0.012)
    kinds = {"P": CableClass.POWER, "A1": CableClass.AUDIO, "A2": CableClass.AUDIO}
    cables = [cable(name, kind, *ends) for name, kind in kinds.items()]
    harness = harness_of(cables)
    harness.company = Company(harness.roadmap, APART_M)
    ways: dict[str, Way] = {}
    for _ in range(3):
        for one in harness.job.cables:
            if one.name in ways:
                release(harness, ways.pop(one.name))
            found = choose(harness, one)
            assert found is not None
            ways[one.name] = found
            occupy(harness, found)
    assert all(stays_alone(harness, way) for way in ways.values())
    state = state_of(harness, ways, 3)
    assert alone_m(ways["A1"]) > alone_m(ways["P"]) + 0.03
    better = regroup(harness, state, 3)
    assert better.total_m < state.total_m - 0.01
    assert alone_m(better.ways["A1"]) < alone_m(better.ways["P"]) - 0.03


@pytest.mark.parametrize(
    "holes",
    [
        {"A0": "right", "A1": "right", "A2": "right", "P": "left"},
        {"A0": "left", "A1": "left", "A2": "left", "P": "right"},
    ],
)
def test_the_harness_is_left_as_the_state_says(holes: dict[str, str]) -> None:
    harness, state = laid([*AUDIO, POWER], holes)
    better = regroup(harness, state, 4)
    assert better.total_m <= state.total_m
    assert state_of(harness, better.ways, 4).total_m == pytest.approx(better.total_m, abs=1e-12)
    assert harness.company is not None
    for way in better.ways.values():
        release(harness, way)
    assert not any(harness.load.values())
    assert not any(harness.company.charge_m(kind).any() for kind in CableClass)


def test_a_group_that_gains_nothing_stays_where_it_is() -> None:
    harness, state = laid(AUDIO, {"A0": "left", "A1": "left", "A2": "left"})
    again = regroup(harness, regroup(harness, state, 3), 3)
    best = regroup(harness, again, 3)
    assert best is again


def test_a_state_costs_what_it_costs_with_each_cable_taken_up_in_turn() -> None:
    """`of_lying_m` against the plain way: lift the cable, ask what its hops cost it, put it back."""
    harness, state = laid([*AUDIO, POWER], {"A0": "left", "A1": "left", "A2": "left", "P": "left"})
    company, total = harness.company, 0.0
    assert company is not None
    for name, way in state.ways.items():
        kind, rows = way.cable.cable_class, hops_of(harness, way)
        cost = harness.hop_costs_m(way.cable)
        company.lift(name)
        charge, saved = company.charge_m(kind)[rows], company.discount_m(kind, cost)[rows]
        company.lie(name, kind, rows)
        found = company.of_lying_m(name, rows, cost[rows])
        np.testing.assert_array_equal(found[0], saved)
        np.testing.assert_array_equal(found[1], charge)
        total += way.passages_m + sum(leg.cost_m for leg in way.legs) + float(charge.sum() - saved.sum())
    assert state.beside_m > 0.1
    assert state.shared_m > 0.1
    assert state.total_m == pytest.approx(total)
