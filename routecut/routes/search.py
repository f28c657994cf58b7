"""From a cable to its strand: the chain of terminals, laid out as points.

Units      m
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice, pairwise

import networkx as nx
import numpy as np

from routecut.geometry.clip_reach import straight_m
from routecut.geometry.triangles import unit
from routecut.model.body import Floats
from routecut.model.job import Cable, PassThrough
from routecut.routes.chains import COST, HOLE, chains
from routecut.routes.company import SHARED
from routecut.routes.harness import Harness, Leg
from routecut.routes.strands import Bools, Strand
from routecut.routes.terminals import Terminal, axis_of

STRAIGHT_M = 0.001
"""A cable runs straight through the metal for its own thickness and this much on either side."""

CLIP_M = 0.03
"""Length over which a lone clip between two bridges holds the cable to its sheet."""

IN_HOLE = "\0"
"""Between the name of a hole and the part of it in the key of a point: no name has it."""


@dataclass(frozen=True, slots=True)
class Crossed:
    """A pass-through on the way, and the spaces it leads from and to."""

    hole: PassThrough
    from_space: str
    to_space: str


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A cable's choice on the harness graph.

    Attributes
    ----------
    chain : tuple of str
        Terminals from port to port: leg, hole, leg, hole.
    legs : tuple of Leg
        Those of the chain that go through no hole, in order.
    holes : tuple of PassThrough
        In order.
    passages_m : float
        What the passages cost, with what is asked for holes that have to be made. [m]
    """

    cable: Cable
    chain: tuple[str, ...]
    legs: tuple[Leg, ...]
    holes: tuple[PassThrough, ...]
    passages_m: float

    @property
    def cost_m(self) -> float:
        """In all, with the company it found when it was chosen. [m]"""
        return self.passages_m + sum(leg.cost_m for leg in self.legs)


