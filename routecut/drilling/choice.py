"""Which holes to open for all cables together: an integer program, solved to proof.

Stage      drilling; plain names and numbers in and out, nothing of meshes
Units      m; holes are priced in metres of cable
Method     one variable for each way of each cable, one for each size of each new hole; fill as
           the number of cables in a hole allows (NEC chapter 9 table 1); solved by HiGHS through
           scipy.optimize.milp with no gap left
Safe side  a cable that can't be reached is worth more than any length: it is lost only when
           nothing reaches it
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix

from routecut.model.job import ANY
from routecut.routes.harness import fill_most

LOST_M: Final = 1000.0
"""What a cable that is not reached counts: more than all the cable of any vehicle. [m]"""

SIZE_FEE: Final = 1.0
"""What a new hole costs more for its clear diameter: a millimetre of cable a millimetre."""

_TIME_S: Final = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A hole that is there or could be made.

    Attributes
    ----------
    new : bool
    fee_m : float
        What making it costs, but for its size (`SIZE_FEE`); 0 for one that is there. [m]
    diameters_m : tuple of float
        Clear sizes it may have, ascending; a hole that is there has one. [m]
    in_use_m : float
        Diameter taken by other cables. [m]
    classes : tuple of str
        Who may use it.
    """

    name: str
    new: bool
    fee_m: float
    diameters_m: tuple[float, ...]
    in_use_m: float = 0.0
    classes: tuple[str, ...] = (ANY,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A cable's way through some holes, and its price: length, dearer where it is bad to lie. [m]"""

    holes: tuple[str, ...]
    price_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A cable as a hole sees it.

    Attributes
    ----------
    cable_class : str
    diameter_m : float
    plug_m : float
        What has to pass when the connectors are on already; 0 for none. [m]
    weight : float
        What a metre of it costs beside a metre of others.
    """

    name: str
    cable_class: str
    diameter_m: float
    ways: tuple[Way, ...]
    plug_m: float = 0.0
    weight: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is chosen from.

    Attributes
    ----------
    apart : tuple of (str, str)
        Classes that may not share a hole.
    too_near : tuple of (str, str)
        New holes of which only one can be made.
    """

    wires: tuple[Wire, ...]
    holes: tuple[Hole, ...]
    apart: tuple[tuple[str, str], ...] = ()
    too_near: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The best choice.

    Attributes
    ----------
    ways : dict of str to Way
        Of the cables that are reached.
    new : dict of str to float
        New holes and their clear diameters. [m]
    lost : tuple of str
        Cables that are not reached.
    price_m : float
        Weighted ways and fees of those reached. [m]
    optimal : bool
        Proved.
    """

    ways: dict[str, Way]
    new: dict[str, float]
    lost: tuple[str, ...]
    price_m: float
    optimal: bool

    @property
    def rank(self) -> tuple[int, float]:
        """Less is better: cables lost, then price."""
        return len(self.lost), self.price_m


class _Program:
    """Variables and rows of the integer program as they come."""

    def __init__(self) -> None:
        self.cost: list[float] = []
        self._rows: list[tuple[list[tuple[int, float]], float, float]] = []

    def variable(self, cost: float = 0.0) -> int:
        self.cost.append(cost)
        return len(self.cost) - 1

    def row(self, terms: Iterable[tuple[int, float]], low: float, high: float) -> None:
        self._rows.append((list(terms), low, high))

    def solve(self) -> tuple[np.ndarray | None, bool]:
        count = len(self.cost)
        column = [i for terms, _, _ in self._rows for i, _ in terms]
        value = [v for terms, _, _ in self._rows for _, v in terms]
        start = np.cumsum([0, *(len(terms) for terms, _, _ in self._rows)])
        matrix = csr_matrix((value, column, start), shape=(len(self._rows), count))
        solved = milp(
            np.array(self.cost),
            integrality=np.ones(count),
            bounds=Bounds(0, 1),
            constraints=LinearConstraint(
                matrix, [low for _, low, _ in self._rows], [high for _, _, high in self._rows]
            ),
            options={"mip_rel_gap": 0.0, "time_limit": _TIME_S},
        )
        return (None if solved.x is None else np.round(solved.x)), solved.status == 0


def choose(question: Question, *, at_most: int | None = None, without: Iterable[str] = ()) -> Answer:
    """The choice that loses fewest cables, and of those the cheapest.

    Parameters
    ----------
    question : Question
    at_most : int, optional
        New holes; any number where left out.
    without : iterable of str
        Holes that are not used.
    """
    barred = set(without)
    program = _Program()
    holes = {h.name: h for h in question.holes if h.name not in barred}
    x: dict[tuple[str, int], int] = {}
    y = {
        (h.name, d): program.variable(h.fee_m + SIZE_FEE * d)
        for h in holes.values()
        for d in h.diameters_m
        if h.new
    }
    for wire in question.wires:
        lost = program.variable(LOST_M)
        terms = [(lost, 1.0)]
        for number, way in enumerate(wire.ways):
            if may_take(wire, way, holes):
                x[wire.name, number] = at = program.variable(wire.weight * way.price_m)
                terms.append((at, 1.0))
        program.row(terms, 1, 1)
    for hole in holes.values():
        _hole_rows(program, question, hole, x, y)
    for one, other in question.too_near:
        both = [i for (name, _), i in y.items() if name in (one, other)]
        program.row([(i, 1.0) for i in both], 0, 1)
    if at_most is not None:
        program.row([(i, 1.0) for i in y.values()], 0, at_most)
    values, proved = program.solve()
    if values is None:
        return Answer(ways={}, new={}, lost=tuple(w.name for w in question.wires), price_m=0.0, optimal=False)
    ways = {
        wire.name: wire.ways[number]
        for wire in question.wires
        for number in range(len(wire.ways))
        if (wire.name, number) in x and values[x[wire.name, number]] > 0.5
    }
    new = {name: d for (name, d), i in y.items() if values[i] > 0.5}
    weight = {w.name: w.weight for w in question.wires}
    price = sum(weight[n] * w.price_m for n, w in ways.items())
    price += sum(holes[n].fee_m + SIZE_FEE * d for n, d in new.items())
    lost_ones = tuple(w.name for w in question.wires if w.name not in ways)
    return Answer(ways=ways, new=new, lost=lost_ones, price_m=price, optimal=proved)


def may_take(wire: Wire, way: Way, holes: Mapping[str, Hole]) -> bool:
    """Whether every hole of a way is there, is for the cable's class, and has a size its plug passes."""
    return all(
        name in holes
        and (ANY in holes[name].classes or wire.cable_class in holes[name].classes)
        and max(holes[name].diameters_m) >= max(wire.plug_m, wire.diameter_m)
        for name in way.holes
    )


def _hole_rows(
    program: _Program,
    question: Question,
    hole: Hole,
    x: Mapping[tuple[str, int], int],
    y: Mapping[tuple[str, float], int],
) -> None:
    """What one hole allows: its plugs, its fill, its classes."""
    users: list[tuple[Wire, int]] = [
        (wire, x[wire.name, number])
        for wire in question.wires
        for number, way in enumerate(wire.ways)
        if (wire.name, number) in x and hole.name in way.holes
    ]
    sizes: Sequence[float] = hole.diameters_m
    made = {d: y[hole.name, d] for d in sizes if hole.new}
    if hole.new:
        program.row([(i, 1.0) for i in made.values()], 0, 1)
    for wire, at in users:
        need = max(wire.plug_m, wire.diameter_m)
        if hole.new:
            large = [(made[d], -1.0) for d in sizes if d >= need]
            program.row([(at, 1.0), *large], -np.inf, 0)
    if not users:
        return
    # one switch for each size and number of cables: 1, 2, more; the table's share goes by the number
    there = 1 if hole.in_use_m > 0 else 0
    most = len({wire.name for wire, _ in users}) + there
    number = {(d, n): program.variable() for d in sizes for n in (1, 2, 3) if n <= max(most, 1)}
    for d in sizes:
        switches = [(i, 1.0) for (size, _), i in number.items() if size == d]
        if hole.new:
            program.row([*switches, (made[d], -1.0)], 0, 0)
        else:
            program.row(switches, 1, 1)
    cables = [(at, 1.0) for _, at in users]
    counted = {1: 1, 2: 2, 3: most}
    program.row([*cables, *((i, -float(counted[n])) for (_, n), i in number.items())], -np.inf, -there)
    program.row([*cables, *((i, -3.0) for (_, n), i in number.items() if n == 3)], -there, np.inf)
    taken = [(at, 1e4 * wire.diameter_m**2) for wire, at in users]
    room = [(i, -1e4 * fill_most(n) * d * d * (1 + 1e-9)) for (d, n), i in number.items()]
    program.row([*taken, *room], -np.inf, -1e4 * hole.in_use_m**2)
    for one, other in question.apart:
        both = {c: [at for wire, at in users if wire.cable_class == c] for c in (one, other)}
        if both[one] and both[other]:
            either = program.variable()
            program.row([*((i, 1.0) for i in both[one]), (either, -float(len(both[one])))], -np.inf, 0)
            many = float(len(both[other]))
            program.row([*((i, 1.0) for i in both[other]), (either, many)], -np.inf, many)


def table(
    question: Question, *, most: int = 8, at_most: int | None = None, without: Iterable[str] = ()
) -> tuple[Answer, ...]:
    """The best choice with just 0, 1, 2, ... new holes, as long as another one shortens anything.

    A row is the best of its number, whether or not its last hole is worth its fee; the price
    counts the fees.
    """
    barred = tuple(without)
    # with the fees of new holes at zero a further hole is used as soon as it shortens anything
    free = Question(
        wires=question.wires,
        holes=tuple(replace(h, fee_m=0.0) for h in question.holes),
        apart=question.apart,
        too_near=question.too_near,
    )
    fee = {h.name: h.fee_m for h in question.holes}
    useful = len(choose(free, without=barred).new)
    rows: list[Answer] = []
    for number in range(min(n for n in (most, useful, at_most) if n is not None) + 1):
        best = choose(free, at_most=number, without=barred)
        if len(best.new) < number:  # two panels in a row: one hole alone may help nobody
            continue
        price = best.price_m + sum(fee[n] for n in best.new)
        rows.append(replace(best, price_m=price))
    return tuple(rows)
