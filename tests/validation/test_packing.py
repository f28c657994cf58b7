"""Circles round equal discs against the table of the best packings known.

Source     encyclopedia table of circle packing in a circle, R/r for n = 3..19
Kind       published; closed forms for 3 to 7, 11, 13, 15, 18 and 19
Tolerance  never below the table (1e-6 for its rounding), above it at most 0.2 per cent
Circular?  No: the table is of proved and record packings, found by others
"""

from __future__ import annotations

import math

import pytest

from routecut.geometry.packing import PROVED, bound_m, enclosing_m

TABLE = {
    3: 2.1547005,
    4: 2.4142136,
    5: 2.7013016,
    6: 3.0,
    7: 3.0,
    8: 3.3047649,
    9: 3.6131259,
    10: 3.8130256,
    11: 3.9238044,
    12: 4.0296019,
    13: 4.2360680,
    14: 4.3284286,
    15: 4.5213570,
    16: 4.6154256,
    17: 4.7920338,
    18: 4.8637033,
    19: 4.8637033,
}


@pytest.mark.parametrize(("number", "ratio"), TABLE.items())
def test_equal_discs(number: int, ratio: float) -> None:
    found = enclosing_m((0.006,) * number) / 0.006
    assert ratio * (1 - 1e-6) <= found <= ratio * 1.002


@pytest.mark.parametrize("number", [3, *PROVED])
def test_the_bound_is_the_circle_where_that_is_proved(number: int) -> None:
    bound = bound_m((0.006,) * number) / 0.006
    assert TABLE[number] * (1 - 1e-6) <= bound <= TABLE[number] * (1 + 1e-7)


def test_three_that_touch_one_another() -> None:
    """Curvatures by the theorem on kissing circles; found and bound are the same."""
    a, b, c = 1 / 0.010, 1 / 0.008, 1 / 0.006
    outer = 2 / abs(a + b + c - 2 * math.sqrt(a * b + b * c + c * a))
    discs = (0.012, 0.020, 0.016)
    assert enclosing_m(discs) == pytest.approx(outer, rel=1e-6)
    assert bound_m(discs) == pytest.approx(outer, rel=1e-9)


def test_a_third_that_fits_beside_two_takes_no_room() -> None:
    """Beside two of 2 in a circle of 4 a disc of 4/3 fits exactly."""
    assert enclosing_m((2.0, 2.0, 1.33)) == pytest.approx(4.0, rel=1e-6)
    assert bound_m((2.0, 2.0, 1.33)) == 4.0
    assert bound_m((2.0, 2.0, 1.34)) > 4.0


def test_the_shop_rule_would_be_too_small_for_two() -> None:
    """1.2 sqrt(sum d2) gives 1.697 d where two cables side by side take 2 d."""
    assert enclosing_m((0.006, 0.006)) > 1.2 * (2 * 0.006**2) ** 0.5 * 1.15
