"""Looking for places where a hole could be made and would pay.

Stage      drilling
Units      m
Method     panels that may be drilled are sampled evenly; a point is kept when its two sides belong
           to different spaces and it keeps its distance to rims, folds, other holes and keep-outs;
           what it would save each cable follows from the distance fields of the harness; the best
           are looked through to what lies behind
Safe side  a second sheet is passed only when it may be drilled too and lies parallel
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import networkx as nx
import numpy as np
from scipy.spatial import cKDTree

from routecut.drilling.behind import look
from routecut.drilling.judge import sides, too_close
from routecut.drilling.scene import Scene
from routecut.drilling.size import CLEAR_SIZES_M, GROMMET_WALL_M, plug_of
from routecut.drilling.ways import with_plug
from routecut.geometry.keep_out import KEEP_OUT_MARGIN_M
from routecut.geometry.triangles import dot
from routecut.model.body import Floats, Ints
from routecut.model.job import ANY, Cable, HoleState, PassThrough, Position, vec3
from routecut.roadmap.sample import spread, thin
from routecut.roadmap.spaces import NOWHERE
from routecut.routes.chains import COST
from routecut.routes.harness import Harness
from routecut.routes.search import terminal

SPACING_M: Final = 0.050
"""Samples of the panels are about this far apart. [m]"""

DOUBLE_M: Final = 0.070
"""Two sheets this near are one double sheet, drilled through in one go. [m]"""

DOUBLE_SPARE_M: Final = 0.010
"""Declared beyond the gap of a double sheet: pressed rims and curved skins. [m]"""

LOST_WORTH_M: Final = 50.0
"""What reaching a cable that can't be reached is worth when places are ranked. [m]"""

