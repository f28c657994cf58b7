"""The ways of each cable through holes, cheapest first, for the choice.

Stage      drilling; on the harness graph, whose legs hold for any set of open holes
Units      m
Method     best-first search over holes with the exact rest of the way as bound (A*); a way whose
           holes include those of a cheaper one is left out, since opening more never helps
Safe side  how dear the cheapest way is that was not looked at is told, so that the choice can
           be proved or is said not to be
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass
from itertools import count, pairwise
from typing import Final

import networkx as nx
import numpy as np

from routecut.drilling.choice import Way
from routecut.model.job import Cable, PassThrough
from routecut.routes.chains import COST, HOLE
from routecut.routes.harness import Harness
from routecut.routes.search import hole_of, terminal

MOST_WAYS: Final = 250
_MOST_STEPS: Final = 40_000
_DEEPEST: Final = 6
"""No cable goes through more holes than this on a way worth looking at, must-use ones aside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """The ways of one cable.

    Attributes
    ----------
    ways : tuple of Way
        By price.
    chains : dict of tuple of str to tuple of str
        For the holes of each way the terminals it goes by.
    beyond_m : float
        No way that was left out is cheaper; infinite when none was. [m]
    """

    ways: tuple[Way, ...]
    chains: dict[tuple[str, ...], tuple[str, ...]]
    beyond_m: float

    @property
    def least_m(self) -> float:
        """The cheapest, infinite when there is none. [m]"""
        return self.ways[0].price_m if self.ways else float("inf")


def find_ways(
    graph: nx.Graph,
    start: str,
    end: str,
    *,
    through: tuple[str, ...] = (),
    most: int = MOST_WAYS,
) -> Ways:
    """Ways from port to port, cheapest first.

    Parameters
    ----------
    graph : networkx.Graph
        Terminals; edges with `COST` [m], and `HOLE` where they go through one.
    start, end : str
    through : tuple of str
        Holes that must be passed, in this order.
    most : int
        No more than so many.
    """
    rest = nx.single_source_dijkstra_path_length(graph, end, weight=COST)
    found: list[Way] = []
    chains: dict[tuple[str, ...], tuple[str, ...]] = {}
    sets: list[frozenset[str]] = []
    if start not in rest:
        return Ways(ways=(), chains={}, beyond_m=float("inf"))
    order = count()
    deepest = _DEEPEST + len(through)
    # (bound, tie, price so far, terminals, holes, must-use passed, arrived through a hole)
    heap: list[tuple[float, int, float, tuple[str, ...], tuple[str, ...], int, bool]] = [
        (rest[start], next(order), 0.0, (start,), (), 0, True)
    ]
    steps = 0
    while heap:
        bound, _, price, chain, holes, passed, may_walk = heapq.heappop(heap)
        if len(found) >= most or steps >= _MOST_STEPS:
            return Ways(ways=tuple(found), chains=chains, beyond_m=bound)
        steps += 1
        here = chain[-1]
        if any(known <= set(holes) for known in sets):
            continue
        if here == end:
            if passed == len(through):
                found.append(Way(holes=holes, price_m=price))
                chains[holes] = chain
                sets.append(frozenset(holes))
            continue
        for other, data in graph.adj[here].items():
            hole = data[HOLE]
            # a way goes leg, hole, leg, hole: two legs in a row are one leg
            if bool(hole) == may_walk or other == start or other not in rest:
                continue
            if hole and (hole in holes or len(holes) >= deepest):
                continue
            level = passed
            if hole in through:
                if passed >= len(through) or through[passed] != hole:
                    continue
                level = passed + 1
            total = price + data[COST]
            further = (*holes, hole) if hole else holes
            heapq.heappush(
                heap,
                (total + rest[other], next(order), total, (*chain, other), further, level, bool(hole)),
            )
    return Ways(ways=tuple(found), chains=chains, beyond_m=float("inf"))


def with_plug(harness: Harness, cable: Cable, plug_m: float) -> nx.Graph:
    """The harness graph of a cable whose plug has to pass every hole."""
    return harness.graph(
        cable, lambda hole: hole.diameter_m >= plug_m and harness.why_not(cable, hole) is None
    )


def ways_of(
    harness: Harness, cable: Cable, *, there: Callable[[PassThrough], bool], most: int = MOST_WAYS
) -> Ways:
    """The ways of a cable through all its holes, and those through holes that are there alone.

    Parameters
    ----------
    harness : Harness
        With every hole, and nothing in them yet; new ones in `opened`, so that no fee is in a price.
    cable : Cable
    there : callable
        Whether a hole exists.
    """
    graph = harness.graph(cable)
    ends = cable.from_port, cable.to_port
    everything = find_ways(graph, *ends, through=cable.through, most=most)
    old = {h.name for h in harness.job.pass_throughs if there(h)} | set(cable.through)
    kept = nx.Graph(
        graph.edge_subgraph([(a, b) for a, b, d in graph.edges(data=True) if not d[HOLE] or d[HOLE] in old])
    )
    kept.add_nodes_from(ends)
    only_old = find_ways(kept, *ends, through=cable.through, most=most)
    merged = {w.holes: w for w in (*only_old.ways, *everything.ways)}
    return Ways(
        ways=tuple(sorted(merged.values(), key=lambda w: (w.price_m, w.holes))),
        chains={**only_old.chains, **everything.chains},
        beyond_m=everything.beyond_m,
    )


def length_m(harness: Harness, cable: Cable, chain: tuple[str, ...]) -> float:
    """Length along the roadmap of a way by its terminals: some per cent long. [m]"""
    at = harness.roadmap.nodes.at_m
    total = 0.0
    for one, other in pairwise(chain):
        first, last = terminal(harness, cable, one), terminal(harness, cable, other)
        if hole_of(one) is not None and hole_of(one) == hole_of(other):
            total += first.lead_m + last.lead_m
            continue
        leg = harness.leg(cable, first, last)
        if leg is None:
            return float("inf")
        points = np.concatenate([first.points_m[-1:], at[leg.nodes], last.points_m[-1:]])
        total += float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    ports = (terminal(harness, cable, chain[0]), terminal(harness, cable, chain[-1]))
    return total + sum(port.lead_m for port in ports)
