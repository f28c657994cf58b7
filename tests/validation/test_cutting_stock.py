"""Reels cut with the least to buy: against published instances, brute force and bounds.

Sources
- V. Chvatal, Linear Programming, W. H. Freeman 1983, chapter 13: raws of 100 in; finals of 45, 36, 31
  and 14 in, 97, 610, 395 and 211 of them; the linear program gives 452.25 raws, the optimum is 453.
- The paper-machine instance of the encyclopedia article "Cutting stock problem": master rolls of
  5600 mm, 13 widths (the figures stand below); the optimum is 73 rolls with 0.401 % waste.
Tolerance  none: whole numbers of reels.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from routecut.ordering import stock_cutting
from routecut.ordering.stock_cutting import CuttingPlan, Reel, cut_reels


def holds(plan: CuttingPlan, pieces_m: Sequence[float], loss_m: float = 0.0, end_m: float = 0.0) -> None:
    """Each piece is cut once, and no reel gives more than it has."""
    cut = sorted(k for reel in plan.reels for k in reel.pieces)
    assert cut == [k for k in range(len(pieces_m)) if k not in plan.too_long]
    for reel in plan.reels:
        used = sum(pieces_m[k] + loss_m for k in reel.pieces)
        assert used <= reel.reel.length_m - end_m + 1e-9
        assert reel.left_m == pytest.approx(reel.reel.length_m - end_m - used, abs=2e-4 * len(reel.pieces))


def spread(sizes: Sequence[float], wanted: Sequence[int]) -> list[float]:
    return [s for s, n in zip(sizes, wanted, strict=True) for _ in range(n)]


# --- published ---------------------------------------------------------------------------


def test_chvatal_1983() -> None:
    pieces = spread([4.5, 3.6, 3.1, 1.4], [97, 610, 395, 211])
    plan = cut_reels(pieces, [Reel(length_m=10.0, cost=1.0)])
    holds(plan, pieces)
    assert plan.bound == pytest.approx(452.25, abs=1e-6)
    assert len(plan.reels) == 453
    assert plan.optimal


PAPER = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12, 2100: 14,
    2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip


def test_the_paper_machine() -> None:
    pieces = spread([w / 1000 for w in PAPER], list(PAPER.values()))
    assert sum(pieces) == pytest.approx(407.16)
    plan = cut_reels(pieces, [Reel(length_m=5.6, cost=1.0)])
    holds(plan, pieces)
    assert len(plan.reels) == 73
    assert sum(reel.left_m for reel in plan.reels) / (73 * 5.6) == pytest.approx(0.00401, abs=5e-6)
    assert plan.optimal


def test_the_material_would_do_and_still_one_more_is_needed() -> None:
    """2 of 44, 3 of 33, 6 of 12 from 132: 259 of the 264 in two reels, but no two hold them."""
    pieces = spread([4.4, 3.3, 1.2], [2, 3, 6])
    assert sum(pieces) < 2 * 13.2
    assert brute_force(pieces, 13.2) == 3
    plan = cut_reels(pieces, [Reel(length_m=13.2, cost=1.0)])
    holds(plan, pieces)
    assert 2.0 < plan.bound <= 3.0
    assert len(plan.reels) == 3
    assert plan.optimal


# --- brute force -------------------------------------------------------------------------


def brute_force(pieces_m: Sequence[float], reel_m: float) -> int:
    """Least number of reels, by trying every piece in every reel that is open, and in a new one."""
    need = sorted((round(p * 10_000) for p in pieces_m), reverse=True)
    room = round(reel_m * 10_000)
    best = len(need)

    def place(at: int, left: list[int]) -> None:
        nonlocal best
        if len(left) >= best:
            return
        if at == len(need):
            best = len(left)
            return
        seen = set()
        for k, free in enumerate(left):
            if free >= need[at] and free not in seen:
                seen.add(free)
                place(at + 1, [*left[:k], free - need[at], *left[k + 1 :]])
        place(at + 1, [*left, room - need[at]])

    place(0, [])
    return best


@pytest.mark.parametrize("seed", range(40))
def test_as_good_as_brute_force(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pieces = [round(float(x), 2) for x in rng.uniform(0.3, 5.0, size=int(rng.integers(3, 11)))]
    loss, end = (0.005, 0.05) if seed % 2 else (0.0, 0.0)
    plan = cut_reels(pieces, [Reel(length_m=10.0, cost=1.0)], cut_loss_m=loss, end_waste_m=end)
    holds(plan, pieces, loss, end)
    assert plan.optimal
    assert len(plan.reels) == brute_force([p + loss for p in pieces], 10.0 - end)


def cheapest_by_trying(pieces_m: Sequence[float], kinds: Sequence[tuple[float, float, int]]) -> float:
    """Least cost over reels of several kinds (length, cost, how many), by trying everything."""
    best = math.inf

    def place(at: int, left: tuple[float, ...], stock: tuple[int, ...], cost: float) -> None:
        nonlocal best
        if cost >= best - 1e-9:
            return
        if at == len(pieces_m):
            best = cost
            return
        for k, free in enumerate(left):
            if free >= pieces_m[at] - 1e-9:
                place(at + 1, (*left[:k], free - pieces_m[at], *left[k + 1 :]), stock, cost)
        for k, (length, price, _) in enumerate(kinds):
            if stock[k] and length >= pieces_m[at] - 1e-9:
                fewer = (*stock[:k], stock[k] - 1, *stock[k + 1 :])
                place(at + 1, (*left, length - pieces_m[at]), fewer, cost + price)

    place(0, (), tuple(n for _, _, n in kinds), 0.0)
    return best


@pytest.mark.parametrize("seed", range(20))
def test_shelf_and_shop_as_good_as_trying_everything(seed: int) -> None:
    """One offcut on the shelf for nothing, reels of 5 m and 12 m at prices of their own."""
    rng = np.random.default_rng(100 + seed)
    pieces = [round(float(x), 1) for x in rng.uniform(0.5, 4.5, size=6)]
    offcut, small, large = (
        round(float(rng.uniform(2, 7)), 1),
        float(rng.integers(8, 14)),
        float(rng.integers(17, 30)),
    )
    reels = [
        Reel(length_m=offcut, cost=0.0, most=1, shelf=True),
        Reel(length_m=5.0, cost=small),
        Reel(length_m=12.0, cost=large),
    ]
    plan = cut_reels(pieces, reels)
    holds(plan, pieces)
    assert plan.optimal
    assert plan.cost == pytest.approx(
        cheapest_by_trying(pieces, [(offcut, 0.0, 1), (5.0, small, 6), (12.0, large, 6)])
    )


# --- large: bound ------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
def test_a_large_one_is_at_most_one_reel_above_the_bound(seed: int) -> None:
    """Hundreds of cuts of dozens of lengths, far too many ways of cutting to look at all."""
    rng = np.random.default_rng(500 + seed)
    sizes = rng.integers(20, 700, size=40) / 100.0
    pieces = [float(s) for s in rng.choice(sizes, size=250)]
    plan = cut_reels(pieces, [Reel(length_m=15.0, cost=1.0)], cut_loss_m=0.005, end_waste_m=0.05)
    holds(plan, pieces, 0.005, 0.05)
    assert plan.bound >= sum(p + 0.005 for p in pieces) / 14.95 - 1e-6
    assert len(plan.reels) <= math.ceil(plan.bound - 1e-6) + 1


@pytest.mark.parametrize("seed", range(5))
def test_generated_columns_prove_the_same_bound_as_all_of_them(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    rng = np.random.default_rng(900 + seed)
    pieces = spread((rng.integers(9, 60, size=7) / 10.0).tolist(), rng.integers(3, 20, size=7).tolist())
    reel = [Reel(length_m=10.0, cost=1.0)]
    whole = cut_reels(pieces, reel)
    monkeypatch.setattr(stock_cutting, "ALL_PATTERNS", 5)
    generated = cut_reels(pieces, reel)
    holds(generated, pieces)
    assert generated.bound == pytest.approx(whole.bound, abs=1e-5)
    assert whole.optimal
    assert len(whole.reels) <= len(generated.reels) <= len(whole.reels) + 1


# --- waste, offcuts, faults --------------------------------------------------------------


def test_of_equally_cheap_plans_the_one_with_the_useful_rest() -> None:
    """4 + 3 + 2.5 + 1.5 from two reels of 6: 4 + 1.5 and 3 + 2.5 leave 0.5 twice; 4 alone leaves none of it useful."""
    pieces = [4.0, 3.0, 1.0, 1.0]
    plan = cut_reels(pieces, [Reel(length_m=6.0, cost=1.0)], useful_m=2.0)
    holds(plan, pieces)
    # 4 + 1 + 1 is a whole reel, and 3 m are left of the other
    assert sorted(round(r.left_m, 3) for r in plan.reels) == [0.0, 3.0]
    assert [r.kept for r in sorted(plan.reels, key=lambda r: r.left_m)] == [False, True]


def test_the_shelf_comes_first() -> None:
    reels = [Reel(length_m=10.0, cost=20.0), Reel(length_m=4.0, cost=0.0, most=1, shelf=True)]
    plan = cut_reels([8.0, 3.0], reels)
    assert [r.reel.shelf for r in plan.reels] == [True, False]
    assert plan.cost == 20.0
    assert cut_reels([3.0], reels).cost == 0.0


def test_what_no_reel_holds_is_named_and_the_rest_is_cut() -> None:
    plan = cut_reels([3.0, 12.0, 2.0], [Reel(length_m=10.0, cost=1.0)])
    assert plan.too_long == (1,)
    assert [r.pieces for r in plan.reels] == [(0, 2)]


def test_a_shelf_that_does_not_do_is_refused() -> None:
    with pytest.raises(ValueError, match="do not give all"):
        cut_reels([3.0, 3.0], [Reel(length_m=4.0, cost=0.0, most=1)])


def test_loss_and_end_are_counted() -> None:
    """Two of 5 m fit a reel of 10 m only as long as nothing is lost."""
    reel = [Reel(length_m=10.0, cost=1.0)]
    assert len(cut_reels([5.0, 5.0], reel).reels) == 1
    assert len(cut_reels([5.0, 5.0], reel, cut_loss_m=0.001).reels) == 2
    assert len(cut_reels([5.0, 5.0], reel, end_waste_m=0.001).reels) == 2


def test_nothing_to_cut() -> None:
    assert cut_reels([], [Reel(length_m=10.0, cost=1.0)]).reels == ()
    assert cut_reels([1.0], []).too_long == (0,)
