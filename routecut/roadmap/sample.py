"""Nodes of the roadmap: even samples off both sides of every panel, and on its edges.

Stage      roadmap
Units      m
Leaves     which space a node is in: see spaces.py; who may use it: see build.py
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from routecut.geometry.sheets import Sheets
from routecut.geometry.triangles import dot, unit
from routecut.model.body import Floats, Ints

_SEED = 20
"""Any fixed number: the same body gives the same nodes."""

_THIN = 0.8
"""Least distance between samples of one sheet, as a share of the spacing."""

_ALONG_EDGE = 0.6
"""Distance of nodes along an edge, as a share of the spacing."""

_WELD_M = 0.004
"""Vertices this close are one when edges are looked for: cures cracks of a triangle soup."""

_FLAT_DEG = 165.0
"""Sheets meeting at a wider angle than this need no node of their own."""

_MITRE_MOST = 4.0
"""A mitre further out than this many stand-offs is capped: a blade has no useful mitre."""

_HELD = 0.97
"""A node may be this much nearer to a sheet than the stand-off (facets of a curved sheet)."""

_EPS_M = 3e-4


@dataclass(frozen=True, slots=True, eq=False)
class Nodes:
    """Points where a cable may be clipped.

    Attributes
    ----------
    at_m : (n, 3) float64
    away : (n, 3) float64
        Unit direction from the sheet to the node.
    face : (n,) int64
        The nearest face.
    """

    at_m: Floats
    away: Floats
    face: Ints


def thin(points_m: Floats, facing: Floats, radius_m: float, *, alike: float, apart_m: float) -> Ints:
    """Rows kept so that no two that face alike are closer than the radius.

    Two points compete only when their directions agree (scalar product above `alike`) and
    they lie in one sheet (offset along the direction below `apart_m`): the two skins of a
    double sheet keep their own samples. Earlier rows win.

    Returns
    -------
    (m,) int64, ascending
    """
    pairs = cKDTree(points_m).query_pairs(radius_m, output_type="ndarray")
    a, b = pairs[:, 0], pairs[:, 1]
    rival = (dot(facing[a], facing[b]) > alike) & (
        np.abs(dot(points_m[a] - points_m[b], facing[a])) < apart_m
    )
    a, b = a[rival], b[rival]
    low, high = np.minimum(a, b), np.maximum(a, b)
    alive = np.ones(len(points_m), dtype=bool)
    kept = np.zeros(len(points_m), dtype=bool)
    while alive.any():
        # A row wins its neighbourhood when no living earlier row rivals it.
        beaten = np.zeros(len(points_m), dtype=bool)
        both = alive[low] & alive[high]
        beaten[high[both]] = True
        winner = alive & ~beaten
        kept |= winner
        alive &= ~winner
        alive[high[winner[low]]] = False
        alive[low[winner[high]]] = False
    return np.flatnonzero(kept)


def _settle(sheets: Sheets, base_m: Floats, at_m: Floats, stand_off_m: float) -> Nodes:
    """Push nodes off whatever is nearer than the stand-off, then keep those that are free and seen from their base."""
    at = at_m.copy()
    for _ in range(4):
        distance, place, _ = sheets.closest(at, stand_off_m)
        close = np.flatnonzero(distance < stand_off_m * 0.999)
        if not len(close):
            break
        away = unit(at[close] - place[close])
        at[close] = place[close] + away * stand_off_m
    distance, place, face = sheets.closest(at, stand_off_m * 1.5)
    free = (distance >= stand_off_m * _HELD) & (face >= 0)
    start = base_m + unit(at_m - base_m) * _EPS_M
    free[free] &= ~sheets.blocked(start[free], at[free])
    return Nodes(at[free], unit(at - place)[free], face[free])


def surface_nodes(
    sheets: Sheets, panels: npt.NDArray[np.bool_], *, spacing_m: float, stand_off_m: float
) -> Nodes:
    """Even samples at the stand-off on both sides of the panels.

    Parameters
    ----------
    sheets : Sheets
    panels : (n,) bool
        The faces cables may be clipped to.
    """
    points, normal = spread(sheets.triangles_m[panels], _THIN * spacing_m, seed=_SEED)
    if not len(points):
        return Nodes(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0, dtype=np.int64))
    rows = thin(points, normal, _THIN * spacing_m, alike=0.7, apart_m=stand_off_m / 2)
    points, normal = points[rows], normal[rows]
    base = np.concatenate([points, points])
    return _settle(sheets, base, base + np.concatenate([normal, -normal]) * stand_off_m, stand_off_m)


def spread(corners: Floats, spacing_m: float, *, seed: int) -> tuple[Floats, Floats]:
    """Points all over triangles, some four where one is wanted, in random order: to be thinned.

    Parameters
    ----------
    corners : (n, 3, 3) float64
    spacing_m : float
    seed : int
        The same triangles and seed give the same points.

    Returns
    -------
    (k, 3) float64, (k, 3) float64
        Points, and the unit normal of their triangles, turned so that the winding has no say.
    """
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(cross, axis=1) / 2
    total = float(area.sum())
    if not total > 0:
        return np.zeros((0, 3)), np.zeros((0, 3))
    rng = np.random.default_rng(seed)
    count = int(np.ceil(4 * total / spacing_m**2))
    # One sample in each of `count` equal slices of the area: more even than free draws.
    slices = (np.arange(count) + rng.random(count)) / count * total
    pick = np.minimum(np.searchsorted(np.cumsum(area), slices), len(corners) - 1)
    u, v = rng.random(count), rng.random(count)
    fold = u + v > 1
    u, v = np.where(fold, 1 - u, u), np.where(fold, 1 - v, v)
    c = corners[pick]
    points = c[:, 0] + u[:, None] * (c[:, 1] - c[:, 0]) + v[:, None] * (c[:, 2] - c[:, 0])
    normal = unit(cross[pick])
    # One sense for all normals, or the two sides of one sheet with random winding would differ.
    lead = np.abs(normal).argmax(axis=1)
    normal *= np.sign(normal[np.arange(count), lead])[:, None]
    order = rng.permutation(count)
    return points[order], normal[order]


def _welded_edges(triangles_m: Floats) -> tuple[Floats, Floats, Ints, Ints]:
    """Edges of the soup after welding: ends (e, 3) twice, and for each face corner its edge and face."""
    points, inverse = np.unique(triangles_m.reshape(-1, 3), axis=0, return_inverse=True)
    pairs = cKDTree(points).query_pairs(_WELD_M, output_type="ndarray")
    links = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(points), len(points)))
    _, group = connected_components(links, directed=False)
    corner = group[inverse.reshape(-1)].reshape(-1, 3)
    first = np.full(group.max() + 1, -1, dtype=np.int64)
    first[group[::-1]] = np.arange(len(points))[::-1]
    half = np.sort(np.concatenate([corner[:, [0, 1]], corner[:, [1, 2]], corner[:, [2, 0]]]), axis=1)
    face = np.tile(np.arange(len(corner)), 3)
    real = half[:, 0] != half[:, 1]
    half, face = half[real], face[real]
    edges, edge = np.unique(half, axis=0, return_inverse=True)
    return points[first[edges[:, 0]]], points[first[edges[:, 1]]], edge.reshape(-1).astype(np.int64), face


def edge_nodes(
    sheets: Sheets, panels: npt.NDArray[np.bool_], *, spacing_m: float, stand_off_m: float
) -> Nodes:
    """Nodes at creases, mitres and rims, where surface samples do not see each other.

    In the sector between two sheets that meet at an angle the node lies where their
    stand-off planes meet; beyond a rim it lies in the plane of the sheet.
    """
    faces = np.flatnonzero(panels)
    triangles = sheets.triangles_m[faces]
    if not len(triangles):
        return Nodes(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0, dtype=np.int64))
    start, end, edge, face = _welded_edges(triangles)
    along = unit(end - start)
    towards = triangles.mean(axis=1)[face] - start[edge]
    towards = unit(towards - dot(towards, along[edge])[:, None] * along[edge])
    order = np.argsort(edge, kind="stable")
    edge, towards = edge[order], towards[order]
    first = np.searchsorted(edge, np.arange(len(start)))
    count = np.bincount(edge, minlength=len(start))

    base: list[Floats] = []
    offset: list[Floats] = []

    def place(edges: Ints, direction: Floats, reach: Floats) -> None:
        length = np.linalg.norm(end[edges] - start[edges], axis=1)
        steps = np.maximum(1, np.ceil(length / (_ALONG_EDGE * spacing_m))).astype(np.int64)
        row = np.repeat(np.arange(len(edges)), steps)
        within = np.arange(len(row)) - np.repeat(np.cumsum(steps) - steps, steps)
        t = (within + 0.5) / steps[row]
        e = edges[row]
        base.append(start[e] + t[:, None] * (end[e] - start[e]))
        offset.append(direction[row] * reach[row, None])

    rims = np.flatnonzero(count == 1)
    place(rims, -towards[first[rims]], np.full(len(rims), stand_off_m))

    def sectors(edges: Ints, one: Floats, other: Floats, *, reflex: bool) -> None:
        angle = np.degrees(np.arccos(np.clip(dot(one, other), -1, 1)))
        bent = np.flatnonzero(angle < _FLAT_DEG)
        edges, angle = edges[bent], angle[bent]
        middle = unit(one[bent] + other[bent])
        reach = stand_off_m * np.minimum(1 / np.maximum(np.sin(np.radians(angle) / 2), 1e-9), _MITRE_MOST)
        place(edges, middle, reach)
        if reflex:
            place(edges, -middle, np.where(angle < 30, stand_off_m, reach))

    pairs = np.flatnonzero(count == 2)
    sectors(pairs, towards[first[pairs]], towards[first[pairs] + 1], reflex=True)
    for e in np.flatnonzero(count > 2):
        round_edge = towards[first[e] : first[e] + count[e]]
        side = np.cross(along[e], round_edge[0])
        turn = np.argsort(np.arctan2(round_edge @ side, round_edge @ round_edge[0]), kind="stable")
        one, other = round_edge[turn], round_edge[np.roll(turn, -1)]
        sectors(np.full(len(one), e), one, other, reflex=False)

    base_m, offset_m = np.concatenate(base), np.concatenate(offset)
    rows = thin(base_m, unit(offset_m), 0.5 * spacing_m, alike=0.7, apart_m=spacing_m)
    return _settle(sheets, base_m[rows], (base_m + offset_m)[rows], stand_off_m)
