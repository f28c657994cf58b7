"""Cables that choose together: like with like, foreign ones apart, holes that hold no more than they may.

Worlds     a level plate, and a wall with holes between two rooms of one floor
"""

from __future__ import annotations

from itertools import islice

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.model.company import Group, foreign, group_of
from routecut.model.job import CableClass
from routecut.routes import negotiate as negotiation
from routecut.routes.chains import chains
from routecut.routes.company import BESIDE, SHARED
from routecut.routes.harness import Harness, fits
from routecut.routes.lying import hops_of
from routecut.routes.negotiate import LEAST_GAIN, MOST_ROUNDS, Settled, negotiate
from routecut.routes.others import costs_m, other_way
from routecut.routes.search import way_by
from tests.routes.scenes import SEPARATION_M, Laid, cable, harness_of, lanes


def settle(cables: list[Laid], *, wall: bool = False) -> tuple[Harness, Settled]:
    harness = harness_of(cables, wall=wall)
    return harness, negotiate(harness, harness.job.cables)


def shared_m(harness: Harness, settled: Settled, one: str, other: str) -> float:
    rows = np.intersect1d(hops_of(harness, settled.ways[one]), hops_of(harness, settled.ways[other]))
    return float(harness.roadmap.hops.length_m[rows].sum())


def near_m(harness: Harness, settled: Settled, one: str, other: str) -> float:
    """Length of one way within the separation of another, by the middles of its hops."""
    at, hops = harness.roadmap.nodes.at_m, harness.roadmap.hops
    a, b = (hops_of(harness, settled.ways[n]) for n in (one, other))
    middle = [(at[hops.a[r]] + at[hops.b[r]]) / 2 for r in (a, b)]
    fine = np.concatenate([at[hops.a[b]] + t * (at[hops.b[b]] - at[hops.a[b]]) for t in np.linspace(0, 1, 9)])
    gap = np.linalg.norm(middle[0][:, None] - fine[None], axis=2).min(axis=1)
    return float(hops.length_m[a][gap < SEPARATION_M * 0.9].sum())


def test_two_of_a_kind_run_together() -> None:
    harness, settled = settle(lanes(CableClass.AUDIO, CableClass.DATA))
    assert shared_m(harness, settled, "C1", "C2") > 1.2
    assert settled.bought.shared_after_m > settled.bought.shared_before_m + 2.0


@pytest.mark.parametrize("other", [CableClass.POWER, CableClass.COAX])
def test_two_of_different_kinds_keep_apart(other: CableClass) -> None:
    harness, settled = settle(lanes(CableClass.AUDIO, other, apart=0.03))
    assert near_m(harness, settled, "C1", "C2") < 0.5
    assert settled.bought.beside_before_m > 0.3
    assert settled.bought.beside_after_m == 0.0


def test_a_bond_keeps_no_distance() -> None:
    _, settled = settle(lanes(CableClass.AUDIO, CableClass.BOND, apart=0.03))
    assert settled.bought.beside_before_m == 0.0


def test_crossing_costs_nothing() -> None:
    crossed = [
        cable("C1", CableClass.AUDIO, (0.1, 0.4, 0.012), (1.9, 0.4, 0.012)),
        cable("C2", CableClass.POWER, (0.7, 0.05, 0.012), (0.7, 0.75, 0.012)),
    ]
    _, settled = settle(crossed)
    assert settled.bought.beside_before_m == 0.0
    assert settled.bought.length_after_m == pytest.approx(settled.bought.length_before_m)


def test_a_hole_holds_no_more_than_it_may() -> None:
    """Three of 9 mm in front of a hole of 24 mm: it holds two of them (31 per cent) and no third (40)."""
    cables = [
        cable(f"C{i}", CableClass.AUDIO, (0.2, y, 0.012), (1.8, y, 0.012), 0.009)
        for i, y in enumerate((0.2, 0.25, 0.35))
    ]
    harness, settled = settle(cables, wall=True)
    assert set(settled.ways) == {"C0", "C1", "C2"}
    for h in harness.job.pass_throughs:
        inside = [c.type.diameter_m for c, _, _ in cables if h in settled.ways[c.name].holes]
        assert not inside or fits(h, inside)
        assert sorted(harness.load.get(h.name, [])) == inside


KINDS = st.sampled_from(CableClass)
PLACES = st.tuples(st.floats(0.1, 0.9), st.floats(0.1, 0.7))
DRAWN = st.lists(st.tuples(KINDS, PLACES, PLACES, st.floats(0.003, 0.009)), min_size=2, max_size=6)


@settings(max_examples=15, deadline=None)
@given(DRAWN, st.booleans())
def test_no_round_is_kept_that_is_worse_than_the_first(
    drawn: list[tuple[CableClass, tuple[float, float], tuple[float, float], float]], wall: bool
) -> None:
    cables = [
        cable(f"C{i}", kind, (a[0], a[1], 0.012), (1.0 + b[0], b[1], 0.012), diameter)
        for i, (kind, a, b, diameter) in enumerate(drawn)
    ]
    harness, settled = settle(cables, wall=wall)
    bought, totals = settled.bought, settled.totals_m
    assert bought.total_after_m <= bought.total_before_m
    assert bought.total_after_m <= min(totals)  # groups were moved together after the last round
    assert bought.total_before_m == totals[0]
    assert len(totals) <= MOST_ROUNDS
    # it ends early only when nothing is to be gained any more
    if len(totals) < MOST_ROUNDS:
        assert totals[-1] > min(totals[:-1]) * (1 - LEAST_GAIN)
    # the harness is left as it was settled: taking all up again leaves nothing behind
    for way in settled.ways.values():
        for h in way.holes:
            harness.load[h.name].remove(way.cable.type.diameter_m)
        assert harness.company is not None
        harness.company.lift(way.cable.name)
    assert not any(harness.load.values())
    for kind in CableClass:
        assert harness.company is None or not harness.company.charge_m(kind).any()


