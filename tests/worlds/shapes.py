"""Triangles of simple bodies, (n, 3, 3), in metres."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def surface(grid: Floats) -> Floats:
    """A grid of points, (n, m, 3), as two triangles a cell."""
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    cells = np.stack([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)], axis=2)
    return np.asarray(cells.reshape(-1, 3, 3))


def plate(
    axis: int, level: float, u: tuple[float, float], v: tuple[float, float], *, cell: float = 0.3
) -> Floats:
    """A rectangle square to an axis, between lines of the other two axes, in cells of about that size."""
    along = [np.linspace(*span, max(2, round((span[1] - span[0]) / cell) + 1)) for span in (u, v)]
    flat = np.stack(np.meshgrid(*along, indexing="ij"), axis=-1)
    return surface(np.insert(flat, axis, level, axis=-1))


def box(low: Sequence[float], high: Sequence[float], *, cell: float = 0.1) -> Floats:
    """The six sides of a box."""
    sides = []
    for axis in range(3):
        u, v = (k for k in range(3) if k != axis)
        sides += [
            plate(axis, at[axis], (low[u], high[u]), (low[v], high[v]), cell=cell) for at in (low, high)
        ]
    return np.concatenate(sides)


def extruded(line: Floats, axis: int, span: tuple[float, float], cells: int) -> Floats:
    """A line in the plane of the other two axes, (n, 2), drawn out along an axis."""
    levels = np.linspace(*span, cells + 1)
    grid = np.stack([np.insert(line, axis, level, axis=1) for level in levels])
    return surface(grid)


def around(radius: float, count: int) -> Floats:
    """A circle as a closed polygon of `count` sides, (count + 1, 2), as much outside it as inside."""
    angle = np.arange(count + 1) * (2 * np.pi / count)
    at = radius / np.sqrt(np.cos(np.pi / count))
    return np.asarray(at * np.column_stack([np.cos(angle), np.sin(angle)]))


def merged(triangles: Floats) -> dict[str, Any]:
    """Vertices and faces with equal points made one."""
    points, inverse = np.unique(np.round(triangles.reshape(-1, 3), 9), axis=0, return_inverse=True)
    return {"vertices": points, "faces": inverse.reshape(-1, 3)}
