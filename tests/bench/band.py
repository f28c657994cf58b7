"""What peers work on: the cells of a grid in a band along the panels, as somebody would write it first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from routecut.geometry.keep_out import KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.model.body import Floats, Ints
from routecut.roadmap.sample import spread
from routecut.survey import Survey
from tests.bench.paths import Bools


@dataclass(frozen=True, eq=False)
class Band:
    """Cells of a regular grid.

    Attributes
    ----------
    shape : (3,) ints
    low_m : (3,) float64
        Middle of the first cell.
    pitch_m : float
    open : (x, y, z) bool
        Cells in the band, clear of sheets and keep-outs.
    """

    shape: tuple[int, int, int]
    low_m: Floats
    pitch_m: float
    open: Bools

    def cells(self) -> Ints:
        """Indices of the open cells, (n, 3)."""
        return np.argwhere(self.open)

    def at_m(self, cells: Ints) -> Floats:
        """Middles of cells, (n, 3)."""
        return self.low_m + cells * self.pitch_m

    def nearest(self, points_m: Floats) -> Ints:
        """The open cell nearest to each point, (n, 3)."""
        cells = self.cells()
        return np.asarray(cells[cKDTree(self.at_m(cells)).query(points_m)[1]])


def make(seen: Survey, sheets: Sheets, pitch_m: float, *, least_m: float, most_m: float) -> Band:
    """Cells whose middle is at least and at most so far from the nearest sheet; and the tubes of the passages."""
    triangles = sheets.triangles_m
    radius = max(c.type.diameter_m for c in seen.job.cables) / 2
    samples, _ = spread(triangles, pitch_m, seed=1)
    low, high = triangles.min(axis=(0, 1)), triangles.max(axis=(0, 1))
    shape = tuple((np.ceil((high - low) / pitch_m) + 1).astype(int).tolist())
    grid = np.stack(np.meshgrid(*(np.arange(n) for n in shape), indexing="ij"), axis=-1).reshape(-1, 3)
    middle = low + grid * pitch_m
    rough, _ = cKDTree(samples).query(middle, distance_upper_bound=most_m + pitch_m)
    near = np.flatnonzero(np.isfinite(rough))
    distance, _, _ = sheets.closest(middle[near], most_m)
    ok = np.isfinite(distance) & (distance >= least_m)
    for keep_out in seen.job.keep_outs:
        gap = KeepOutField(keep_out, seen.body).distance_m(middle[near])
        ok &= gap >= keep_out.clearance_m + radius
    inside = np.zeros(len(middle), dtype=bool)
    inside[near[ok]] = True
    for hole in seen.job.pass_throughs:
        axis = np.array(hole.axis)
        off = middle - np.array(hole.position.at_m)
        along = off @ axis
        beside = np.linalg.norm(off - along[:, None] * axis, axis=1)
        inside |= (np.abs(along) <= most_m + pitch_m) & (beside <= max(0.3 * hole.diameter_m, 0.87 * pitch_m))
    return Band((shape[0], shape[1], shape[2]), low, pitch_m, inside.reshape(shape))
