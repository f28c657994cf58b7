"""The distance to a mesh, against every pair of point and face."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.model.body import Body, Floats
from routecut.model.job import SurfaceKind, SurfaceRule
from routecut.scene import nearest, reduced
from routecut.scene.nearest import Nearest
from tests.scene.test_scene import off_m


def soup(generator: np.random.Generator, count: int) -> Floats:
    """Faces from a millimetre to metres, a third of them slivers, some without any area."""
    size = 10.0 ** generator.uniform(-3.0, 0.5, (count, 1, 1))
    corners = generator.normal(0.0, 1.0, (count, 3, 3)) * size
    corners[::3, 2] = corners[::3, 1] + generator.normal(0.0, 1e-4, (len(corners[::3]), 3))
    corners[1::5, 2] = corners[1::5, :2].mean(axis=1)
    return np.asarray(corners + generator.uniform(-1.0, 1.0, (count, 1, 3)))


@settings(max_examples=40)
@given(st.integers(0, 2**32 - 1), st.integers(1, 120))
def test_the_distance_is_that_of_the_nearest_of_all_faces(seed: int, count: int) -> None:
    generator = np.random.default_rng(seed)
    triangles = soup(generator, count)
    points = np.concatenate([generator.uniform(-3.0, 3.0, (20, 3)), triangles.mean(axis=1)[:5]])
    mesh = trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(3 * count).reshape(-1, 3), process=False)
    assert Nearest(mesh).distance_m(points) == pytest.approx(off_m(points, triangles), abs=1e-9)


def test_many_points_are_asked_in_turn_and_none_is_no_trouble(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nearest, "_CHUNK", 7)
    ball = trimesh.creation.icosphere(subdivisions=2, radius=0.5)
    points = np.random.default_rng(5).uniform(-1.0, 1.0, (50, 3))
    asked = Nearest(ball)
    assert asked.distance_m(points) == pytest.approx(off_m(points, ball.triangles), abs=1e-12)
    assert asked.distance_m(np.zeros((0, 3))).shape == (0,)


def test_a_rough_sheet_with_holes_says_of_each_face_how_far_off_it_is() -> None:
    """A ray along the normal misses over a hole, or meets the far side: neither is how far off the face is."""
    ball = trimesh.creation.icosphere(subdivisions=5, radius=0.6)
    generator = np.random.default_rng(3)
    torn = np.zeros(len(ball.faces), dtype=bool)
    for spot in ball.vertices[generator.choice(len(ball.vertices), 40, replace=False)]:
        torn |= np.linalg.norm(ball.triangles_center - spot, axis=1) < 0.05
    faces = ball.faces[~torn]
    rough = ball.vertices + generator.normal(0.0, 0.0012, ball.vertices.shape)
    body = Body(
        vertices_m=rough, faces=faces, face_part=np.zeros(len(faces), dtype=np.int64), parts=("scan",),
        rules=(SurfaceRule(part="scan", kind=SurfaceKind.PANEL),),
    )  # fmt: skip
    found = reduced(body, most_faces=4_000)
    assert len(found.faces) < 0.7 * len(faces)
    middles = found.vertices_m[found.faces].mean(axis=1)
    some = generator.choice(len(middles), 150, replace=False)
    furthest = np.argsort(found.off_m)[-50:]
    true = off_m(middles[np.r_[some, furthest]], rough[faces])
    assert np.all(true <= found.off_m[np.r_[some, furthest]] + 1e-6)
    assert (
        found.off_m.max() < 0.05
    )  # no further than a hole is wide: nothing unknown, nothing across the ball
