"""Hands in boxes and behind boards whose openings are known by construction."""

from __future__ import annotations

import numpy as np

from routecut.model.body import Body, Floats
from routecut.model.job import SurfaceKind, SurfaceRule
from routecut.model.service import Room
from routecut.service.hands import Hands
from tests.drilling.scenes import PANEL, TRIM, body_of, box


def board(x: float, low: tuple[float, float], high: tuple[float, float]) -> Floats:
    """An upright sheet across X, from (y, z) to (y, z)."""
    (y0, z0), (y1, z1) = low, high
    a, b, c, d = [x, y0, z0], [x, y1, z0], [x, y1, z1], [x, y0, z1]
    return np.array([[a, b, c], [a, c, d]])


WALL = {"wall": (board(0.0, (-3, -3), (3, 3)), PANEL)}
POINT = (0.012, 0.0, 0.0)


def ways(body: Body, point: tuple[float, float, float] = POINT) -> tuple[list[list[str]], Room]:
    seen = Hands(body).ways(point)
    return [sorted(w) for w in seen.ways], seen.room


def test_on_a_bare_wall_nothing_is_in_the_way() -> None:
    assert ways(body_of(WALL)) == ([[]], Room.HAND)


def test_a_lining_close_before_the_wall_has_to_come_off_though_it_is_open_at_its_edges() -> None:
    """50 mm of gap, the edge 150 mm away: no hand goes in there, nor do fingers reach that far."""
    lining = {"lining": (board(0.062, (-0.4, -0.4), (0.4, 0.4)), TRIM)}
    assert ways(body_of({**WALL, **lining}))[0] == [["lining"]]


def test_a_small_cover_beside_the_point_is_reached_round() -> None:
    cover = {"cover": (board(0.062, (-0.05, -0.05), (0.05, 0.05)), TRIM)}
    found, room = ways(body_of({**WALL, **cover}), (0.012, 0.16, 0.0))
    assert (found, room) == ([[]], Room.HAND)


def test_two_linings_behind_each_other_both_come_off() -> None:
    """A channel of panels that is closed by one lining in front and by another at its end."""
    floor = np.array(
        [
            [[0, -3, -0.15], [0.6, -3, -0.15], [0.6, 3, -0.15]],
            [[0, -3, -0.15], [0.6, 3, -0.15], [0, 3, -0.15]],
        ]
    )
    channel = {"floor": (floor, PANEL), "roof": (floor + np.array([0, 0, 0.3]), PANEL), **WALL}
    front = {"front": (board(0.2, (-3, -0.15), (0.1, 0.15)), TRIM)}
    more = {"more": (board(0.3, (-3, -0.15), (0.1, 0.15)), TRIM)}
    assert ways(body_of({**channel, **front}), (0.03, -0.6, 0.0))[0] == [["front"]]
    assert ways(body_of({**channel, **front, **more}), (0.03, -0.6, 0.0))[0] == [["front", "more"]]


def test_either_of_two_linings_will_do() -> None:
    """A box of panels, open on the left and on the right, each closed by a lining."""
    shell = box((0.0, -0.2, 0.0), (0.4, 0.2, 0.4))
    ends = np.ptp(shell[..., 1], axis=1) == 0
    left, right = (shell[ends & (shell[:, 0, 1] == y)] for y in (-0.2, 0.2))
    body = body_of({"shell": (shell[~ends], PANEL), "left": (left, TRIM), "right": (right, TRIM)})
    assert ways(body, (0.2, 0.0, 0.2)) == ([["left"], ["right"]], Room.HAND)


def test_a_narrow_slot_lets_fingers_in_and_a_closed_box_nothing() -> None:
    def slot(half: float) -> Body:
        """A box on the wall, 200 mm deep, with a slot in its front."""
        front = [board(0.2, (-0.15, -0.15), (-half, 0.15)), board(0.2, (half, -0.15), (0.15, 0.15))]
        sides = box((0.0, -0.15, -0.15), (0.2, 0.15, 0.15))
        upright = np.ptp(sides[..., 0], axis=1) > 0  # without its front and back
        return body_of({**WALL, "box": (np.concatenate([*front, sides[upright]]), PANEL)})

    assert ways(slot(0.10))[1] is Room.HAND
    assert ways(slot(0.035))[1] is Room.FINGERS
    assert ways(slot(0.004)) == ([[]], Room.GUESSED)


def test_what_no_hand_reaches_is_taken_to_be_behind_the_nearest_trim() -> None:
    rule = SurfaceRule(part="*", kind=SurfaceKind.TRIM)
    shut = {**WALL, "sheet": (board(0.06, (-3, -3), (3, 3)), PANEL)}
    near = {
        "far lining": (board(0.30, (-3, -3), (3, 3)), rule),
        "lining": (board(0.1, (-3, -3), (3, 3)), rule),
    }
    assert ways(body_of({**shut, **near})) == ([["lining"]], Room.GUESSED)
