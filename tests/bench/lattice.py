"""networkx on the 26 neighbours of every cell of the band; a hop that meets a sheet is left out."""

from __future__ import annotations

from itertools import product

import networkx as nx
import numpy as np

from routecut.geometry.sheets import Sheets
from routecut.survey import Survey
from tests.bench.band import make
from tests.bench.paths import Paths, ends_m

_SIDES = [side for side in product((-1, 0, 1), repeat=3) if side > (0, 0, 0)]


def plan(seen: Survey, pitch_m: float) -> Paths:
    """A way for each cable, found with Dijkstra's algorithm from port to port."""
    sheets = Sheets(seen.body.triangles_m)
    band = make(seen, sheets, pitch_m, least_m=0.003, most_m=0.012 + pitch_m)
    cells = band.cells()
    number = np.full(band.shape, -1, dtype=np.int64)
    number[tuple(cells.T)] = np.arange(len(cells))
    at = band.at_m(cells)
    graph = nx.Graph()
    graph.add_nodes_from(range(len(cells)))
    holes = [(np.array(h.position.at_m), np.array(h.axis), h.diameter_m) for h in seen.job.pass_throughs]
    for side in _SIDES:
        other = cells + side
        ok = ((other >= 0) & (other < band.shape)).all(axis=1)
        a = np.flatnonzero(ok)
        b = number[tuple(other[a].T)]
        a, b = a[b >= 0], b[b >= 0]
        meets = sheets.blocked(at[a], at[b])
        for centre, axis, diameter in holes:
            middle = (at[a] + at[b]) / 2 - centre
            beside = np.linalg.norm(middle - (middle @ axis)[:, None] * axis, axis=1)
            meets &= ~((np.abs(middle @ axis) < 2 * pitch_m) & (beside < diameter / 2))
        length = float(np.linalg.norm(side)) * pitch_m
        graph.add_weighted_edges_from(
            (i, j, length) for i, j in zip(a[~meets].tolist(), b[~meets].tolist(), strict=True)
        )
    found: Paths = {}
    for name, ends in ends_m(seen).items():
        first, last = number[tuple(band.nearest(ends).T)].tolist()
        try:
            way = nx.dijkstra_path(graph, first, last)
        except nx.NetworkXNoPath:
            continue
        found[name] = np.concatenate([ends[:1], at[way], ends[1:]])
    return found
