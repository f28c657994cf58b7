"""How far a cable may hang free, and from where it can be clipped: each of the three that may decide, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routecut.model.job import Cable, Routing
from routecut.verify.limits import SPAN_BENDS, SPAN_STAND_OFFS
from routecut.verify.spans import free_stretches, lift_m, span_limit_m, support_reach_m
from tests.verify.scenes import make_cable

ROUTING = Routing(stand_off_m=0.012, bridge_m=0.30)


def thick(diameter_m: float, bend_m: float = 0.030) -> Cable:
    cable = make_cable()
    return replace(cable, type=replace(cable.type, diameter_m=diameter_m, min_bend_radius_m=bend_m))


@pytest.mark.parametrize(
    ("diameter_m", "lift"), [(0.006, 0.012), (0.016, 0.012), (0.024, 0.012), (0.030, 0.015)]
)
def test_a_thick_cable_is_clipped_at_its_own_radius_and_no_further_off(
    diameter_m: float, lift: float
) -> None:
    assert lift_m(ROUTING, thick(diameter_m)) == pytest.approx(lift, rel=1e-12)
    assert support_reach_m(ROUTING, thick(diameter_m)) == pytest.approx(1.25 * lift + 0.001, rel=1e-12)


def test_the_longest_of_bridge_bend_and_lift_is_the_limit() -> None:
    assert span_limit_m(ROUTING, thick(0.006)) == 0.30
    assert span_limit_m(ROUTING, thick(0.006, bend_m=0.5)) == pytest.approx(SPAN_BENDS * 0.5)
    short = replace(ROUTING, bridge_m=0.01)
    assert span_limit_m(short, thick(0.030, bend_m=0.001)) == pytest.approx(SPAN_STAND_OFFS * 0.015)


def test_free_stretches_reach_to_the_supports_on_either_side_and_the_ends_hold() -> None:
    run = np.array([0.0, 0.1, 0.3, 0.6, 1.0, 1.5])
    assert free_stretches(run, np.array([False] * 6)) == [(0.0, 1.5)]
    held = np.array([True, False, True, False, False, True])
    assert free_stretches(run, held) == [(0.0, 0.3), (0.3, 1.5)]
    assert free_stretches(run, np.array([True] * 6)) == []
