"""The supply of a job as two trees: out from the battery, and back to it.

Stage      sizing; before any size is known
Units      A, m
Safe side  a device whose return is not in the job is given one as long and as thin as its
           supply, laid beside it (FCS 1362:2010 sec. 4.6.2: the pair runs together); a lead to
           what is already supplied counts as a branch of its own
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import networkx as nx

from routecut.model.job import Cable, CableClass, Job, Polarity
from routecut.sizing.names import is_battery, is_common, is_ground, polarity_of

Node = tuple[str, str]
"""Device (or ``device.port by cable`` where a device is supplied twice) and sign."""

SOURCE: Final[Node] = ("", "+")
"""The positive post of the battery."""

COMMON: Final[Node] = ("", "-")
"""The negative post of the battery."""

BODY: Final[Node] = ("the body of the vehicle", "-")

LEG: Final = "leg"
"""Key under which an edge keeps its `Leg`; the way through the body has none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A lead of the network: a cable, or the return laid beside one.

    Attributes
    ----------
    name : str
        The cable's, or ``return beside`` it.
    near_port, far_port : str
        The ends, seen from the battery.
    beside : bool
        Not in the job: the return taken to lie beside the cable.
    common : bool
        Leads to a device that only hands current on.
    """

    name: str
    cable: Cable
    polarity: Polarity
    near: Node
    far: Node
    near_port: str
    far_port: str
    length_m: float
    beside: bool = False
    common: bool = False


@dataclass(slots=True, kw_only=True)
class Circuit:
    """Both trees, every edge leading away from the battery, and what was assumed."""

    out: nx.DiGraph = field(default_factory=nx.DiGraph)
    back: nx.DiGraph = field(default_factory=nx.DiGraph)
    legs: dict[str, Leg] = field(default_factory=dict)
    return_of: dict[Node, Node] = field(default_factory=dict)
    supply_assumed: list[tuple[str, str]] = field(default_factory=list)
    """Device taken as the supply, and the first cable from it."""
    again: dict[str, tuple[str, str]] = field(default_factory=dict)
    """Legs that lead to a device already reached: the device, and the leg that reached it (empty: a source)."""

    def beside(self, name: str) -> Leg | None:
        """The return laid beside a cable, if it has none of its own."""
        return self.legs.get(beside_name(name))


def beside_name(cable: str) -> str:
    """Name of the return laid beside a cable."""
    return f"return beside {cable}"


def build_circuit(job: Job, lengths_m: Mapping[str, float]) -> Circuit:
    """Both trees of the power cables whose length is known.

    Parameters
    ----------
    job : Job
    lengths_m : mapping of str to float
        Cut lengths by cable; cables that are not in it are left out. [m]
    """
    cables = [c for c in job.cables if c.cable_class is CableClass.POWER and c.name in lengths_m]
    sides = {c.name: polarity_of(job, c) for c in cables}
    circuit = Circuit()
    circuit.out.add_node(SOURCE)
    circuit.back.add_node(COMMON)
    circuit.return_of[SOURCE] = COMMON
    positive = _Side(job, [c for c in cables if sides[c.name] is Polarity.POSITIVE], lengths_m, circuit)
    negative = _Side(job, [c for c in cables if sides[c.name] is Polarity.NEGATIVE], lengths_m, circuit)
    _grow_out(job, positive, circuit)
    _grow_back(job, negative, circuit)
    return circuit


class _Side:
    """The cables of one sign, each taken into its tree once."""

    def __init__(
        self, job: Job, cables: list[Cable], lengths_m: Mapping[str, float], circuit: Circuit
    ) -> None:
        self.job, self.lengths_m, self.circuit = job, lengths_m, circuit
        self.left = {c.name: c for c in cables}
        self.nodes: dict[str, Node] = {}

    def start(self, device: str, node: Node) -> None:
        """A device the tree is grown from."""
        self.nodes.setdefault(device, node)

    def spread(self, tree: nx.DiGraph, polarity: Polarity) -> None:
        """Take in every cable that hangs on what is in the tree, nearest first."""
        sign = "+" if polarity is Polarity.POSITIVE else "-"
        waiting = deque(self.nodes)
        while waiting:
            device = waiting.popleft()
            for cable in [c for c in self.left.values() if device in self.devices(c)]:
                del self.left[cable.name]
                ends = (cable.from_port, cable.to_port)
                near, far = ends if self.devices(cable)[0] == device else ends[::-1]
                other = self.job.device_of(far).name
                fresh = other not in self.nodes
                node: Node = (other, sign) if fresh else (f"{far} by {cable.name}", sign)
                if fresh:
                    self.nodes[other] = node
                    waiting.append(other)
                else:
                    ways = tree.in_edges(self.nodes[other], data=LEG) if self.nodes[other] in tree else ()
                    first = next((way.name for _, _, way in ways if way is not None), "")
                    self.circuit.again[cable.name] = other, first
                leg = Leg(
                    name=cable.name, cable=cable, polarity=polarity, near=self.nodes[device], far=node,
                    near_port=near, far_port=far, length_m=self.lengths_m[cable.name],
                    common=is_common(self.job.device_of(far)),
                )  # fmt: skip
                _add(self.circuit, tree, leg)

    def devices(self, cable: Cable) -> tuple[str, str]:
        """The devices at its two ends, as written."""
        return self.job.device_of(cable.from_port).name, self.job.device_of(cable.to_port).name

    def first_of_rest(self) -> tuple[str, str]:
        """Where the cables that are left come from: the device none of them leads to."""
        targets = {self.devices(c)[1] for c in self.left.values()}
        for cable in self.left.values():
            if self.devices(cable)[0] not in targets:
                return self.devices(cable)[0], cable.name
        first = next(iter(self.left.values()))
        return self.devices(first)[0], first.name


def _add(circuit: Circuit, tree: nx.DiGraph, leg: Leg) -> None:
    circuit.legs[leg.name] = leg
    tree.add_edge(leg.near, leg.far, **{LEG: leg})


def _grow_out(job: Job, side: _Side, circuit: Circuit) -> None:
    for device in job.devices:
        if is_battery(device):
            side.start(device.name, SOURCE)
    side.spread(circuit.out, Polarity.POSITIVE)
    while side.left:
        origin, cable = side.first_of_rest()
        circuit.supply_assumed.append((origin, cable))
        side.start(origin, SOURCE)
        side.spread(circuit.out, Polarity.POSITIVE)


def _grow_back(job: Job, side: _Side, circuit: Circuit) -> None:
    grounds = [d.name for d in job.devices if is_ground(d)]
    for device in job.devices:
        if is_battery(device):
            side.start(device.name, COMMON)
    side.spread(circuit.back, Polarity.NEGATIVE)
    # A ground device that a cable joins to the battery is the strap; the body hangs on it.
    strap = next((side.nodes[g] for g in grounds if g in side.nodes), COMMON)
    if any(set(side.devices(c)) & set(grounds) for c in side.left.values()):
        circuit.back.add_edge(strap, BODY)
        for ground in grounds:
            side.start(ground, BODY)
        side.spread(circuit.back, Polarity.NEGATIVE)
    for near, far in list(nx.bfs_edges(circuit.out, SOURCE)):
        leg: Leg = circuit.out.edges[near, far][LEG]
        name = job.device_of(leg.far_port).name
        if name not in side.nodes:
            back = replace(
                leg, name=beside_name(leg.name), polarity=Polarity.NEGATIVE, beside=True,
                near=circuit.return_of[near], far=(far[0], "-"),
            )  # fmt: skip
            _add(circuit, circuit.back, back)
            side.start(name, back.far)
            side.spread(circuit.back, Polarity.NEGATIVE)
        circuit.return_of[far] = side.nodes[name]
    while side.left:  # returns of what nothing supplies: each to the body
        origin, _ = side.first_of_rest()
        if BODY not in circuit.back:
            circuit.back.add_edge(COMMON, BODY)
        side.start(origin, BODY)
        side.spread(circuit.back, Polarity.NEGATIVE)
