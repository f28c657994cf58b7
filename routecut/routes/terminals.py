"""Terminals: where ports and holes meet the roadmap.

A terminal sees the nodes of its space within reach. A port that says how its cable
leaves gets a lead-out of one bend radius first; a pass-through gets a mouth at the
stand-off on either side of its depth.

Units      m
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from routecut.geometry.clip_reach import REACH_SPACINGS, Outlook, lead_out_m, passes, reach_m, wanted_m
from routecut.geometry.triangles import unit
from routecut.model.body import Floats, Ints
from routecut.model.job import PassThrough, Port
from routecut.roadmap.build import AIR_FACTOR, Kind, Roadmap
from routecut.roadmap.connect import supported
from routecut.roadmap.spaces import NOWHERE

_SUPPORT = 1.8


@dataclass(frozen=True, slots=True, eq=False)
class Terminal:
    """A place a cable starts from on the roadmap.

    Attributes
    ----------
    name : str
    points_m : (k, 3) float64
        From the port (or the hole's middle) to the point that sees the roadmap.
    nodes : (n,) int64
        Nodes seen.
    legs_m : (n,) float64
        Cost of the way to each.
    free : (n,) bool
        Whether that way hangs in free air.
    """

    name: str
    points_m: Floats
    nodes: Ints
    legs_m: Floats
    free: np.ndarray

    @property
    def lead_m(self) -> float:
        """Length of the fixed points before the roadmap. [m]."""
        return float(np.linalg.norm(np.diff(self.points_m, axis=0), axis=1).sum())


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """What a point sees of the roadmap."""

    nodes: Ints
    legs_m: Floats
    free: np.ndarray


def axis_of(hole: PassThrough) -> Floats:
    """Unit axis of a pass-through, (3,)."""
    return np.asarray(unit(np.array([hole.axis]))[0])


def _mouth_m(hole: PassThrough, side: int, stand_off_m: float) -> Floats:
    """Where a passage ends at the stand-off, (3,): `side` -1 or +1 along its axis. [m]."""
    centre = np.array(hole.position.at_m)
    return np.asarray(centre + side * axis_of(hole) * (hole.depth_m / 2 + stand_off_m))


class Attacher:
    """Finds the nodes that points see; the k-d tree of the nodes is built once."""

    def __init__(self, roadmap: Roadmap) -> None:
        self.roadmap = roadmap
        self._tree = cKDTree(roadmap.nodes.at_m) if len(roadmap.nodes.at_m) else None

    def sight(self, at_m: Floats, label: int | None, kind: Kind | None, lead_m: float = 0.0) -> Sight:
        """Nodes seen from a point, of one space (None: of any), for a kind of cable (None: clear of nothing)."""
        none = Sight(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0, dtype=bool))
        if self._tree is None:
            return none
        job, nodes = self.roadmap.job, self.roadmap.nodes
        reach = reach_m(job.routing, lead_m)
        rows = np.sort(np.array(self._tree.query_ball_point(at_m, reach), dtype=np.int64))
        label_of = self.roadmap.label[rows]
        rows = rows[(label_of == label) if label is not None else (label_of != NOWHERE)]
        start = np.repeat(at_m[None], len(rows), axis=0)
        rows = rows[~self.roadmap.sheets.blocked(start, nodes.at_m[rows])]
        keep_outs, radius_m = (kind.keep_outs, kind.radius_m) if kind is not None else ((), 0.0)
        for keep_out in keep_outs:
            if keep_out.distance_m(at_m[None])[0] > wanted_m(keep_out, radius_m) + reach:
                continue
            rows = rows[passes(keep_out, radius_m, at_m, nodes.at_m[rows], samples=9)]
        if not len(rows):
            return none
        start = np.repeat(at_m[None], len(rows), axis=0)
        length = np.linalg.norm(nodes.at_m[rows] - at_m, axis=1)
        stand_off = job.routing.stand_off_m
        held = supported(
            self.roadmap.sheets,
            self.roadmap.panels,
            start,
            nodes.at_m[rows],
            away=nodes.away[rows],
            reach_m=_SUPPORT * stand_off,
        )
        held &= length <= REACH_SPACINGS * job.routing.node_spacing_m
        return Sight(rows, length * np.where(held, 1.0, AIR_FACTOR), ~held)

    def sees(self, one_m: Floats, other_m: Floats, kind: Kind) -> bool:
        """Whether a cable of a kind goes straight from one point to another, clear of sheets and keep-outs."""
        if self.roadmap.sheets.tube_blocked(one_m[None], other_m[None], kind.radius_m)[0]:
            return False
        return all(
            bool(passes(k, kind.radius_m, one_m, other_m[None], samples=17)[0]) for k in kind.keep_outs
        )

    def port(self, port: Port, label: int, kind: Kind, radius_m: float, bend_m: float) -> Terminal:
        """The terminal of a port; it sees no node when nothing to clip to is within reach."""
        points = lead_out_m(self.roadmap.sheets, port, radius_m=radius_m, bend_m=bend_m)
        lead_m = float(np.linalg.norm(points[-1] - points[0]))
        sight = self.sight(points[-1], label, kind, lead_m)
        return Terminal(port.full_name, points, sight.nodes, sight.legs_m, sight.free)

    def outlook(self, port: Port, kind: Kind, radius_m: float, bend_m: float) -> Outlook:
        """What a cable sees of the panels from a port, to say why its terminal has no node."""
        roadmap = self.roadmap
        return Outlook.of(
            port,
            roadmap.body,
            roadmap.sheets,
            roadmap.job.routing,
            kind.keep_outs,
            radius_m=radius_m,
            bend_m=bend_m,
        )

    def mouth(self, hole: PassThrough, side: int, label: int, kind: Kind, radius_m: float) -> Terminal:
        """One end of a passage: `side` -1 or +1 along its axis."""
        centre = np.array(hole.position.at_m)
        out = _mouth_m(hole, side, max(self.roadmap.job.routing.stand_off_m, radius_m))
        sight = self.sight(out, label, kind)
        return Terminal(
            f"{hole.name} ({side:+d})", np.stack([centre, out]), sight.nodes, sight.legs_m, sight.free
        )

    def sides(self, hole: PassThrough) -> tuple[int, int] | None:
        """Which of the two joined spaces lies on the -1 and on the +1 side of a hole, as indices; None unknown.

        The nodes seen from both mouths decide: boxes may be off, what is seen is not.
        """
        index = {space.name: i for i, space in enumerate(self.roadmap.job.spaces)}
        one, other = (index[name] for name in hole.joins)
        score = {}
        for side in (-1, 1):
            seen = self.mouth_labels(hole, side)
            for label in (one, other):
                score[side, label] = float(seen.get(label, 0))
        straight = score[-1, one] + score[1, other]
        turned = score[-1, other] + score[1, one]
        if straight == turned:
            return None
        return (one, other) if straight > turned else (other, one)

    def mouth_labels(self, hole: PassThrough, side: int) -> dict[int, int]:
        """How many nodes of each space a mouth sees."""
        sight = self.sight(_mouth_m(hole, side, self.roadmap.job.routing.stand_off_m), None, None)
        labels, counts = np.unique(self.roadmap.label[sight.nodes], return_counts=True)
        return dict(zip(labels.tolist(), counts.tolist(), strict=True))
