"""Shapes for the eye: the reduced body against the full one, thinned curves, keep-outs."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from routecut.model.body import Body, Floats
from routecut.model.job import Box, Capsule, KeepOut, PartShape, Sphere, SurfaceKind, SurfaceRule
from routecut.scene import Reduced, keep_out_triangles, reduced, thinned, tube
from routecut.survey import survey_job
from tests.documents import sample

VAN = Path(__file__).parents[2] / "meshes" / "river-rescue-van"


@pytest.fixture(scope="module")
def van() -> Body:
    return survey_job(VAN).body


@pytest.fixture(scope="module")
def few(van: Body) -> Reduced:
    return reduced(van)


def off_m(points: Floats, triangles: Floats) -> Floats:
    """Distance of each point to the nearest of the triangles: every pair is looked at."""
    return np.array(
        [
            np.linalg.norm(
                trimesh.triangles.closest_point(triangles, np.broadcast_to(p, (len(triangles), 3))) - p,
                axis=1,
            ).min()
            for p in points
        ]
    )


def test_the_sample_body_has_about_the_faces_asked_for_and_every_part(van: Body, few: Reduced) -> None:
    assert 15_000 < len(few.faces) < 30_000 < len(van.faces)
    assert few.parts[:-1] == van.parts
    assert set(few.face_part.tolist()) == set(range(len(van.parts)))
    assert few.kinds[:-1] == tuple(rule.kind for rule in van.rules)


def test_each_face_says_how_far_it_lies_off_the_full_mesh_and_nearly_all_are_within_two_millimetres(
    van: Body, few: Reduced
) -> None:
    """Points drawn at random on the faces, not those that the figure was taken from."""
    generator = np.random.default_rng(7)
    face = generator.choice(len(few.faces), 400, replace=False)
    share = generator.dirichlet((1.0, 1.0, 1.0), len(face))
    points = np.einsum("pc,pcd->pd", share, few.vertices_m[few.faces[face]])
    for f, point in zip(face, points, strict=True):
        full = van.triangles_m[van.face_part == few.face_part[f]]
        assert off_m(point[None], full)[0] <= few.off_m[f] + 0.0005, van.parts[few.face_part[f]]
    area = trimesh.triangles.area(few.vertices_m[few.faces])
    assert area[few.off_m <= 0.002].sum() > 0.98 * area.sum()


def test_a_bowl_is_followed_and_a_body_of_few_faces_is_left_as_it_is() -> None:
    ball = trimesh.creation.icosphere(subdivisions=5, radius=0.5)
    rules = (SurfaceRule(part="ball", kind=SurfaceKind.PANEL),)
    body = Body(
        vertices_m=ball.vertices, faces=ball.faces, face_part=np.zeros(len(ball.faces), dtype=np.int64),
        parts=("ball",), rules=rules,
    )  # fmt: skip
    found = reduced(body, most_faces=2_000)
    assert len(found.faces) < 6_000 < len(ball.faces)
    depth = 0.5 - np.linalg.norm(found.vertices_m[found.faces].mean(axis=1), axis=1)
    assert depth.max() < 0.003
    assert np.all(depth - 2e-4 <= found.off_m)  # the full mesh itself lies that deep in the ball
    whole = reduced(body, most_faces=len(ball.faces))
    assert len(whole.faces) == len(ball.faces)
    assert whole.off_m.max() == 0.0


def test_a_rough_scan_keeps_no_more_faces_than_asked_for_and_says_that_it_is_off() -> None:
    ball = trimesh.creation.icosphere(subdivisions=6, radius=1.0)
    rough = ball.vertices + np.random.default_rng(3).normal(0.0, 0.006, ball.vertices.shape)
    rules = (SurfaceRule(part="scan", kind=SurfaceKind.PANEL),)
    body = Body(
        vertices_m=rough, faces=ball.faces, face_part=np.zeros(len(ball.faces), dtype=np.int64),
        parts=("scan",), rules=rules,
    )  # fmt: skip
    found = reduced(body, most_faces=5_000)
    assert len(found.faces) <= 5_000
    assert np.median(found.off_m) > 0.002


def test_the_edges_of_a_box_are_its_twelve_and_of_a_sheet_its_rim() -> None:
    box = trimesh.creation.box((1.0, 2.0, 3.0))
    rules = (SurfaceRule(part="box", kind=SurfaceKind.PANEL),)
    body = Body(
        vertices_m=box.vertices,
        faces=box.faces,
        face_part=np.zeros(12, dtype=np.int64),
        parts=("box",),
        rules=rules,
    )
    assert len(reduced(body).edges) == 12
    open_box = replace(
        body, faces=box.faces[box.face_normals[:, 0] < 0.5], face_part=np.zeros(10, dtype=np.int64)
    )
    lengths = {
        round(float(np.linalg.norm(np.diff(reduced(open_box).vertices_m[e], axis=0))), 6)
        for e in reduced(open_box).edges
    }
    assert lengths == {1.0, 2.0, 3.0}  # no diagonal
    assert len(reduced(open_box).edges) == 12  # eight creases and the rim


def test_what_the_job_ignores_is_pictured_and_a_body_without_faces_is_no_trouble() -> None:
    body = sample.body()
    pictured = replace(body, pictured=body.triangles_m[:2])
    found = reduced(pictured)
    assert found.kinds[-1] is SurfaceKind.IGNORE
    assert (found.face_part == len(body.parts)).sum() == 2
    nothing = replace(
        body,
        faces=np.zeros((0, 3), dtype=np.int64),
        face_part=np.zeros(0, dtype=np.int64),
        pictured=np.zeros((0, 3, 3)),
    )
    assert len(reduced(nothing).faces) == 0


@given(
    st.lists(st.tuples(*[st.floats(-2.0, 2.0)] * 3), min_size=2, max_size=40),
    st.floats(0.001, 0.5),
)
def test_a_thinned_curve_stays_within_its_bound(
    points: list[tuple[float, float, float]], bound_m: float
) -> None:
    curve = np.array(points)
    kept = thinned(curve, bound_m)
    assert np.array_equal(kept[0], curve[0])
    assert np.array_equal(kept[-1], curve[-1])
    places = [0]
    for point in kept[1:-1]:
        places.append(next(k for k in range(places[-1] + 1, len(curve)) if np.array_equal(curve[k], point)))
    for point in curve:
        chords = [
            np.linalg.norm(
                point
                - a
                - np.clip((point - a) @ (b - a) / max(float((b - a) @ (b - a)), 1e-300), 0, 1) * (b - a)
            )
            for a, b in itertools.pairwise(kept)
        ]
        assert min(chords) <= bound_m * (1 + 1e-9) + 1e-12


def test_keep_outs_have_the_extent_of_their_shape_over_its_sweep() -> None:
    def extent(
        shape: Box | Capsule | Sphere, sweep: tuple[float, float, float] = (0.0, 0.0, 0.0)
    ) -> list[float]:
        found = keep_out_triangles(KeepOut(name="k", shape=shape, sweep_m=sweep), sample.body()).reshape(
            -1, 3
        )
        return [*found.min(axis=0), *found.max(axis=0)]

    box = Box(low_m=(0.0, 0.0, 0.0), high_m=(1.0, 2.0, 3.0))
    assert extent(box) == pytest.approx([0, 0, 0, 1, 2, 3])
    assert extent(box, (-0.5, 0.0, 0.25)) == pytest.approx([-0.5, 0, 0, 1, 2, 3.25])
    # made of flat faces: a little inside the round shape
    assert extent(Sphere(at_m=(1.0, 0.0, 0.0), radius_m=0.2)) == pytest.approx(
        [0.8, -0.2, -0.2, 1.2, 0.2, 0.2], abs=0.008
    )
    capsule = Capsule(from_m=(0.0, 0.0, 0.0), to_m=(0.0, 0.0, 1.0), radius_m=0.1)
    assert extent(capsule) == pytest.approx([-0.1, -0.1, -0.1, 0.1, 0.1, 1.1], abs=0.003)


def test_a_keep_out_that_is_a_part_has_its_faces_and_one_the_body_lacks_has_none() -> None:
    body = sample.body()
    part = body.parts[0]
    found = keep_out_triangles(KeepOut(name="k", shape=PartShape(part=part)), body)
    assert np.array_equal(found, body.triangles_m[body.face_part == 0])
    assert len(keep_out_triangles(KeepOut(name="k", shape=PartShape(part="nothing like it")), body)) == 0


def test_a_tube_is_closed_looks_outward_and_has_the_volume_of_its_curve() -> None:
    turn = np.linspace(0.0, 2.0, 80)
    helix = np.stack([np.cos(turn), np.sin(turn), 0.3 * turn], axis=1)
    vertices, faces = tube(helix, 0.02, sides=12)
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    assert mesh.is_watertight
    length = np.linalg.norm(np.diff(helix, axis=0), axis=1).sum()
    of_twelve = 0.5 * 12 * np.sin(2.0 * np.pi / 12) * 0.02**2
    assert mesh.volume == pytest.approx(of_twelve * length, rel=0.005)  # positive: the faces look outward
    straight = np.array([[0.0, 0, 0], [0, 0, 1], [0, 0, 3]])
    assert trimesh.Trimesh(*tube(straight, 0.02, sides=12), process=False).volume == pytest.approx(
        of_twelve * 3.0
    )
