"""Chains of spaces and pass-throughs on the harness graph, cheapest first.

Units      m
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import networkx as nx

from routecut.model.job import Cable

COST = "cost_m"
HOLE = "hole"
FEE = "fee_m"
"""Edge attributes: what the way costs [m], the pass-through it goes through, if it does, and what of the cost is
for more than its length [m]."""


def chain(cable: Cable, graph: nx.Graph) -> list[str] | None:
    """Cheapest chain of terminals from port to port, `through` holes in order; None when there is none."""
    return next((names for names, _price in chains(cable, graph)), None)


def chains(cable: Cable, graph: nx.Graph) -> Iterator[tuple[list[str], float]]:
    """Chains of terminals from port to port with their price [m], cheapest first, `through` holes in order.

    A chain goes leg, hole, leg, hole. The states are holes entered at one mouth, each repeated
    for the number of must-use holes already passed, so that the order is kept and no hole is
    passed twice on the way.
    """
    steps = len(cable.through)
    passing = [(one, other, d) for one, other, d in graph.edges(data=True) if d[HOLE]]
    entered = {e: (e, x, d) for one, other, d in passing for e, x in ((one, other), (other, one))}
    states = nx.DiGraph()
    for level in range(steps + 1):
        starts = [((mouth, level), exit_) for mouth, (_, exit_, _) in entered.items()]
        if level == 0:
            starts.append(((cable.from_port, 0), cable.from_port))
        for state, here in starts:
            for there, leg in graph.adj[here].items():
                if leg[HOLE]:
                    continue
                if there == cable.to_port:
                    if level == steps:
                        states.add_edge(state, (cable.to_port, steps), **{COST: leg[COST]})
                    continue
                if there not in entered:
                    continue
                _, _, passage = entered[there]
                wanted = cable.through[level] if level < steps else None
                to = level + 1 if passage[HOLE] == wanted else level
                if passage[HOLE] in cable.through and to == level:
                    continue
                states.add_edge(state, (there, to), **{COST: leg[COST] + passage[COST]})
    start, end = (cable.from_port, 0), (cable.to_port, steps)
    if start not in states or end not in states:
        return
    try:
        for path in nx.shortest_simple_paths(states, start, end, weight=COST):
            mouths = [name for name, _level in path[1:-1]]
            holes = [entered[m][2][HOLE] for m in mouths]
            if len(set(holes)) == len(holes):
                price = sum(states.edges[pair][COST] for pair in pairwise(path))
                through = [name for m in mouths for name in (m, entered[m][1])]
                yield [cable.from_port, *through, cable.to_port], price
    except nx.NetworkXNoPath:
        return
