"""The tree of leads against a case solved by hand and against nodal analysis."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecut.errors import OutOfRangeError
from routecut.sizing.network import currents, solve_tree


def test_three_branches_solved_by_hand() -> None:
    """Battery to block 12 mohm; from there radio 20 mohm, amplifier 15 mohm, modem 60 mohm.

    Currents 10, 8, 2 A: 20 A in the feed. Feed 20 x 0.012 = 0.24 V; radio 0.24 + 10 x 0.020 =
    0.44 V; amplifier 0.24 + 8 x 0.015 = 0.36 V; modem 0.24 + 2 x 0.060 = 0.36 V.
    """
    tree = nx.DiGraph()
    tree.add_edge("battery", "block", resistance_ohm=0.012)
    tree.add_edge("block", "radio", resistance_ohm=0.020)
    tree.add_edge("block", "amplifier", resistance_ohm=0.015)
    tree.add_edge("block", "modem", resistance_ohm=0.060)
    solved = solve_tree(tree, "battery", {"radio": 10.0, "amplifier": 8.0, "modem": 2.0})
    assert solved.current_a["battery", "block"] == pytest.approx(20.0, abs=1e-9)
    for node, volts in (("block", 0.24), ("radio", 0.44), ("amplifier", 0.36), ("modem", 0.36)):
        assert solved.drop_v[node] == pytest.approx(volts, abs=1e-9)


@st.composite
def random_trees(draw: st.DrawFn) -> tuple[nx.DiGraph, dict[int, float]]:
    count = draw(st.integers(2, 14))
    tree = nx.DiGraph()
    tree.add_node(0)
    for node in range(1, count):
        parent = draw(st.integers(0, node - 1))
        tree.add_edge(parent, node, resistance_ohm=draw(st.floats(1e-4, 1.0)))
    demand = {node: draw(st.floats(0.0, 200.0)) for node in range(1, count)}
    return tree, demand


def by_nodal_analysis(tree: nx.DiGraph, demand: dict[int, float]) -> np.ndarray:
    """Drops from the conductance matrix, with the source held at 0: shares nothing with a tree."""
    count = tree.number_of_nodes()
    matrix = np.zeros((count, count))
    for a, b, ohm in tree.edges(data="resistance_ohm"):
        matrix[a, a] += 1 / ohm
        matrix[b, b] += 1 / ohm
        matrix[a, b] -= 1 / ohm
        matrix[b, a] -= 1 / ohm
    drawn = np.array([demand.get(k, 0.0) for k in range(1, count)])
    return np.concatenate([[0.0], np.linalg.solve(matrix[1:, 1:], drawn)])


@given(random_trees())
def test_drops_are_those_of_nodal_analysis(case: tuple[nx.DiGraph, dict[int, float]]) -> None:
    tree, demand = case
    solved = solve_tree(tree, 0, demand)
    expected = by_nodal_analysis(tree, demand)
    for node in tree:
        assert solved.drop_v[node] == pytest.approx(expected[node], rel=1e-7, abs=1e-9)


@given(random_trees())
def test_what_flows_in_flows_out(case: tuple[nx.DiGraph, dict[int, float]]) -> None:
    tree, demand = case
    found = currents(tree, 0, demand)
    for node in tree:
        into = sum(found[edge] for edge in tree.in_edges(node)) if node else sum(demand.values())
        out = sum(found[edge] for edge in tree.out_edges(node)) + demand.get(node, 0.0)
        assert into == pytest.approx(out, rel=1e-9, abs=1e-9)


def test_a_ring_is_refused() -> None:
    tree = nx.DiGraph([("a", "b"), ("b", "c"), ("a", "c")])
    with pytest.raises(OutOfRangeError, match="not a tree"):
        currents(tree, "a", {"c": 1.0})


def test_a_lead_without_resistance_is_refused() -> None:
    tree = nx.DiGraph([("a", "b")])
    with pytest.raises(OutOfRangeError, match="has the resistance None"):
        solve_tree(tree, "a", {"b": 1.0})
    tree.edges["a", "b"]["resistance_ohm"] = -0.1
    with pytest.raises(OutOfRangeError, match=r"-0\.1"):
        solve_tree(tree, "a", {"b": 1.0})


def test_a_stranger_that_draws_current_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="'radio' draws current"):
        currents(nx.DiGraph([("a", "b")]), "a", {"radio": 1.0})
    with pytest.raises(OutOfRangeError, match="'z' is not in the network"):
        currents(nx.DiGraph([("a", "b")]), "z", {})
