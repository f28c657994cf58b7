"""Distances to keep-outs, swept ones included, against dense sampling of the sweep."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.model.job import Box, Capsule, KeepOut, PartShape, Sphere, SurfaceKind, Vec3
from routecut.verify.curve import make_curve
from routecut.verify.shapes import make_shape
from tests.verify.scenes import make_body, plate

BODY = make_body(
    seat=(SurfaceKind.OBSTACLE, plate((0, 0, 0), (0.5, 0, 0), (0, 0.5, 0.1), 2)),
    floor=(SurfaceKind.PANEL, plate((-3, -3, -1), (6, 0, 0), (0, 6, 0))),
)
STEPS = 2001

vector = st.tuples(*[st.integers(-8, 8).map(lambda k: k / 8)] * 3)
sweeps = st.one_of(st.just((0.0, 0.0, 0.0)), vector)


def unswept(shape: Box | Sphere | Capsule, points: np.ndarray) -> np.ndarray:
    """Distance to the shape at rest, written out."""
    match shape:
        case Box():
            inner = np.clip(points, shape.low_m, shape.high_m)
            return np.asarray(np.linalg.norm(points - inner, axis=1))
        case Sphere():
            return np.asarray(
                np.maximum(np.linalg.norm(points - np.array(shape.at_m), axis=1) - shape.radius_m, 0)
            )
        case Capsule():
            t = np.linspace(0, 1, 801)[:, None, None]
            line = np.array(shape.from_m) + t * (np.array(shape.to_m) - np.array(shape.from_m))
            return np.asarray(
                np.maximum(np.linalg.norm(points - line, axis=2).min(axis=0) - shape.radius_m, 0)
            )


SHAPES = [
    Box(low_m=(0.0, 0.1, 0.2), high_m=(0.4, 0.3, 0.9)),
    Sphere(at_m=(0.1, 0.2, 0.3), radius_m=0.25),
    Capsule(from_m=(0.0, 0.0, 0.0), to_m=(0.5, 0.2, 0.1), radius_m=0.1),
]


@pytest.mark.parametrize("shape", SHAPES)
@settings(deadline=None, max_examples=60)
@given(at=vector, sweep=sweeps)
def test_swept_distance_is_the_least_along_the_sweep(
    shape: Box | Sphere | Capsule, at: Vec3, sweep: Vec3
) -> None:
    point = np.array(at) * 2
    t = np.linspace(0, 1, STEPS if not isinstance(shape, Capsule) else 201)[:, None]
    sampled = unswept(shape, point - t * np.array(sweep)).min()
    found = make_shape(KeepOut(name="k", shape=shape, sweep_m=sweep), BODY)
    got = float(found.distance(point[None])[0])  # type: ignore[union-attr]
    step = np.linalg.norm(sweep) / (len(t) - 1)
    assert sampled - 0.5 * step - 1e-3 * isinstance(shape, Capsule) <= got <= sampled + 1e-7


@settings(deadline=None, max_examples=60)
@given(at=vector, sweep=sweeps)
def test_swept_part_distance_is_the_least_along_the_sweep(at: Vec3, sweep: Vec3) -> None:
    point = np.array(at) * 2
    rest = make_shape(KeepOut(name="k", shape=PartShape(part="se*")), BODY)
    ways = point - np.linspace(0, 1, 401)[:, None] * np.array(sweep)
    sampled = rest.passed.nearest(ways).any_m.min()  # type: ignore[union-attr]
    moved = make_shape(KeepOut(name="k", shape=PartShape(part="se*"), sweep_m=sweep), BODY)
    line = make_curve(np.array([point, point + 1e-6]))
    got = float(moved.along(line, 0.0)[0].min())
    assert sampled - np.linalg.norm(sweep) / 800 - 2e-6 <= got <= sampled + 1e-6


def test_the_inside_of_what_a_part_passes_is_inside() -> None:
    """A seat base 0.5 m wide of 8 faces that travels 1 m: half way it is nowhere near its ends."""
    keep_out = KeepOut(name="k", shape=PartShape(part="seat"), sweep_m=(0.0, 0.0, 1.0))
    shape = make_shape(keep_out, BODY)
    middle = np.array([0.20, 0.11, 0.5])
    line = make_curve(np.array([middle, middle + np.array([0.0, 0.0, 0.02])]))
    assert shape.along(line, 0.0)[0].max() == 0.0
    beside = make_curve(np.array([(-0.1, 0.11, 0.5), (-0.1, 0.11, 0.52)]))
    assert shape.along(beside, 0.0)[0] == pytest.approx(0.1, abs=1e-12)


def test_a_part_that_matches_nothing_is_nowhere() -> None:
    shape = make_shape(KeepOut(name="k", shape=PartShape(part="door*"), sweep_m=(0.1, 0, 0)), BODY)
    distance, run = shape.along(make_curve(np.array([[0.0, 0, 0], [1, 0, 0]])), 0.0)
    assert np.isinf(distance).all()
    assert len(distance) == len(run)


@pytest.mark.parametrize("sweep", [(0.0, 0.0, 0.0), (0.2, 0.0, 0.0)])
@pytest.mark.parametrize(
    "shape",
    [Box(low_m=(0, 0, 0), high_m=(1, 1, 1)), Sphere(at_m=(0, 0, 0), radius_m=0.0), PartShape(part="seat")],
)
def test_a_corner_passed_between_two_samples_is_seen(shape: Box | Sphere | PartShape, sweep: Vec3) -> None:
    """The line passes the corner at the origin 1 mm off, between samples 5 mm apart."""
    along = np.array([0.0, 1.0, -1.0]) / np.sqrt(2)
    off = np.array([-1.0, -1.0, -1.0]) / np.sqrt(3) * 0.001
    line = make_curve(np.array([off - 0.0525 * along, off + 0.0525 * along]))
    shape_ = make_shape(KeepOut(name="k", shape=shape, sweep_m=sweep), BODY)
    assert np.abs(np.linalg.norm(line.points_m - off, axis=1)).min() > 0.002
    expected = 0.001 if not isinstance(shape, PartShape) else None
    got = float(shape_.along(line, 0.0)[0].min())
    if expected is not None:
        assert got == pytest.approx(expected, abs=1e-4)
    else:
        fine = np.linspace(0, line.length_m, 20001)
        dense = shape_.passed.nearest(line.at(fine)).any_m.min()  # type: ignore[union-attr]
        assert got == pytest.approx(dense, abs=1e-6)


@pytest.mark.parametrize("at_mm", [50.0, 50.5, 51.0, 52.5, 54.0, 54.5])
@pytest.mark.parametrize("aside_mm", [1.0, 4.5, 20.0])
def test_a_curve_is_nearest_between_its_samples_too(at_mm: float, aside_mm: float) -> None:
    """A ball of 1 mm beside a straight curve that is sampled each 5 mm: its least distance to 0.05 mm."""
    ball = Sphere(at_m=(at_mm / 1000, aside_mm / 1000, 0.0), radius_m=0.0005)
    curve = make_curve(np.array([[0.0, 0.0, 0.0], [0.2, 0.0, 0.0]]))
    distance, run = make_shape(KeepOut(name="k", shape=ball), BODY).along(curve, 0.01)
    assert (np.diff(run) >= 0).all()
    assert distance.min() == pytest.approx((aside_mm - 0.5) / 1000, abs=0.05e-3)
    assert run[distance.argmin()] == pytest.approx(at_mm / 1000, abs=0.3e-3)
    assert distance == pytest.approx(unswept(ball, curve.at(run)), abs=1e-12)
