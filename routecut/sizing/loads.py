"""How much each lead carries: its own load, and the sum of what lies behind it.

Stage      sizing
Units      A
Safe side  a load stated for a common lead that is more than what lies behind it is kept as a
           reserve at its far end; one that is less is replaced by the sum, and reported
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass

import networkx as nx

from routecut.model.job import Load, Polarity
from routecut.sizing.circuit import COMMON, LEG, SOURCE, Circuit, Leg, Node
from routecut.sizing.network import currents


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """What the legs carry and what the nodes draw, at duty or at peak. [A]

    Attributes
    ----------
    current_a : dict
        By the name of the leg.
    drawn_a : dict
        Positive nodes: what the device there draws, a reserve included.
    back_a : dict
        The same where it flows into the returns.
    short : dict
        By the name of the leg: what the job states, where more lies behind it.
    """

    current_a: dict[str, float]
    drawn_a: dict[Node, float]
    back_a: dict[Node, float]
    short: dict[str, float]


def stated_a(load: Load | None, *, peak: bool) -> float | None:
    """What the job says a cable carries; the duty stands in for a peak that isn't given. [A]"""
    if load is None:
        return None
    return max(load.peak_amps, load.amps) if peak else load.amps


def carried(circuit: Circuit, *, peak: bool) -> Carried:
    """Currents of every leg, at duty or at peak.

    Parameters
    ----------
    circuit : Circuit
    peak : bool
        Everything at its peak at once.
    """
    short: dict[str, float] = {}
    drawn = _draw(circuit.out, SOURCE, {}, short, peak=peak)
    into: dict[Node, float] = {}
    for node, amps in drawn.items():
        back = circuit.return_of[node]
        into[back] = into.get(back, 0.0) + amps
    back_a = _draw(circuit.back, COMMON, into, short, peak=peak)
    found = {}
    for tree, root, demand in ((circuit.out, SOURCE, drawn), (circuit.back, COMMON, back_a)):
        for edge, amps in currents(tree, root, demand).items():
            leg: Leg | None = tree.edges[edge].get(LEG)
            if leg is not None:
                found[leg.name] = amps
    return Carried(current_a=found, drawn_a=drawn, back_a=back_a, short=short)


def _draw(
    tree: nx.DiGraph, root: Node, base: Mapping[Node, float], short: dict[str, float], *, peak: bool
) -> dict[Node, float]:
    drawn: dict[Node, float] = dict(base)
    behind: dict[Hashable, float] = {}
    for node in nx.dfs_postorder_nodes(tree, root):
        total = drawn.get(node, 0.0) + sum(behind[child] for child in tree.successors(node))
        for parent in tree.predecessors(node):
            leg: Leg | None = tree.edges[parent, node].get(LEG)
            stated = None if leg is None or leg.beside else stated_a(leg.cable.load, peak=peak)
            if leg is not None and stated is not None:
                if leg.polarity is Polarity.POSITIVE and not leg.common:
                    # a device with a load of its own that hands current on: both count
                    drawn[node] = drawn.get(node, 0.0) + stated
                    total += stated
                elif stated > total:
                    drawn[node] = drawn.get(node, 0.0) + stated - total
                    total = stated
                elif stated < total * (1.0 - 1e-9):
                    short[leg.name] = stated
        behind[node] = total
    return {node: amps for node, amps in drawn.items() if amps > 0.0}
