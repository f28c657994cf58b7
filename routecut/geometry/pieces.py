"""Triangles cut into small pieces, looked up by place.

What a strand is asked about moves little from one question to the next, so what lies
round a place is kept: space is cut into cells, and the pieces near a cell are looked for
once, in k-d trees over their centres.

Units      m
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.spatial import cKDTree

from routecut.geometry.frames import Frames
from routecut.geometry.triangles import split_to
from routecut.model.body import Floats, Ints

_PIECE_M = 0.060
"""Longest edge of the pieces in the k-d trees; smaller costs memory, larger costs candidates."""

_SIZE_CLASSES_M = (0.006, 0.015, 0.028, 0.041)
"""Piece radii by tree: a search has to reach that much further than asked."""

_REACHES = 1.3
"""Points whose reaches differ by more than this factor are asked apart."""

_CELL = 0.5
_CELL_LEAST_M = 0.01
"""Edge of a cell as a share of the reach: small ones are many, large ones hold pieces nobody asked for."""

_ROW = 1 << 21
"""More cells than this side by side there are not."""


@dataclass(eq=False)
class _Cells:
    """What lies near the cells that have been asked about, for one reach.

    Attributes
    ----------
    edge_m : float
    key : (m,) int64
        Of the cells, ascending.
    first, count : (m,) int64
        Where its pieces stand in `piece`.
    piece : (k,) int64
    """

    edge_m: float
    key: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    first: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    count: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    piece: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    def add(self, key: Ints, count: Ints, piece: Ints) -> None:
        """Cells that were not known, and their pieces one after the other."""
        first = len(self.piece) + np.cumsum(count) - count
        self.piece = np.concatenate([self.piece, piece])
        keys = np.concatenate([self.key, key])
        order = np.argsort(keys, kind="stable")
        self.key = keys[order]
        self.first = np.concatenate([self.first, first])[order]
        self.count = np.concatenate([self.count, count])[order]


class Pieces:
    """The pieces of triangles, and which triangle each is of.

    Parameters
    ----------
    triangles_m : (n, 3, 3) float64
    """

    def __init__(self, triangles_m: Floats) -> None:
        corners, parent = split_to(triangles_m, _PIECE_M)
        centre = corners.mean(axis=1)
        radius = (
            np.linalg.norm(corners - centre[:, None], axis=2).max(axis=1) if len(corners) else np.zeros(0)
        )
        size = np.searchsorted(_SIZE_CLASSES_M, radius)
        order = np.argsort(size, kind="stable")
        self._frames = Frames.of(corners[order])
        self._face = parent[order]
        self._radius_m = radius[order]
        centre, size = centre[order], size[order]
        self._trees: list[tuple[cKDTree, float, int]] = []
        for k, largest in enumerate(_SIZE_CLASSES_M):
            rows = np.flatnonzero(size == k)
            if len(rows):
                self._trees.append((cKDTree(centre[rows]), largest, int(rows[0])))
        self._low_m = triangles_m.min(axis=(0, 1)) if len(triangles_m) else np.zeros(3)
        self._cells: dict[int, _Cells] = {}

    def near(self, points_m: Floats, reach_m: Floats, *, kept: bool) -> tuple[Ints, Ints, Floats, Floats]:
        """Point, face, nearest place and distance of all pieces within each point's reach.

        Parameters
        ----------
        points_m : (n, 3) float64
        reach_m : (n,) float64
        kept : bool
            The same places will be asked about again.
        """
        i, j = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
        step = np.ceil(np.log(np.maximum(reach_m, 1e-4)) / np.log(_REACHES) - 1e-9).astype(np.int64)
        for k in np.unique(step).tolist():
            rows = np.flatnonzero(step == k)
            reach = _REACHES**k
            if kept:
                point, piece = self._about(points_m[rows], k, reach)
            else:
                point, piece = self._candidates(points_m[rows], reach)
            i.append(rows[point])
            j.append(piece)
        point, piece, at, distance = self._frames.within(
            points_m, reach_m, (np.concatenate(i), np.concatenate(j))
        )
        return point, self._face[piece], at, distance

    def at_most_m(self, points_m: Floats) -> Floats:
        """What the nearest piece is no further off than: its middle is a place on it, (n,). [m]"""
        least = np.full(len(points_m), np.inf)
        for tree, _, _ in self._trees:
            least = np.minimum(least, tree.query(points_m)[0])
        return least * (1 + 1e-9) + 1e-9

    def _candidates(self, points_m: Floats, reach_m: float) -> tuple[Ints, Ints]:
        """Point and piece of pairs that may be within reach: their spheres meet."""
        own = cKDTree(points_m)
        point, piece = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
        for tree, largest, first in self._trees:
            pairs = own.sparse_distance_matrix(tree, reach_m + largest, output_type="ndarray")
            row = first + pairs["j"].astype(np.int64)
            near = np.flatnonzero(pairs["v"] <= reach_m + self._radius_m[row])
            point.append(pairs["i"][near].astype(np.int64))
            piece.append(row[near])
        return np.concatenate(point), np.concatenate(piece)

    def _about(self, points_m: Floats, step: int, reach_m: float) -> tuple[Ints, Ints]:
        """The same from what is known of the cells the points are in."""
        cells = self._cells.setdefault(step, _Cells(max(_CELL * reach_m, _CELL_LEAST_M)))
        at = np.floor((points_m - self._low_m) / cells.edge_m).astype(np.int64)
        keys = (at[:, 0] * _ROW + at[:, 1]) * _ROW + at[:, 2]
        some, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
        inverse = inverse.reshape(-1)
        new = np.flatnonzero(~np.isin(some, cells.key, assume_unique=True))
        if len(new):
            middle = self._low_m + (at[first[new]] + 0.5) * cells.edge_m
            point, piece = self._candidates(middle, reach_m + cells.edge_m * 3**0.5 / 2 + 1e-9)
            order = np.argsort(point, kind="stable")
            cells.add(some[new], np.bincount(point, minlength=len(new)), piece[order])
        row = np.atleast_1d(np.searchsorted(cells.key, some))[inverse]
        count = cells.count.take(row)
        point = np.repeat(np.arange(len(points_m)), count)
        within: Ints = np.arange(len(point)) - np.repeat(np.cumsum(count) - count, count)
        return point, cells.piece.take(cells.first.take(row).take(point) + within)
