"""Which conductor each lead gets: thick enough for its fuse and for its drop, and no thicker.

Stage      sizing; the loop of the two lies here: sizes only grow, so it ends
Units      A, V, ohm, mm2, degrees C
Safe side  drops are judged at peak, with the copper as warm as the peak makes it if it lasts;
           currents of all loads at once
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

import networkx as nx

from routecut.model.job import CableType, Job, Polarity
from routecut.model.sizing import Ampacity, Conductor, Limit
from routecut.sizing.ampacity import ampacity, copper_c
from routecut.sizing.circuit import COMMON, LEG, SOURCE, Circuit, Leg, Node
from routecut.sizing.conductors import resistance_ohm
from routecut.sizing.loads import Carried
from routecut.sizing.network import RESISTANCE, solve_tree

ENDS: Final = 2
"""Joints of a lead: one at each end."""

Size = tuple[CableType, Conductor]


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What a lead passes: the hottest air, and the conductors it runs with."""

    air_c: float
    conductors: int


@dataclass(slots=True, kw_only=True)
class Network:
    """Everything that does not change while sizes are chosen."""

    job: Job
    circuit: Circuit
    duty: Carried
    peak: Carried
    limits: Mapping[str, Limit]
    around: Mapping[str, Surroundings]
    """By the name of the cable."""
    fuses: Mapping[str, tuple[float, str, str]]
    """The fuse in a leg: A, series, provenance; legs without one are left out."""
    needed_a: Mapping[str, float]
    """What a leg must be allowed to carry: the rating its load asks for."""

    def value(self, name: str) -> float:
        """A limit in its unit."""
        return self.limits[name].value

    def allowed(self, leg: Leg, conductor: Conductor) -> Ampacity:
        """What a conductor may carry in the place of a leg."""
        around = self.around[leg.cable.name]
        return ampacity(
            conductor,
            air_c=around.air_c,
            conductors=around.conductors,
            sharper=self.value("bundle_rule") >= 2,
        )

    def resistance(self, leg: Leg, conductor: Conductor, amps: float) -> float:
        """Of a leg with its ends and its fuse, as warm as a current makes it. [ohm]"""
        warm = copper_c(conductor, self.allowed(leg, conductor), amps)
        joints = ENDS * self.value("joint_mohm") / 1000.0
        fuse = self.fuses.get(leg.name)
        over_fuse = 0.0 if fuse is None else self.value("fuse_drop_mv") / 1000.0 / fuse[0]
        return resistance_ohm(conductor.r20_ohm_per_m, leg.length_m, warm) + joints + over_fuse

    def max_drop_v(self, leg: Leg) -> float:
        """What may be lost over a leg and the return beside it, at peak. [V]"""
        load = leg.cable.load
        own = None if load is None else load.max_drop_percent
        percent = self.value("max_drop_percent") if own is None else own
        return percent / 100.0 * self.value("system_volts")


@dataclass(slots=True, kw_only=True)
class State:
    """Drops with the sizes as they are. [V]

    `leg_v` is of one leg alone; `node_v` of the nodes below (or above) the battery's posts.
    """

    leg_v: dict[str, float] = field(default_factory=dict)
    node_v: dict[Hashable, float] = field(default_factory=dict)

    def over(self, circuit: Circuit, name: str) -> float:
        """Over a cable and the return beside it. [V]"""
        beside = circuit.beside(name)
        return self.leg_v[name] + (0.0 if beside is None else self.leg_v[beside.name])


