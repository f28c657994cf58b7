"""Why this way: the nearest other way of each cable, and what it would cost more, by cause.

Units      m
"""

from __future__ import annotations

from itertools import islice
from typing import Final

import networkx as nx
import numpy as np

from routecut.model.company import COMPANY, HOLE_COST, SEPARATION, OtherWay
from routecut.roadmap.build import AIR, AIR_FACTOR, LENGTH
from routecut.routes.chains import FEE, HOLE, chains
from routecut.routes.harness import Harness, Leg
from routecut.routes.lying import hops_of, occupy, release
from routecut.routes.search import Way, hole_of, terminal, way_by
from routecut.routes.terminals import Terminal

_MOST_CHAINS: Final = 12
_MOST_WEIGHED: Final = 3
"""Chains looked at for one through other holes, and those of them that are laid along the roadmap."""

_END_M: Final = 0.4
"""Another way round has left the one that was taken this far from its ends."""

_SAME: Final = 0.5
"""A way that takes more than this share of the hops of another is no other way."""

_LEAST_M: Final = 0.005
"""Differences smaller than this are not told."""


def costs_m(harness: Harness, way: Way, graph: nx.Graph) -> dict[str, float]:
    """What a way costs by cause with the others where they lie and itself taken up. [m]"""
    cable = way.cable
    fees = sum(d[FEE] for _, _, d in graph.edges(data=True) if d[HOLE] in {h.name for h in way.holes})
    found = {HOLE_COST: fees, LENGTH: way.passages_m - fees}
    by_hop = harness.roadmap.causes(harness.kind_of(cable))
    rows = hops_of(harness, way)
    for cause, hop_m in by_hop.items():
        found[cause] = found.get(cause, 0.0) + float(hop_m[rows].sum())
    if harness.company is not None:
        whole = np.asarray(sum(by_hop.values()))
        found[SEPARATION] = float(harness.company.charge_m(cable.cable_class)[rows].sum())
        found[COMPANY] = -float(harness.company.discount_m(cable.cable_class, whole)[rows].sum())
    ends = [terminal(harness, cable, name) for name in way.chain]
    for leg, start, end in zip(way.legs, ends[0::2], ends[1::2], strict=True):
        length, cost = _ends_m(leg, start, end)
        found[LENGTH] += length
        found[AIR] = found.get(AIR, 0.0) + cost - length
    return found


def _ends_m(leg: Leg, start: Terminal, end: Terminal) -> tuple[float, float]:
    """Length and cost of a leg between its terminals and the roadmap. [m]"""
    if not len(leg.nodes):
        return float(np.linalg.norm(end.points_m[-1] - start.points_m[-1])), leg.cost_m
    length = cost = 0.0
    for at, node in ((start, leg.nodes[0]), (end, leg.nodes[-1])):
        row = int(np.flatnonzero(at.nodes == node)[0])
        cost += float(at.legs_m[row])
        # a way through free air costs more than its length (see `Attacher.sight`)
        length += float(at.legs_m[row]) / (AIR_FACTOR if at.free[row] else 1.0)
    return length, cost


def other_way(harness: Harness, way: Way) -> OtherWay | None:
    """The cheapest way through other holes, or else another way round in the same spaces; None when there is neither.

    Parameters
    ----------
    harness : Harness
        With every cable where it lies.
    way : Way
        The one that was taken.
    """
    cable = way.cable
    release(harness, way)
    try:
        graph = harness.graph(cable)
        other = _through_others(harness, way, graph) if way.holes else None
        other = other or _round(harness, way, graph)
        if other is None:
            return None
        taken, more = costs_m(harness, way, graph), costs_m(harness, other, graph)
    finally:
        occupy(harness, way)
    return OtherWay(
        holes=tuple(h.name for h in other.holes),
        length_m=more[LENGTH],
        taken_m=taken[LENGTH],
        more_m={c: more[c] - taken[c] for c in more if abs(more[c] - taken[c]) >= _LEAST_M},
    )


def _through_others(harness: Harness, way: Way, graph: nx.Graph) -> Way | None:
    taken = {h.name for h in way.holes}
    ways: list[Way] = []
    for chain, _price in islice(chains(way.cable, graph), _MOST_CHAINS):
        holes = {hole for name in chain if (hole := hole_of(name)) is not None}
        # one that goes out and in again on the way that was taken is no other way
        if (taken and taken <= holes) or holes == taken:
            continue
        ways.append(way_by(harness, way.cable, graph, chain))
        if len(ways) == _MOST_WEIGHED:
            break
    return min(ways, key=lambda w: w.cost_m, default=None)


def _round(harness: Harness, way: Way, graph: nx.Graph) -> Way | None:
    """Another way through the same holes: away from where the way runs, its ends aside."""
    cable = way.cable
    places = _middle(harness, way)
    if not len(places):
        return None
    before = harness.shunned.get(cable.name)
    harness.shunned[cable.name] = places if before is None else np.concatenate([before, places])
    try:
        other = way_by(harness, cable, graph, way.chain)
    finally:
        del harness.shunned[cable.name]
        if before is not None:
            harness.shunned[cable.name] = before
    taken, own = hops_of(harness, way), hops_of(harness, other)
    same = harness.roadmap.hops.length_m[np.intersect1d(taken, own)].sum()
    return other if same < _SAME * harness.roadmap.hops.length_m[own].sum() else None


def _middle(harness: Harness, way: Way) -> np.ndarray:
    """Nodes of a way further than `_END_M` from both its ends, (n, 3). [m]"""
    nodes = np.concatenate([np.zeros(0, np.int64), *(leg.nodes for leg in way.legs)])
    at = harness.roadmap.nodes.at_m[nodes]
    away = np.ones(len(at), dtype=bool)
    for port in (way.cable.from_port, way.cable.to_port):
        place = np.array(harness.job.port(port).position.at_m)
        away &= np.linalg.norm(at - place, axis=1) > _END_M
    return np.asarray(at[away])
