"""Bows: first curves out of connectors and holes, which are left out where they make a cable longer for nothing.

Truth      the same cable laid without: nothing but lengths is compared
"""

from __future__ import annotations

import numpy as np
import pytest

from routecut.model.job import CableClass
from routecut.routes.bows import add_bows
from routecut.routes.route_all import route_all
from routecut.routes.strands import Strand, resample
from routecut.routes.surface import Surface
from routecut.routes.turning import Blocked
from tests.routes.scenes import cable, roadmap_of
from tests.routes.test_shaping import bowed, length, through_the_wall

__all__ = ["bowed"]


def test_a_bow_that_lengthens_the_strand_is_left_out_where_it_may_not(
    bowed: tuple[Surface, Blocked, Strand],
) -> None:
    _, blocked, whole = bowed
    bare = resample(through_the_wall(0.02), 0.015)
    more = length(whole.points_m) - length(bare.points_m)
    assert more > 0.005
    assert add_bows(bare, blocked, longer_m=0.0).points_m.tolist() == bare.points_m.tolist()
    assert add_bows(bare, blocked, longer_m=more).points_m.tolist() == whole.points_m.tolist()


def test_a_loop_before_a_port_stays_only_where_the_bend_needs_it(monkeypatch: pytest.MonkeyPatch) -> None:
    laid = roadmap_of([cable("a", CableClass.COAX, (0.2, 0.1, 0.1), (0.8, 0.7, 0.1))])

    def looped(strand: Strand, _blocked: Blocked, *, longer_m: float = np.inf, known: object) -> Strand:
        """A bow that goes once round before it comes to the port."""
        at = len(strand.points_m) - 2
        along = strand.points_m[at] - strand.points_m[at - 1]
        along /= np.linalg.norm(along)
        across = np.cross(along, [0.3, 0.4, 0.5])
        across /= np.linalg.norm(across)
        turn = np.linspace(0, 2 * np.pi, 40)[1:-1, None]
        ring = strand.points_m[at] + 0.03 * (np.sin(turn) * along + (1 - np.cos(turn)) * across)
        if 2 * np.pi * 0.03 > longer_m:
            return strand
        return strand.with_points(
            np.insert(strand.points_m, at, ring, axis=0),
            np.insert(strand.pinned, at, np.zeros(len(ring), dtype=bool)),
            np.insert(strand.free, at, np.ones(len(ring), dtype=bool)),
        )

    plain = route_all(laid).routes["a"].length_m
    laid.memory.laid.clear()
    monkeypatch.setattr("routecut.routes.route_all.add_bows", looped)
    assert route_all(laid).routes["a"].length_m < plain + 0.02
