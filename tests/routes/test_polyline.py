"""Running lengths, points at them, and strands sampled anew."""

from __future__ import annotations

import itertools

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.routes.polyline import points_at, running_m
from routecut.routes.strands import Strand, flatten, resample, unflatten

Floats = npt.NDArray[np.float64]

MANY = settings(max_examples=100, deadline=None, derandomize=True)
seeds = st.integers(0, 2**32 - 1)


def random_strand(rng: np.random.Generator, count: int | None = None) -> Strand:
    n = count or int(rng.integers(3, 30))
    pinned = rng.random(n) < 0.3
    pinned[[0, -1]] = True
    return Strand(
        np.cumsum(rng.normal(size=(n, 3)) * 0.05, axis=0),
        pinned,
        rng.random(n - 1) < 0.3,
        0.012,
        0.003,
        0.03,
        (),
    )


@MANY
@given(seed=seeds)
def test_points_at_running_lengths_are_the_points(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.normal(size=(int(rng.integers(2, 40)), 3)), axis=0)
    run = running_m(points)
    assert run[0] == 0
    total = sum(float(np.linalg.norm(b - a)) for a, b in itertools.pairwise(points))
    assert run[-1] == pytest.approx(total)
    np.testing.assert_allclose(points_at(run, run, points), points, atol=1e-12)


@MANY
@given(seed=seeds)
def test_points_between_lie_on_their_leg_at_their_share(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.normal(size=(12, 3)), axis=0)
    run = running_m(points)
    at = np.sort(rng.uniform(0, run[-1], 50))
    places = points_at(at, run, points)
    for x, place in zip(at, places, strict=True):
        leg = int(np.flatnonzero(run <= x)[-1])
        a, b = points[leg], points[min(leg + 1, len(points) - 1)]
        assert np.linalg.norm(place - a) == pytest.approx(x - run[leg], abs=1e-9)
        assert np.linalg.norm(place - a) + np.linalg.norm(b - place) == pytest.approx(
            np.linalg.norm(b - a), abs=1e-9
        )
    # Never further apart in a straight line than along the way.
    assert (np.linalg.norm(np.diff(places, axis=0), axis=1) <= np.diff(at) + 1e-12).all()


@MANY
@given(seed=seeds, spacing=st.sampled_from([0.01, 0.06, 0.5]))
def test_resampling_keeps_ends_pins_and_kinds_of_leg(seed: int, spacing: float) -> None:
    rng = np.random.default_rng(seed)
    strand = random_strand(rng)
    new = resample(strand, spacing)
    np.testing.assert_array_equal(new.points_m[[0, -1]], strand.points_m[[0, -1]])
    # Every pinned point is still there and pinned, in order, and nothing else is pinned.
    np.testing.assert_array_equal(new.points_m[new.pinned], strand.points_m[strand.pinned])
    assert len(new.pinned) == len(new.points_m) == len(new.free) + 1
    # No longer than before, and no leg but a pinned one longer than asked.
    assert running_m(new.points_m)[-1] <= running_m(strand.points_m)[-1] + 1e-9
    leg = np.linalg.norm(np.diff(new.points_m, axis=0), axis=1)
    assert leg[~(new.pinned[:-1] & new.pinned[1:])].max(initial=0) <= spacing + 1e-9
    # A leg hangs free where the old one did at that running length.
    anchors, old_anchors = np.flatnonzero(new.pinned), np.flatnonzero(strand.pinned)
    for a, b, c, d in zip(anchors, anchors[1:], old_anchors, old_anchors[1:], strict=False):
        run = running_m(strand.points_m[c : d + 1])
        middle = (np.arange(b - a) + 0.5) / (b - a) * run[-1]
        expected = [bool(strand.free[c + np.flatnonzero(run[:-1] <= x)[-1]]) for x in middle]
        assert new.free[a:b].tolist() == expected


@MANY
@given(seed=seeds)
def test_flat_strands_come_back_as_they_were(seed: int) -> None:
    rng = np.random.default_rng(seed)
    strands = [random_strand(rng) for _ in range(int(rng.integers(1, 6)))]
    flat = flatten(strands)
    assert flat.owner.tolist() == [i for i, s in enumerate(strands) for _ in s.points_m]
    # Where one strand ends and the next begins there is no leg.
    assert (~flat.leg).sum() == len(strands) - 1
    for old, new in zip(strands, unflatten(strands, flat.at_m + 1.0), strict=True):
        np.testing.assert_array_equal(new.points_m, old.points_m + 1.0)
        np.testing.assert_array_equal(new.pinned, old.pinned)
        np.testing.assert_array_equal(new.free, old.free)
    # Held are the points with a leg along a sheet on either side.
    first = strands[0]
    held = [not all(first.free[max(k - 1, 0) : k + 1].tolist()) for k in range(len(first.points_m))]
    assert flat.clipped[: len(held)].tolist() == held
