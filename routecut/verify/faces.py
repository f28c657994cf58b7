"""Which faces may be near: an index over the full mesh, and exact answers from it.

Faces are sorted by size and place and kept in leaves of 32, and those in boughs of 32,
with their boxes; huge faces beside tiny ones so never share a leaf. Boxes only rule
faces out; what is left is measured exactly.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from routecut.model.body import Floats, Ints
from routecut.verify.limits import TOUCH_M
from routecut.verify.triangles import plane_gap, point_triangle, segment_triangle

_LEAF = 32
_BLOCK = 16  # points walked together in the broad phase
_CELLS = 2_000_000  # pairs held at once: bounds memory, not the result
_GRID = 1023
_PIECE_M = 0.10  # of a line of sight
_PIECES = 8  # of it walked together: lines part quickly


def _spread(value: Ints) -> Ints:
    """Ten bits with two empty bits after each: a coordinate's share of a Morton number."""
    value = (value | (value << 16)) & 0x030000FF
    value = (value | (value << 8)) & 0x0300F00F
    value = (value | (value << 4)) & 0x030C30C3
    return (value | (value << 2)) & 0x09249249


def _gap_squared(low_a: Floats, high_a: Floats, low_b: Floats, high_b: Floats) -> Floats:
    """Squared distance between axis-parallel boxes, broadcast."""
    total: Floats | float = 0.0
    for k in range(3):  # axis by axis: no array of three times the size
        gap = np.maximum(low_b[..., k] - high_a[..., k], low_a[..., k] - high_b[..., k])
        np.maximum(gap, 0.0, out=gap)
        gap *= gap
        total = total + gap
    return np.asarray(total)


def _ranges(counts: Ints) -> Ints:
    """0..n-1 for each count, one after another."""
    return np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)


