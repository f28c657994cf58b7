"""The harness graph: ports, mouths of pass-throughs, and the shortest ways between them.

A plain networkx graph. Everything an installer decides lives here: who may use which
hole, must-use and avoid, what a new hole costs. The ways inside a space come from one
compiled Dijkstra a terminal on the roadmap.

Units      m
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import networkx as nx
import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree

from routecut.geometry.clip_reach import BRIDGE_SHARE
from routecut.model.body import Floats, Ints
from routecut.model.job import ANY, Cable, HoleState, Job, PassThrough
from routecut.roadmap.build import AIR_FACTOR, Kind, Roadmap
from routecut.routes.chains import COST, FEE, HOLE
from routecut.routes.company import SHARED, Company
from routecut.routes.terminals import Attacher, Terminal

SHUN_FACTOR = 3.0
SHUN_BENDS = 2.0
SHUN_LEAST_M = 0.06
SHUN_HOLE_M = 0.3
CROWDED_M = 0.05
"""What a place costs where a cable could not be laid: hops within two bend radii, and a hole beside it; what
one cable too many in a hole costs in the first round."""

FILL_ONE, FILL_TWO, FILL_MORE = 0.53, 0.31, 0.40
"""Share of a hole that one, two, more cables may take (NEC chapter 9 table 1)."""


def _sides_key(hole: PassThrough) -> tuple[object, ...]:
    """What decides which spaces lie on the sides of a pass-through."""
    return (hole.position.at_m, hole.axis, hole.depth_m, hole.joins)


def fill_most(count: int) -> float:
    """Share of a hole that so many cables may take."""
    return {1: FILL_ONE, 2: FILL_TWO}.get(count, FILL_MORE)


def fill(hole: PassThrough, diameters_m: Sequence[float]) -> tuple[float, float]:
    """Share of a hole that cables of those diameters take beside what is in it already, and the most they may."""
    inside = [*diameters_m, hole.in_use_m] if hole.in_use_m > 0 else diameters_m
    return sum(d * d for d in inside) / hole.diameter_m**2, fill_most(len(inside))


def fits(hole: PassThrough, diameters_m: Sequence[float]) -> bool:
    """Whether cables of those diameters fit the hole beside what is in it already."""
    taken, most = fill(hole, diameters_m)
    return taken <= most


@dataclass(eq=False)
class Leg:
    """A way between two terminals inside a space: roadmap nodes and their cost. [m].

    `company_m` is what of the cost is for the company of other cables.
    """

    nodes: Ints
    cost_m: float
    company_m: float = 0.0


@dataclass(eq=False)
class Harness:
    """Finds for each cable the cheapest chain of spaces and pass-throughs.

    Attributes
    ----------
    sides : dict
        For each pass-through the space index on its -1 and +1 side; None where unknown.
    load : dict
        Diameters of the cables that already use each pass-through. [m]
    opened : set
        Candidates some cable already uses: the next one pays nothing for the hole.
    shunned : dict
        For a cable by name: places where it could not be laid before, (k, 3). [m]
    company : Company or None
        Where the other cables lie; None where that does not matter.
    crowding : dict or None
        What one cable too many costs at each pass-through; None where none is let in. [m]
    """

    roadmap: Roadmap
    attacher: Attacher
    sides: dict[str, tuple[int, int] | None]
    load: dict[str, list[float]] = field(default_factory=dict)
    opened: set[str] = field(default_factory=set)
    shunned: dict[str, Floats] = field(default_factory=dict)
    _kinds: dict[tuple[str, float], Kind] = field(default_factory=dict)
    company: Company | None = None
    crowding: dict[str, float] | None = None
    _usable: dict[Kind, np.ndarray] = field(default_factory=dict)
    _costs: dict[tuple[Kind, str], Floats] = field(default_factory=dict)
    _legs: dict[tuple[Terminal, Terminal, str], Leg | None] = field(default_factory=dict)
    _rows: csr_matrix | None = None

    @classmethod
    def of(cls, roadmap: Roadmap) -> Harness:
        """The harness of a roadmap, before any cable."""
        attacher = Attacher(roadmap)
        known = roadmap.memory.sides
        for hole in roadmap.job.pass_throughs:
            if (key := _sides_key(hole)) not in known:
                known[key] = attacher.sides(hole)
        return cls(roadmap, attacher, {h.name: known[_sides_key(h)] for h in roadmap.job.pass_throughs})

    @property
    def job(self) -> Job:
        """The job behind the roadmap."""
        return self.roadmap.job

    def kind_of(self, cable: Cable) -> Kind:
        """The kind of a cable on the roadmap."""
        key = (cable.cable_class.value, cable.type.diameter_m / 2)
        if key not in self._kinds:
            self._kinds[key] = self.roadmap.kind(*key)
        return self._kinds[key]

    def _usable_for(self, kind: Kind) -> np.ndarray:
        """Hops of the roadmap this kind of cable may use, (n,) bool."""
        if kind not in self._usable:
            self._usable[kind] = self.roadmap.usable(kind)
        return self._usable[kind]

    def label_of_port(self, full_name: str) -> int:
        """Index of the space the port's device stands in."""
        return [space.name for space in self.job.spaces].index(self.job.device_of(full_name).space)

    def port_terminal(self, cable: Cable, full_name: str) -> Terminal:
        """The terminal of one of the cable's ports."""
        radius, bend = cable.type.diameter_m / 2, cable.type.min_bend_radius_m
        port, label, kind = self.job.port(full_name), self.label_of_port(full_name), self.kind_of(cable)
        key = (full_name, port.position.at_m, port.leaves, label, kind, radius, bend)
        known = self.roadmap.memory.terminals
        if key not in known:
            known[key] = self.attacher.port(port, label, kind, radius, bend)
        terminal: Terminal = known[key]
        return terminal

    def mouth_terminal(self, cable: Cable, hole: PassThrough, side: int) -> Terminal:
        """One mouth of a pass-through as this cable sees it."""
        radius = cable.type.diameter_m / 2
        stand_off = max(self.job.routing.stand_off_m, radius)
        pair = self.sides[hole.name]
        assert pair is not None  # noqa: S101  holes of unknown sides are never usable
        label, kind = pair[0 if side < 0 else 1], self.kind_of(cable)
        key = (hole.name, side, hole.position.at_m, hole.axis, hole.depth_m, label, kind, stand_off)
        known = self.roadmap.memory.terminals
        if key not in known:
            known[key] = self.attacher.mouth(hole, side, label, kind, radius)
        terminal: Terminal = known[key]
        return terminal

    def reach(self, cable: Cable, terminal: Terminal) -> tuple[np.ndarray, np.ndarray]:
        """Cost of the way from a terminal to each node (the terminal itself last) and the node before each. [m]."""
        kind = self.kind_of(cable)
        # A terminal sees what it sees for as long as the roadmap is kept: it stands for its place.
        shunned = self.shunned.get(cable.name)
        shun = None if shunned is None else (shunned.tobytes(), cable.type.min_bend_radius_m)
        key = (terminal, kind, shun)
        known = self.roadmap.memory.fields
        if key not in known:
            graph = self._graph_of(cable)
            count = graph.shape[0]
            row = csr_matrix(
                (terminal.legs_m, (np.zeros(len(terminal.nodes), dtype=np.int64), terminal.nodes)),
                shape=(1, count),
            )
            # The terminal as one more node with one-way legs: nobody passes through a port.
            whole = csr_matrix(
                (
                    np.concatenate([graph.data, row.data]),
                    np.concatenate([graph.indices, row.indices]),
                    np.concatenate([graph.indptr, [graph.indptr[-1] + row.nnz]]),
                ),
                shape=(count + 1, count),
            )
            whole.resize((count + 1, count + 1))
            known[key] = dijkstra(whole, indices=count, return_predecessors=True)
        found: tuple[np.ndarray, np.ndarray] = known[key]
        return found

    def _shuns(self, cable: Cable) -> str:
        """What tells a cable that shuns places from the others of its kind; empty where it shuns none."""
        shunned = self.shunned.get(cable.name)
        return "" if shunned is None else f"{cable.name} {hash(shunned.tobytes())}"

    def hop_costs_m(self, cable: Cable) -> Floats:
        """What each hop of the roadmap costs a cable, places it shuns counted, (n,). [m]."""
        key = (self.kind_of(cable), self._shuns(cable))
        if key not in self._costs:
            cost = self.roadmap.cost(key[0])
            if key[1]:
                near, hops = self._near_shunned(cable), self.roadmap.hops
                cost = cost * np.where(near[hops.a] | near[hops.b], SHUN_FACTOR, 1.0)
            self._costs[key] = cost
        return self._costs[key]

    def _near_shunned(self, cable: Cable) -> np.ndarray:
        """Which nodes are near a place the cable shuns, (n,) bool."""
        distance, _ = cKDTree(self.shunned[cable.name]).query(self.roadmap.nodes.at_m)
        return np.asarray(distance < max(SHUN_BENDS * cable.type.min_bend_radius_m, SHUN_LEAST_M))

    def _graph_of(self, cable: Cable) -> csr_matrix:
        """The roadmap as this cable may use it, hops near the places it shuns dearer."""
        graph = self.roadmap.graph(self.kind_of(cable))
        if not self._shuns(cable):
            return graph
        near = self._near_shunned(cable)
        rows = np.repeat(np.arange(graph.shape[0]), np.diff(graph.indptr))
        dearer = graph.copy()
        dearer.data = graph.data * np.where(near[rows] | near[graph.indices], SHUN_FACTOR, 1.0)
        return dearer

    def leg(self, cable: Cable, start: Terminal, end: Terminal) -> Leg | None:
        """The cheapest way from one terminal to another inside their space; None when there is none.

        Without nodes where it goes straight across, through free air and without a clip.
        """
        key = (start, end, self._shuns(cable))
        if key not in self._legs:
            self._legs[key] = self._leg(cable, start, end)
        return self._legs[key]

    def _leg(self, cable: Cable, start: Terminal, end: Terminal) -> Leg | None:
        if not len(start.nodes) or not len(end.nodes):
            return None
        across = self._across(cable, start, end)
        distance, before = self.reach(cable, start)
        total = distance[end.nodes] + end.legs_m
        best = int(total.argmin())
        if across is not None and across.cost_m < total[best]:
            return across
        if not np.isfinite(total[best]):
            return None
        node, chain = int(end.nodes[best]), []
        while node < self.roadmap.nodes.at_m.shape[0]:
            chain.append(node)
            node = int(before[node])
        return Leg(np.array(chain[::-1], dtype=np.int64), float(total[best]))

    def leg_in_company(self, cable: Cable, start: Terminal, end: Terminal) -> Leg | None:
        """The cheapest way from one terminal to another with the other cables where they lie.

        Sharing saves a fixed part at most, so that no better way leaves the nodes whose least
        cost without company, less that part, is within what is known to do.
        """
        alone = self.leg(cable, start, end)
        if alone is None or self.company is None or not len(alone.nodes):
            return alone
        hops, kind = self.roadmap.hops, self.kind_of(cable)
        cost = self.hop_costs_m(cable)
        extra = self.company.surcharge(cable.cable_class, cost)
        known = alone.cost_m + float(extra[self.hops_along(alone.nodes)].sum())
        there, back = self.reach(cable, start)[0][:-1], self.reach(cable, end)[0][:-1]
        near = (there + back) * (1 - SHARED) <= known + 1e-9
        rows = np.flatnonzero(near.take(hops.a) & near.take(hops.b) & self._usable_for(kind))
        number = np.full(len(near), -1)
        nodes = np.flatnonzero(near)
        number[nodes] = np.arange(len(nodes))
        first, last = number[start.nodes], number[end.nodes]
        i, j = number.take(hops.a.take(rows)), number.take(hops.b.take(rows))
        dear = cost.take(rows) + extra.take(rows)
        source, sink = len(nodes), len(nodes) + 1
        graph = csr_matrix(
            (
                np.concatenate(
                    [
                        dear,
                        dear,
                        start.legs_m[first >= 0],
                        end.legs_m[last >= 0],
                    ]
                ),
                (
                    np.concatenate([i, j, np.full((first >= 0).sum(), source), last[last >= 0]]),
                    np.concatenate([j, i, first[first >= 0], np.full((last >= 0).sum(), sink)]),
                ),
            ),
            shape=(len(nodes) + 2, len(nodes) + 2),
        )
        # What is known to do is as dear as the cheapest or dearer: nothing beyond it is looked at.
        limit = known * (1 + 1e-9) + 1e-9
        distance, before = dijkstra(graph, indices=source, return_predecessors=True, limit=limit)
        if not np.isfinite(distance[sink]):
            return alone
        node, chain = int(before[sink]), []
        while node != source:
            chain.append(nodes[node])
            node = int(before[node])
        found = np.array(chain[::-1], dtype=np.int64)
        return Leg(found, float(distance[sink]), float(extra[self.hops_along(found)].sum()))

    def _across(self, cable: Cable, start: Terminal, end: Terminal) -> Leg | None:
        """Straight from one terminal to the other, where that is short enough and nothing stands between."""
        label = self.roadmap.label
        apart = float(np.linalg.norm(end.points_m[-1] - start.points_m[-1]))
        longest = BRIDGE_SHARE * self.job.routing.bridge_m - start.lead_m - end.lead_m
        if label[start.nodes[0]] != label[end.nodes[0]] or not 0 < apart <= longest:
            return None
        kind = self.kind_of(cable)
        key = (start.points_m[-1].tobytes(), end.points_m[-1].tobytes(), kind)
        known = self.roadmap.memory.across
        if key not in known:
            known[key] = self.attacher.sees(start.points_m[-1], end.points_m[-1], kind)
        if not known[key]:
            return None
        return Leg(np.zeros(0, dtype=np.int64), AIR_FACTOR * apart)

    def hops_along(self, nodes: Ints) -> Ints:
        """Rows of the hops between nodes that follow each other."""
        if self._rows is None:
            hops = self.roadmap.hops
            self._rows = hops.matrix(len(self.roadmap.nodes.at_m), np.arange(1.0, len(hops.a) + 1))
        if len(nodes) < 2:
            return np.zeros(0, dtype=np.int64)
        return np.asarray(self._rows[nodes[:-1], nodes[1:]]).ravel().astype(np.int64) - 1

    def why_not(self, cable: Cable, hole: PassThrough) -> str | None:
        """Why a cable may not use a hole; None when it may."""
        return self.why_never(cable, hole) or self.why_full(cable, hole)

    def why_never(self, cable: Cable, hole: PassThrough) -> str | None:
        """Why a cable may not use a hole whatever lies in it already; None when it may."""
        if hole.name in cable.avoid:
            return "the cable is told to avoid it"
        if ANY not in hole.classes and cable.cable_class.value not in hole.classes:
            return f"it is for {', '.join(hole.classes)} only"
        return None

    def why_full(self, cable: Cable, hole: PassThrough) -> str | None:
        """Why a hole does not take a cable beside those in it; None when it does."""
        if not fits(hole, [*self.load.get(hole.name, []), cable.type.diameter_m]):
            taken = len(self.load.get(hole.name, [])) + (hole.in_use_m > 0)
            beside = f" beside the {taken} in it" if taken else ""
            cable_mm, hole_mm = 1000 * cable.type.diameter_m, 1000 * hole.diameter_m
            return f"a {cable_mm:.1f} mm cable does not fit its {hole_mm:.0f} mm{beside}"
        return None

    def _takes(self, cable: Cable, hole: PassThrough) -> bool:
        """Whether a cable may use a hole: one that is full too, where crowding has its price and it fits alone."""
        if self.crowding is None:
            return self.why_not(cable, hole) is None
        return self.why_never(cable, hole) is None and fits(hole, [cable.type.diameter_m])

    def graph(self, cable: Cable, allowed: Callable[[PassThrough], bool] | None = None) -> nx.Graph:
        """The harness graph of one cable: ports and mouths, ways and passages.

        Parameters
        ----------
        cable : Cable
        allowed : callable, optional
            Which holes to take; those the cable may use where left out.
        """
        allow = allowed or (lambda hole: self._takes(cable, hole))
        graph = nx.Graph()
        terminals: dict[str, Terminal] = {
            cable.from_port: self.port_terminal(cable, cable.from_port),
            cable.to_port: self.port_terminal(cable, cable.to_port),
        }
        for hole in self.job.pass_throughs:
            if self.sides[hole.name] is None or not allow(hole):
                continue
            ends = [self.mouth_terminal(cable, hole, side) for side in (-1, 1)]
            for end in ends:
                terminals[end.name] = end
            new = hole.state is not HoleState.EXISTING and hole.name not in self.opened
            fee = self.job.drilling.hole_cost_m if new and hole.name not in cable.through else 0.0
            length = sum(end.lead_m for end in ends)
            shunned = self.shunned.get(cable.name)
            if shunned is not None:
                off = np.linalg.norm(shunned - np.array(hole.position.at_m), axis=1).min()
                if off < hole.depth_m + SHUN_BENDS * cable.type.min_bend_radius_m:
                    fee += SHUN_HOLE_M
            if self.crowding is not None and self.why_full(cable, hole) is not None:
                fee += self.crowding.get(hole.name, CROWDED_M)
            graph.add_edge(ends[0].name, ends[1].name, **{COST: length + fee, FEE: fee, HOLE: hole.name})
        names = list(terminals)
        graph.add_nodes_from(names)
        for i, one in enumerate(names):
            for other in names[i + 1 :]:
                if graph.has_edge(one, other):
                    continue
                leg = self.leg(cable, terminals[one], terminals[other])
                if leg is not None:
                    graph.add_edge(one, other, **{COST: leg.cost_m, HOLE: ""})
        return graph
