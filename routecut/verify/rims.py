"""Free edges of sheets: where metal ends and nothing goes on.

An edge of one face is free when no other face lies just beyond it. A crack, a seam whose
triangles don't share their corners, and a sheet that ends on another one have none.

Units      m
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from routecut.model.body import Body, Floats, Ints
from routecut.verify.faces import FaceIndex

PIECE_M = 0.040
_BEYOND_M = 0.006  # so far past an edge is looked for a face that goes on ...
_GOES_ON_M = 0.004  # ... no further from there than this: cracks up to the sum are seams


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rims:
    """Free edges in pieces of about `PIECE_M`, row by row.

    `start_m`, `end_m`, `middle_m` are (n, 3); `into` points from the edge into its face and
    `normal` is that of the face, (n, 3) unit vectors; `face` numbers it.
    """

    start_m: Floats
    end_m: Floats
    into: Floats
    normal: Floats
    face: Ints

    @property
    def middle_m(self) -> Floats:
        """Middles of the pieces, (n, 3). [m]"""
        return 0.5 * (self.start_m + self.end_m)


def rims_near(body: Body, faces: FaceIndex, points_m: Floats, reach_m: float) -> Rims:
    """The free edges within about a reach of points."""
    edge, face, tip = _single_edges(body.faces)
    at = body.vertices_m
    start, end, across = at[edge[:, 0]], at[edge[:, 1]], at[tip]
    length = np.linalg.norm(end - start, axis=1)
    along = (end - start) / np.maximum(length, 1e-12)[:, None]
    into = across - start
    into = into - np.einsum("ij,ij->i", into, along)[:, None] * along
    into /= np.maximum(np.linalg.norm(into, axis=1), 1e-12)[:, None]
    count = np.maximum(np.ceil(length / PIECE_M).astype(np.int64), 1)
    row = np.repeat(np.arange(len(edge)), count)
    number = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    first = start[row] + (number / count[row])[:, None] * (end - start)[row]
    last = start[row] + ((number + 1) / count[row])[:, None] * (end - start)[row]
    middle = 0.5 * (first + last)
    near = np.isfinite(cKDTree(points_m).query(middle, distance_upper_bound=reach_m)[0])
    row, first, last, middle = row[near], first[near], last[near], middle[near]
    goes_on = np.isfinite(faces.within(middle - _BEYOND_M * into[row], _GOES_ON_M).any_m)
    row, first, last = row[~goes_on], first[~goes_on], last[~goes_on]
    return Rims(
        start_m=first,
        end_m=last,
        into=into[row],
        normal=np.cross(along[row], into[row]),
        face=face[row],
    )


def _single_edges(faces: Ints) -> tuple[Ints, Ints, Ints]:
    """Edges that only one face has, (n, 2), with that face and its third corner."""
    edge = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    tip = np.concatenate([faces[:, 2], faces[:, 0], faces[:, 1]])
    key = edge[:, 0] * (int(faces.max(initial=0)) + 1) + edge[:, 1]
    order = np.argsort(key, kind="stable")
    new = np.r_[True, np.diff(key[order]) != 0, True]
    alone = order[new[:-1] & new[1:]]
    return edge[alone], alone % max(len(faces), 1), tip[alone]
