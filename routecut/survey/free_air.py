"""A first set of spaces for a body nobody has described yet: where its free air is.

A proposal to be looked at, not a finding of fact: windows, open doors and holes of a scan leave no wall
between spaces that a person would part, and a seat back can part one that is whole.

Stage      survey, for a new job
Units      m
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from routecut.geometry.triangles import split_to
from routecut.model.body import Floats, Ints
from routecut.model.job import Vec3, vec3

_CELLS: Final = 80
"""Along the longest side of the body."""

_LEAST_CELL_M: Final = 0.04
_SIDES: Final = 5
"""Inside is what has the body on at least so many of its six sides, along the axes."""

_WIDE_M: Final = 0.22
"""Half as wide as openings that do not make one space of two, at least. [m]"""

_LEAST_M3: Final = 0.35
_MOST: Final = 6
_SEED_CLEAR_M: Final = 0.10
_SHARES: Final = (
    *((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1 / 3,) * 3),
    *((0.5, 0.5, 0.0), (0.0, 0.5, 0.5), (0.5, 0.0, 0.5)),
)
"""Where a triangle is looked at: close enough for its pieces, which are at most two cells long."""

_WALL_CELLS: Final = (1.5, 2.5)
"""So far inward and outward of the side of a box its wall is looked for: what cells leave uncertain."""

_WALL_SHARE: Final = 0.5
"""So much of a side has to have a sheet before it, for that sheet to be its wall."""

_FRAME: Final = 0.1
"""Of a side, left out at each edge: there the neighbouring walls are."""

_EDGE: Final = 1.5  # per cent of cells that lie outside the box of a space, on each side

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposed:
    """A box of free air, the point of it furthest from everything, and how much air it holds. [m], [m3]"""

    low_m: Vec3
    high_m: Vec3
    seed_m: Vec3
    air_m3: float


def propose_spaces(vertices_m: Floats, faces: Ints) -> tuple[Proposed, ...]:
    """Boxes round the large bodies of air inside, front to rear.

    Parameters
    ----------
    vertices_m : (n, 3) float64
    faces : (m, 3) int64
    """
    low, high = vertices_m.min(axis=0), vertices_m.max(axis=0)
    cell = max(float((high - low).max()) / _CELLS, _LEAST_CELL_M)
    start = low - cell
    shape = tuple((np.ceil((high - low) / cell).astype(int) + 3).tolist())
    solid = np.zeros(shape, dtype=bool)
    pieces, _ = split_to(vertices_m[faces], 2 * cell)
    sheet = np.concatenate([np.einsum("c,ncd->nd", share, pieces) for share in _SHARES])
    solid[tuple(np.floor((sheet - start) / cell).astype(int).T)] = True
    inside = _inside(solid)
    room = ndimage.distance_transform_edt(~solid) * cell
    cores, count = ndimage.label(inside & (room > _WIDE_M))
    sizes = np.bincount(cores.ravel(), minlength=count + 1) * cell**3
    # what lies within half an opening of a core is of its space as well
    far, nearest = ndimage.distance_transform_edt(cores == 0, return_indices=True)
    label = np.where(inside & (far * cell <= _WIDE_M + cell), cores[tuple(nearest)], 0)
    air = np.bincount(label.ravel(), minlength=count + 1) * cell**3
    wanted = [k for k in np.argsort(-air[1:]) + 1 if air[k] >= _LEAST_M3 and sizes[k] > 0][:_MOST]
    found = [
        _box(np.argwhere(label == k), np.argwhere(cores == k), room, start, cell=cell, air_m3=float(air[k]))
        for k in wanted
    ]
    walled = [_to_walls(one, sheet, cell) for one in _apart(found)]
    return tuple(sorted(walled, key=lambda one: one.low_m))


def _inside(solid: Bools) -> Bools:
    """Free cells with something solid on most sides of them."""
    sides = np.zeros(solid.shape, dtype=np.int8)
    for axis in range(3):
        sides += np.maximum.accumulate(solid, axis=axis)
        sides += np.flip(np.maximum.accumulate(np.flip(solid, axis), axis=axis), axis)
    return np.asarray(~solid & (sides >= _SIDES))


def _box(cells: Ints, core: Ints, room: Floats, start: Floats, *, cell: float, air_m3: float) -> Proposed:
    low = np.percentile(cells, _EDGE, axis=0)
    high = np.percentile(cells, 100 - _EDGE, axis=0) + 1
    deepest = core[int(room[tuple(core.T)].argmax())]
    # the walls lie half a cell further out
    corners = [start + cell * (low - 0.5), start + cell * (high + 0.5), start + cell * (deepest + 0.5)]
    low_m, high_m, seed_m = (vec3(corner, 2) for corner in corners)
    return Proposed(low_m=low_m, high_m=high_m, seed_m=seed_m, air_m3=air_m3)


def _apart(found: list[Proposed]) -> list[Proposed]:
    """Boxes that share nothing: two that do are parted halfway, where they share least and both keep their seeds."""
    boxes = [(np.array(one.low_m), np.array(one.high_m)) for one in found]
    for i, j in combinations(range(len(found)), 2):
        (a, b), (c, d) = boxes[i], boxes[j]
        shared = np.minimum(b, d) - np.maximum(a, c)
        if (shared <= 0).any():
            continue
        seeds = np.array(found[i].seed_m), np.array(found[j].seed_m)
        # only where both seeds stay well on their own side of the cut
        clear = np.abs(seeds[0] - seeds[1]) > 2 * _SEED_CLEAR_M
        if not clear.any():
            continue
        axis = int(np.argmin(np.where(clear, shared, np.inf)))
        first, second = (i, j) if seeds[0][axis] < seeds[1][axis] else (j, i)
        ends = sorted((seeds[0][axis], seeds[1][axis]))
        middle = (max(a[axis], c[axis]) + min(b[axis], d[axis])) / 2
        middle = round(float(np.clip(middle, ends[0] + _SEED_CLEAR_M, ends[1] - _SEED_CLEAR_M)), 2)
        boxes[first][1][axis] = middle
        boxes[second][0][axis] = middle
    return [
        Proposed(low_m=vec3(low, 2), high_m=vec3(high, 2), seed_m=one.seed_m, air_m3=one.air_m3)
        for one, (low, high) in zip(found, boxes, strict=True)
    ]


def _to_walls(one: Proposed, sheet_m: Floats, cell: float) -> Proposed:
    """The box with its sides on the panels before them.

    A cable is laid on the panel: a box that stops a cell short of it would leave the cable in no space.
    """
    low, high = np.array(one.low_m), np.array(one.high_m)
    ends = np.stack([low, high])
    for axis in range(3):
        across = [a for a in range(3) if a != axis]
        frame = _FRAME * (high - low)[across]
        framed = (
            (sheet_m[:, across] > low[across] + frame) & (sheet_m[:, across] < high[across] - frame)
        ).all(axis=1)
        for end, outward in enumerate((-1.0, 1.0)):
            beyond = (sheet_m[:, axis] - ends[end, axis]) * outward
            near = framed & (beyond > -_WALL_CELLS[0] * cell) & (beyond < _WALL_CELLS[1] * cell)
            columns = np.floor((sheet_m[near][:, across] - low[across]) / cell).astype(int)
            every = np.prod(np.maximum((high - low)[across] - 2 * frame, cell) / cell)
            seen, column = np.unique(columns, axis=0, return_inverse=True)
            if len(seen) < _WALL_SHARE * every:
                continue
            # of several sheets one behind the other, the first one seen from inside
            first = np.full(len(seen), np.inf)
            np.minimum.at(first, column.ravel(), beyond[near])
            ends[end, axis] += outward * float(np.median(first))
    return Proposed(low_m=vec3(ends[0], 2), high_m=vec3(ends[1], 2), seed_m=one.seed_m, air_m3=one.air_m3)
