"""Which side of a sheet the curve is on, where boxes can't tell.

Boxes of spaces are inexact by up to 60 mm and a cable is clipped 12 mm off its sheet, so
along a border boxes say nothing: a route that slips out through an open window and runs
along the outside of the door is inside the slack all the way. What can be seen tells:
points that lie in a space beyond doubt are looked at from the curve, on the full mesh.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from routecut.model.body import Floats, Ints
from routecut.model.job import Space
from routecut.verify.curve import Curve
from routecut.verify.faces import FaceIndex
from routecut.verify.limits import SPACE_SLACK_M
from routecut.verify.spaces import holder

_GRID_M = 0.20  # between the points looked at
_MOST_POINTS = 40_000  # in one job; a larger vehicle gets a wider grid
_AROUND_M = 0.50  # how far round the mesh the outside is looked at
_FAR_M = 1.2  # nothing further away is looked at
_ALLOWED_LOOKS, _OTHER_LOOKS = 12, 8
_LOOK_EVERY_M = 0.080
_SEEN = 2  # points of a foreign space that must be seen, and none of the allowed ones
_IN_A_ROW = 2  # looks that must agree: a run of about 100 mm


class Sight:
    """Points that lie in one space beyond doubt, and what of them is seen from a curve."""

    def __init__(self, spaces: Sequence[Space], faces: FaceIndex) -> None:
        self.spaces, self.faces = spaces, faces
        points, owner = _sure_points(spaces, faces)
        self.points_m, self.owner = points, owner

    def strayed(
        self, curve: Curve, at: Ints, allowed: set[str]
    ) -> list[tuple[float, float, tuple[str, ...]]]:
        """Stretches from where spaces that are not allowed are seen, and none of the allowed.

        Parameters
        ----------
        curve : Curve
        at : (k,) int64
            Samples of the curve to look from, in order.
        allowed : set of str

        Returns
        -------
        list of (float, float, tuple of str)
            Running length from and to [m], and the spaces seen.
        """
        fine = np.array([s.name in allowed for s in self.spaces], dtype=bool)
        if not len(at) or not len(self.points_m) or fine.all():
            return []
        at = at[np.unique(np.floor(curve.run_m[at] / _LOOK_EVERY_M), return_index=True)[1]]
        at = at[self._doubtful(curve.points_m[at], allowed)]
        if not len(at):
            return []
        looks = curve.points_m[at]
        of_allowed = fine[self.owner]
        others_seen, seen = self._look(looks, np.flatnonzero(~of_allowed), _OTHER_LOOKS)
        foreign = others_seen >= _SEEN
        # rarely anything foreign is seen: only there the allowed spaces are looked for
        allowed_seen, _ = self._look(looks[foreign], np.flatnonzero(of_allowed), _ALLOWED_LOOKS)
        foreign[foreign] = allowed_seen == 0
        found = []
        run = curve.run_m[at]
        # looks next to each other; a gap is where the boxes could tell, or a passage
        breaks = (
            np.flatnonzero((np.diff(run) > 2.5 * _LOOK_EVERY_M) | (np.diff(foreign.astype(int)) != 0)) + 1
        )
        for rows in np.split(np.arange(len(at)), breaks):
            if foreign[rows[0]] and len(rows) >= _IN_A_ROW:
                owners = sorted({self.spaces[k].name for row in rows for k in seen[row]})
                found.append((float(run[rows[0]]), float(run[rows[-1]]), tuple(owners)))
        return found

    def _doubtful(self, points: Floats, allowed: set[str]) -> npt.NDArray[np.bool_]:
        """Whether the boxes may be wrong about a point: it is near what is not allowed."""
        names = {s.name for s in self.spaces}
        number = holder(points, self.spaces, names - allowed)
        fine = np.array([s.name in allowed for s in self.spaces] + [False])
        return np.asarray(~fine[number])

    def _look(self, looks: Floats, among: Ints, most: int) -> tuple[Ints, list[list[int]]]:
        """How many of the nearest points are seen from each look, and whose they are."""
        seen: list[list[int]] = [[] for _ in looks]
        if not len(among):
            return np.zeros(len(looks), dtype=np.int64), seen
        distance, which = cKDTree(self.points_m[among]).query(looks, k=most, distance_upper_bound=_FAR_M)
        row, column = np.nonzero(np.isfinite(distance))
        target = among[which[row, column]]
        clear = ~self.faces.blocked(looks[row], self.points_m[target])
        for r, t in zip(row[clear].tolist(), target[clear].tolist(), strict=True):
            seen[r].append(int(self.owner[t]))
        return np.bincount(row[clear], minlength=len(looks)), seen


def _sure_points(spaces: Sequence[Space], faces: FaceIndex) -> tuple[Floats, Ints]:
    """A grid of points of which it is certain what space they are in, and their spaces."""
    none = np.zeros((0, 3)), np.zeros(0, dtype=np.int64)
    if not len(faces) or not spaces:
        return none
    low, high = faces.low.min(axis=0) - _AROUND_M, faces.high.max(axis=0) + _AROUND_M
    step = max(_GRID_M, float(np.prod(high - low) / _MOST_POINTS) ** (1 / 3))
    axes = [np.arange(a + 0.5 * step, b, step) for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    seeds = np.array([s.seed_m for s in spaces])
    grid = np.concatenate([grid, seeds])
    # certain: of the space when only that space's boxes shrink and all others grow by the slack
    owner = np.full(len(grid), -1, dtype=np.int64)
    for number, space in enumerate(spaces):
        others = {s.name for s in spaces} - {space.name}
        owner[holder(grid, spaces, others) == number] = number
    sure = owner >= 0
    return grid[sure], owner[sure]


def explain(allowed: set[str], seen: Sequence[str], first_m: float, last_m: float) -> str:
    """What is wrong with a stretch, for the finding."""
    return (
        f"is on the side of {', '.join(seen)} from {first_m:.2f} m to {last_m:.2f} m: nothing of "
        f"{', '.join(sorted(allowed))} can be seen from there "
        f"(boxes alone can't tell within {SPACE_SLACK_M * 1e3:.0f} mm)"
    )
