"""The least removal against every choice there is, on small random access graphs."""

from __future__ import annotations

import random
from itertools import chain, combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.service.least import OPEN_AIR, Arc, least_removal

TRIMS = ("a", "b", "c", "d", "e", "f", "g")
NODES = (OPEN_AIR, "1", "2", "3", "4", "5")


Graph = tuple[list[Arc], list[str], dict[str, float], dict[str, list[str]]]


def graph(seed: int) -> Graph:
    """A random access graph: most arcs lead away from the open air and are barred by one to three pieces."""
    die = random.Random(seed)  # noqa: S311 - a test
    nodes = NODES[1:]
    arcs = []
    for _ in range(die.randint(5, 14)):
        end = die.randrange(len(nodes))
        start = (
            die.choice((OPEN_AIR, OPEN_AIR, *nodes[: end + 1])) if die.random() < 0.9 else die.choice(nodes)
        )
        bars = frozenset(die.sample(TRIMS, die.choice((0, 1, 1, 2, 2, 3))))
        arcs.append(Arc(start, nodes[end], bars))
    targets = die.sample(nodes, die.randint(1, 3))
    minutes = {t: die.randint(1, 9) / 2 for t in TRIMS}
    # only earlier letters of a shuffled row go before a letter: no rings
    row = die.sample(TRIMS, len(TRIMS))
    after = {
        t: die.sample(row[:k], min(k, die.randint(1, 2)))
        for k, t in enumerate(row)
        if die.random() < 0.4 and k
    }
    return arcs, targets, minutes, after


def by_hand(
    arcs: list[Arc], targets: list[str], minutes: dict[str, float], after: dict[str, list[str]]
) -> float | None:
    """Every set of trim, whether it can come off as it is, and where one gets to: nothing clever."""
    best = None
    for chosen in chain.from_iterable(combinations(TRIMS, n) for n in range(len(TRIMS) + 1)):
        if any(b not in chosen for t in chosen for b in after.get(t, ())):
            continue
        here = {OPEN_AIR}
        for _ in NODES:
            here |= {a.end for a in arcs if a.start in here and all(t in chosen for t in a.trims)}
        cost = sum(minutes[t] for t in chosen)
        if all(t in here for t in targets) and (best is None or cost < best):
            best = cost
    return best


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=150, deadline=None)
def test_no_set_of_trim_is_cheaper_and_the_order_can_be_kept(seed: int) -> None:
    arcs, targets, minutes, after = graph(seed)
    order = least_removal(arcs, targets, minutes=minutes, after=after)
    least = by_hand(arcs, targets, minutes, after)
    if least is None:
        assert order is None
        return
    assert order is not None
    assert sum(minutes[t] for t in order) == pytest.approx(least, abs=1e-6)
    for k, trim in enumerate(order):
        assert set(after.get(trim, ())) <= set(order[:k]), "something comes off before what covers it"
    here = {OPEN_AIR}
    for _ in NODES:
        here |= {a.end for a in arcs if a.start in here and a.trims <= set(order)}
    assert set(targets) <= here


def test_the_random_graphs_are_worth_it() -> None:
    """Most can be reached, not all, and by taking something off; and the order matters for many."""
    found = [graph(seed) for seed in range(200)]
    least = [by_hand(*g) for g in found]
    freed = [by_hand(arcs, targets, minutes, {}) for arcs, targets, minutes, _ in found]
    assert sum(x is not None and x > 0 for x in least) > 100
    assert sum(x is None for x in least) > 5
    assert sum(a != b for a, b in zip(least, freed, strict=True)) > 30


def test_a_piece_that_bars_two_doors_counts_once() -> None:
    """By shortest path the way over 1 would cost 5 + 5; it costs 5, less than the 8 of the other."""
    arcs = [
        Arc("", "1", frozenset("a")),
        Arc("1", "2", frozenset("a")),
        Arc("", "2", frozenset("b")),
    ]
    assert least_removal(arcs, ["2"], minutes={"a": 5.0, "b": 8.0}, after={}) == ("a",)


def test_two_places_share_what_comes_off() -> None:
    """Each alone is cheaper by its own trim (4 and 4); both together by the one in front of both (6)."""
    arcs = [
        Arc("", "1", frozenset("a")),
        Arc("", "2", frozenset("b")),
        Arc("", "1", frozenset("c")),
        Arc("", "2", frozenset("c")),
    ]
    minutes = {"a": 4.0, "b": 4.0, "c": 6.0}
    assert least_removal(arcs, ["1"], minutes=minutes, after={}) == ("a",)
    assert least_removal(arcs, ["2"], minutes=minutes, after={}) == ("b",)
    assert least_removal(arcs, ["1", "2"], minutes=minutes, after={}) == ("c",)


def test_of_equal_minutes_the_fewer_pieces_come_off() -> None:
    for one, two in (("a", "bc"), ("c", "ab")):
        arcs = [Arc("", "1", frozenset(two)), Arc("", "1", frozenset(one))]
        minutes = {t: 2.0 if t == one else 1.0 for t in "abc"}
        assert least_removal(arcs, ["1"], minutes=minutes, after={}) == (one,)
