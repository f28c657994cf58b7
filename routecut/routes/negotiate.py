"""The ways of all cables together, found in rounds.

In the first round each cable chooses in turn, thickest first, as if it were alone but for
the room in the holes. In each further round every cable is taken up and chooses anew with the others where
they lie: beside its own kind it is cheaper, beside a foreign one dearer, and a hole that
holds too much gets dearer from round to round. Choosing one at a time ends in a circle
sooner or later, so that the best round is kept, and groups of cables are moved together (`regroup`).

Units      m
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from routecut.model.company import Bought
from routecut.model.job import Cable
from routecut.routes.harness import CROWDED_M, Harness, fits
from routecut.routes.lying import State, occupy, release, state_of
from routecut.routes.regroup import regroup
from routecut.routes.search import Way, choose

MOST_ROUNDS: Final = 6
LEAST_GAIN: Final = 0.001
"""A round that betters the best by less than this share of it is the last."""

_DEARER: Final = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """The ways that were settled on.

    Attributes
    ----------
    ways : dict of str to Way
        Of the cables that have one, by name.
    totals_m : tuple of float
        Cost of all cables after each round; infinite where a hole holds too much. [m]
    """

    ways: dict[str, Way]
    totals_m: tuple[float, ...]
    bought: Bought


def negotiate(harness: Harness, cables: Sequence[Cable]) -> Settled:
    """Ways for all cables; `harness` is left with them lying where they were settled."""
    order = sorted(cables, key=lambda c: (-c.type.diameter_m, c.name))
    ways: dict[str, Way] = {}
    totals: list[float] = []
    first: State | None = None
    best: State | None = None
    for number in range(MOST_ROUNDS):
        for cable in order:
            if cable.name in ways:
                release(harness, ways.pop(cable.name))
            way = choose(harness, cable, alone=number == 0)
            if way is not None:
                ways[cable.name] = way
                occupy(harness, way)
        state = state_of(harness, ways, len(cables))
        totals.append(state.total_m)
        bar = np.inf if best is None else best.total_m * (1 - LEAST_GAIN)
        if best is None or state.total_m < best.total_m:
            best = state
        first = first or best
        # Holes that others have opened since are free for those that chose before.
        opens = state.opened != harness.opened
        harness.opened = set(state.opened)
        settled = np.isfinite(state.total_m) and state.total_m > bar
        if number and not opens and settled:
            break
        _crowd(harness)
    assert first is not None  # noqa: S101  there is a round at least
    assert best is not None  # noqa: S101
    for way in ways.values():
        release(harness, way)
    harness.crowding, harness.opened = None, set(best.opened)
    for way in best.ways.values():
        occupy(harness, way)
    best = regroup(harness, best, len(cables))
    return Settled(best.ways, tuple(totals), _bought(first, best, len(totals)))


def _crowd(harness: Harness) -> None:
    """Holes that hold too much get dearer; all others may be crowded at the first price."""
    prices = dict(harness.crowding or {})
    for hole in harness.job.pass_throughs:
        if harness.load.get(hole.name) and not fits(hole, harness.load[hole.name]):
            prices[hole.name] = prices.get(hole.name, CROWDED_M) * _DEARER
    harness.crowding = prices


def _bought(first: State, best: State, rounds: int) -> Bought:
    return Bought(
        rounds=rounds,
        length_before_m=first.length_m,
        length_after_m=best.length_m,
        shared_before_m=first.shared_m,
        shared_after_m=best.shared_m,
        beside_before_m=first.beside_m,
        beside_after_m=best.beside_m,
        total_before_m=first.total_m,
        total_after_m=best.total_m,
    )
