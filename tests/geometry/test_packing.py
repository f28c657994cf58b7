"""Bundles of any cables: what a packing must be, whatever is in it."""

from __future__ import annotations

import math
from itertools import combinations

from hypothesis import example, given, settings
from hypothesis import strategies as st

from routecut.geometry.packing import bound_m, enclosing_m, pack

SIZES = st.floats(0.0018, 0.0150)
CABLES = st.lists(SIZES, min_size=1, max_size=7)
SOME = settings(max_examples=40, deadline=None)


@SOME
@given(CABLES)
def test_discs_lie_inside_and_apart(diameters: list[float]) -> None:
    found = pack(diameters)
    discs = list(zip(found.places_m, diameters, strict=True))
    for place, d in discs:
        assert math.hypot(*place) + d / 2 <= found.diameter_m / 2 * (1 + 1e-12)
    for (one, a), (other, b) in combinations(discs, 2):
        assert math.dist(one, other) >= (a + b) / 2 * (1 - 1e-12)


@SOME
@given(CABLES)
def test_between_what_is_proved_and_a_row(diameters: list[float]) -> None:
    found = enclosing_m(diameters)
    assert bound_m(diameters) * (1 - 1e-9) <= found <= sum(diameters) * (1 + 1e-9)
    # Discs of half the area of a circle always fit it (Fekete, Keldenich, Scheffer 2019).
    assert found <= math.sqrt(2 * sum(d * d for d in diameters)) * (1 + 1e-9)


@SOME
@given(CABLES, st.randoms(use_true_random=False))
def test_the_order_does_not_matter(diameters: list[float], random: object) -> None:
    turned = sorted(diameters, key=lambda _: random.random())  # type: ignore[attr-defined]
    one, other = pack(diameters), pack(turned)
    assert one.diameter_m == other.diameter_m
    assert sorted(zip(diameters, one.places_m, strict=True)) == sorted(
        zip(turned, other.places_m, strict=True)
    )


@SOME
@given(CABLES, SIZES)
@example([0.01171875, 0.0049139009015495005, 0.004416656667243078], 0.00390625)
def test_one_more_never_shrinks_it(diameters: list[float], more: float) -> None:
    """Up to what the starts may miss: three are exact."""
    slack = 1e-9 if len(diameters) <= 3 else 0.03
    assert enclosing_m([*diameters, more]) >= enclosing_m(diameters) * (1 - slack)


@SOME
@given(CABLES, st.floats(0.5, 20.0))
def test_it_grows_with_the_discs(diameters: list[float], factor: float) -> None:
    grown = enclosing_m([d * factor for d in diameters])
    assert math.isclose(grown, factor * enclosing_m(diameters), rel_tol=0.03)
