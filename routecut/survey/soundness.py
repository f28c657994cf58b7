"""What is said of a mesh as it came: loose pieces, open edges, cracks, noise.

Units      m
Safe side  said, not mended: routing bridges cracks and smooths noise by itself, holes stay holes
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from routecut.model.body import Floats, Ints
from routecut.model.finding import Severity
from routecut.survey.faults import Collector
from routecut.survey.roughness import LEFT
from routecut.units import format_length

CRACK_M: Final = 0.004
"""Open edges no further apart than this are two sides of a crack; further, of a gap."""

_SEAM_M: Final = 1e-4  # closer they meet, only not corner to corner
_PIECE_M: Final = 0.020
_MOST_PIECES: Final = 200_000
_ROUGH_M: Final = 0.002
_MANY: Final = 20
"""Loose pieces below which a mesh is as drawings are."""

_SOME: Final = 0.01


def report_soundness(vertices_m: Floats, faces: Ints, sigma_m: float, collector: Collector) -> None:
    """Add what a reader of the job should know of the state of the mesh."""
    start, end = _open_edges(vertices_m, faces)
    pieces = _pieces(len(vertices_m), faces)
    cracked, wide = _cracks(start, end) if len(start) else (0.0, 0.0)
    if pieces >= _MANY or cracked > _SOME:
        length = float(np.linalg.norm(end - start, axis=1).sum())
        text = f"{pieces} loose pieces, {format_length(length, 'm')} of open edges"
        if cracked > _SOME:
            text += (
                f"; about {100 * cracked:.0f} % of them are cracks of {1000 * wide:.1f} mm: cables are "
                "laid over cracks, not through them"
            )
        collector.add(
            "mesh-open",
            f"{text}. Where panels end in the mesh but not in the vehicle, a route may go through.",
            severity=Severity.NOTE,
            found=str(pieces),
        )
    if sigma_m > 0.0:
        found = f"{1000 * sigma_m:.1f} mm"
        collector.add(
            "mesh-rough",
            f"The sheets are rough, as of a scan: two points in three lie within {found} of them. Routes are laid on "
            f"sheets smoothed to about {1000 * LEFT * sigma_m:.1f} mm and verified on the mesh as it is; {found} for "
            "each metre goes into the error of every length.",
            severity=Severity.WARNING if sigma_m >= _ROUGH_M else Severity.NOTE,
            found=found,
        )


def _open_edges(vertices_m: Floats, faces: Ints) -> tuple[Floats, Floats]:
    """Both ends of every edge that only one face has."""
    edge = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    key = np.sort(edge[:, 0] * len(vertices_m) + edge[:, 1])
    new = np.r_[True, np.diff(key) != 0, True]
    alone = key[new[:-1] & new[1:]]
    return vertices_m[alone // len(vertices_m)], vertices_m[alone % len(vertices_m)]


def _pieces(count: int, faces: Ints) -> int:
    rows, columns = faces[:, [0, 1]].ravel(), faces[:, [1, 2]].ravel()
    links = sparse.csr_array((np.ones(len(rows), dtype=np.int8), (rows, columns)), shape=(count, count))
    return int(connected_components(links, directed=False)[0])


def _cracks(start: Floats, end: Floats) -> tuple[float, float]:
    """Share of the open edges that run along another one within `CRACK_M`, and how far off it is. [-], [m]"""
    length = np.linalg.norm(end - start, axis=1)
    count = np.maximum(np.ceil(length / _PIECE_M).astype(np.int64), 1)
    if count.sum() > _MOST_PIECES:
        count[:] = 1
    row = np.repeat(np.arange(len(start)), count)
    number = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    middle = start[row] + ((number + 0.5) / count[row])[:, None] * (end - start)[row]
    step = max(1, len(middle) // _MOST_PIECES)
    asked, own = middle[::step], row[::step]
    near = cKDTree(middle).query(asked, k=6, distance_upper_bound=2 * _PIECE_M)[1]
    gap = np.full(len(asked), np.inf)
    for column in near[:, 1:].T:
        there = np.flatnonzero(column < len(middle))
        other = row[column[there]]
        a, along = start[other], end[other] - start[other]
        t = np.einsum("ij,ij->i", asked[there] - a, along) / np.maximum(
            np.einsum("ij,ij->i", along, along), 1e-18
        )
        off = np.linalg.norm(asked[there] - a - np.clip(t, 0, 1)[:, None] * along, axis=1)
        fine = (other != own[there]) & (t > -0.05) & (t < 1.05)
        gap[there[fine]] = np.minimum(gap[there[fine]], off[fine])
    cracked = (gap > _SEAM_M) & (gap <= CRACK_M)
    return float(cracked.mean()), float(np.median(gap[cracked])) if cracked.any() else 0.0
