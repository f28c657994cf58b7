"""How rough the sheets of a scan are, and the same sheets smoothed for routing.

A cable laid over every bump of a scan is too long, and routes look for the valleys. Noise is
what changes from point to point: it is read off the second difference of the surface, which
a smooth panel has none of, however bent. Smoothing turns the faces first, each towards the
neighbours that are turned alike, then lays the points onto them: edges stay sharp and boxes
keep their size.

Units      m
Source     Sun, Rosin, Martin, Langbein, "Fast and effective feature-preserving mesh denoising",
           IEEE Transactions on Visualization and Computer Graphics 13 (2007), for laying points onto
           faces; Zheng, Fu, Au, Tai, "Bilateral normal filtering for mesh denoising", same journal
           17 (2011), for turning the faces
Safe side  no point is moved further than noise of the size found can have moved it; the mesh
           as it is stays what every route is verified on
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import sparse

from routecut.model.body import Floats, Ints

LEAST_M: Final = 0.0005
"""One sigma below which sheets count as smooth: it makes no length longer by a tenth of a percent. [m]"""

LEFT: Final = 1 / 3
"""What smoothing leaves of the noise at most, one sigma: measured on bodies damaged on purpose (`docs/accuracy.md`)."""

_FEWEST: Final = 300
"""Inner points below which nothing is said of noise."""

_SHARPEST: Final = 0.5
"""Cosine between two faces at a point above which it lies on a sheet, not on an edge."""

_GAIN: Final = 1.36
"""Of white noise through two differences of a point to its six neighbours: root of 1.85."""

_NORMAL_ROUNDS: Final = 20
_POINT_ROUNDS: Final = 15
_ALIKE: Final = 0.35
"""Faces turned apart by this angle count 0.6 for each other, by twice it 0.1: a fold stays. [rad]"""

_MOST_SIGMAS: Final = 3.0


def noise_sigma_m(vertices_m: Floats, faces: Ints) -> float:
    """One sigma of the noise of a mesh square to its sheets; 0 where too little can be told.

    Parameters
    ----------
    vertices_m : (n, 3) float64
    faces : (m, 3) int64
        Winding means nothing.
    """
    if len(faces) == 0:
        return 0.0
    normal = _normals(vertices_m, faces)
    at_point, sharp = _at_points(len(vertices_m), faces, normal)
    edge = _edges(faces)
    border = np.zeros(len(vertices_m), dtype=bool)
    border[edge[_alone(edge)].ravel()] = True
    both = np.unique(edge, axis=0)
    rows, columns = np.r_[both[:, 0], both[:, 1]], np.r_[both[:, 1], both[:, 0]]
    count = np.bincount(rows, minlength=len(vertices_m))
    mean = sparse.csr_array(
        (1.0 / np.maximum(count, 1)[rows], (rows, columns)), shape=(len(vertices_m), len(vertices_m))
    )
    first = vertices_m - mean @ vertices_m
    second = first - mean @ first
    # a point is told from its neighbours' neighbours: none of those may lie on an edge either
    spoilt = (border | sharp).astype(np.float64)
    inner = (count >= 4) & (spoilt + mean @ spoilt == 0)
    if inner.sum() < _FEWEST:
        return 0.0
    off = np.abs(np.einsum("ij,ij->i", second[inner], at_point[inner]))
    return float(np.median(off) / 0.6745 / _GAIN)


def smoothed(vertices_m: Floats, faces: Ints, sigma_m: float) -> Floats:
    """The points laid onto faces that are turned like their neighbours, (n, 3). [m]"""
    middle = vertices_m[faces].mean(axis=1)
    rows, columns = _neighbours(len(vertices_m), faces)
    apart = np.linalg.norm(middle[rows] - middle[columns], axis=1)
    area = np.linalg.norm(_crosses(vertices_m, faces), axis=1)
    reach = float(np.median(apart)) or 1.0
    weight = area[columns] * np.exp(-((apart / reach) ** 2) / 2)
    normal = _normals(vertices_m, faces)
    for _ in range(_NORMAL_ROUNDS):
        cosine = np.einsum("ij,ij->i", normal[rows], normal[columns])
        # winding means nothing: of each normal and its opposite the nearer one counts
        alike = np.exp(-(1 - np.abs(cosine)) / _ALIKE**2) * np.sign(cosine)
        turn = sparse.csr_array((weight * alike, (rows, columns)), shape=(len(faces), len(faces)))
        normal = _unit(turn @ normal + area[:, None] * normal)
    corners = np.bincount(faces.ravel(), minlength=len(vertices_m))
    points = vertices_m.copy()
    for _ in range(_POINT_ROUNDS):
        middle = points[faces].mean(axis=1)
        move = np.zeros_like(points)
        for corner in range(3):
            off = np.einsum("ij,ij->i", middle - points[faces[:, corner]], normal)
            np.add.at(move, faces[:, corner], off[:, None] * normal)
        points += move / np.maximum(corners, 1)[:, None]
        way = points - vertices_m
        far = np.linalg.norm(way, axis=1)
        points = vertices_m + way * np.minimum(1.0, _MOST_SIGMAS * sigma_m / np.maximum(far, 1e-12))[:, None]
    return points


def _crosses(vertices_m: Floats, faces: Ints) -> Floats:
    a, b, c = (vertices_m[faces[:, k]] for k in range(3))
    return np.cross(b - a, c - a)


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=1), 1e-30)[:, None])


def _normals(vertices_m: Floats, faces: Ints) -> Floats:
    return _unit(_crosses(vertices_m, faces))


def _edges(faces: Ints) -> Ints:
    """Every edge of every face, lower point first, (3 m, 2)."""
    return np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)


def _alone(edge: Ints) -> npt.NDArray[np.bool_]:
    """Edges that are there once, (n,)."""
    _, which, count = np.unique(edge, axis=0, return_inverse=True, return_counts=True)
    return np.asarray(count[which.ravel()] == 1)


def _at_points(count: int, faces: Ints, normal: Floats) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """A normal at each point, and whether faces there are turned apart sharply."""
    first = np.zeros((count, 3))
    first[faces.ravel()] = np.repeat(normal, 3, axis=0)
    sharp = np.zeros(count, dtype=bool)
    total = np.zeros((count, 3))
    for corner in range(3):
        cosine = np.einsum("ij,ij->i", normal, first[faces[:, corner]])
        np.logical_or.at(sharp, faces[:, corner], np.abs(cosine) < _SHARPEST)
        np.add.at(total, faces[:, corner], np.sign(cosine)[:, None] * normal)
    return _unit(total), sharp


def _neighbours(count: int, faces: Ints) -> tuple[Ints, Ints]:
    """Pairs of faces that share a point, each both ways, none with itself."""
    row = np.repeat(np.arange(len(faces)), 3)
    holds = sparse.csr_array(
        (np.ones(len(row), dtype=np.int8), (row, faces.ravel())), shape=(len(faces), count)
    )
    shared = (holds @ holds.T).tocoo()
    other = shared.row != shared.col
    return shared.row[other].astype(np.int64), shared.col[other].astype(np.int64)