def test_company_is_counted_and_lifted() -> None:
    harness = harness_of(lanes(CableClass.AUDIO, CableClass.POWER))
    company, hops = harness.company, harness.roadmap.hops
    assert company is not None
    some = np.arange(40)
    company.lie("one", CableClass.AUDIO, some)
    cost = hops.length_m
    assert np.flatnonzero(company.discount_m(CableClass.DATA, cost)).tolist() == some.tolist()
    assert company.discount_m(CableClass.DATA, cost)[:40] == pytest.approx(SHARED * cost[:40])
    assert not company.discount_m(CableClass.POWER, cost).any()
    charge = company.charge_m(CableClass.POWER)
    assert set(some) <= set(np.flatnonzero(charge))
    assert charge.max() <= BESIDE * cost.max()
    company.lift("one")
    assert not company.charge_m(CableClass.POWER).any()


def test_groups() -> None:
    assert group_of(CableClass.POWER) is Group.SUPPLY
    assert foreign(Group.SUPPLY, Group.ANTENNA)
    assert not foreign(Group.SIGNAL, Group.SIGNAL)
    assert not foreign(Group.BOND, Group.SUPPLY)


def test_the_other_way_of_a_cable_is_through_the_other_hole() -> None:
    one = cable("C1", CableClass.AUDIO, (0.2, 0.2, 0.012), (1.8, 0.2, 0.012))
    harness, settled = settle([one], wall=True)
    way = settled.ways["C1"]
    assert [h.name for h in way.holes] == ["left"]
    other = other_way(harness, way)
    assert other is not None
    assert other.holes == ("right",)
    # straight to a hole 0.4 m aside and back is 2 sqrt(0.8^2 + 0.4^2) - 2 * 0.8 longer, on the roadmap a little more
    assert 0.17 < other.more_m["length"] < 0.35
    assert other.length_m - other.taken_m == pytest.approx(other.more_m["length"])
    # what is asked about is put back where it lay
    assert harness.load["left"] == [0.006]
    assert harness.load.get("right", []) == []


def test_costs_by_cause_add_up_to_the_cost() -> None:
    harness, settled = settle(lanes(CableClass.AUDIO, CableClass.POWER, apart=0.03))
    for name, way in settled.ways.items():
        harness.company.lift(name)  # type: ignore[union-attr]
        graph = harness.graph(way.cable)
        extra = harness.company.surcharge(way.cable.cable_class, harness.hop_costs_m(way.cable))  # type: ignore[union-attr]
        alone = way.passages_m + sum(leg.cost_m - leg.company_m for leg in way.legs)
        costs = costs_m(harness, way, graph)
        assert sum(costs.values()) == pytest.approx(alone + float(extra[hops_of(harness, way)].sum()))
        harness.company.lie(name, way.cable.cable_class, hops_of(harness, way))  # type: ignore[union-attr]


def test_another_way_round_where_there_is_no_hole() -> None:
    harness, settled = settle([cable("C1", CableClass.AUDIO, (0.1, 0.4, 0.012), (1.9, 0.4, 0.012))])
    other = other_way(harness, settled.ways["C1"])
    assert other is not None
    assert other.holes == ()
    assert other.more_m["length"] > 0.005


def test_the_one_that_loses_least_gives_way_in_a_full_hole() -> None:
    """The thickest chooses first and takes the hole that two others need more; the price of crowding moves it."""
    cables = [
        cable("T", CableClass.AUDIO, (0.2, 0.38, 0.012), (1.8, 0.38, 0.012), 0.0095),
        cable("S1", CableClass.AUDIO, (0.2, 0.15, 0.012), (1.8, 0.15, 0.012), 0.009),
        cable("S2", CableClass.AUDIO, (0.2, 0.20, 0.012), (1.8, 0.20, 0.012), 0.009),
    ]
    _, settled = settle(cables, wall=True)
    assert {n: [h.name for h in w.holes] for n, w in settled.ways.items()} == {
        "T": ["right"],
        "S1": ["left"],
        "S2": ["left"],
    }
    assert settled.bought.total_after_m < settled.bought.total_before_m - 0.1


def test_a_round_that_is_worse_is_not_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    harness = harness_of([cable("C1", CableClass.AUDIO, (0.2, 0.2, 0.012), (1.8, 0.2, 0.012))], wall=True)
    (one,) = harness.job.cables
    graph = harness.graph(one)
    cheap, dear = (way_by(harness, one, graph, chain) for chain, _ in islice(chains(one, graph), 2))
    turns = iter([dear, cheap, dear, cheap, dear, cheap])
    monkeypatch.setattr(negotiation, "choose", lambda *_, **__: next(turns))
    settled = negotiate(harness, [one])
    assert settled.ways["C1"] is cheap
    assert settled.totals_m == pytest.approx([dear.cost_m, cheap.cost_m, dear.cost_m])
    assert harness.load == {cheap.holes[0].name: [0.006], dear.holes[0].name: []}
