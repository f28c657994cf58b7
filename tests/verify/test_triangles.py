"""Pairwise distances against slow implementations that are obviously right.

Truth      dense barycentric sampling, trimesh's closest point, and SLSQP on the convex
           problem; none of them shares code with the functions tested
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from routecut.verify import triangles as T  # noqa: N812
from routecut.verify.limits import TOUCH_M

Floats = npt.NDArray[np.float64]

# small whole numbers make parallel, touching and flat cases common
coordinate = st.integers(-3, 3).map(float)
point = st.tuples(coordinate, coordinate, coordinate).map(np.array)


def slow_segment_triangle(p: Floats, q: Floats, tri: Floats) -> float:
    """Least distance as a bounded least-squares problem, started from every face of its domain.

    |p + u d - (a + v ab + w ac)| over 0<=u<=1 and the triangle: the triangle is taken as
    the convex hull of its corners, weights summed to 1 by a stiff extra row.
    """
    d = q - p
    stiff = 1e4
    matrix = np.column_stack([d, -tri[0], -tri[1], -tri[2]])
    matrix = np.vstack([matrix, stiff * np.array([0.0, 1.0, 1.0, 1.0])])
    right = np.append(-p, stiff)
    found = lsq_linear(matrix, right, bounds=(0.0, [1.0, np.inf, np.inf, np.inf]), method="bvls", tol=1e-15)
    u, w = found.x[0], found.x[1:] / found.x[1:].sum()
    return float(np.linalg.norm(p + u * d - w @ tri))


def test_point_triangle_agrees_with_trimesh() -> None:
    rng = np.random.default_rng(1)
    triangles = rng.normal(size=(5000, 3, 3)) * rng.choice([0.01, 1.0, 5.0], size=(5000, 1, 1))
    points = rng.normal(size=(5000, 3))
    closest = trimesh.triangles.closest_point(triangles, points)
    expected = np.linalg.norm(points - closest, axis=1)
    assert T.point_triangle(points, triangles) == pytest.approx(expected, abs=1e-12)


@settings(deadline=None, max_examples=300)
@given(p=point, a=point, b=point, c=point)
def test_point_triangle_is_the_least_over_the_triangle(p: Floats, a: Floats, b: Floats, c: Floats) -> None:
    """No sampled place is nearer, and one is nearly as near; also for flat triangles."""
    tri = np.array([a, b, c])
    n = 40
    i, j = (k.ravel() for k in np.meshgrid(np.arange(n + 1), np.arange(n + 1)))
    i, j = i[i + j <= n], j[i + j <= n]
    places = (np.stack([i, j, n - i - j], axis=1) / n) @ tri
    sampled = np.linalg.norm(places - p, axis=1).min()
    got = float(T.point_triangle(p[None], tri[None])[0])
    longest = max(np.linalg.norm(a - b), np.linalg.norm(b - c), np.linalg.norm(c - a))
    assert sampled - longest / n <= got <= sampled + 1e-12


@settings(deadline=None, max_examples=400)
@given(p=point, q=point, a=point, b=point, c=point)
def test_segment_triangle_is_the_least_distance(
    p: Floats, q: Floats, a: Floats, b: Floats, c: Floats
) -> None:
    tri = np.array([a, b, c])
    distance, place = T.segment_triangle(p[None], q[None], tri[None])
    assert distance[0] == pytest.approx(slow_segment_triangle(p, q, tri), abs=1e-5)
    # the place returned is where that distance is
    assert 0.0 <= place[0] <= 1.0
    at = p + place[0] * (q - p)
    assert T.point_triangle(at[None], tri[None])[0] == pytest.approx(distance[0], abs=1e-9)


@settings(deadline=None, max_examples=200)
@given(p=point, q=point, a=point, b=point, c=point)
def test_plane_gap_never_exceeds_the_distance(p: Floats, q: Floats, a: Floats, b: Floats, c: Floats) -> None:
    tri = np.array([[a, b, c]])
    bound = T.plane_gap(p[None], q[None], tri)[0]
    assert 0.0 <= bound <= T.segment_triangle(p[None], q[None], tri)[0][0] + 1e-12


@settings(deadline=None, max_examples=300)
@given(
    weights=st.tuples(*[st.integers(0, 4)] * 3).filter(lambda w: sum(w) > 0),
    seed=st.integers(0, 2**32 - 1),
    shift=st.sampled_from([0.0, 5.0, 30.0]),
)
def test_a_segment_through_a_point_of_the_triangle_meets_it(
    weights: tuple[int, int, int], seed: int, shift: float
) -> None:
    """Inside, on an edge or at a corner, far from the origin, from any side: never lost."""
    rng = np.random.default_rng(seed)
    tri = rng.normal(size=(3, 3)) + shift
    through = np.array(weights, dtype=float) / sum(weights) @ tri
    way = rng.normal(size=3)
    start, end = through - rng.uniform(0.01, 1) * way, through + rng.uniform(0.01, 1) * way
    distance, place = T.segment_triangle(start[None], end[None], tri[None])
    assert distance[0] <= TOUCH_M
    assert T.point_triangle((start + place[0] * (end - start))[None], tri[None])[0] <= TOUCH_M


def test_a_segment_lying_in_the_triangle_meets_it() -> None:
    tri = np.array([[[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]])
    inside = np.array([[0.1, 0.2, 0.0]]), np.array([[0.3, 0.2, 0.0]])
    across = np.array([[-1.0, 0.2, 0.0]]), np.array([[2.0, 0.2, 0.0]])
    beside = np.array([[-1.0, 0.2, 1e-6]]), np.array([[2.0, 0.2, 1e-6]])
    assert T.segment_triangle(*inside, tri)[0][0] == 0.0
    assert T.segment_triangle(*across, tri)[0][0] == 0.0
    assert T.segment_triangle(*beside, tri)[0][0] == pytest.approx(1e-6, rel=1e-9)
