"""How far a cable may hang free, and from where it can be clipped: each of the three that may decide, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from routecut.model.body import Floats
from routecut.model.job import Cable, Routing
from routecut.verify.limits import SAMPLE_STEP_M, SPAN_BENDS, SPAN_STAND_OFFS
from routecut.verify.spans import exact_ends, free_stretches, lift_m, span_limit_m, support_reach_m
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


@pytest.mark.parametrize("first", [0.1, 0.1012, 0.1049])
@pytest.mark.parametrize("last", [0.4, 0.4013, 0.4049])
def test_a_stretch_ends_where_the_hold_ends_not_at_the_next_sample(first: float, last: float) -> None:
    """Samples every 5 mm make it up to 10 mm too long; between them it is found to a tenth of a millimetre."""
    run = np.arange(0.0, 0.6, SAMPLE_STEP_M)

    def held_at(run_m: Floats) -> npt.NDArray[np.bool_]:
        return (run_m <= first + 1e-12) | (run_m >= last - 1e-12)

    (coarse,) = free_stretches(run, held_at(run))
    start, end = exact_ends(coarse, held_at)
    assert first - 1.01e-4 <= start <= first + 1e-9
    assert last - 1e-9 <= end <= last + 1.01e-4
    assert coarse[0] <= start
    assert end <= coarse[1]


def test_a_hold_that_comes_back_further_in_shortens_nothing() -> None:
    stretch = (0.1, 0.4)
    island = exact_ends(stretch, lambda run_m: (run_m > 0.1015) & (run_m < 0.103))
    assert island == stretch
