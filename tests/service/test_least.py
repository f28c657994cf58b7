"""The least removal against every choice there is, on small random access graphs."""

from __future__ import annotations

from itertools import chain, combinations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from routecut.service.least import OPEN_AIR, Arc, least_removal

TRIMS = ("a", "b", "c", "d", "e", "f", "g")
NODES = (OPEN_AIR, "1", "2", "3", "4", "5")


@st.composite
def graphs(draw: st.DrawFn) -> tuple[list[Arc], list[str], dict[str, float], dict[str, list[str]]]:
    some = st.frozensets(st.sampled_from(TRIMS), max_size=3)
    arcs = draw(
        st.lists(
            st.builds(Arc, st.sampled_from(NODES), st.sampled_from(NODES), some), min_size=1, max_size=14
        )
    )
    targets = draw(st.lists(st.sampled_from(NODES[1:]), min_size=1, max_size=3))
    minutes = {t: float(draw(st.integers(1, 9))) / 2 for t in TRIMS}
    # only earlier letters go before a letter: no rings
    after = {
        t: sorted(draw(st.frozensets(st.sampled_from(TRIMS[:k]), max_size=2)))
        for k, t in enumerate(TRIMS)
        if k and draw(st.booleans())
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


@given(graphs())
@settings(max_examples=150, deadline=None)
@example(
    ([Arc("", "1", frozenset("ab")), Arc("1", "2", frozenset("a"))], ["2"], dict.fromkeys(TRIMS, 1.0), {})
)
def test_no_set_of_trim_is_cheaper_and_the_order_can_be_kept(
    graph: tuple[list[Arc], list[str], dict[str, float], dict[str, list[str]]],
) -> None:
    arcs, targets, minutes, after = graph
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
    arcs = [Arc("", "1", frozenset("ab")), Arc("", "1", frozenset("c"))]
    assert least_removal(arcs, ["1"], minutes={"a": 1.0, "b": 1.0, "c": 2.0}, after={}) == ("c",)
