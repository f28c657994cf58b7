"""Windows leave what they were not cut for as it was."""

from __future__ import annotations

import numpy as np
import pytest

from routecut.routes.strands import Strand
from routecut.routes.windows import cut, marked, paste


@pytest.mark.parametrize("first_m", [0.10, 0.11, 0.117, 0.1199])
@pytest.mark.parametrize("backwards", [False, True])
def test_a_straight_piece_stays_pinned_however_near_to_it_a_window_begins(
    first_m: float, backwards: bool
) -> None:
    at = np.array([0.0, 0.05, 0.09, 0.12, 0.13, 0.2, 0.3])
    points = np.stack([at, np.zeros(7), np.zeros(7)], axis=1)
    pinned = np.array([True, False, False, True, True, False, True])
    strand = Strand(points, pinned, np.zeros(6, dtype=bool), 0.012, 0.003, 0.025, ())
    span = (first_m, 0.25)
    if backwards:
        strand = strand.with_points(points[::-1], pinned[::-1], strand.free)
        span = (0.3 - 0.25, 0.3 - first_m)
    strand = marked(strand, span)
    whole = paste([strand], [cut(strand, 0, span, 0.012)])[0]
    held = whole.points_m[whole.pinned]
    metal = held[(held[:, 0] > 0.1) & (held[:, 0] < 0.2)]
    assert metal[:, 0].min() == pytest.approx(0.12)
    assert metal[:, 0].max() == pytest.approx(0.13)
    # And nothing else is: what was pinned for the window only moves again.
    inside = (whole.points_m[:, 0] > 1e-9) & (whole.points_m[:, 0] < 0.3 - 1e-9)
    assert set(np.round(whole.points_m[whole.pinned & inside][:, 0], 6)) <= {0.12, 0.13}
    assert whole.length_m == pytest.approx(0.3)