@dataclass(frozen=True, slots=True, eq=False)
class Trunk:
    """A finished run that a cable shares with another: its points, which are in metal, which legs hang free."""

    points_m: Floats
    pinned: Bools
    free: Bools


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A cable's way on the roadmap.

    Attributes
    ----------
    way : Way
    strand : Strand
        Before tightening.
    holes : tuple of Crossed
        Those it takes, in order.
    spaces : tuple of str
        Visited, in order; neighbours differ.
    corners_m : (k, 3) float64
        Mouths of passages and lead-outs of ports: pinned while tightening, free when bent.
    keys : tuple of str
        What each point of the strand is: the same place on the way of another cable has the same
        key; empty for a place of this cable alone.
    trunks : tuple of Trunk
        Runs along the line of another cable, in order: in `strand` each is a straight piece between two
        pinned points.
    """

    way: Way
    strand: Strand
    holes: tuple[Crossed, ...]
    spaces: tuple[str, ...]
    corners_m: Floats
    keys: tuple[str, ...]
    trunks: tuple[Trunk, ...] = ()

    @property
    def cable(self) -> Cable:
        """Whose way it is."""
        return self.way.cable


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """A leg as points, ends included; which hops hang free, which points are clips, and the key of each."""

    points_m: Floats
    free: Bools
    clips: Bools
    keys: list[str]


def _lay(harness: Harness, leg: Leg, start: Terminal, end: Terminal) -> _Laid:
    """A leg from terminal to terminal, with a clip, as a short pinned piece, between two hops through free air."""
    roadmap = harness.roadmap
    if not len(leg.nodes):
        ends = np.stack([start.points_m[-1], end.points_m[-1]])
        return _Laid(ends, np.ones(1, dtype=bool), np.zeros(2, dtype=bool), [start.name, end.name])
    points = np.concatenate([start.points_m[-1:], roadmap.nodes.at_m[leg.nodes], end.points_m[-1:]])
    first = bool(start.free[np.flatnonzero(start.nodes == leg.nodes[0])[0]])
    last = bool(end.free[np.flatnonzero(end.nodes == leg.nodes[-1])[0]])
    free = np.r_[first, ~roadmap.hops.supported[harness.hops_along(leg.nodes)], last]
    alone = np.flatnonzero(free[:-1] & free[1:]) + 1
    clips = np.zeros(len(points), dtype=bool)
    clips[alone] = True
    u = roadmap.nodes.away[leg.nodes][alone - 1]
    along = points[alone + 1] - points[alone - 1]
    along = unit(along - np.einsum("ij,ij->i", along, u)[:, None] * u) * CLIP_M / 2
    clipped = points.copy()
    clipped[alone] = points[alone] - along
    keys = [start.name, *map(str, leg.nodes.tolist()), end.name]
    twice = np.repeat(np.arange(len(points)), 1 + clips)
    return _Laid(
        np.insert(clipped, alone + 1, points[alone] + along, axis=0),
        np.insert(free, alone, False),
        np.insert(clips, alone + 1, True),
        ["" if clips[i] else keys[i] for i in twice.tolist()],
    )


MOST_CHAINS = 4
"""So many chains of holes are weighed in company; without it the first is the cheapest."""


def choose(harness: Harness, cable: Cable, *, alone: bool = False) -> Way | None:
    """The cheapest choice of a cable with the others where they lie; None when there is none.

    `alone`: as if none did, but for the room they leave in the holes.
    """
    graph = harness.graph(cable)
    best: Way | None = None
    for chain, price in islice(chains(cable, graph), MOST_CHAINS):
        if best is not None and price * (1 - SHARED) >= best.cost_m:
            break
        way = way_by(harness, cable, graph, chain, alone=alone)
        if best is None or way.cost_m < best.cost_m:
            best = way
        if alone or harness.company is None:
            break
    return best


def way_by(
    harness: Harness, cable: Cable, graph: nx.Graph, chain: Sequence[str], *, alone: bool = False
) -> Way:
    """A choice by its chain of terminals."""
    named = {h.name: h for h in harness.job.pass_throughs}
    legs, holes, passages = [], [], 0.0
    for one, other in pairwise(chain):
        data = graph.edges[one, other]
        if data[HOLE]:
            holes.append(named[data[HOLE]])
            passages += data[COST]
            continue
        find_leg = harness.leg if alone else harness.leg_in_company
        leg = find_leg(cable, terminal(harness, cable, one), terminal(harness, cable, other))
        assert leg is not None  # noqa: S101  the graph has an edge only where there is a leg
        legs.append(leg)
    return Way(cable, tuple(chain), tuple(legs), tuple(holes), passages)


def hole_of(name: str) -> str | None:
    """The hole a terminal is a mouth of; None for a port."""
    return name.rsplit(" (", 1)[0] if name.endswith((" (-1)", " (+1)")) else None


def terminal(harness: Harness, cable: Cable, name: str) -> Terminal:
    """The terminal of that name as a cable sees it."""
    hole = hole_of(name)
    if hole is None:
        return harness.port_terminal(cable, name)
    through = next(h for h in harness.job.pass_throughs if h.name == hole)
    return harness.mouth_terminal(cable, through, -1 if name.endswith("(-1)") else 1)


def find(harness: Harness, cable: Cable) -> Found | None:
    """The cheapest safe way of a cable on the roadmap; None when there is none."""
    way = choose(harness, cable)
    return None if way is None else lay_out(harness, way)


def lay_out(harness: Harness, way: Way) -> Found:
    """A choice as a strand of points, ready to be pulled tight."""
    cable, legs, holes = way.cable, iter(way.legs), iter(way.holes)
    here = harness.port_terminal(cable, cable.from_port)
    first = _out_of(here, cable)
    points: list[Floats] = [first]
    pinned: list[Bools] = [np.ones(len(first), dtype=bool)]
    free: list[Bools] = [np.ones(len(first) - 1, dtype=bool)]
    corners: list[Floats] = [first[-1]]
    keys: list[str] = [""] * len(first)
    used: list[Crossed] = []
    names = [space.name for space in harness.job.spaces]
    labels: list[int] = [harness.label_of_port(cable.from_port)]
    for one, other in pairwise(way.chain):
        if hole_of(one) is not None and hole_of(one) == hole_of(other):
            hole = next(holes)
            forward = one.endswith("(-1)")
            centre, along = np.array(hole.position.at_m), axis_of(hole) * (1 if forward else -1)
            here = harness.mouth_terminal(cable, hole, 1 if forward else -1)
            straight = along * (hole.depth_m / 2 + cable.type.diameter_m / 2 + STRAIGHT_M)
            corners += [points[-1][-1], here.points_m[-1]]
            points.append(np.stack([centre - straight, centre, centre + straight, here.points_m[-1]]))
            pinned.append(np.ones(4, dtype=bool))
            free.append(np.ones(4, dtype=bool))
            parts = ("-", "", "+") if forward else ("+", "", "-")
            keys += [*(f"{hole.name}{IN_HOLE}{part}" for part in parts), here.name]
            pair = harness.sides[hole.name]
            assert pair is not None  # noqa: S101  holes of unknown sides are not in the graph
            before, after = pair if forward else pair[::-1]
            used.append(Crossed(hole, names[before], names[after]))
            labels.append(after)
            continue
        there, leg = terminal(harness, cable, other), next(legs)
        laid = _lay(harness, leg, here, there)
        labels += harness.roadmap.label[leg.nodes].tolist()
        points.append(laid.points_m[1:])
        pinned.append(np.r_[laid.clips[1:-1], True])
        free.append(laid.free)
        keys += laid.keys[1:]
        here = there
    tail = _out_of(here, cable)[::-1]
    corners.append(tail[0])
    tail = tail[1:]
    points.append(tail)
    keys[-1] = ""
    keys += [""] * len(tail)
    pinned.append(np.ones(len(tail), dtype=bool))
    free.append(np.ones(len(tail), dtype=bool))
    radius = cable.type.diameter_m / 2
    strand = Strand(
        np.concatenate(points),
        np.concatenate(pinned),
        np.concatenate(free),
        max(harness.job.routing.stand_off_m, radius),
        radius,
        max(cable.type.min_bend_radius_m, radius),
        harness.roadmap.keep_outs_for(cable.cable_class.value),
        harness.job.routing.bridge_m,
    )
    labels.append(harness.label_of_port(cable.to_port))
    spaces = tuple(names[label] for i, label in enumerate(labels) if i == 0 or label != labels[i - 1])
    return Found(way, strand, tuple(used), spaces, np.array(corners), tuple(keys))


def with_trunks(found: Found, strand: Strand) -> Strand:
    """The strand with the runs it shares with other cables pasted in."""
    for trunk in found.trunks:
        first, last = trunk.points_m[[0, -1]]
        off = np.abs(strand.points_m[:-1] - first).max(axis=1) + np.abs(strand.points_m[1:] - last).max(
            axis=1
        )
        at = int(off.argmin())
        strand = strand.with_points(
            np.concatenate([strand.points_m[:at], trunk.points_m, strand.points_m[at + 2 :]]),
            np.concatenate([strand.pinned[:at], trunk.pinned, strand.pinned[at + 2 :]]),
            np.concatenate([strand.free[:at], trunk.free, strand.free[at + 1 :]]),
        )
    return strand


def release_corners(found: Found, strand: Strand) -> Strand:
    """The strand free to round its way out of each port and through each passage.

    While a strand is tightened, lead-outs and mouths are pinned, since there it changes
    from the connector or the hole to the sheet. A bend needs that corner; only the
    straight pieces through the metal and behind the connector stay pinned.
    """
    pinned = strand.pinned.copy()
    for corner in found.corners_m:
        pinned[np.linalg.norm(strand.points_m - corner, axis=1) < 1e-9] = False
    pinned[0] = pinned[-1] = True
    return strand.with_points(strand.points_m, pinned, strand.free)


def _out_of(port: Terminal, cable: Cable) -> Floats:
    """Points from a port to its lead-out, with the end of the straight piece behind the connector between."""
    if len(port.points_m) == 1:
        return port.points_m
    start, out = port.points_m
    straight = straight_m(cable.type.diameter_m, port.lead_m)
    return np.stack([start, start + (out - start) / port.lead_m * straight, out])
