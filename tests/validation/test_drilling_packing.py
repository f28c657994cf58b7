"""Circles round equal discs against the table of the best packings known.

Source     encyclopedia table of circle packing in a circle, R/r for n = 3..10
Kind       published; closed forms for 3 to 7
Tolerance  never below the table (1e-6 for its rounding), above it at most 0.5 per cent, from nine discs on 1.5
Circular?  No: the table is of proved and record packings, found by others
"""

from __future__ import annotations

import pytest

from routecut.drilling.size import enclosing_m

TABLE = {
    3: 2.1547005,
    4: 2.4142136,
    5: 2.7013016,
    6: 3.0,
    7: 3.0,
    8: 3.3047649,
    9: 3.6131259,
    10: 3.8130256,
}


@pytest.mark.parametrize(("number", "ratio"), TABLE.items())
def test_equal_discs(number: int, ratio: float) -> None:
    found = enclosing_m((0.006,) * number) / 0.006
    assert ratio * (1 - 1e-6) <= found <= ratio * (1.005 if number < 9 else 1.015)


def test_the_shop_rule_would_be_too_small_for_two() -> None:
    """1.2 sqrt(sum d2) gives 1.697 d where two cables side by side take 2 d."""
    assert enclosing_m((0.006, 0.006)) > 1.2 * (2 * 0.006**2) ** 0.5 * 1.15
