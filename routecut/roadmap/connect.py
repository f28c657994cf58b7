"""Hops of the roadmap: which nodes see each other, and what a cable finds on the way.

Units      m
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_matrix
from scipy.spatial import cKDTree

from routecut.geometry.sheets import Sheets
from routecut.geometry.triangles import unit
from routecut.model.body import Floats, Ints
from routecut.roadmap.sample import Nodes, thin

_NEIGHBOURS = 40
_REACH = 2.5
"""Longest hop, in node spacings: k 40 and 2.5 never went the wrong way round where fewer did."""

_SUPPORT = 1.8
"""A hop's inner points are supported when a sheet lies within this many stand-offs behind them."""

_CRACK = 3.5
"""Hops shorter than this many stand-offs count as supported: they only span a crack or a crease."""

_BRIDGE_SPACING_M = 0.11
_BRIDGE_SHARE = 0.75
"""Of the bridge length, what a hop may take: tightening moves its feet, and bends lift off beyond them."""


@dataclass(frozen=True, slots=True, eq=False)
class Hops:
    """Unblocked straight lines between nodes, each listed once with `a` below `b`.

    Attributes
    ----------
    a, b : (n,) int64
    length_m : (n,) float64
    supported : (n,) bool
        A sheet runs along it; the others are bridges through free air.
    """

    a: Ints
    b: Ints
    length_m: Floats
    supported: npt.NDArray[np.bool_]

    def matrix(self, count: int, weight: Floats | None = None) -> csr_matrix:
        """The hops as a symmetric sparse matrix of `weight` (length where left out)."""
        w = self.length_m if weight is None else weight
        i, j = np.concatenate([self.a, self.b]), np.concatenate([self.b, self.a])
        return csr_matrix((np.concatenate([w, w]), (i, j)), shape=(count, count))


def _pairs(tree: cKDTree, points: Floats, neighbours: int, reach_m: float) -> Ints:
    distance, row = tree.query(points, k=neighbours + 1, distance_upper_bound=reach_m)
    i, rank = np.nonzero(np.isfinite(distance))
    j = row[i, rank]
    # One number a pair: rows of two would be sorted many times slower.
    pair = np.unique((np.minimum(i, j) * len(points) + np.maximum(i, j))[i != j])
    return np.stack(np.divmod(pair, len(points)), axis=1)


def supported(
    sheets: Sheets,
    panels: npt.NDArray[np.bool_],
    from_m: Floats,
    to_m: Floats,
    *,
    away: Floats,
    reach_m: float,
) -> npt.NDArray[np.bool_]:
    """Whether a panel lies within reach behind the quarter points of each line, (n,) bool."""
    held = np.ones(len(from_m), dtype=bool)
    back = -unit(away)
    for t in (0.25, 0.5, 0.75):
        rows = np.flatnonzero(held)
        start = from_m[rows] + t * (to_m[rows] - from_m[rows])
        _, face = sheets.first_hit(start, back[rows], reach_m)
        held[rows] = (face >= 0) & panels[face]
    return held


def connect(
    sheets: Sheets,
    panels: npt.NDArray[np.bool_],
    nodes: Nodes,
    *,
    spacing_m: float,
    stand_off_m: float,
    bridge_m: float,
) -> Hops:
    """Join every node with its neighbours along the sheets, and across free air up to the bridge length.

    Parameters
    ----------
    panels : (n,) bool
        Faces that carry clips.
    bridge_m : float
        Longest stretch in free air; 0 for none.
    """
    at, away = nodes.at_m, nodes.away
    near = _pairs(cKDTree(at), at, _NEIGHBOURS, _REACH * spacing_m)
    near = near[~sheets.blocked(at[near[:, 0]], at[near[:, 1]])]
    length = np.linalg.norm(at[near[:, 0]] - at[near[:, 1]], axis=1)
    direction = away[near[:, 0]] + away[near[:, 1]]
    opposed = np.linalg.norm(direction, axis=1) < 0.2  # facing sheets: nothing runs along between them
    held = supported(
        sheets, panels, at[near[:, 0]], at[near[:, 1]], away=direction, reach_m=_SUPPORT * stand_off_m
    )
    held = (held & ~opposed) | (length <= _CRACK * stand_off_m)
    if bridge_m <= 0:
        return Hops(near[held, 0], near[held, 1], length[held], held[held])
    feet = thin(at, away, _BRIDGE_SPACING_M, alike=0.5, apart_m=_BRIDGE_SPACING_M)
    far = feet[_pairs(cKDTree(at[feet]), at[feet], _NEIGHBOURS * 2, _BRIDGE_SHARE * bridge_m)]
    far = far[~sheets.blocked(at[far[:, 0]], at[far[:, 1]])]
    far_length = np.linalg.norm(at[far[:, 0]] - at[far[:, 1]], axis=1)
    far = far[far_length > _REACH * spacing_m]
    far_length = far_length[far_length > _REACH * spacing_m]
    a, b = np.concatenate([near[:, 0], far[:, 0]]), np.concatenate([near[:, 1], far[:, 1]])
    return Hops(
        np.minimum(a, b),
        np.maximum(a, b),
        np.concatenate([length, far_length]),
        np.concatenate([held, np.zeros(len(far), dtype=bool)]),
    )
