"""From a cable to its strand: the chain of terminals, laid out as points.

Units      m
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from routecut.geometry.triangles import unit
from routecut.model.body import Floats
from routecut.model.job import Cable, PassThrough
from routecut.routes.harness import HOLE, Harness, Leg
from routecut.routes.strands import Bools, Strand
from routecut.routes.terminals import Terminal, axis_of

STRAIGHT_M = 0.001
"""A cable runs straight through the metal for its own thickness and this much on either side."""

CLIP_M = 0.03
"""Length over which a lone clip between two bridges holds the cable to its sheet."""

STRAIGHT_DIAMETERS = 3.0
"""Straight piece behind a connector, in cable diameters: half of what NASA-STD-8739.4 asks of coax."""


@dataclass(frozen=True, slots=True)
class Crossed:
    """A pass-through on the way, and the spaces it leads from and to."""

    hole: PassThrough
    from_space: str
    to_space: str


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A cable's way on the roadmap.

    Attributes
    ----------
    strand : Strand
        Before tightening.
    holes : tuple of Crossed
        Those it takes, in order.
    spaces : tuple of str
        Visited, in order; neighbours differ.
    corners_m : (k, 3) float64
        Mouths of passages and lead-outs of ports: pinned while tightening, free when bent.
    """

    cable: Cable
    strand: Strand
    holes: tuple[Crossed, ...]
    spaces: tuple[str, ...]
    corners_m: Floats


def _lay(harness: Harness, leg: Leg, start: Terminal, end: Terminal) -> tuple[Floats, Bools, Bools]:
    """Points of a leg from terminal to terminal, ends included; which hops hang free; which points are clips."""
    roadmap = harness.roadmap
    if not len(leg.nodes):
        ends = np.stack([start.points_m[-1], end.points_m[-1]])
        return ends, np.ones(1, dtype=bool), np.zeros(2, dtype=bool)
    at = roadmap.nodes.at_m[leg.nodes]
    points = np.concatenate([start.points_m[-1:], at, end.points_m[-1:]])
    first = bool(start.free[np.flatnonzero(start.nodes == leg.nodes[0])[0]])
    last = bool(end.free[np.flatnonzero(end.nodes == leg.nodes[-1])[0]])
    inner = [not harness.hop_held(*pair) for pair in pairwise(leg.nodes.tolist())]
    free = np.array([first, *inner, last], dtype=bool)
    return _with_clips(points, free, roadmap.nodes.away[leg.nodes])


def _with_clips(points: Floats, free: Bools, away: Floats) -> tuple[Floats, Bools, Bools]:
    """A clip, as a short pinned piece, at every node between two hops through free air."""
    alone = np.flatnonzero(free[:-1] & free[1:]) + 1
    pinned = np.zeros(len(points), dtype=bool)
    pinned[alone] = True
    u = away[alone - 1]
    along = points[alone + 1] - points[alone - 1]
    along = unit(along - np.einsum("ij,ij->i", along, u)[:, None] * u) * CLIP_M / 2
    clipped = points.copy()
    clipped[alone] = points[alone] - along
    return (
        np.insert(clipped, alone + 1, points[alone] + along, axis=0),
        np.insert(free, alone, False),
        np.insert(pinned, alone + 1, True),
    )


def find(harness: Harness, cable: Cable) -> Found | None:
    """The cheapest safe way of a cable on the roadmap; None when there is none."""
    graph = harness.graph(cable)
    chain = harness.chain(cable, graph)
    if chain is None:
        return None
    holes = {h.name: h for h in harness.job.pass_throughs}
    here = harness.port_terminal(cable, cable.from_port)
    first = _out_of(here, cable)
    points: list[Floats] = [first]
    pinned: list[Bools] = [np.ones(len(first), dtype=bool)]
    free: list[Bools] = [np.ones(len(first) - 1, dtype=bool)]
    corners: list[Floats] = [first[-1]]
    used: list[Crossed] = []
    names = [space.name for space in harness.job.spaces]
    labels: list[int] = [harness.label_of_port(cable.from_port)]
    for one, other in pairwise(chain):
        data = graph.edges[one, other]
        if data[HOLE]:
            hole = holes[data[HOLE]]
            forward = one.endswith("(-1)")
            centre, along = np.array(hole.position.at_m), axis_of(hole) * (1 if forward else -1)
            here = harness.mouth_terminal(cable, hole, 1 if forward else -1)
            straight = along * (hole.depth_m / 2 + cable.type.diameter_m / 2 + STRAIGHT_M)
            corners += [points[-1][-1], here.points_m[-1]]
            points.append(np.stack([centre - straight, centre, centre + straight, here.points_m[-1]]))
            pinned.append(np.ones(4, dtype=bool))
            free.append(np.ones(4, dtype=bool))
            pair = harness.sides[hole.name]
            assert pair is not None  # noqa: S101  holes of unknown sides are not in the graph
            before, after = pair if forward else pair[::-1]
            used.append(Crossed(hole, names[before], names[after]))
            labels.append(after)
            continue
        if other == cable.to_port:
            there = harness.port_terminal(cable, other)
        else:
            hole = holes[other.rsplit(" (", 1)[0]]
            there = harness.mouth_terminal(cable, hole, -1 if other.endswith("(-1)") else 1)
        leg = harness.leg(cable, here, there)
        assert leg is not None  # noqa: S101  the graph has an edge only where there is a leg
        laid, hanging, clips = _lay(harness, leg, here, there)
        labels += harness.roadmap.label[leg.nodes].tolist()
        points.append(laid[1:])
        pinned.append(np.r_[clips[1:-1], True])
        free.append(hanging)
        here = there
    tail = _out_of(here, cable)[::-1]
    corners.append(tail[0])
    tail = tail[1:]
    points.append(tail)
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
    return Found(cable, strand, tuple(used), spaces, np.array(corners))


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
    straight = min(STRAIGHT_DIAMETERS * cable.type.diameter_m, 0.8 * port.lead_m)
    return np.stack([start, start + (out - start) / port.lead_m * straight, out])
