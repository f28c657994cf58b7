"""The bend radius read off chords: right curves are never blamed, kinks always are.

Truth      circles, tangent arcs and helices whose radius is exact
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.verify.bends import bend_radii_m
from routecut.verify.curve import make_curve
from routecut.verify.limits import BEND_PART, CHORD_M, bend_window_m
from tests.verify.scenes import fillet

radii = st.floats(0.003, 0.3)


def least(points: np.ndarray, asked: float) -> float:
    radius, run = bend_radii_m(make_curve(points), asked)
    assert len(radius) == len(run)
    return float(radius.min()) if len(radius) else math.inf


@settings(deadline=None, max_examples=150)
@given(radius=radii, angle=st.floats(20, 175), chord=st.floats(0.02, 1.0), leg=st.floats(0.001, 0.5))
def test_a_rounded_corner_has_the_radius_of_its_arc(
    radius: float, angle: float, chord: float, leg: float
) -> None:
    """From chords as long as the contract allows (1 mm off the arc) down to tiny ones."""
    turn = math.radians(180 - angle)
    reach = radius * math.tan(turn / 2) + leg
    corners = [(-reach, 0, 0), (0, 0, 0), (reach * math.cos(turn), reach * math.sin(turn), 0)]
    points = fillet(corners, radius, step=chord * bend_window_m(radius))
    assert least(points, radius) >= BEND_PART * radius


@settings(deadline=None, max_examples=60)
@given(radius=radii, chord=st.floats(0.05, 1.0), part=st.floats(0.3, 0.9))
def test_an_arc_that_is_too_tight_is_seen(radius: float, chord: float, part: float) -> None:
    """A quarter turn at a part of the radius, where that differs from the right bend by over 1 mm."""
    tight = part * radius
    if (radius - tight) * (math.sqrt(2) - 1) < 2 * CHORD_M:
        return
    points = fillet([(0, 0, 0), (1, 0, 0), (1, 1, 0)], tight, step=chord * bend_window_m(tight))
    assert least(points, radius) < BEND_PART * radius


@settings(deadline=None, max_examples=100)
@given(radius=st.floats(0.005, 0.3), turn=st.floats(5, 180), split=st.integers(1, 40))
def test_a_kink_is_seen_unless_the_right_bend_is_within_a_chord_of_it(
    radius: float, turn: float, split: int
) -> None:
    """Whatever the points on the straights are; a fold back on itself too."""
    angle = math.radians(turn)
    gap = radius * (1 / max(math.cos(angle / 2), 1e-9) - 1)
    if gap < 2.5 * CHORD_M:
        return
    end = np.array([1 + math.cos(angle), math.sin(angle), 0.0])
    first = np.linspace((0, 0, 0), (1, 0, 0), split + 1)
    points = np.concatenate([first, np.linspace((1, 0, 0), end, split + 1)[1:]])
    assert least(points, radius) < BEND_PART * radius


def test_the_radius_reported_is_the_radius() -> None:
    points = fillet([(0, 0, 0), (1, 0, 0), (1, 1, 0)], 0.05, step=0.001)
    assert least(points, 0.03) == pytest.approx(0.05, rel=1e-3)
    turns = np.linspace(0, 4 * math.pi, 800)
    helix = np.stack([0.04 * np.cos(turns), 0.04 * np.sin(turns), 0.01 * turns], axis=1)
    assert least(helix, 0.04) == pytest.approx((0.04**2 + 0.01**2) / 0.04, rel=0.02)


def test_noise_of_fine_points_is_not_judged() -> None:
    """Points every 0.5 mm, 0.03 mm off: an angle at each of several degrees, but no bend."""
    points = fillet([(0, 0, 0), (0.3, 0, 0), (0.3, 0.3, 0)], 0.06, step=0.0005)
    points = make_curve(points, 0.0005).points_m
    noisy = points + np.random.default_rng(3).normal(scale=3e-5, size=points.shape)
    assert least(noisy, 0.06) >= BEND_PART * 0.06


def test_a_straight_has_no_bend() -> None:
    assert math.isinf(least(np.array([[0.0, 0, 0], [1, 0, 0]]), 0.03))
    assert math.isinf(least(np.linspace((0, 0, 0), (1, 2, 3), 50), 0.03))


def test_a_fold_is_no_straight() -> None:
    """Back on itself exactly, where three points on a circle say nothing."""
    assert least(np.array([[0.0, 0, 0], [1, 0, 0], [0.3, 0, 0]]), 0.03) < 0.03


def test_a_bend_at_the_very_end_is_judged_like_any_other() -> None:
    """The connector carries on straight: 10 degrees 3 mm from the end is drawing, 60 degrees is not."""
    for turn, fine in ((10, True), (60, False)):
        way = 0.003 * np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn)), 0.0])
        points = np.array([(0.0, 0, 0), (1, 0, 0), np.array([1, 0, 0]) + way])
        assert (least(points, 0.06) >= BEND_PART * 0.06) is fine
        assert (least(points[::-1], 0.06) >= BEND_PART * 0.06) is fine
