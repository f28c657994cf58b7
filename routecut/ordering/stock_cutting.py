"""Cutting pieces from reels with the least to buy and the least waste: an integer program.

Stage      ordering
Units      m outside; whole tenths of a millimetre inside, pieces rounded up and reels down
Sources    patterns as columns: Gilmore and Gomory, Operations Research 9 (1961) 849-859
Safe side  every piece is cut in one; none is joined
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from routecut.model.body import Floats, Ints

TENTHS_PER_M: Final = 10_000

ALL_PATTERNS: Final = 4000
"""With no more ways of cutting than these all are weighed and the plan is optimal; with more, columns are generated."""

_NODES: Final = 2_000  # of the search tree: a count, not a time, so that every machine finds the same
_MOST_COLUMNS: Final = 400
_EPS: Final = 1e-7

Pattern = tuple[int, ...]
"""How many of each distinct piece a reel gives."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reel:
    """A kind of reel, shelf and shop apart.

    `most` of them there are (None: any number); each costs `cost`, 0 for what is on the shelf.
    """

    length_m: float
    cost: float
    most: int | None = None
    shelf: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CutReel:
    """One reel and what is cut from it, by index of the pieces; the rest, and whether it is kept. [m]"""

    reel: Reel
    pieces: tuple[int, ...]
    left_m: float
    kept: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingPlan:
    """Reels to cut, the pieces no reel holds, and how good the plan is.

    `bound` is the linear-programming bound on the cost; `optimal` says the cost is proved least.
    """

    reels: tuple[CutReel, ...]
    too_long: tuple[int, ...]
    cost: float
    bound: float
    optimal: bool


@dataclass(frozen=True, slots=True)
class _Task:
    """Distinct sizes with how many are wanted, and for each reel what it holds; in tenths, cut loss included."""

    sizes: Ints
    wanted: Ints
    rooms: tuple[int, ...]
    reels: tuple[Reel, ...]
    useful: int


def cut_reels(
    pieces_m: Sequence[float],
    reels: Sequence[Reel],
    *,
    cut_loss_m: float = 0.0,
    end_waste_m: float = 0.0,
    useful_m: float = math.inf,
) -> CuttingPlan:
    """Cut pieces from reels: least cost first, then least waste, then fewest reels.

    Parameters
    ----------
    pieces_m : sequence of float
        Each in one piece. [m]
    reels : sequence of Reel
    cut_loss_m : float
        Lost with each piece. [m]
    end_waste_m : float
        Of each reel. [m]
    useful_m : float
        A rest at least this long is kept and is no waste. [m]

    Returns
    -------
    CuttingPlan
        Pieces no reel holds are named, the others cut all the same.

    Raises
    ------
    ValueError
        The reels there are, together, do not give all the pieces.
    """
    loss = _up(cut_loss_m)
    need = [_up(m) + loss for m in pieces_m]
    rooms = tuple(_down(r.length_m) - _up(end_waste_m) for r in reels)
    longest = max(rooms, default=-1)
    too_long = tuple(k for k, n in enumerate(need) if n > longest)
    counts = Counter(n for n in need if n <= longest)
    if not counts:
        return CuttingPlan(reels=(), too_long=too_long, cost=0.0, bound=0.0, optimal=True)
    sizes = np.array(sorted(counts, reverse=True), dtype=np.int64)
    wanted = np.array([counts[int(s)] for s in sizes], dtype=np.int64)
    useful = _up(useful_m) if math.isfinite(useful_m) else 2**62
    task = _Task(sizes, wanted, rooms, tuple(reels), useful)
    columns = _all_columns(task)
    every = columns is not None
    if columns is None:
        columns, bound = _generated(task)
    else:
        bound = _bound(task, columns)
    used = _solve(task, columns, every=every)
    cost = sum(task.reels[kind].cost for kind, _ in used)
    proved = every or cost <= _least_above(task, bound) + _EPS
    return CuttingPlan(
        reels=_named(task, used, need),
        too_long=too_long,
        cost=cost,
        bound=bound,
        optimal=proved,
    )


def _up(length_m: float) -> int:
    return math.ceil(round(length_m * TENTHS_PER_M, 6))


def _down(length_m: float) -> int:
    return math.floor(round(length_m * TENTHS_PER_M, 6))


def _least_above(task: _Task, bound: float) -> float:
    """The least cost a whole number of reels can have: by the bound, where all cost the same."""
    costs = {r.cost for r in task.reels}
    if len(costs) == 1:
        (each,) = costs
        return math.ceil(bound / each - 1e-6) * each if each > 0.0 else 0.0
    return bound


