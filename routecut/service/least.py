"""The least trim that has to come off to get at some places: exact, by an integer program.

Stage      service
Units      minutes
Method     one unit of flow from the open air to every place; an arc carries it only when all the trim
           in its way is off, and trim is off only when what goes before it is. Cheapest first, then
           the fewest pieces, then the first listed. A single chain of arcs needs no program, but one
           piece of trim may bar several of them and counts once: that is no shortest path
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from routecut.model.body import Floats

OPEN_AIR: Final = ""
"""The node where whoever does the work stands."""

_NODES: Final = 100_000
_NOISE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Arc:
    """A way from one node to another for which some trim has to be off."""

    start: str
    end: str
    trims: frozenset[str] = frozenset()


def least_removal(
    arcs: Sequence[Arc],
    targets: Iterable[str],
    *,
    minutes: Mapping[str, float],
    after: Mapping[str, Sequence[str]],
) -> tuple[str, ...] | None:
    """The cheapest trim to take off so that every target is reached.

    Parameters
    ----------
    arcs : sequence of Arc
        From `OPEN_AIR` over spaces to places.
    targets : iterable of str
        Nodes; all of them are to be reached at once.
    minutes : mapping of str to float
        What each piece of trim takes, above 0. [min]
    after : mapping of str to sequence of str
        What has to be off before a piece; no rings.

    Returns
    -------
    tuple of str or None
        In the order in which it comes off; None when a target can't be reached with all trim off.

    Raises
    ------
    ValueError
        The program was not solved to proof.

    Examples
    --------
    >>> arcs = [Arc("", "a", frozenset({"lining"})), Arc("", "a", frozenset({"sill", "post"}))]
    >>> least_removal(arcs, ["a"], minutes={"lining": 12, "sill": 3, "post": 8}, after={"post": ["sill"]})
    ('sill', 'post')
    """
    wanted = list(dict.fromkeys(targets))
    off: set[str] = set()
    if all(t in reached(arcs, off) for t in wanted):
        return ()
    everything = {t for arc in arcs for t in arc.trims}
    seen = reached(arcs, everything)
    if not all(t in seen for t in wanted):
        return None
    names = _closed(everything, after)
    used = [arc for arc in arcs if arc.start in seen and arc.end in seen]
    program = _Program(used, wanted, names, minutes, after)
    return in_order(program.solve(), minutes=minutes, after=after)


def reached(arcs: Iterable[Arc], off: Iterable[str]) -> set[str]:
    """The nodes one gets to with some trim off."""
    gone = set(off)
    free: dict[str, list[str]] = {}
    for arc in arcs:
        if arc.trims <= gone:
            free.setdefault(arc.start, []).append(arc.end)
    seen, waiting = {OPEN_AIR}, [OPEN_AIR]
    while waiting:
        for node in free.get(waiting.pop(), ()):
            if node not in seen:
                seen.add(node)
                waiting.append(node)
    return seen


def in_order(
    trims: Iterable[str], *, minutes: Mapping[str, float], after: Mapping[str, Sequence[str]]
) -> tuple[str, ...]:
    """Trim in the order in which it comes off: what goes before first, else the quickest, else by name."""
    left, order = set(trims), []
    while left:
        free = [t for t in left if not any(b in left for b in after.get(t, ()))] or list(left)
        chosen = min(free, key=lambda t: (minutes[t], t))
        order.append(chosen)
        left.remove(chosen)
    return tuple(order)


def _closed(trims: Iterable[str], after: Mapping[str, Sequence[str]]) -> list[str]:
    """Trim with all that has to be off before it, by name."""
    found, waiting = set(trims), list(trims)
    while waiting:
        for before in after.get(waiting.pop(), ()):
            if before not in found:
                found.add(before)
                waiting.append(before)
    return sorted(found)


class _Program:
    """Columns: one for each piece of trim, then for each target one for each arc."""

    def __init__(
        self,
        arcs: Sequence[Arc],
        targets: Sequence[str],
        trims: Sequence[str],
        minutes: Mapping[str, float],
        after: Mapping[str, Sequence[str]],
    ) -> None:
        self._trims = trims
        column = {t: k for k, t in enumerate(trims)}
        nodes = sorted({n for arc in arcs for n in (arc.start, arc.end)} - {OPEN_AIR})
        row_of = {n: k for k, n in enumerate(nodes)}
        self._width = len(trims) + len(targets) * len(arcs)
        rows: list[tuple[dict[int, float], float, float]] = []
        for trim in trims:
            rows += [({column[trim]: 1.0, column[b]: -1.0}, -np.inf, 0.0) for b in after.get(trim, ())]
        for number, target in enumerate(targets):
            first = len(trims) + number * len(arcs)
            balance: list[dict[int, float]] = [{} for _ in nodes]
            for k, arc in enumerate(arcs):
                if arc.start == arc.end:
                    continue
                if arc.end != OPEN_AIR:
                    balance[row_of[arc.end]][first + k] = 1.0
                if arc.start != OPEN_AIR:
                    balance[row_of[arc.start]][first + k] = -1.0
                rows += [({first + k: 1.0, column[t]: -1.0}, -np.inf, 0.0) for t in sorted(arc.trims)]
            for node, entries in zip(nodes, balance, strict=True):
                want = 1.0 if node == target else 0.0
                rows.append((entries, want, want))
        self._rows = self._constraint(rows)
        self._minutes = np.zeros(self._width)
        self._minutes[: len(trims)] = [minutes[t] for t in trims]

    def _constraint(self, rows: Sequence[tuple[dict[int, float], float, float]]) -> LinearConstraint:
        at = [(r, c, v) for r, (entries, _, _) in enumerate(rows) for c, v in entries.items()]
        r, c, v = (np.array(column) for column in zip(*at, strict=True))
        matrix = coo_array((v, (r, c)), shape=(len(rows), self._width)).tocsr()
        return LinearConstraint(matrix, lb=[lo for _, lo, _ in rows], ub=[hi for _, _, hi in rows])

    def solve(self) -> list[str]:
        first = self._least(self._minutes, [self._rows])
        cap = LinearConstraint(self._minutes[None], ub=float(self._minutes @ first) * (1 + 1e-9) + _NOISE)
        count = len(self._trims)
        few = np.zeros(self._width)
        # one piece less always weighs more than all the places in the list together
        few[:count] = 1.0 + np.arange(count) / (2.0 * count * (count + 1))
        best = self._least(few, [self._rows, cap])
        return [t for t, x in zip(self._trims, best.tolist(), strict=False) if x > 0.5]

    def _least(self, cost: Floats, constraints: list[LinearConstraint]) -> Floats:
        whole = np.zeros(self._width)
        whole[: len(self._trims)] = 1
        solved = milp(
            cost,
            constraints=constraints,
            bounds=Bounds(0, 1),
            integrality=whole,
            options={"mip_rel_gap": 0.0, "node_limit": _NODES},
        )
        if solved.x is None or solved.status != 0:
            raise ValueError(f"the least removal was not found: {solved.message}")
        return np.asarray(np.r_[np.rint(solved.x[: len(self._trims)]), solved.x[len(self._trims) :]])
