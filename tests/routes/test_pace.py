"""Rounds of tightening come to rest, and what they rest on is a panel.

Truth      a shortest line does not move when it is pulled once more, and over a gap it is straight: first principles
"""

from __future__ import annotations

import numpy as np
import pytest

from routecut.geometry.sheets import Sheets
from routecut.routes import tighten as tightening
from routecut.routes.pace import SETTLED_M, Pace
from routecut.routes.surface import Surface
from routecut.routes.tighten import tighten
from tests.routes.test_creases import legs_of
from tests.routes.test_shaping import STAND_OFF, length, rectangle, strand, surface

WALL = rectangle(np.array([0.0, -1.0, 0.0]), np.array([0, 2.0, 0]), np.array([0, 0, 2.0]))
SHELF = rectangle(np.array([0.0, -0.5, 1.0]), np.array([1.0, 0, 0]), np.array([0, 0.5, 0]))


@pytest.mark.parametrize("from_y", [0.02, 0.06])
@pytest.mark.parametrize("to_y", [-0.01, -0.05])
def test_another_round_changes_nothing(from_y: float, to_y: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Down a wall and over the rim of a shelf, on whose round it once swung to and fro by a millimetre."""
    s = STAND_OFF
    way = legs_of([(s, from_y, 1.25), (s, -0.03, 1.0 + s), (0.4, to_y, 1.0 + s)], 0.05)
    lengths = []
    for rounds in ((12, 8, 8), (12, 8, 9), (12, 8, 10), (30, 30, 60)):
        monkeypatch.setattr(tightening, "_ROUNDS", rounds)
        lengths.append(length(tighten(surface(WALL, SHELF), [strand(way, 0.02)])[0].points_m))
    assert max(lengths) - min(lengths) < 5e-5


def test_it_is_not_put_back_onto_what_nothing_is_clipped_to() -> None:
    """Two floors, and between them a plate 10 mm lower that is no panel: it goes over it.

    About the rims it is held as far as they reach, so it hangs 2 mm deep between them: 1 mm more in all.
    """
    floors = [
        rectangle(np.array([x, -1.0, 0.0]), np.array([0.5, 0, 0]), np.array([0, 2.0, 0])) for x in (0.0, 0.8)
    ]
    plate = rectangle(np.array([0.5, -1.0, -0.01]), np.array([0.3, 0, 0]), np.array([0, 2.0, 0]))
    triangles = np.concatenate([*floors, plate])
    panels = np.r_[np.ones(4, dtype=bool), np.zeros(2, dtype=bool)]
    s = STAND_OFF
    way = legs_of([(0.1, 0.0, s), (1.2, 0.0, s)], 0.05)
    laid = tighten(Surface(Sheets(triangles), panels), [strand(way, 0.02)])[0]
    assert 1.1 <= length(laid.points_m) < 1.1015


def test_what_is_sent_back_takes_smaller_steps_and_what_is_sent_on_larger() -> None:
    laid = strand(legs_of([(0.0, 0.0, 0.0), (1.0, 0.0, 0.0)], 0.06), 0.02)
    points = laid.points_m
    still = np.zeros(len(points), dtype=bool)
    pace = Pace()
    pace.begin(laid, 0.06)
    first = pace.step_m(points)
    assert first == pytest.approx(0.4 * 0.06)
    swinging, going = slice(0, 5), slice(10, None)
    for k in range(6):
        move = np.zeros_like(points)
        move[swinging, 1] = 2e-3 * (-1) ** k
        move[going, 1] = pace.step_m(points)[going]
        pace.moved(points, points + move, still)
        points = points + move
    assert (pace.step_m(points)[swinging] < 0.2 * first[swinging]).all()
    assert (pace.step_m(points)[going] > 2 * first[going]).all()
    assert pace.step_m(points)[5:10] == pytest.approx(first[5:10])
    stopped = still.copy()
    stopped[-1] = True
    pace.moved(points, points, stopped)
    assert (pace.step_m(points)[-3:] <= 1.5 * first[-3:]).all()
    assert pace.step_m(points).min() >= SETTLED_M