def _wrap(low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Boxes round every so many boxes that follow each other."""
    if not len(low):
        return low, high
    starts = np.arange(0, len(low), _LEAF)
    return np.minimum.reduceat(low, starts, axis=0), np.maximum.reduceat(high, starts, axis=0)


def _children(item: Ints, parent: Ints, count: int) -> tuple[Ints, Ints]:
    """Each item with each of the boxes its parent box was wrapped round."""
    begin = parent * _LEAF
    counts = np.minimum(begin + _LEAF, count) - begin
    return np.repeat(item, counts), np.repeat(begin, counts) + _ranges(counts)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Near:
    """Nearest faces of points: distances and face numbers; infinite and -1 where none. [m]"""

    any_m: Floats
    face: Ints
    chosen_m: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Met:
    """Segments and faces nearer to each other than was asked for, row by row. [m]"""

    segment: Ints
    face: Ints
    distance_m: Floats
    place: Floats


class FaceIndex:
    """All triangles, to be asked what is near points and segments.

    Parameters
    ----------
    triangles_m : (m, 3, 3) float64
        Corners. [m]
    chosen : (m,) bool, optional
        Faces whose distance is also given apart (panels); all by default.
    """

    def __init__(self, triangles_m: Floats, chosen: npt.NDArray[np.bool_] | None = None) -> None:
        self.triangles_m = np.ascontiguousarray(triangles_m, dtype=np.float64).reshape(-1, 3, 3)
        count = len(self.triangles_m)
        self.chosen = np.ones(count, dtype=bool) if chosen is None else np.asarray(chosen, dtype=bool)
        self.low, self.high = self.triangles_m.min(axis=1), self.triangles_m.max(axis=1)
        if count:
            corner, extent = (
                self.low.min(axis=0),
                max(float(np.ptp(self.triangles_m, axis=(0, 1)).max()), 1e-12),
            )
            middle = 0.5 * (self.low + self.high)
            cell = np.clip((middle - corner) / extent * _GRID, 0, _GRID).astype(np.int64)
            morton = _spread(cell[:, 0]) | (_spread(cell[:, 1]) << 1) | (_spread(cell[:, 2]) << 2)
            size = np.maximum((self.high - self.low).max(axis=1), 1e-12)
            self.order: Ints = np.lexsort((morton, np.ceil(np.log2(size)).astype(np.int64)))
        else:
            self.order = np.zeros(0, dtype=np.int64)
        self.starts: Ints = np.arange(0, count, _LEAF)
        self.leaf_low, self.leaf_high = _wrap(self.low[self.order], self.high[self.order])
        self.bough_low, self.bough_high = _wrap(self.leaf_low, self.leaf_high)

    def __len__(self) -> int:
        return len(self.triangles_m)

    def _box_faces(self, low: Floats, high: Floats, reach: float) -> Iterator[tuple[Ints, Ints]]:
        """Pairs of box and face whose boxes are within `reach`, in portions."""
        rows = max(1, _CELLS // max(len(self.bough_low), 1))
        for first in range(0, len(low), rows):
            part = slice(first, first + rows)
            near = _gap_squared(low[part, None], high[part, None], self.bough_low, self.bough_high)
            box, bough = np.nonzero(near <= reach**2)
            box = box + first
            # down to leaves, then to faces, each time only where the boxes are near
            box, leaf = _children(box, bough, len(self.starts))
            close = _gap_squared(low[box], high[box], self.leaf_low[leaf], self.leaf_high[leaf]) <= reach**2
            box, at = _children(box[close], leaf[close], len(self))
            face = self.order[at]
            close = _gap_squared(low[box], high[box], self.low[face], self.high[face]) <= reach**2
            yield box[close], face[close]

    def _item_faces(
        self, low: Floats, high: Floats, reach: float, block: int = _BLOCK
    ) -> Iterator[tuple[Ints, Ints]]:
        """The same for many small boxes that follow each other, by blocks of neighbours."""
        starts = np.arange(0, len(low), block)
        if not len(self) or not len(low):
            return
        block_low = np.minimum.reduceat(low, starts, axis=0)
        block_high = np.maximum.reduceat(high, starts, axis=0)
        for group, face in self._box_faces(block_low, block_high, reach):
            for first in range(0, len(group), _CELLS // block):
                part = slice(first, first + _CELLS // block)
                counts = np.minimum(starts[group[part]] + block, len(low)) - starts[group[part]]
                item = np.repeat(starts[group[part]], counts) + _ranges(counts)
                item_face = np.repeat(face[part], counts)
                close = (
                    _gap_squared(low[item], high[item], self.low[item_face], self.high[item_face]) <= reach**2
                )
                yield item[close], item_face[close]

    def within(self, points_m: Floats, reach_m: float) -> Near:
        """Nearest face and nearest chosen face of each point, no further than `reach_m`."""
        near = Near(
            any_m=np.full(len(points_m), np.inf),
            face=np.full(len(points_m), -1, dtype=np.int64),
            chosen_m=np.full(len(points_m), np.inf),
        )
        for item, face in self._item_faces(points_m, points_m, reach_m):
            self._measure(points_m, item, face, near)
        far = near.any_m > reach_m
        near.any_m[far], near.face[far] = np.inf, -1
        near.chosen_m[near.chosen_m > reach_m] = np.inf
        return near

    def _measure(self, points: Floats, item: Ints, face: Ints, near: Near) -> None:
        for first in range(0, len(item), _CELLS // 4):
            i, f = item[first : first + _CELLS // 4], face[first : first + _CELLS // 4]
            distance = point_triangle(points[i], self.triangles_m[f])
            before = near.any_m.copy()
            np.minimum.at(near.any_m, i, distance)
            best = (distance == near.any_m[i]) & (distance < before[i])
            near.face[i[best]] = f[best]
            of = self.chosen[f]
            np.minimum.at(near.chosen_m, i[of], distance[of])

    def nearest(self, points_m: Floats) -> Near:
        """Nearest face of each point however far, for few points or points far away.

        A leaf is opened when its box is nearer than the nearest known corner.
        """
        near = Near(
            any_m=np.full(len(points_m), np.inf),
            face=np.full(len(points_m), -1, dtype=np.int64),
            chosen_m=np.full(len(points_m), np.inf),
        )
        if not len(self):
            return near
        sample = self.triangles_m[self.order[self.starts], 0]
        rows = max(1, _CELLS // (4 * len(self.starts)))
        for first in range(0, len(points_m), rows):
            p = points_m[first : first + rows, None]
            known = _gap_squared(p, p, sample, sample).min(axis=1)
            open_ = _gap_squared(p, p, self.leaf_low, self.leaf_high) <= known[:, None] * (1 + 1e-12)
            item, leaf = np.nonzero(open_)
            item, at = _children(item + first, leaf, len(self))
            face = self.order[at]
            self._measure(points_m, item, face, near)
        return near

    def no_further_than(self, points_m: Floats) -> float:
        """A distance the nearest of the points surely keeps within of a face; infinite if none. [m]"""
        if not len(self) or not len(points_m):
            return float("inf")
        corners = self.triangles_m[self.order[self.starts], 0]
        return float(cKDTree(corners).query(points_m)[0].min()) * (1 + 1e-12)

    def segments_near(self, points_m: Floats, reach_m: float) -> Met:
        """Every pair of a segment of the polyline and a face within `reach_m` of it.

        Parameters
        ----------
        points_m : (n, 3) float64
            The polyline; segment k runs from point k to point k + 1. [m]
        reach_m : float
            [m]
        """
        starts, ends = points_m[:-1], points_m[1:]
        low, high = np.minimum(starts, ends), np.maximum(starts, ends)
        found: list[tuple[Ints, Ints, Floats, Floats]] = []
        for segment, face in self._item_faces(low, high, reach_m):
            # the plane alone rules out nearly all: a clipped cable runs along its sheet
            maybe = plane_gap(starts[segment], ends[segment], self.triangles_m[face]) <= reach_m
            s, f = segment[maybe], face[maybe]
            distance, place = segment_triangle(starts[s], ends[s], self.triangles_m[f])
            hit = distance <= reach_m
            found.append((s[hit], f[hit], distance[hit], place[hit]))
        if not found:
            none = np.zeros(0, dtype=np.int64)
            return Met(segment=none, face=none, distance_m=np.zeros(0), place=np.zeros(0))
        segment, face, distance, place = (np.concatenate(column) for column in zip(*found, strict=True))
        order = np.lexsort((face, place, segment))
        return Met(segment=segment[order], face=face[order], distance_m=distance[order], place=place[order])

    def blocked(self, starts_m: Floats, ends_m: Floats) -> npt.NDArray[np.bool_]:
        """Whether the straight way from each start to its end meets a face, (n,).

        Ways are chopped into short pieces, whose boxes hold few faces.
        """
        result = np.zeros(len(starts_m), dtype=bool)
        way = ends_m - starts_m
        pieces = np.maximum(np.ceil(np.linalg.norm(way, axis=1) / _PIECE_M).astype(np.int64), 1)
        item = np.repeat(np.arange(len(way)), pieces)
        first = (_ranges(pieces) / pieces[item])[:, None]
        a = starts_m[item] + first * way[item]
        b = starts_m[item] + (first + 1.0 / pieces[item][:, None]) * way[item]
        for piece, face in self._item_faces(np.minimum(a, b), np.maximum(a, b), TOUCH_M, _PIECES):
            maybe = plane_gap(a[piece], b[piece], self.triangles_m[face]) <= TOUCH_M
            p, f = piece[maybe], face[maybe]
            met = segment_triangle(a[p], b[p], self.triangles_m[f])[0] <= TOUCH_M
            result[item[p[met]]] = True
        return result