def solve(network: Network, sizes: Mapping[str, Conductor], *, peak: bool) -> State:
    """Drops of every leg and node.

    Parameters
    ----------
    network : Network
    sizes : mapping of str to Conductor
        By the name of the cable.
    peak : bool
    """
    circuit = network.circuit
    load = network.peak if peak else network.duty
    state = State()
    for tree, root, demand in ((circuit.out, SOURCE, load.drawn_a), (circuit.back, COMMON, load.back_a)):
        weighted = nx.DiGraph()
        weighted.add_node(root)
        for near, far, leg in tree.edges(data=LEG):
            if leg is None:
                ohm = network.value("body_return_mohm") / 1000.0
            else:
                amps = load.current_a[leg.name]
                ohm = network.resistance(leg, sizes[leg.cable.name], amps)
                state.leg_v[leg.name] = amps * ohm
            weighted.add_edge(near, far, **{RESISTANCE: ohm})
        state.node_v |= solve_tree(weighted, root, demand).drop_v
    return state


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The sizes, and for each open cable the steps it took."""

    sizes: dict[str, Size]
    steps: dict[str, list[str]]


def choose(network: Network, given: Mapping[str, Size], offered: Mapping[str, Sequence[Size]]) -> Choice:
    """Pick the size of every open cable.

    Parameters
    ----------
    network : Network
    given : mapping of str to size
        Cables whose type the job says: they stay as they are.
    offered : mapping of str to sequence of sizes
        For each open cable what it may become, thinnest first; never empty.

    Returns
    -------
    Choice
        The thinnest sizes that hold ampacity and drop, grown one step at a time: each step
        goes to the cable over its own limit, or, where only the way as a whole loses too much,
        to the open cable on it that loses most.
    """
    sizes: dict[str, Size] = dict(given)
    at: dict[str, int] = {}
    steps: dict[str, list[str]] = {}
    ladders: dict[str, list[Size]] = {}
    for name, ladder in offered.items():
        legs = [leg for leg in network.circuit.legs.values() if leg.cable.name == name]
        needed = max(network.needed_a[leg.name] for leg in legs)
        # More copper is not always allowed more: a thicker wire may have the poorer insulation.
        fits = [
            size
            for size in ladder
            if all(network.allowed(leg, size[1]).allowed_a >= needed * (1 - 1e-9) for leg in legs)
        ]
        ladders[name] = fits or [ladder[-1]]
        at[name] = 0
        sizes[name] = ladders[name][0]
        asking = max(legs, key=lambda leg: network.needed_a[leg.name])
        steps[name] = [
            f"{sizes[name][1].name} is the thinnest that may carry the {needed:g} A {_asked_by(network, asking)}"
            if fits
            else f"nothing thicker than {sizes[name][1].name} is on offer"
        ]
    while True:
        state = solve(network, {n: c for n, (_, c) in sizes.items()}, peak=True)
        thicker = [n for n, ladder in ladders.items() if at[n] + 1 < len(ladder)]
        grow, why = _over_own_limit(network, state, thicker), "for its own drop at peak"
        told = {name: _own_text(network, state, name) for name in grow}
        if not grow:
            grow, why = _most_lossy(network, state, thicker), "for the drop from the battery and back"
            told = {name: _way_text(network, state, name) for name in grow}
        if not grow:
            return Choice(sizes=sizes, steps=steps)
        for name in grow:
            before = sizes[name][1].name
            at[name] += 1
            sizes[name] = ladders[name][at[name]]
            if why in steps[name][-1]:
                del steps[name][-1]
            steps[name].append(f"grown to {sizes[name][1].name} {why}: with {before} {told[name]}")


def _asked_by(network: Network, leg: Leg) -> str:
    """What a leg has to carry its amperes for: its fuse, that of a supply it leads back from, or its load."""
    if leg.name in network.fuses:
        return "of its fuse"
    circuit = network.circuit
    fed = [
        supply.name
        for node, back in circuit.return_of.items()
        if back == leg.far
        for _, _, supply in circuit.out.in_edges(node, data=LEG)
        if supply.name in network.fuses
    ]
    most = max(fed, key=lambda name: network.fuses[name][0], default=None)
    if most is not None and network.fuses[most][0] >= network.needed_a[leg.name] * (1 - 1e-9):
        return f"that the fuse of {most} lets through"
    told = "a fuse for its own load would be rated at"
    return told if most is None else f"{told} (the fuse of {most} has {network.fuses[most][0]:g} A)"


def _over_own_limit(network: Network, state: State, names: Sequence[str]) -> list[str]:
    legs = network.circuit.legs
    return [
        name
        for name in names
        if state.over(network.circuit, name) > network.max_drop_v(legs[name]) * (1 + 1e-9)
    ]


def _own_text(network: Network, state: State, name: str) -> str:
    """What a cable loses against what it may, and of it the return that the job does not have."""
    beside = network.circuit.beside(name)
    back = "" if beside is None else f", {state.leg_v[beside.name]:.3f} V of it in a return of the same size"
    limit = network.max_drop_v(network.circuit.legs[name])
    return f"{state.over(network.circuit, name):.3f} V would be lost{back}, {limit:.3f} V are allowed"


def _way_text(network: Network, state: State, name: str) -> str:
    """What is lost on the way that a cable is on, against what may be, and how much of it in the cable."""
    circuit = network.circuit
    node = next(n for n in over_total(network, state) if name in {leg.cable.name for leg in way(circuit, n)})
    limit = network.value("max_total_drop_percent") / 100.0 * network.value("system_volts")
    return (
        f"{total_v(circuit, state, node):.3f} V would be lost on the whole way, "
        f"{state.over(circuit, name):.3f} V of it in {name}; {limit:.3f} V are allowed"
    )


def consumers(network: Network) -> list[Node]:
    """Nodes that draw current of their own: a common lead's reserve is not one."""
    found = []
    for node in network.circuit.out:
        legs: list[Leg] = [leg for _, _, leg in network.circuit.out.in_edges(node, data=LEG)]
        at_end = network.circuit.out.out_degree(node) == 0
        if network.peak.drawn_a.get(node, 0.0) > 0.0 and (at_end or any(not leg.common for leg in legs)):
            found.append(node)
    return found


