"""Inside corners under tightening: a strand keeps hold of its sheets there, and is not kept from sliding along them.

Truth      distances to the plates and straight lines: first principles
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from routecut.routes.strands import Strand
from routecut.routes.tighten import tighten
from tests.geometry.plain import distances_m
from tests.routes.test_shaping import FLOOR, STAND_OFF, length, rectangle, strand, surface

HELD = 1.35 * STAND_OFF
"""Points further off than this lie on nothing."""


def legs_of(corners: list[tuple[float, float, float]], step: float) -> np.ndarray:
    points = [np.array(corners[:1], dtype=float)]
    for one, other in pairwise(corners):
        pieces = int(np.ceil(np.linalg.norm(np.subtract(other, one)) / step))
        points.append(np.linspace(one, other, pieces + 1)[1:])
    return np.concatenate(points)


@pytest.mark.parametrize("rise", [0.1, 0.3])
@pytest.mark.parametrize("step", [0.033, 0.047, 0.06])
def test_from_the_rim_of_a_shelf_onto_the_wall_it_keeps_hold(rise: float, step: float) -> None:
    """Between rim and wall the straight line is through the air: shorter, and nothing to clip to."""
    shelf = rectangle(np.array([0.0, -0.5, 1.0]), np.array([1.0, 0, 0]), np.array([0, 0.5, 0]))
    wall = rectangle(np.array([0.0, -1.0, 0.0]), np.array([0, 2.0, 0]), np.array([0, 0, 2.0]))
    s = STAND_OFF
    way = legs_of([(0.9, s, 1.0), (s, s, 1.0), (s, s + 0.3, 1.0 + rise)], step)
    laid = tighten(surface(shelf, wall), [strand(way, 0.03)])[0]
    off = distances_m(laid.points_m, np.concatenate([shelf, wall])).min(axis=1)
    assert off.max() < HELD
    assert length(laid.points_m) <= 1.001 * length(way)


def test_a_landing_beside_a_wall_lets_go_of_it() -> None:
    """From the air onto the wall, 60 mm above the floor, and on along the floor: the wall holds nothing there.

    What is left is the straight line from the port through the air.
    """
    wall = rectangle(np.array([0.0, -1.0, 0.0]), np.array([0, 2.0, 0]), np.array([0, 0, 2.0]))
    s = STAND_OFF
    way = np.concatenate([[[0.1, 0, 0.4]], legs_of([(s, 0, s + 0.06), (s, 0, s), (1.0, 0, s)], 0.05)])
    free = np.arange(len(way) - 1) == 0
    laid_by_hand = strand(way, 0.03)
    hung = Strand(
        way, laid_by_hand.pinned, free, STAND_OFF, laid_by_hand.radius_m, laid_by_hand.bend_m, (), 2.0
    )
    laid = tighten(surface(FLOOR, wall), [hung])[0]
    straight = np.hypot(0.9, 0.4 - s)
    assert straight - 1e-6 <= length(laid.points_m) < 1.05 * straight
