"""A way onto a path looks at no more of the path than it can get to."""

from __future__ import annotations

import numpy as np
import pytest

from routecut.routes import turning
from routecut.routes.turning import turn_onto

RADIUS_M = 0.002


def wall(from_m: np.ndarray, to_m: np.ndarray) -> np.ndarray:
    """A sheet just above the path, so that the follower alone does not get there."""
    return np.asarray(to_m[:, 2] > 1.9 * RADIUS_M)


def turned(length_m: float) -> tuple[turning.Turn | None, int]:
    """From a point that heads back along a straight path of a thread, and the most steps of path looked at at once."""
    seen: list[int] = []
    togo = turning._Search.togo

    def counting(search: turning._Search, at_m: np.ndarray, heading: np.ndarray) -> np.ndarray:
        seen.append(len(search.track.run_m))
        return togo(search, at_m, heading)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(turning._Search, "togo", counting)
        found = turn_onto(
            np.zeros(3),
            np.array([-1.0, 0.0, 0.0]),
            np.array([[0.0, 0.0, 0.0], [length_m, 0.0, 0.0]]),
            radius_m=RADIUS_M,
            beyond_m=RADIUS_M,
            blocked=wall,
        )
    return found, max(seen, default=0)


def test_a_path_of_a_hundred_metres_takes_no_more_looking_at_than_one_in_reach() -> None:
    (near, few), (far, many) = turned(0.4), turned(100.0)
    assert near is not None
    assert far is not None
    assert few > 0
    assert many <= few + 2
    assert np.allclose(near.points_m, far.points_m, atol=1e-6)
    assert near.joins_m == pytest.approx(far.joins_m, abs=1e-6)