# --- columns -----------------------------------------------------------------------------


def _all_columns(task: _Task) -> list[tuple[int, Pattern]] | None:
    """Every way of cutting every reel, or None when there are too many."""
    columns: list[tuple[int, Pattern]] = []
    for kind, room in enumerate(task.rooms):
        stack: list[tuple[int, int, tuple[int, ...]]] = [(0, room, ())]
        while stack:
            at, left, taken = stack.pop()
            if at == len(task.sizes):
                if any(taken):
                    columns.append((kind, taken))
                    if len(columns) > ALL_PATTERNS:
                        return None
                continue
            size = int(task.sizes[at])
            most = min(max(left, 0) // size, int(task.wanted[at]))
            stack.extend((at + 1, left - count * size, (*taken, count)) for count in range(most + 1))
    return sorted(columns)


def _matrix(columns: Sequence[tuple[int, Pattern]]) -> Floats:
    return np.array([pattern for _, pattern in columns], dtype=np.float64).T


def _relaxed(task: _Task, columns: Sequence[tuple[int, Pattern]]) -> tuple[float, Floats, Floats, Floats]:
    """The linear program over some columns: cost, amounts, and the duals of pieces and reels."""
    gives = _matrix(columns)
    limits = np.zeros((len(task.reels), len(columns)))
    for j, (kind, _) in enumerate(columns):
        limits[kind, j] = 1.0
    bounded = [k for k, r in enumerate(task.reels) if r.most is not None]
    most = np.array([task.reels[k].most or 0 for k in bounded], dtype=np.float64)
    solved = linprog(
        [task.reels[kind].cost for kind, _ in columns],
        A_ub=np.vstack([-gives, limits[bounded]]),
        b_ub=np.concatenate([-task.wanted.astype(np.float64), most]),
        bounds=(0, None),
        method="highs",
    )
    if solved.status != 0:
        raise ValueError("the reels there are do not give all the pieces")
    duals = -np.asarray(solved.ineqlin.marginals)
    scarce = np.zeros(len(task.reels))
    scarce[bounded] = duals[len(task.wanted) :]
    return float(solved.fun), np.asarray(solved.x), duals[: len(task.wanted)], scarce


def _bound(task: _Task, columns: Sequence[tuple[int, Pattern]]) -> float:
    return _relaxed(task, columns)[0]


def _generated(task: _Task) -> tuple[list[tuple[int, Pattern]], float]:
    """Columns that are worth having by the duals of those there are, and the bound they prove."""
    columns = _first_fits(task)
    known = set(columns)
    bound = 0.0
    for _ in range(_MOST_COLUMNS):
        bound, amounts, worth, scarce = _relaxed(task, columns)
        new = []
        for kind, room in enumerate(task.rooms):
            pattern = _knapsack(task, room, worth)
            gain = float(worth @ np.array(pattern)) - task.reels[kind].cost - scarce[kind]
            if gain > _EPS and (kind, pattern) not in known:
                new.append((kind, pattern))
        if not new:
            break
        columns += new
        known.update(new)
    # What whole numbers of the best columns leave over is cut by patterns of its own.
    left = task.wanted - np.floor(amounts + _EPS).astype(np.int64) @ np.array([p for _, p in columns])
    rest = _Task(task.sizes, np.maximum(left, 0), task.rooms, task.reels, task.useful)
    for column in [*_first_fits(rest), *(_all_columns(rest) or [])]:
        if column not in known and any(column[1]):
            columns.append(column)
            known.add(column)
    return columns, bound


def _first_fits(task: _Task) -> list[tuple[int, Pattern]]:
    """Patterns of filling one reel after the other, longest piece first, for each kind of reel."""
    columns: dict[tuple[int, Pattern], None] = {}
    for kind, room in enumerate(task.rooms):
        left = task.wanted.copy()
        while left.any():
            free, taken = room, []
            for size, wanted in zip(task.sizes.tolist(), left.tolist(), strict=True):
                count = min(wanted, max(free, 0) // size)
                taken.append(count)
                free -= count * size
            if not any(taken):
                break
            columns[kind, tuple(taken)] = None
            left = left - np.array(taken)
        for at, size in enumerate(task.sizes.tolist()):
            count = min(max(room, 0) // size, int(task.wanted[at]))
            if count:
                columns[kind, tuple(count if k == at else 0 for k in range(len(task.sizes)))] = None
    return list(columns)


def _knapsack(task: _Task, room: int, worth: Floats) -> Pattern:
    """The pattern of most worth one reel holds, by dynamic programming over what is left of it."""
    step = int(np.gcd.reduce(task.sizes))
    room = max(room, 0) // step
    best = np.zeros(room + 1)
    bundles: list[tuple[int, int, npt.NDArray[np.bool_]]] = []
    for at, (size, wanted) in enumerate(
        zip((task.sizes // step).tolist(), task.wanted.tolist(), strict=True)
    ):
        count, left = 1, min(wanted, room // size)
        while left > 0 and worth[at] > 0.0:
            count = min(count, left)  # bundles of 1, 2, 4, ... make up any number
            shifted = np.full(room + 1, -np.inf)
            shifted[count * size :] = best[: room + 1 - count * size] + count * worth[at]
            better = shifted > best + _EPS
            best = np.where(better, shifted, best)
            bundles.append((at, count, better))
            left, count = left - count, 2 * count
    taken = [0] * len(task.sizes)
    free = room
    for at, count, better in reversed(bundles):
        if better[free]:
            taken[at] += count
            free -= count * int(task.sizes[at]) // step
    return tuple(taken)


# --- whole numbers -----------------------------------------------------------------------


def _solve(task: _Task, columns: Sequence[tuple[int, Pattern]], *, every: bool) -> list[tuple[int, Pattern]]:
    """Reels with their patterns; no piece more than wanted."""
    gives = _matrix(columns)
    cost = np.array([task.reels[kind].cost for kind, _ in columns])
    rows: list[LinearConstraint] = []
    for kind, reel in enumerate(task.reels):
        if reel.most is not None:
            rows.append(LinearConstraint(np.array([[float(k == kind) for k, _ in columns]]), ub=reel.most))
    wanted = task.wanted.astype(np.float64)
    most = np.array([_most_times(task, p) for _, p in columns], dtype=np.float64)
    first = _whole(cost, [LinearConstraint(gives, lb=wanted), *rows], most)
    amounts = first
    if every:
        # All ways of cutting are there, the half full ones too: of the cheapest the one with least waste.
        limit = LinearConstraint(cost[None], ub=float(cost @ first) * (1 + 1e-9) + _EPS)
        waste = np.array([_waste(task, kind, p) for kind, p in columns]) / TENTHS_PER_M
        amounts = _whole(waste + 1e-3, [LinearConstraint(gives, lb=wanted, ub=wanted), limit, *rows], most)
    used: list[tuple[int, Pattern]] = []
    left = task.wanted.copy()
    for (kind, pattern), amount in zip(columns, np.rint(amounts).astype(int).tolist(), strict=True):
        for _ in range(amount):
            taken = np.minimum(np.array(pattern), left)
            left = left - taken
            if taken.any():
                used.append((kind, tuple(int(t) for t in taken)))
    return used


def _most_times(task: _Task, pattern: Pattern) -> int:
    return max(-(-int(w) // p) for w, p in zip(task.wanted, pattern, strict=True) if p)


def _waste(task: _Task, kind: int, pattern: Pattern) -> int:
    left = task.rooms[kind] - int(task.sizes @ np.array(pattern))
    return 0 if left >= task.useful else left


def _whole(cost: Floats, constraints: list[LinearConstraint], most: Floats) -> Floats:
    solved = milp(
        cost,
        constraints=constraints,
        bounds=Bounds(0, most),
        integrality=np.ones(len(cost)),
        options={"mip_rel_gap": 0.0, "node_limit": _NODES},
    )
    if solved.x is None:
        raise ValueError("the reels there are do not give all the pieces")
    return np.asarray(solved.x)


def _named(task: _Task, used: list[tuple[int, Pattern]], need: list[int]) -> tuple[CutReel, ...]:
    """The reels with the pieces by their index: those of one length in the order they were given."""
    waiting: dict[int, list[int]] = defaultdict(list)
    for k, n in enumerate(need):
        waiting[n].append(k)
    for queue in waiting.values():
        queue.reverse()
    cut = []
    for kind, pattern in sorted(used, key=lambda u: (not task.reels[u[0]].shelf, u[0], [-c for c in u[1]])):
        pieces = [
            waiting[int(s)].pop() for s, count in zip(task.sizes, pattern, strict=True) for _ in range(count)
        ]
        left = task.rooms[kind] - int(task.sizes @ np.array(pattern))
        cut.append(
            CutReel(
                reel=task.reels[kind],
                pieces=tuple(pieces),
                left_m=left / TENTHS_PER_M,
                kept=left >= task.useful,
            )
        )
    return tuple(cut)
