r"""Round holes that are open in the mesh: middle, diameter and axis of each.

Three taps on a rim, each a millimetre off, place the middle of a hole to 1.2 mm at best and turn the axis
of a small one by many degrees. So the taps only say which rim is meant: the circle is fitted to all points of
its open edge, the plane to them and to the sheet round it.

Stage      survey, with the mesh
Units      m
Notes      with n points round the rim, each off by one sigma s, the middle is off by
           :math:`s \sqrt{2 / n}` in either direction of the sheet
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from routecut.geometry.triangles import dot, plane_axes, unit
from routecut.model.body import Body, Floats, Ints
from routecut.model.job import vec3
from routecut.model.rim import Rim

SMALLEST_M: Final = 0.006
LARGEST_M: Final = 0.400
"""Diameters of holes that cables go through. [m]"""

MOST_RIMS: Final = 400
"""The roundest of so many; a torn scan has thousands of open edges."""

_FEWEST: Final = 6
_MOST_POINTS: Final = 4000
_ROUND: Final = 0.16
"""Points of a rim lie off its circle by less than this share of its radius, root of the mean square: the jagged
rim of a scan has 0.14 at four faces across, a slot twice as long as wide 0.25."""

_SHARP: Final = 0.64
"""Cosine between two faces below which a fold may be the edge of a hole in a solid: 50 degrees."""

_AROUND: Final = 2.6
"""The sheet is looked at this many radii from the middle."""

_WIDEST_GAP: Final = np.radians(100.0)
_ROUNDS: Final = 12

Bools = npt.NDArray[np.bool_]


def find_rims(body: Body) -> tuple[Rim, ...]:
    """Every round edge of a hole: open, or folded sharply as in a solid; roundest first where there are too many.

    Parameters
    ----------
    body : Body

    Returns
    -------
    tuple of Rim
        In the order of their places, front to rear.
    """
    tree = cKDTree(body.vertices_m)
    part_of = np.zeros(len(body.vertices_m), dtype=np.int64)
    part_of[body.faces.ravel()] = np.repeat(body.face_part, 3)
    found = []
    for ends, thirds in _edges(body):
        # on both sides of an edge the corner of its face: the sheet, and the wall of the hole
        beyond = np.zeros((len(body.vertices_m), 2, 3))
        beyond[ends.ravel()] = np.repeat(body.vertices_m[thirds], 2, axis=0)
        for loop in _loops(ends):
            rim = _fitted(body, loop, beyond[loop], tree, body.parts[int(part_of[loop[0]])])
            if rim is not None:
                found.append(rim)
    found.sort(key=lambda rim: (rim.off_m / rim.diameter_m, rim.at_m))
    return tuple(sorted(found[:MOST_RIMS], key=lambda rim: rim.at_m))


def _edges(body: Body) -> Iterator[tuple[Ints, Ints]]:
    """Open edges, and in a body without noise those with a sharp fold: both ends, and the third corners there."""
    faces = body.faces
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    corner = np.concatenate([faces[:, 2], faces[:, 0], faces[:, 1]])
    face = np.tile(np.arange(len(faces)), 3)
    order = np.lexsort(edges.T)
    same = (np.diff(edges[order], axis=0) == 0).all(axis=1)
    alone = order[~np.r_[False, same] & ~np.r_[same, False]]
    yield edges[alone], np.repeat(corner[alone][:, None], 2, axis=1)
    if body.noise_m > 0.0:
        return
    a, b, c = (body.vertices_m[faces[:, k]] for k in range(3))
    normal = unit(np.cross(b - a, c - a))
    first = np.flatnonzero(same & ~np.r_[False, same[:-1]] & ~np.r_[same[1:], False])
    one, other = order[first], order[first + 1]
    sharp = np.abs(dot(normal[face[one]], normal[face[other]])) < _SHARP
    yield edges[one][sharp], np.column_stack([corner[one], corner[other]])[sharp]


def _loops(ends: Ints) -> Iterator[Ints]:
    """The points of every chain of open edges that closes without a fork."""
    points, numbers = np.unique(ends, return_inverse=True)
    numbers = numbers.reshape(-1, 2)
    links = sparse.csr_array(
        (np.ones(len(numbers), dtype=np.int8), (numbers[:, 0], numbers[:, 1])), shape=(len(points),) * 2
    )
    _, label = connected_components(links, directed=False)
    degree = np.bincount(numbers.ravel(), minlength=len(points))
    order = np.argsort(label, kind="stable")
    for group in np.split(order, np.flatnonzero(np.diff(label[order])) + 1):
        if _FEWEST <= len(group) <= _MOST_POINTS and (degree[group] == 2).all():
            yield points[group]


def _fitted(body: Body, loop: Ints, beyond: Floats, tree: cKDTree, part: str) -> Rim | None:
    rim = body.vertices_m[loop]
    middle = (rim.min(axis=0) + rim.max(axis=0)) / 2
    reach = float(np.linalg.norm(rim - middle, axis=1).max())
    if not SMALLEST_M / 2 <= reach <= LARGEST_M:
        return None
    axis = np.linalg.svd(rim - rim.mean(axis=0))[2][2]
    # the sheet lies outside the edge of a hole, and inside its own
    if _out(beyond, middle, axis).max(axis=1).mean() < 1.02 * _out(rim[:, None], middle, axis).mean():
        return None
    near = body.vertices_m[np.setdiff1d(tree.query_ball_point(middle, _AROUND * reach), loop)]
    low, axis = _plane(rim, near, rim.mean(axis=0), axis, reach)
    across, up = plane_axes(axis)
    flat = (rim - low) @ np.column_stack([across, up])
    centre, radius = _circle(flat)
    off = np.linalg.norm(flat - centre, axis=1) - radius
    rms = float(np.sqrt(np.mean(off**2)))
    if not SMALLEST_M / 2 <= radius <= LARGEST_M / 2 or rms > _ROUND * radius:
        return None
    turn = np.sort(np.arctan2(*(flat - centre).T[::-1]))
    if float(np.diff(turn, append=turn[0] + 2 * np.pi).max()) > _WIDEST_GAP:
        return None
    return Rim(
        at_m=vec3(low + centre[0] * across + centre[1] * up),
        axis=vec3(_signed(axis) + 0.0),  # no negative zero
        diameter_m=2 * radius,
        edges=len(loop),
        off_m=rms,
        sigma_m=rms * float(np.sqrt(2.0 / len(loop))),
        part=part,
    )


def _out(points: Floats, middle: Floats, axis: Floats) -> Floats:
    """How far points, (n, k, 3), lie from an axis, (n, k)."""
    off = points - middle
    return np.asarray(np.linalg.norm(off - (off @ axis)[..., None] * axis, axis=2))


def _signed(axis: Floats) -> Floats:
    """Either direction is right: the largest part of it is positive, so that it is always the same one."""
    return axis if axis[int(np.abs(axis).argmax())] > 0 else -axis


def _plane(rim: Floats, near: Floats, low: Floats, axis: Floats, reach_m: float) -> tuple[Floats, Floats]:
    """A point and the normal of the plane that the rim and most of the sheet round it lie in.

    Points further off count less and less (Tukey's weights), so that what lies behind the hole or
    beyond a bend of the sheet does not turn it.
    """
    points = np.concatenate([rim, near]) if len(near) else rim
    for number in range(_ROUNDS):
        # the rim says which of two skins close to each other is meant
        low = low + float(np.median((rim - low) @ axis)) * axis
        height = (points - low) @ axis
        width = max(0.5 * reach_m * 0.75**number, 4.0 * float(np.median(np.abs(height[: len(rim)]))), 1e-5)
        weight = np.clip(1.0 - (height / width) ** 2, 0.0, None) ** 2
        if weight.sum() < _FEWEST:
            break
        low = weight @ points / weight.sum()
        spread = (points - low) * np.sqrt(weight)[:, None]
        axis = np.linalg.svd(spread, full_matrices=False)[2][2]
    return low, axis


def _circle(flat: Floats) -> tuple[Floats, float]:
    """Middle and radius of the circle that points lie on, by least squares of their distances.

    Begun with the algebraic fit (Kasa, IEEE Transactions on Instrumentation and Measurement 25, 1976),
    ended by Gauss and Newton.
    """
    matrix = np.column_stack([2 * flat, np.ones(len(flat))])
    x, y, c = np.linalg.lstsq(matrix, (flat**2).sum(axis=1), rcond=None)[0]
    centre, radius = np.array([x, y]), float(np.sqrt(max(c + x * x + y * y, 1e-12)))
    for _ in range(_ROUNDS):
        way = flat - centre
        far = np.maximum(np.linalg.norm(way, axis=1), 1e-12)
        matrix = np.column_stack([-way / far[:, None], -np.ones(len(flat))])
        step = np.linalg.lstsq(matrix, radius - far, rcond=None)[0]
        centre, radius = centre + step[:2], radius + float(step[2])
    return centre, radius
