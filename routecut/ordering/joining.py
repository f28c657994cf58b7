"""Ways of making up a length from ready-made leads, and where their joints would lie.

Stage      ordering, below the choice of leads
Units      m, minutes
Safe side  a joint nobody can reach, or one in a hole, is worse than any number of others
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations_with_replacement, pairwise, permutations
from typing import Final

import numpy as np

from routecut.cutlist.spent import Spent
from routecut.model.body import Floats
from routecut.model.job import Access, CableClass
from routecut.model.plan import LeadJoint, Route
from routecut.ordering.reach import Cover, Reach

MOST_PIECES: Final = 3
"""More joints than two are a harness, not a lead."""

UNKNOWN_MINUTES: Final = 60.0
"""A place behind trim of which nobody said how long it takes counts as this. [min]"""

NEVER_JOINED: Final = frozenset({CableClass.POWER, CableClass.BOND})
"""A supply lead is in one piece (radio installation manuals: no splice in the supply lead); so is a bond."""

_STEP_M: Final = 0.020
_NOISE_M: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """Leads in order from the `from` end, and where their joints lie.

    `parked_m` says how much of the surplus each piece takes, in order;
    `worst` is the rank of the worst joint (see `Reach.rank`), -1 without one.
    """

    lengths_m: tuple[float, ...]
    surplus_m: float
    price: float | None
    joints: tuple[LeadJoint, ...] = ()
    parked_m: tuple[float, ...] = ()
    worst: int = -1

    @property
    def minutes(self) -> float:
        """To reach all joints."""
        return sum(UNKNOWN_MINUTES if j.minutes is None else j.minutes for j in self.joints)

    @property
    def cost(self) -> tuple[float, float, float]:
        """By price where all of them are known, then by length; a lead without a price is dearest."""
        total = sum(self.lengths_m)
        return (float("inf") if self.price is None else self.price, total, self.minutes)


def sets_of_leads(prices: Mapping[float, float | None], needed_m: float, most_m: float) -> list[Made]:
    """Sets of leads that reach, none of which could do without one of its pieces.

    Parameters
    ----------
    prices : mapping of float to float or None
        Lengths there are, with what each costs. [m]
    needed_m : float
    most_m : float
        Longest that is allowed in all; infinite where there is no limit. [m]
    """
    lengths = sorted(prices)
    found = []
    for count in range(1, MOST_PIECES + 1):
        for pieces in combinations_with_replacement(lengths, count):
            total = sum(pieces)
            if total < needed_m - _NOISE_M or total > most_m + _NOISE_M:
                continue
            if total - pieces[0] >= needed_m - _NOISE_M:
                continue  # does without its shortest
            known = [prices[p] for p in pieces]
            price = None if any(p is None for p in known) else sum(p for p in known if p is not None)
            found.append(Made(lengths_m=pieces, surplus_m=max(total - needed_m, 0.0), price=price))
    return found


def best_laid(made: Made, route: Route, spent: Spent, cover: Cover) -> Made:
    """The best order and parking of a set of leads: joints where they are easiest to reach.

    What is over is parked at the `from` end, between two joints or at the `to` end; what lies
    before a joint moves it by that much.
    """
    if len(made.lengths_m) == 1:
        return made
    spare = max(sum(made.lengths_m) - spent.total_m, 0.0)
    at = np.linspace(0.0, spent.end_m, max(2, int(np.ceil(spent.end_m / _STEP_M)) + 1))
    reaches = cover.at(route, at)
    score = np.array([_score(reach) for reach in reaches])
    best: tuple[tuple[float, ...], Made] | None = None
    for order in sorted(set(permutations(made.lengths_m))):
        ends = np.cumsum(order)[:-1]
        for before in _parkings(len(ends), spare):
            places = spent.place_of(ends - before)
            rows = [int(np.abs(at - x).argmin()) for x in places]
            parked = (before[0], *(b - a for a, b in pairwise(before)), spare - before[-1])
            heaps = sum(p > _NOISE_M for p in parked)
            key = (float(score[rows].max()), float(score[rows].sum()), float(heaps), *order, *before.tolist())
            if best is not None and key >= best[0]:
                continue
            joints = tuple(
                _joint(float(x), reaches[row], spent.place_of(np.array([end - spare, end])))
                for x, row, end in zip(places, rows, ends, strict=True)
            )
            worst = max(reaches[row].rank for row in rows)
            laid = Made(
                lengths_m=order,
                surplus_m=made.surplus_m,
                price=made.price,
                joints=joints,
                parked_m=tuple(float(p) for p in parked),
                worst=worst,
            )
            best = (key, laid)
    assert best is not None  # noqa: S101 - there is at least one order
    return best[1]


def _score(reach: Reach) -> float:
    """Minutes, with a joint in a hole or a sealed place worse than any of them."""
    minutes = UNKNOWN_MINUTES if reach.minutes is None else reach.minutes
    return {0: 0.0, 1: minutes, 2: 1e4, 3: 1e6}[reach.rank]


def _parkings(joints: int, spare_m: float) -> list[Floats]:
    """How much of the surplus lies before each joint: never less before a later one. [m]"""
    share = np.linspace(0.0, spare_m, min(21, max(2, int(spare_m / _STEP_M) + 1)))
    if joints == 1:
        return [np.array([s]) for s in share]
    coarse = share[:: max(1, len(share) // 7)]
    return [np.array(pair) for pair in combinations_with_replacement(coarse.tolist(), joints)]


def _joint(at_m: float, reach: Reach, between: Floats) -> LeadJoint:
    return LeadJoint(
        at_route_m=at_m,
        space=reach.space,
        access=str(Access.TRIM if reach.rank == 1 else reach.access),
        minutes=reach.minutes,
        behind=reach.behind,
        from_m=float(between[0]),
        to_m=float(between[1]),
    )
