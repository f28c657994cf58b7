"""Groups of cables moved together, where one at a time none would move.

Cables that choose one at a time end where nobody gains by moving alone: a bundle stays on a long way
because each of its cables would lose its company, or because cables of another kind lie on the short
one. So the cable that the others have pushed furthest out of its own way is laid there as if it were alone, those
it shares a run with and those in its way choose anew, and what comes out stays if all
together cost less. Ruin and recreate (Schrimpf et al., J. Comput. Phys. 159, 2000), with what is to be taken up
told by who is in whose way, not drawn.

Units      m
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from routecut.model.company import foreign, group_of
from routecut.routes.harness import Harness
from routecut.routes.lying import State, alone_m, hops_of, occupy, release, state_of
from routecut.routes.search import Way, choose

_PUSHED_M: Final = 0.03
"""A cable that lies no further than this out of its own way leads no group."""

_WITH_M: Final = 0.3
_AGAINST_M: Final = 0.1
"""Least length shared with a companion, and within the separation of one in the way."""

_MOST_TOGETHER: Final = 12
"""Larger groups are not moved: what they cost is not known before all have chosen anew."""

_CHOICES: Final = 8
"""In all each cable chooses so many times anew, on average."""

_PASSES: Final = 2
_LEAST_GAIN_M: Final = 0.015
"""A move that gains less is none: ways along the roadmap are long by more than that, and not all by the same."""


@dataclass(eq=False)
class _Mover:
    """Moves groups, and counts the choices that took."""

    harness: Harness
    state: State
    count: int
    left: int

    def pushed(self) -> list[str]:
        """Cables by how far the others have pushed them out of their own way, the furthest first."""
        ways, far = self.state.ways, {}
        for name, way in ways.items():
            own = self.own(way)
            far[name] = alone_m(way) - alone_m(own) if own is not None else 0.0
        return sorted((n for n in ways if far[n] >= _PUSHED_M), key=lambda n: (-far[n], n))

    def own(self, way: Way) -> Way | None:
        """Where a cable would lie as if it were alone; it is left where it lies."""
        release(self.harness, way)
        found = choose(self.harness, way.cable, alone=True)
        occupy(self.harness, way)
        return found

    def groups(self, lead: str) -> Iterator[tuple[str, ...]]:
        """Who is taken up with a cable, in the order of choosing: its companions, then with those in its way."""
        company, ways = self.harness.company, self.state.ways
        assert company is not None  # noqa: S101  without company nobody is pushed
        own, group = self.own(ways[lead]), group_of(ways[lead].cable.cable_class)
        if own is None:
            return
        hops = hops_of(self.harness, own)
        others = sorted((n for n in ways if n != lead), key=lambda n: (-ways[n].cable.type.diameter_m, n))
        like = [n for n in others if group_of(ways[n].cable.cable_class) is group]
        unlike = [n for n in others if foreign(group, group_of(ways[n].cable.cable_class))]
        companions = [n for n in like if company.shared_m(lead, n) >= _WITH_M]
        in_the_way = [n for n in unlike if company.beside_m(n, hops) >= _AGAINST_M]
        if companions:
            yield lead, *companions
        if in_the_way:
            yield lead, *companions, *in_the_way

    def move(self, names: tuple[str, ...]) -> bool:
        """The first laid as if it were alone, the others in turn; undone where that does not cost less."""
        harness, ways = self.harness, dict(self.state.ways)
        old = [ways.pop(name) for name in names]
        for way in old:
            release(harness, way)
        new: dict[str, Way] = {}
        for number in range(_PASSES):
            for way in old:
                name = way.cable.name
                if name in new:
                    release(harness, new.pop(name))
                first = number == 0 and way is old[0]
                found = choose(harness, way.cable, alone=first)
                self.left -= 1
                if found is not None:
                    new[name] = found
                    occupy(harness, found)
        state = state_of(harness, ways | new, self.count)
        if len(new) == len(old) and state.total_m < self.state.total_m - _LEAST_GAIN_M:
            self.state = state
            return True
        for way in new.values():
            release(harness, way)
        for way in old:
            occupy(harness, way)
        return False

    def lies(self, names: tuple[str, ...]) -> tuple[tuple[str, bytes], ...]:
        """Where some cables lie: what did not help there once does not help again."""
        ways = self.state.ways
        return tuple((n, np.concatenate([[-1], hops_of(self.harness, ways[n])]).tobytes()) for n in names)


def regroup(harness: Harness, state: State, count: int) -> State:
    """A state that costs less, or the same one; `harness` is left with the cables lying as it says.

    Parameters
    ----------
    harness : Harness
        With the cables lying as `state` says, and no hole too full.
    state : State
    count : int
        Cables, those without a way counted.
    """
    if harness.company is None or not np.isfinite(state.total_m):
        return state
    mover = _Mover(harness, state, count, left=_CHOICES * count)
    tried: set[tuple[tuple[str, bytes], ...]] = set()
    moved = True
    while moved:
        moved = False
        for lead in mover.pushed():
            for names in mover.groups(lead):
                lies = mover.lies(names)
                if lies in tried or len(names) > _MOST_TOGETHER:
                    continue
                if mover.left < _PASSES * len(names):
                    return mover.state
                tried.add(lies)
                moved = mover.move(names) or moved
    return mover.state
