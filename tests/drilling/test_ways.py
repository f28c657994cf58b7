"""Ways through holes against every simple path there is."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx
import numpy as np
import pytest

from routecut.drilling.ways import find_ways
from routecut.routes.chains import COST, HOLE


def harness_graph(seed: int, holes: int = 5, spaces: int = 3) -> nx.Graph:
    """Points in a few spaces, joined by straight legs, and holes between them."""
    rng = np.random.default_rng(seed)
    where: dict[str, int] = {"a": 0, "b": spaces - 1}
    place = {"a": rng.uniform(size=2), "b": rng.uniform(size=2)}
    graph = nx.Graph()
    graph.add_nodes_from(("a", "b"))
    for i in range(holes):
        one, other = rng.permutation(spaces)[:2]
        at = rng.uniform(size=2)
        for side, label in (("(-1)", one), ("(+1)", other)):
            where[f"H{i} {side}"], place[f"H{i} {side}"] = int(label), at
        graph.add_edge(f"H{i} (-1)", f"H{i} (+1)", **{COST: 0.02, HOLE: f"H{i}"})
    names = list(where)
    for i, one_name in enumerate(names):
        for other_name in names[i + 1 :]:
            if where[one_name] == where[other_name] and not graph.has_edge(one_name, other_name):
                cost = float(np.linalg.norm(place[one_name] - place[other_name])) + 0.001
                graph.add_edge(one_name, other_name, **{COST: cost, HOLE: ""})
    return graph


def every_way(graph: nx.Graph, through: tuple[str, ...] = ()) -> dict[frozenset[str], float]:
    """The cheapest way for each set of holes, from all simple paths."""
    best: dict[frozenset[str], float] = {}
    for path in nx.all_simple_paths(graph, "a", "b"):
        data = [graph.edges[pair] for pair in pairwise(path)]
        holes = [d[HOLE] for d in data if d[HOLE]]
        if len(set(holes)) < len(holes) or tuple(h for h in holes if h in through) != through:
            continue
        price = sum(d[COST] for d in data)
        best[frozenset(holes)] = min(best.get(frozenset(holes), np.inf), price)
    return best


@pytest.mark.parametrize("seed", range(15))
def test_every_way_that_is_not_beaten_is_found_at_its_price(seed: int) -> None:
    graph = harness_graph(seed)
    for through in ((), ("H0",), ("H1", "H0")):
        known = every_way(graph, through)
        worth = {
            s: p for s, p in known.items() if not any(t < s and q <= p + 1e-12 for t, q in known.items())
        }
        found = find_ways(graph, "a", "b", through=through)
        assert found.beyond_m == np.inf
        assert {frozenset(w.holes): pytest.approx(w.price_m) for w in found.ways} == worth
        assert [w.price_m for w in found.ways] == sorted(w.price_m for w in found.ways)


def test_what_was_left_out_is_dearer_than_it_says() -> None:
    graph = harness_graph(3, holes=6)
    everything = find_ways(graph, "a", "b")
    some = find_ways(graph, "a", "b", most=2)
    assert len(everything.ways) > 2
    assert some.ways == everything.ways[:2]
    assert some.beyond_m <= everything.ways[2].price_m + 1e-12
    assert some.beyond_m >= some.ways[1].price_m - 1e-12


def test_no_way_is_no_error() -> None:
    graph = nx.Graph()
    graph.add_nodes_from(("a", "b"))
    assert find_ways(graph, "a", "b").ways == ()
