"""The face index against every pair of point or segment and face."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.verify.faces import FaceIndex
from routecut.verify.triangles import point_triangle, segment_triangle


def world(seed: int, faces: int, points: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Huge faces beside tiny ones, and a wandering polyline."""
    rng = np.random.default_rng(seed)
    size = 10.0 ** rng.uniform(-2.5, 0.6, size=(faces, 1, 1))
    triangles = rng.uniform(-1, 1, size=(faces, 1, 3)) + size * rng.normal(size=(faces, 3, 3))
    walk = np.cumsum(rng.normal(scale=0.03, size=(points, 3)), axis=0)
    return triangles, walk, rng.random(faces) < 0.5


@settings(deadline=None, max_examples=25)
@given(
    seed=st.integers(0, 10**6), faces=st.integers(1, 150), points=st.integers(2, 50), reach=st.floats(0, 0.5)
)
def test_every_answer_is_that_of_all_pairs(seed: int, faces: int, points: int, reach: float) -> None:
    triangles, walk, chosen = world(seed, faces, points)
    index = FaceIndex(triangles, chosen)
    every = np.array([point_triangle(np.repeat(walk[[k]], faces, axis=0), triangles) for k in range(points)])

    near = index.within(walk, reach)
    best = every.min(axis=1)
    assert near.any_m == pytest.approx(np.where(best <= reach, best, np.inf), abs=1e-12)
    found = near.face >= 0
    assert every[found, near.face[found]] == pytest.approx(best[found], abs=1e-12)
    best_chosen = np.where(chosen, every, np.inf).min(axis=1)
    assert near.chosen_m == pytest.approx(np.where(best_chosen <= reach, best_chosen, np.inf), abs=1e-12)

    nearest = index.nearest(walk)
    assert nearest.any_m == pytest.approx(best, abs=1e-12)
    assert every[np.arange(points), nearest.face] == pytest.approx(best, abs=1e-12)

    met = index.segments_near(walk, reach)
    expected = {
        (s, f)
        for s in range(points - 1)
        for f, d in enumerate(
            segment_triangle(
                np.repeat(walk[[s]], faces, axis=0), np.repeat(walk[[s + 1]], faces, axis=0), triangles
            )[0]
        )
        if d <= reach
    }
    assert set(zip(met.segment.tolist(), met.face.tolist(), strict=True)) == expected
    assert len(met.segment) == len(expected)


def test_no_faces_is_far_from_everything() -> None:
    index = FaceIndex(np.zeros((0, 3, 3)))
    points = np.zeros((3, 3))
    assert np.isinf(index.within(points, 1.0).any_m).all()
    assert np.isinf(index.nearest(points).any_m).all()
    assert len(index.segments_near(points, 1.0).face) == 0
