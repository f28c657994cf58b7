"""Distances to keep-outs against samples of their outsides.

Source     surfaces of boxes, balls, capsules and triangles, sampled: first principles
Circular?  No: nothing of `routecut` is used for what is expected
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from routecut.geometry.keep_out import KeepOutField
from routecut.model.body import Body
from routecut.model.job import Box, Capsule, KeepOut, PartShape, Shape, Sphere, SurfaceKind, SurfaceRule
from tests.geometry.plain import Floats


def body_of(triangles: Floats) -> Body:
    return Body(
        vertices_m=triangles.reshape(-1, 3),
        faces=np.arange(3 * len(triangles)).reshape(-1, 3),
        face_part=np.zeros(len(triangles), dtype=np.int64),
        parts=("lump",),
        rules=(SurfaceRule(part="lump", kind=SurfaceKind.OBSTACLE),),
    )


def filled(shape: Shape, rng: np.random.Generator, triangles: Floats) -> Floats:
    """Points all over the outside of a shape, (k, 3)."""
    ball = rng.normal(size=(4000, 3))
    ball /= np.linalg.norm(ball, axis=1)[:, None]
    if isinstance(shape, Sphere):
        return np.array(shape.at_m) + shape.radius_m * ball
    if isinstance(shape, Capsule):
        a, b = np.array(shape.from_m), np.array(shape.to_m)
        axis = (b - a) / np.linalg.norm(b - a)
        round_it = ball - (ball @ axis)[:, None] * axis
        round_it /= np.linalg.norm(round_it, axis=1)[:, None]
        side = a + rng.random((4000, 1)) * (b - a) + shape.radius_m * round_it
        cap = np.where((ball @ axis)[:, None] > 0, b, a) + shape.radius_m * ball
        return np.asarray(np.where(rng.random((4000, 1)) < 0.6, side, cap))
    if isinstance(shape, Box):
        points = rng.random((4000, 3))
        axis = rng.integers(0, 3, 4000)
        points[np.arange(4000), axis] = np.round(points[np.arange(4000), axis])
        low, high = np.array(shape.low_m), np.array(shape.high_m)
        return np.asarray(low + points * (high - low))
    u = rng.random((4000, 2))
    u = np.where(u.sum(axis=1, keepdims=True) > 1, 1 - u, u)
    t = triangles[rng.integers(0, len(triangles), 4000)]
    return np.asarray(t[:, 0] + u[:, :1] * (t[:, 1] - t[:, 0]) + u[:, 1:] * (t[:, 2] - t[:, 0]))


SHAPES: dict[str, Shape] = {
    "box": Box(low_m=(0.1, 0.2, 0.3), high_m=(0.3, 0.35, 0.4)),
    "sphere": Sphere(at_m=(0.2, 0.3, 0.4), radius_m=0.09),
    "capsule": Capsule(from_m=(0.1, 0.2, 0.3), to_m=(0.35, 0.3, 0.45), radius_m=0.05),
    "part": PartShape(part="l*"),
}
LUMP = np.array(
    [
        [(0.1, 0.2, 0.3), (0.3, 0.2, 0.3), (0.2, 0.35, 0.45)],
        [(0.1, 0.2, 0.3), (0.2, 0.35, 0.45), (0.1, 0.4, 0.3)],
    ]
)


@pytest.mark.parametrize("sweep", [(0.0, 0.0, 0.0), (0.15, -0.1, 0.05)], ids=["still", "swept"])
@pytest.mark.parametrize("kind", SHAPES)
def test_distance_to_a_keep_out_is_the_least_over_its_outside(
    kind: str, sweep: tuple[float, float, float]
) -> None:
    rng = np.random.default_rng(3)
    shape, clearance = SHAPES[kind], 0.06
    keep_out = KeepOut(name="K", shape=shape, clearance_m=clearance, sweep_m=sweep)
    field = KeepOutField(keep_out, body_of(LUMP))
    points = rng.uniform((-0.2, -0.1, 0.0), (0.7, 0.7, 0.8), (2500, 3))
    points = points[field.distance_m(points) < clearance + 0.2][:700]
    outside = filled(shape, rng, LUMP)
    way = np.linspace(0, 1, 41)[:, None, None] * np.array(sweep) if any(sweep) else np.zeros((1, 1, 3))
    samples = (outside[None, ::2] + way).reshape(-1, 3)
    sampled = np.array([np.linalg.norm(samples - p, axis=1).min() for p in points])
    got = field.distance_m(points)
    trusted = clearance + 0.08
    near = sampled < trusted - 0.02
    outside_rows = near & (got > 0)
    assert outside_rows.sum() > 50
    # Samples are up to 12 mm apart, so the least of them is a little too far, by less where they are farther off.
    over = sampled[outside_rows] - got[outside_rows]
    assert over.min() > -1e-3
    assert over.max() < 0.012
    assert np.median(over) < 0.003
    # Further off it may say less than the distance, never more, and never so little that it matters.
    far = sampled > trusted
    assert (got[far] <= sampled[far] + 1e-9).all()
    assert (got[far] >= clearance).all()


@pytest.mark.parametrize("kind", ["box", "sphere", "capsule"])
def test_inside_a_keep_out_the_distance_is_negative(kind: str) -> None:
    rng = np.random.default_rng(4)
    shape = SHAPES[kind]
    field = KeepOutField(KeepOut(name="K", shape=shape, clearance_m=0.05), body_of(LUMP))
    skin = filled(shape, rng, LUMP)
    middle = skin.mean(axis=0)
    # The shapes are convex: what lies on the way from the skin to the middle is inside.
    assert (field.distance_m(middle + 0.9 * (skin - middle)) < 0).all()
    assert (field.distance_m(middle + 1.1 * (skin - middle)) > 0).all()
    np.testing.assert_allclose(field.distance_m(skin), 0, atol=0.051)


@pytest.mark.parametrize("sweep", [(0.0, 0.0, 0.0), (0.15, -0.1, 0.05)], ids=["still", "swept"])
@pytest.mark.parametrize("kind", SHAPES)
def test_outward_is_where_the_distance_grows_by_as_much_as_the_step(
    kind: str, sweep: tuple[float, float, float]
) -> None:
    rng = np.random.default_rng(5)
    field = KeepOutField(
        KeepOut(name="K", shape=SHAPES[kind], clearance_m=0.05, sweep_m=sweep), body_of(LUMP)
    )
    points = rng.uniform((-0.1, 0.0, 0.1), (0.6, 0.6, 0.7), (2000, 3))
    distance = field.distance_m(points)
    points, distance = (
        points[(distance > 0.01) & (distance < 0.1)],
        distance[(distance > 0.01) & (distance < 0.1)],
    )
    assert len(points) > 30
    grown = field.distance_m(points + 0.002 * field.outward(points)) - distance
    # Golden-section search leaves the nearest place of a sweep open to a few tenths of a millimetre.
    assert np.median(grown) == pytest.approx(0.002, abs=1e-4)
    assert grown.min() > (0.0012 if any(sweep) else 0.0018)


@pytest.mark.parametrize("kind", SHAPES)
def test_boxes_know_a_lower_bound_of_the_distance(kind: str) -> None:
    rng = np.random.default_rng(6)
    field = KeepOutField(
        KeepOut(name="K", shape=SHAPES[kind], clearance_m=0.05, sweep_m=(0.1, 0.0, 0.0)), body_of(LUMP)
    )
    low = rng.uniform(-0.5, 1.0, (200, 3))
    high = low + rng.uniform(0, 0.2, (200, 3))
    bound = field.boxes_m(low, high)
    for share in itertools.product((0.0, 0.5, 1.0), repeat=3):
        distance = field.distance_m(low + np.array(share) * (high - low))
        assert (bound <= np.maximum(distance, 0) + 1e-9).all()


def test_a_keep_out_is_for_its_classes() -> None:
    field = KeepOutField(KeepOut(name="K", shape=SHAPES["box"], applies_to=("power", "coax")), body_of(LUMP))
    assert [field.applies_to(c) for c in ("power", "coax", "audio")] == [True, True, False]
    assert KeepOutField(KeepOut(name="K", shape=SHAPES["box"]), body_of(LUMP)).applies_to("audio")