_PARALLEL_COS: Final = 0.94
_APART_M: Final = 0.15
_PER_PAIR: Final = 4
_MOST: Final = 20
_TRIES: Final = 400
_LEAST_GAIN_M: Final = 0.3
_SEED: Final = 31
_NODES: Final = 8


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Points of panels where a hole could be made.

    Attributes
    ----------
    at_m, axis : (n, 3) float64
        Middle between the sheets passed, and unit normal.
    depth_m, clear_m : (n,) float64
        Declared depth, and the largest clear hole.
    label : (n, 2) int64
        Spaces against the axis and along it.
    nodes, legs_m : (n, 2, k)
        Roadmap nodes seen from either mouth (-1 none), and how far they are. [m]
    """

    at_m: Floats
    axis: Floats
    depth_m: Floats
    clear_m: Floats
    label: Ints
    nodes: Ints
    legs_m: Floats

    def of(self, rows: Ints) -> Spots:
        """Some of them."""
        return Spots(
            self.at_m[rows],
            self.axis[rows],
            self.depth_m[rows],
            self.clear_m[rows],
            self.label[rows],
            self.nodes[rows],
            self.legs_m[rows],
        )


def sampled(scene: Scene, spacing_m: float = SPACING_M) -> tuple[Floats, Floats]:
    """Even samples of the panels that may be drilled, and the normal at each, (n, 3) twice. [m]"""
    points, normal = spread(scene.body.triangles_m[scene.drillable], spacing_m, seed=_SEED)
    rows = thin(points, normal, spacing_m, alike=0.9, apart_m=0.005)
    return points[rows], normal[rows]


def possible(scene: Scene, harness: Harness, points: Floats, normal: Floats) -> Spots:
    """Of samples of panels, those where a hole keeps its distances and parts two spaces."""
    job, roadmap = scene.job, harness.roadmap
    share = max(job.drilling.edge_distance_diameters, 0.5)
    least = CLEAR_SIZES_M[0] + 2 * GROMMET_WALL_M
    # what other holes, rims and folds leave room for
    room = np.full(len(points), np.inf)
    for hole in job.pass_throughs:
        off = np.linalg.norm(points - np.array(hole.position.at_m), axis=1)
        room = np.minimum(room, (off - hole.diameter_m / 2 - hole.depth_m / 2) / share)
    rows = np.flatnonzero(room >= least)
    points, normal, room = points[rows], normal[rows], room[rows]
    centre, depth, keep = _through(scene, points, normal)
    centre, normal, depth, room = centre[keep], normal[keep], depth[keep], room[keep]
    # the other skin of a double sheet has rims and folds of its own
    skin = np.maximum(depth - DOUBLE_SPARE_M, 0.0)[:, None] / 2 * normal
    room = np.minimum(room, scene.edge_distance_m(centre + skin) / share)
    room = np.minimum(room, scene.edge_distance_m(centre - skin) / share)
    rows = np.flatnonzero(room >= least)
    centre, normal, depth, room = centre[rows], normal[rows], depth[rows], room[rows]
    if not len(centre):
        return _none()
    # both skins of a double sheet propose the same holes
    rows = thin(centre, normal, 0.6 * SPACING_M, alike=0.9, apart_m=0.02)
    centre, normal, depth, room = centre[rows], normal[rows], depth[rows], room[rows]
    nodes, legs, label = _seen(harness, centre, normal, depth)
    allowed = (label != NOWHERE).all(axis=1) & (label[:, 0] != label[:, 1])
    for one, other in roadmap.open_pairs:
        allowed &= ~((label[:, 0] == one) & (label[:, 1] == other))
    for keep_out in scene.keep_outs:
        wanted = keep_out.clearance_m + least / 2 + KEEP_OUT_MARGIN_M
        if ANY in keep_out.keep_out.applies_to:
            stand = (depth / 2 + job.routing.stand_off_m)[:, None] * normal
            for at in (centre, centre - stand, centre + stand):
                allowed &= keep_out.distance_m(at) >= wanted
    sizes = np.array(CLEAR_SIZES_M)
    clear = sizes[np.searchsorted(sizes + 2 * GROMMET_WALL_M, room, side="right") - 1]
    return Spots(centre, normal, depth, clear, label, nodes, legs).of(np.flatnonzero(allowed))


def _none() -> Spots:
    point, number = np.zeros((0, 3)), np.zeros(0)
    seen = np.zeros((0, 2, _NODES))
    return Spots(point, point, number, number, np.zeros((0, 2), dtype=np.int64), seen.astype(np.int64), seen)


def _through(scene: Scene, points: Floats, normal: Floats) -> tuple[Floats, Floats, np.ndarray]:
    """Middle and declared depth of a hole through each point, and whether sheets near it allow one."""
    centre, depth = points.copy(), np.zeros(len(points))
    keep = np.ones(len(points), dtype=bool)
    double = np.zeros(len(points), dtype=bool)
    for side in (-1.0, 1.0):
        out = side * normal
        t = np.full(len(points), 1e-3)
        alive = np.ones(len(points), dtype=bool)
        for _ in range(4):  # trim comes off: look behind it
            rows = np.flatnonzero(alive)
            distance, face = scene.sheets.first_hit(
                points[rows] + t[rows, None] * out[rows], out[rows], DOUBLE_M
            )
            gap = t[rows] + distance
            met = np.isfinite(distance) & (gap <= DOUBLE_M)
            alive[rows[~met]] = False
            rows, gap, face = rows[met], gap[met], face[met]
            soft = scene.trim[face]
            t[rows[soft]] = gap[soft] + 1e-3
            hard, gap, face = rows[~soft], gap[~soft], face[~soft]
            alive[hard] = False
            parallel = np.abs(dot(scene.normals[face], normal[hard])) >= _PARALLEL_COS
            fine = scene.drillable[face] & parallel & ~double[hard]
            # the same is found again by looking behind, but that takes longer
            keep[hard[~fine & (gap < scene.job.drilling.behind_m)]] = False
            centre[hard[fine]] += out[hard[fine]] * gap[fine, None] / 2
            depth[hard[fine]] = gap[fine] + DOUBLE_SPARE_M
            double[hard[fine]] = True
    return centre, depth, keep


def _seen(harness: Harness, centre: Floats, normal: Floats, depth: Floats) -> tuple[Ints, Floats, Ints]:
    """Nodes seen from both mouths, how far, and the space most of them are in."""
    roadmap = harness.roadmap
    job, at = roadmap.job, roadmap.nodes.at_m
    tree = cKDTree(at)
    nodes = np.full((len(centre), 2, _NODES), -1, dtype=np.int64)
    legs = np.full((len(centre), 2, _NODES), np.inf)
    label = np.full((len(centre), 2), NOWHERE, dtype=np.int64)
    for k, side in enumerate((-1.0, 1.0)):
        mouth = centre + side * normal * (depth / 2 + job.routing.stand_off_m)[:, None]
        distance, row = tree.query(mouth, k=_NODES, distance_upper_bound=2.0 * job.routing.node_spacing_m)
        spot, rank = np.nonzero(np.isfinite(distance))
        free = ~roadmap.sheets.blocked(mouth[spot], at[row[spot, rank]])
        spot, rank = spot[free], rank[free]
        node = row[spot, rank]
        nodes[spot, k, rank] = node
        legs[spot, k, rank] = distance[spot, rank]
        votes = np.zeros((len(centre), len(job.spaces)))
        sure = roadmap.label[node] != NOWHERE
        np.add.at(votes, (spot[sure], roadmap.label[node][sure]), 1.0)
        total = votes.sum(axis=1)
        clear = (total > 0) & (votes.max(axis=1, initial=0) >= 0.75 * np.maximum(total, 1))
        label[clear, k] = votes.argmax(axis=1)[clear]
    return nodes, legs, label


def savings(harness: Harness, spots: Spots, cables: Sequence[Cable], now_m: Mapping[str, float]) -> Floats:
    """What a hole at each spot alone would save each cable, (cables, n). [m]

    Parameters
    ----------
    harness : Harness
        With the holes there are.
    now_m : mapping of str to float
        Price of each cable's way today; infinite where there is none.
    """
    found = np.zeros((len(cables), len(spots.at_m)))
    for c, cable in enumerate(cables):
        if cable.through:  # told which holes to use: a further one is not for it
            continue
        there = _reached(harness, cable, cable.from_port)
        back = _reached(harness, cable, cable.to_port)
        lead = spots.depth_m + 2 * harness.job.routing.stand_off_m
        best = np.full(len(spots.at_m), np.inf)
        for one, other in ((0, 1), (1, 0)):
            best = np.minimum(best, _at(there, spots, one) + _at(back, spots, other) + lead)
        now = min(now_m[cable.name], LOST_WORTH_M)
        wide = spots.clear_m >= max(cable.type.diameter_m, plug_of(harness.job, cable))
        saved = np.maximum(now - np.minimum(best, LOST_WORTH_M), 0.0)
        found[c] = np.where(wide, saved, 0.0)
    return found


def _at(reached_m: Floats, spots: Spots, mouth: int) -> Floats:
    nodes = spots.nodes[:, mouth]
    return np.asarray(
        np.where(nodes >= 0, reached_m[nodes] + spots.legs_m[:, mouth], np.inf).min(axis=1, initial=np.inf)
    )


def _reached(harness: Harness, cable: Cable, port: str) -> Floats:
    """Price of the way from a port to every roadmap node, through the holes there are, (n,). [m]"""
    graph = with_plug(harness, cable, plug_of(harness.job, cable))
    price = nx.single_source_dijkstra_path_length(graph, port, weight=COST)
    best = np.full(len(harness.roadmap.nodes.at_m), np.inf)
    for name, so_far in price.items():
        here = terminal(harness, cable, name)
        if len(here.nodes):
            field, _ = harness.reach(cable, here)
            best = np.minimum(best, so_far + field[: len(best)])
    return best


def find_places(
    scene: Scene, harness: Harness, cables: Sequence[Cable], now_m: Mapping[str, float]
) -> tuple[list[PassThrough], int, int]:
    """New places worth having, best first.

    Returns
    -------
    list of PassThrough
        Named ``place 1``, ``place 2``, ...; state found, diameter the largest there is room for.
    int, int
        Points of the panels looked at, and those where a hole could be made.
    """
    points, normal = sampled(scene)
    spots = possible(scene, harness, points, normal)
    if not len(spots.at_m) or not cables:
        return [], len(points), len(spots.at_m)
    gain = savings(harness, spots, cables, now_m)
    total = gain.sum(axis=0)
    # the best for all together, and the best few for each cable
    order = list(np.argsort(-total, kind="stable")[:_TRIES])
    for row in gain:
        order += list(np.argsort(-row, kind="stable")[:10])
    chosen: list[int] = []
    taken = {h.name for h in harness.job.pass_throughs}
    for i in dict.fromkeys(int(k) for k in order):
        if len(chosen) >= _MOST or total[i] < _LEAST_GAIN_M:
            continue
        pair = sorted(spots.label[i].tolist())
        alike = [k for k in chosen if sorted(spots.label[k].tolist()) == pair]
        if len(alike) >= _PER_PAIR:
            continue
        if any(np.linalg.norm(spots.at_m[k] - spots.at_m[i]) < _APART_M for k in chosen):
            continue
        if _sound(scene, harness, spots, i):
            chosen.append(i)
    names = [s.name for s in harness.job.spaces]
    found = []
    for number, i in enumerate(chosen, start=1):
        name = f"place {number}"
        while name in taken:
            name += "'"
        one, other = (names[k] for k in spots.label[i])
        found.append(
            PassThrough(
                name=name,
                position=Position(at_m=vec3(spots.at_m[i], 5)),
                axis=vec3(spots.axis[i], 5),
                diameter_m=float(spots.clear_m[i]),
                state=HoleState.FOUND,
                joins=(one, other),
                depth_m=float(spots.depth_m[i]),
            )
        )
    return found, len(points), len(spots.at_m)


def _sound(scene: Scene, harness: Harness, spots: Spots, i: int) -> bool:
    """Whether what lies behind allows a hole."""
    names = [s.name for s in harness.job.spaces]
    drilled = float(spots.clear_m[i]) + 2 * GROMMET_WALL_M
    low, high = look(
        scene,
        spots.at_m[i],
        spots.axis[i],
        diameter_m=drilled,
        depth_m=float(spots.depth_m[i]),
        spaces=(names[spots.label[i, 0]], names[spots.label[i, 1]]),
    )
    _, _, refused = sides(scene, low, high)
    return refused is None and not too_close(scene, spots.at_m[i], drilled / 2)
