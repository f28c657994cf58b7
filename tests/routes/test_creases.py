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

    What is left goes down to the floor at 30 degrees from upright: a metre of air costs two, so that it is bent
    there as light is at twice the speed.
    """
    wall = rectangle(np.array([0.0, -1.0, 0.0]), np.array([0, 2.0, 0]), np.array([0, 0, 2.0]))
    s = STAND_OFF
    way = np.concatenate([[[0.5, 0, 0.4]], legs_of([(s, 0, s + 0.06), (s, 0, s), (1.2, 0, s)], 0.05)])
    free = np.arange(len(way) - 1) == 0
    laid_by_hand = strand(way, 0.03)
    hung = Strand(
        way, laid_by_hand.pinned, free, STAND_OFF, laid_by_hand.radius_m, laid_by_hand.bend_m, (), 2.0
    )
    laid = tighten(surface(FLOOR, wall), [hung])[0]
    drop = 0.4 - s
    down = drop / np.cos(np.radians(30))
    best = 2 * down + 0.7 - drop * np.tan(np.radians(30))
    hangs = laid.points_m[:-1, 2] > s + 1e-3
    cost = (np.linalg.norm(np.diff(laid.points_m, axis=0), axis=1) * np.where(hangs, 2, 1)).sum()
    assert 0.999 * best < cost < 1.01 * best
    assert laid.points_m[:, 0].min() > 0.49


DRAWN = {
    "along the rim": [
        (0.0, 0.462, 1.28), (0.0, 0.45, 1.258), (0.0, 0.346, 1.201), (0.0, 0.262, 1.138), (0.0, 0.154, 1.087),
        (0.0, 0.061, 1.065), (0.0, 0.031, 1.012), (0.027, -0.001, 1.012), (0.17, -0.006, 1.012),
        (0.286, -0.013, 1.012), (0.392, -0.003, 1.012), (0.441, -0.057, 1.012),
    ],
    "across the shelf": [
        (0.0, 0.444, 1.268), (0.0, 0.379, 1.178), (0.0, 0.335, 1.146), (0.0, 0.256, 1.11), (0.0, 0.178, 1.092),
        (0.0, 0.093, 1.03), (0.002, -0.001, 1.012), (0.084, -0.064, 1.012), (0.224, -0.099, 1.012),
        (0.291, -0.114, 1.012), (0.328, -0.088, 1.012),
    ],
}  # fmt: skip


@pytest.mark.parametrize("drawn", DRAWN)
def test_no_air_is_taken_unpaid_past_the_end_of_a_rim(drawn: str) -> None:
    """From a wall down to a shelf whose rim stands out of it: past the rim the straight line hangs.

    Points that have lost both sheets once, as coarse legs do there, draw their neighbours off them.
    """
    shelf = rectangle(np.array([0.0, -0.5, 1.0]), np.array([1.0, 0, 0]), np.array([0, 0.5, 0]))
    wall = rectangle(np.array([0.0, -1.0, 0.3]), np.array([0, 2.0, 0]), np.array([0, 0, 1.5]))
    way = np.add(DRAWN[drawn], [STAND_OFF, 0.0, 0.0])
    laid = tighten(surface(shelf, wall), [strand(way, 0.012)])[0]
    off = distances_m(laid.points_m, np.concatenate([shelf, wall])).min(axis=1)
    assert off.max() < HELD
