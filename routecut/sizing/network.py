"""A tree of leads from one source: currents by Kirchhoff's first law, drops by Ohm's.

Stage      sizing
Units      A, ohm, V
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import networkx as nx

from routecut.errors import OutOfRangeError

RESISTANCE = "resistance_ohm"
"""Key of an edge's resistance; an edge without it is refused, not taken as nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeSolution:
    """Currents of the edges, away from the source, and drops of the nodes below the source."""

    current_a: dict[tuple[Hashable, Hashable], float]
    drop_v: dict[Hashable, float]


def currents(
    tree: nx.DiGraph, root: Hashable, demand_a: Mapping[Any, float]
) -> dict[tuple[Hashable, Hashable], float]:
    """The current of every edge: the sum of what is drawn behind it. [A]

    Parameters
    ----------
    tree : networkx.DiGraph
        Edges lead away from the root; every other node has one edge into it.
    root : hashable
    demand_a : mapping of hashable to float
        Drawn at a node; 0 where it is not named. [A]

    Raises
    ------
    OutOfRangeError
        It is not a tree from that root, or a node with a demand is not in it.
    """
    _require_tree(tree, root)
    strangers = [node for node in demand_a if node not in tree]
    if strangers:
        raise OutOfRangeError(f"{strangers[0]!r} draws current and is not in the network")
    found: dict[tuple[Hashable, Hashable], float] = {}
    behind: dict[Hashable, float] = {}
    for node in nx.dfs_postorder_nodes(tree, root):
        behind[node] = demand_a.get(node, 0.0) + sum(behind[child] for child in tree.successors(node))
        for parent in tree.predecessors(node):
            found[parent, node] = behind[node]
    return found


def solve_tree(tree: nx.DiGraph, root: Hashable, demand_a: Mapping[Any, float]) -> TreeSolution:
    """Currents and drops of a tree of leads.

    Parameters
    ----------
    tree, root, demand_a
        See `currents`; every edge has `RESISTANCE`. [ohm]

    Raises
    ------
    OutOfRangeError
        See `currents`, or an edge has no resistance or a negative one.

    Examples
    --------
    >>> tree = nx.DiGraph()
    >>> tree.add_edge("battery", "block", resistance_ohm=0.01)
    >>> tree.add_edge("block", "radio", resistance_ohm=0.02)
    >>> solve_tree(tree, "battery", {"block": 2.0, "radio": 10.0}).drop_v["radio"]
    0.32
    """
    for parent, node, ohm in tree.edges(data=RESISTANCE):
        if ohm is None or not ohm >= 0.0:
            raise OutOfRangeError(f"the lead from {parent!r} to {node!r} has the resistance {ohm!r}")
    found = currents(tree, root, demand_a)
    drops: dict[Hashable, float] = {root: 0.0}
    for parent, node in nx.dfs_edges(tree, root):
        drops[node] = drops[parent] + found[parent, node] * tree.edges[parent, node][RESISTANCE]
    return TreeSolution(current_a=found, drop_v=drops)


def _require_tree(tree: nx.DiGraph, root: Hashable) -> None:
    if root not in tree:
        raise OutOfRangeError(f"the source {root!r} is not in the network")
    if tree.in_degree(root) != 0 or not nx.is_arborescence(tree):
        raise OutOfRangeError(f"the network is not a tree of leads away from {root!r}")
