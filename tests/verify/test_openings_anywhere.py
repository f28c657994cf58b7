"""An opening is what it is wherever the vehicle stands and however it is turned."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from routecut.model.job import HoleState, PassThrough, Position
from tests.verify.scenes import space, vec
from tests.verify.test_openings import gaps, size_of, through, wall_with
from tests.worlds.shapes import Floats

HIGH, WIDE = 0.2, 0.3
WALL = wall_with((0.35, 0.4), (0.35 + WIDE, 0.4 + HIGH))
AT = (0.45, 0.47)


def turned(about_z: float, about_y: float) -> Floats:
    c, s = np.cos(about_z), np.sin(about_z)
    first = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])
    c, s = np.cos(about_y), np.sin(about_y)
    return np.asarray(first @ np.array([[c, 0, s], [0, 1.0, 0], [-s, 0, c]]))


@pytest.mark.parametrize(
    ("turn", "shift"),
    [
        (turned(0, 0), (3.0, -2.0, 1.0)),
        (turned(0.6, 0.4), (0.0, 0.0, 0.0)),
        (turned(2.5, -0.9), (-4.0, 1.0, 2.0)),
    ],
)
def test_size_and_place_go_with_the_vehicle(turn: Floats, shift: tuple[float, float, float]) -> None:
    def moved(points: Floats) -> Floats:
        return np.asarray(points @ turn.T + shift)

    cab = space("cab", (-9, -9, -9), (9, 9, 9))
    (finding,) = gaps(moved(through(*AT)), spaces=(cab,), bulkhead=moved(WALL))
    assert size_of(finding) == pytest.approx((1000 * WIDE, 1000 * HIGH), rel=0.06)
    place = [float(v) for v in re.findall(r"[XYZ] (-?\d+)", finding.where)]
    assert place == pytest.approx((1000 * moved(np.array([[0, 0.5, 0.5]]))[0]).tolist(), abs=14)


def test_an_opening_to_where_no_space_is_is_told() -> None:
    """Cab and load are open to each other; behind the wall there is neither."""
    front = space("cab", (-2, -2, -2), (0.01, 2, 2), open_to=("load",))
    far = space("load", (3, -2, -2), (5, 2, 2), open_to=("cab",))
    for spaces in ((front, far), (far, front)):
        assert len(gaps(through(*AT), spaces=spaces, bulkhead=WALL)) == 1


HOLE = PassThrough(
    name="grommet", position=Position(at_m=(0.0, *AT)), axis=(1.0, 0.0, 0.0), diameter_m=0.04, depth_m=0.04,
    state=HoleState.EXISTING, joins=("cab", "cab"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("aside", "along", "tagged"),
    [
        (0.018, 0.0, True), (0.022, 0.0, True), (0.030, 0.0, False),
        (0.0, 0.045, True), (0.0, -0.045, True), (0.0, 0.065, False), (0.0, -0.065, False),
    ],
)  # fmt: skip
def test_a_pass_through_is_that_of_the_opening_up_to_its_rim_and_its_mouth(
    aside: float, along: float, tagged: bool
) -> None:
    """Radius 20 mm and 5 to spare; half its depth, 20 mm, and 30 to spare."""
    hole = replace(HOLE, position=Position(at_m=vec((along, AT[0] + aside, AT[1]))))
    found = gaps(through(*AT), changes={"pass_throughs": (hole,)}, bulkhead=WALL)
    assert (found == []) is tagged
