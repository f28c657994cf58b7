"""Distances between points, segments and triangles, in pairs, exact in float64.

Every function takes arrays of equal length n and judges row by row. Triangles without
area are treated as the segments or points they are. Closest points follow from the
plane where the foot of the perpendicular lies inside, and from the edges elsewhere.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from routecut.model.body import Floats

Bools = npt.NDArray[np.bool_]


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[:, 0] * b[:, 0] + a[:, 1] * b[:, 1] + a[:, 2] * b[:, 2])


def _cross(a: Floats, b: Floats) -> Floats:
    return np.stack(
        [
            a[:, 1] * b[:, 2] - a[:, 2] * b[:, 1],
            a[:, 2] * b[:, 0] - a[:, 0] * b[:, 2],
            a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0],
        ],
        axis=-1,
    )


def _ratio(top: Floats, bottom: Floats) -> Floats:
    """Quotient, 0 where the divisor is 0."""
    return np.divide(top, bottom, out=np.zeros_like(top), where=bottom != 0.0)


def point_segment(points: Floats, starts: Floats, ends: Floats) -> Floats:
    """Distance of each point to its segment, (n,). [m]"""
    along = ends - starts
    to_point = points - starts
    t = np.clip(_ratio(_dot(to_point, along), _dot(along, along)), 0.0, 1.0)
    gap = to_point - t[:, None] * along
    return np.sqrt(_dot(gap, gap))


def _over_triangle(to_point: Floats, ab: Floats, ac: Floats, normal: Floats) -> Bools:
    """Whether the foot of the perpendicular from a point lies inside the triangle."""
    bc = ac - ab
    return (
        (_dot(_cross(ab, to_point), normal) >= 0.0)
        & (_dot(_cross(to_point, ac), normal) >= 0.0)
        & (_dot(_cross(bc, to_point - ab), normal) >= 0.0)
    )


def point_triangle(points: Floats, triangles: Floats) -> Floats:
    """Distance of each point to its triangle.

    Parameters
    ----------
    points : (n, 3) float64
        [m]
    triangles : (n, 3, 3) float64
        Corners. [m]

    Returns
    -------
    (n,) float64
        [m]
    """
    a = triangles[:, 0]
    ab, ac, to_point = triangles[:, 1] - a, triangles[:, 2] - a, points - a
    normal = _cross(ab, ac)
    area_squared = _dot(normal, normal)
    over = (area_squared > 0.0) & _over_triangle(to_point, ab, ac, normal)
    result = np.empty(len(points))
    result[over] = np.abs(_dot(to_point[over], normal[over])) / np.sqrt(area_squared[over])
    off = ~over
    p, t = points[off], triangles[off]
    edges = [point_segment(p, t[:, k], t[:, (k + 1) % 3]) for k in range(3)]
    result[off] = np.minimum(np.minimum(edges[0], edges[1]), edges[2])
    return result


def segment_segment(p: Floats, d: Floats, q: Floats, e: Floats) -> tuple[Floats, Floats]:
    """Distance between segments ``p + u d`` and ``q + v e`` and the `u` of it, (n,) each.

    The least of the inner closest approach (where both parameters are inside) and the
    four end-to-segment distances: no case is left to a rounding of parallel lines.
    """
    r = p - q
    a, b, c = _dot(d, d), _dot(d, e), _dot(e, e)
    f, g = _dot(d, r), _dot(e, r)
    det = a * c - b * b
    u = _ratio(b * g - c * f, det)
    v = _ratio(a * g - b * f, det)
    inner = (det > 0.0) & (u >= 0.0) & (u <= 1.0) & (v >= 0.0) & (v <= 1.0)
    gap = r + u[:, None] * d - v[:, None] * e
    best = np.where(inner, np.sqrt(_dot(gap, gap)), np.inf)
    best_u = np.where(inner, u, 0.0)
    for end in (0.0, 1.0):
        # an end of the first against the second, then an end of the second against the first
        distance = point_segment(p + end * d, q, q + e)
        best_u = np.where(distance < best, end, best_u)
        best = np.minimum(best, distance)
        foot = np.clip(_ratio(_dot(q + end * e - p, d), a), 0.0, 1.0)
        off = p + foot[:, None] * d - (q + end * e)
        distance = np.sqrt(_dot(off, off))
        best_u = np.where(distance < best, foot, best_u)
        best = np.minimum(best, distance)
    return best, best_u


def segment_triangle(starts: Floats, ends: Floats, triangles: Floats) -> tuple[Floats, Floats]:
    """Distance of each segment to its triangle, and where on the segment.

    Parameters
    ----------
    starts, ends : (n, 3) float64
        [m]
    triangles : (n, 3, 3) float64
        [m]

    Returns
    -------
    distance : (n,) float64
        0 where the segment goes through the triangle. [m]
    u : (n,) float64
        Place of the closest approach, 0 at `starts`, 1 at `ends`. [-]
    """
    # near the origin the cancellation of large coordinates is gone
    origin = starts
    d = ends - origin
    tri = triangles - origin[:, None, :]
    zero = np.zeros_like(d)
    at_start, at_end = point_triangle(zero, tri), point_triangle(d, tri)
    best = np.minimum(at_start, at_end)
    u = np.where(at_end < at_start, 1.0, 0.0)
    for k in range(3):
        q = tri[:, k]
        distance, place = segment_segment(zero, d, q, tri[:, (k + 1) % 3] - q)
        u = np.where(distance < best, place, u)
        best = np.minimum(best, distance)
    a = tri[:, 0]
    ab, ac = tri[:, 1] - a, tri[:, 2] - a
    normal = _cross(ab, ac)
    side_start, side_end = -_dot(a, normal), _dot(d - a, normal)
    pierce_u = _ratio(side_start, side_start - side_end)
    through = (
        (side_start * side_end <= 0.0)
        & (side_start != side_end)
        & _over_triangle(pierce_u[:, None] * d - a, ab, ac, normal)
    )
    return np.where(through, 0.0, best), np.where(through, pierce_u, u)


def plane_gap(starts: Floats, ends: Floats, triangles: Floats) -> Floats:
    """A lower bound of `segment_triangle` that costs little: distance to the plane, (n,). [m]"""
    a = triangles[:, 0]
    normal = _cross(triangles[:, 1] - a, triangles[:, 2] - a)
    size = np.sqrt(_dot(normal, normal))
    first = _ratio(_dot(starts - a, normal), size)
    second = _ratio(_dot(ends - a, normal), size)
    return np.where(first * second > 0.0, np.minimum(np.abs(first), np.abs(second)), 0.0)
