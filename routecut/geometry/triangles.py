"""Arithmetic of vectors and triangles, row by row.

Units      m; arrays are float64
"""

from __future__ import annotations

import numpy as np

from routecut.model.body import Floats, Ints


def dot(a: Floats, b: Floats) -> Floats:
    """Row-wise scalar product of two (n, 3) arrays, (n,)."""
    return np.asarray(np.einsum("ij,ij->i", a, b))


def unit(v: Floats) -> Floats:
    """Rows scaled to length one; a zero row stays zero. (n, 3)."""
    norm = np.linalg.norm(v, axis=1)
    return v / np.where(norm > 0, norm, 1.0)[:, None]


def plane_axes(axis: Floats) -> tuple[Floats, Floats]:
    """Two unit vectors square to an axis and to each other: (3,), (3,)."""
    least = np.zeros(3)
    least[np.abs(axis).argmin()] = 1.0
    across = np.cross(axis, least)
    across /= np.linalg.norm(across)
    return across, np.cross(axis, across)


def split_to(corners: Floats, longest_m: float) -> tuple[Floats, Ints]:
    """Triangles cut at the middle of their longest edge until no edge is longer.

    Parameters
    ----------
    corners : (n, 3, 3) float64
    longest_m : float

    Returns
    -------
    (m, 3, 3) float64, (m,) int64
        The pieces, and the triangle each was cut from.
    """
    done: list[Floats] = []
    done_parent: list[Ints] = []
    todo, parent = corners, np.arange(len(corners), dtype=np.int64)
    while len(todo):
        edges = np.linalg.norm(todo - np.roll(todo, -1, axis=1), axis=2)
        worst = edges.argmax(axis=1)
        long = edges[np.arange(len(todo)), worst] > longest_m
        done.append(todo[~long])
        done_parent.append(parent[~long])
        todo, parent, worst = todo[long], parent[long], worst[long]
        if not len(todo):
            break
        rows = np.arange(len(todo))
        p = todo[rows, worst]
        q = todo[rows, (worst + 1) % 3]
        r = todo[rows, (worst + 2) % 3]
        mid = (p + q) / 2
        todo = np.concatenate([np.stack([p, mid, r], axis=1), np.stack([mid, q, r], axis=1)])
        parent = np.concatenate([parent, parent])
    if not done:
        return np.zeros((0, 3, 3)), np.zeros(0, dtype=np.int64)
    return np.concatenate(done), np.concatenate(done_parent)