def over_total(network: Network, state: State) -> list[Node]:
    """Devices that lose more on the way there and back than is allowed, at peak."""
    limit = network.value("max_total_drop_percent") / 100.0 * network.value("system_volts")
    return [node for node in consumers(network) if total_v(network.circuit, state, node) > limit * (1 + 1e-9)]


def total_v(circuit: Circuit, state: State, node: Node) -> float:
    """Lost on the way to a device and back. [V]"""
    return state.node_v[node] + state.node_v[circuit.return_of[node]]


def body_v(circuit: Circuit, state: State, node: Node) -> float:
    """Lost in the body of the vehicle on the way back of a device; 0 where it is not on that way. [V]"""
    path = nx.shortest_path(circuit.back, COMMON, circuit.return_of[node])
    return sum(
        state.node_v[far] - state.node_v[near]
        for near, far in pairwise(path)
        if circuit.back.edges[near, far].get(LEG) is None
    )


def _most_lossy(network: Network, state: State, names: Sequence[str]) -> list[str]:
    for node in over_total(network, state):
        on_way = {leg.cable.name for leg in way(network.circuit, node)}
        open_ones = [n for n in names if n in on_way]
        if open_ones:
            return [max(open_ones, key=lambda n: state.over(network.circuit, n))]
    return []


def way(circuit: Circuit, node: Node) -> list[Leg]:
    """The legs from the battery to a device and back."""
    found = []
    for tree, root, end in ((circuit.out, SOURCE, node), (circuit.back, COMMON, circuit.return_of[node])):
        path = nx.shortest_path(tree, root, end)
        for edge in pairwise(path):
            leg: Leg | None = tree.edges[edge].get(LEG)
            if leg is not None:
                found.append(leg)
    return found


def is_fused_leg(leg: Leg, *, negative_fuse: bool) -> bool:
    """Whether a leg carries a fuse: every supply lead; a return at the battery if rules say so."""
    if leg.polarity is Polarity.POSITIVE:
        return True
    return negative_fuse and not leg.beside and leg.near == COMMON
