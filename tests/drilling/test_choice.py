"""The choice of holes against trying everything, and cases planted so that one thing decides."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest

from routecut.drilling.choice import Answer, Hole, Question, Way, Wire, choose, table
from routecut.verify.limits import fill_limit


def fits(hole: Hole, size: float, inside: list[Wire], apart: tuple[tuple[str, str], ...]) -> bool:
    """Whether these cables may lie in a hole of that size: arithmetic of the test's own."""
    diameters = [w.diameter_m for w in inside] + ([hole.in_use_m] if hole.in_use_m else [])
    if not inside:
        return True
    if sum(d * d for d in diameters) > fill_limit(len(diameters)) * size * size * (1 + 1e-9):
        return False
    if any(size < max(w.plug_m, w.diameter_m) for w in inside):
        return False
    if any("*" not in hole.classes and w.cable_class not in hole.classes for w in inside):
        return False
    classes = {w.cable_class for w in inside}
    return not any(a in classes and b in classes for a, b in apart)


def brute(question: Question, at_most: int | None = None) -> tuple[int, float]:
    """Fewest cables lost and least price, by trying every way of every cable with every set of holes."""
    new = [h for h in question.holes if h.new]
    there = [h for h in question.holes if not h.new]
    best = (len(question.wires) + 1, 0.0)
    for number in range(len(new) + 1):
        if at_most is not None and number > at_most:
            break
        for made in combinations(new, number):
            names = {h.name for h in made}
            if any(a in names and b in names for a, b in question.too_near):
                continue
            open_ones = {h.name: h for h in (*there, *made)}
            choices = [
                [None, *(way for way in wire.ways if set(way.holes) <= set(open_ones))]
                for wire in question.wires
            ]
            for ways in product(*choices):
                lost = sum(way is None for way in ways)
                price = sum(
                    wire.weight * way.price_m
                    for wire, way in zip(question.wires, ways, strict=True)
                    if way is not None
                )
                sizes = {}
                for hole in open_ones.values():
                    inside = [
                        w
                        for w, way in zip(question.wires, ways, strict=True)
                        if way and hole.name in way.holes
                    ]
                    sizes[hole.name] = next(
                        (d for d in hole.diameters_m if fits(hole, d, inside, question.apart)), None
                    )
                if None in sizes.values():
                    continue
                # a hole costs its fee and as much cable as it is wide
                price += sum(h.fee_m + (sizes[h.name] or 0.0) for h in made)
                best = min(best, (lost, price))
    return best


def at_random(seed: int) -> Question:
    """A small case: up to four cables, five holes, two panels in a row, sizes, classes, plugs."""
    rng = np.random.default_rng(seed)
    holes = tuple(
        Hole(
            name=f"H{i}",
            new=bool(rng.random() < 0.6),
            fee_m=float(rng.uniform(0.2, 2.0)),
            diameters_m=(0.0,),
            in_use_m=float(rng.choice([0.0, 0.0, 0.006])),
            classes=("*",) if rng.random() < 0.7 else ("coax", "data"),
        )
        for i in range(int(rng.integers(2, 6)))
    )
    sized = tuple(
        Hole(
            name=h.name,
            new=h.new,
            fee_m=h.fee_m if h.new else 0.0,
            diameters_m=tuple(sorted(rng.choice([0.010, 0.014, 0.020], size=2, replace=False).tolist()))
            if h.new
            else (float(rng.choice([0.012, 0.018])),),
            in_use_m=0.0 if h.new else h.in_use_m,
            classes=h.classes,
        )
        for h in holes
    )
    names = [h.name for h in sized]
    sets = [(n,) for n in names] + list(combinations(names, 2))
    wires = []
    for i in range(int(rng.integers(1, 5))):
        chosen = rng.permutation(len(sets))[: int(rng.integers(1, 5))]
        wires.append(
            Wire(
                name=f"C{i}",
                cable_class=str(rng.choice(["power", "coax", "data"])),
                diameter_m=float(rng.choice([0.004, 0.006, 0.008])),
                ways=tuple(Way(holes=sets[k], price_m=float(rng.uniform(1, 6))) for k in chosen),
                plug_m=float(rng.choice([0.0, 0.0, 0.011, 0.016])),
                weight=float(rng.choice([1.0, 1.0, 2.0])),
            )
        )
    apart = (("coax", "power"),) if rng.random() < 0.5 else ()
    new = [h.name for h in sized if h.new]
    near = ((new[0], new[1]),) if len(new) > 1 and rng.random() < 0.3 else ()
    return Question(wires=tuple(wires), holes=sized, apart=apart, too_near=near)


@pytest.mark.parametrize("block", range(20))
def test_nothing_is_better_than_the_choice(block: int) -> None:
    """Ten random cases a block, 200 in all, each with any number of new holes and with few."""
    for seed in range(10 * block, 10 * block + 10):
        question = at_random(seed)
        for at_most in (None, seed % 3):
            answer = choose(question, at_most=at_most)
            lost, price = brute(question, at_most)
            assert answer.optimal
            assert len(answer.lost) == lost, seed
            assert answer.price_m == pytest.approx(price, abs=1e-4), seed
            assert at_most is None or len(answer.new) <= at_most
            holds(question, answer)


def holds(question: Question, answer: Answer) -> None:
    """The answer keeps every rule itself, not only the price."""
    for hole in question.holes:
        inside = [
            w for w in question.wires if w.name in answer.ways and hole.name in answer.ways[w.name].holes
        ]
        if inside and hole.new:
            assert hole.name in answer.new
        size = answer.new.get(hole.name, hole.diameters_m[0])
        assert fits(hole, size, inside, question.apart)


def wire(
    name: str, cable_class: str, *ways: tuple[float, str], diameter: float = 0.006, plug: float = 0.0
) -> Wire:
    return Wire(
        name=name,
        cable_class=cable_class,
        diameter_m=diameter,
        plug_m=plug,
        ways=tuple(Way(holes=tuple(h.split()), price_m=m) for m, h in ways),
    )


def there(name: str, diameter: float = 0.030, in_use: float = 0.0) -> Hole:
    return Hole(name=name, new=False, fee_m=0.0, diameters_m=(diameter,), in_use_m=in_use)


def new(name: str, *diameters: float, fee: float = 2.0) -> Hole:
    return Hole(name=name, new=True, fee_m=fee, diameters_m=diameters or (0.020,))


def test_drilling_nothing_wins() -> None:
    """The new hole saves 0.9 m on each of two cables, 1.8 m together, and costs 2 m."""
    question = Question(
        wires=(wire("A", "data", (5.0, "old"), (4.1, "H")), wire("B", "data", (5.0, "old"), (4.1, "H"))),
        holes=(there("old"), new("H")),
    )
    assert choose(question).new == {}
    rows = table(question)
    assert [len(r.new) for r in rows] == [0, 1]
    assert rows[0].price_m == pytest.approx(10.0)
    assert rows[1].price_m == pytest.approx(10.2 + 0.020)
    # a third cable of the same kind and it is worth drilling
    more = Question(
        wires=(*question.wires, wire("C", "data", (5.0, "old"), (4.1, "H"))), holes=question.holes
    )
    assert set(choose(more).new) == {"H"}


def test_one_shared_hole_beats_two_short_ones() -> None:
    """Each cable's own hole is shorter by 0.5 m, but a second hole costs 2 m."""
    question = Question(
        wires=(wire("A", "data", (3.0, "HA"), (3.5, "HS")), wire("B", "data", (3.0, "HB"), (3.5, "HS"))),
        holes=(new("HA"), new("HB"), new("HS")),
    )
    assert set(choose(question).new) == {"HS"}
    cheap = Question(wires=question.wires, holes=tuple(new(n, fee=0.4) for n in ("HA", "HB", "HS")))
    assert set(choose(cheap).new) == {"HA", "HB"}


def test_coax_and_power_may_not_share() -> None:
    """One hole would do for both; kept apart, the coax goes the long way through the old one."""
    wires = (wire("X", "coax", (3.0, "H"), (9.0, "old")), wire("P", "power", (3.0, "H"), (12.0, "old")))
    holes = (there("old"), new("H"))
    together = choose(Question(wires=wires, holes=holes))
    assert {n: w.holes for n, w in together.ways.items()} == {"X": ("H",), "P": ("H",)}
    apart = choose(Question(wires=wires, holes=holes, apart=(("coax", "power"),)))
    assert {n: w.holes for n, w in apart.ways.items()} == {"X": ("old",), "P": ("H",)}


def test_a_plug_that_does_not_pass() -> None:
    """14 mm plug: not through the old 12 mm hole, not through a new one of 10, but through one of 16."""
    holes = (there("old", 0.012), new("H", 0.010, 0.016))
    bare = wire("C", "control", (3.0, "old"), (2.9, "H"))
    assert choose(Question(wires=(bare,), holes=holes)).new == {}
    made_up = wire("C", "control", (3.0, "old"), (2.9, "H"), plug=0.014)
    assert choose(Question(wires=(made_up,), holes=holes)).new == {"H": 0.016}
    lost = choose(Question(wires=(made_up,), holes=holes), at_most=0)
    assert lost.lost == ("C",)


def test_the_smallest_size_that_holds_is_made() -> None:
    """One 6 mm cable needs 8.3 mm by the 53 per cent rule, two need 15.3, three 16.5."""
    for number, size in ((1, 0.010), (2, 0.016), (3, 0.020)):
        wires = tuple(wire(f"C{i}", "data", (3.0, "H")) for i in range(number))
        assert choose(Question(wires=wires, holes=(new("H", 0.008, 0.010, 0.016, 0.020),))).new == {"H": size}


def test_what_is_in_a_hole_already_counts() -> None:
    holes = (there("old", 0.014, in_use=0.006), new("H"))
    ways = wire("C", "data", (3.0, "old"), (3.0, "H"))
    # 6 and 6 mm: 72 of 196 mm2 are 37 per cent, 31 are allowed for two
    assert set(choose(Question(wires=(ways,), holes=holes)).new) == {"H"}
    free = (there("old", 0.014), new("H"))
    assert choose(Question(wires=(ways,), holes=free)).new == {}


def test_a_hole_that_is_barred_is_not_used() -> None:
    question = Question(wires=(wire("C", "data", (3.0, "H1"), (4.0, "H2")),), holes=(new("H1"), new("H2")))
    assert set(choose(question).new) == {"H1"}
    assert set(choose(question, without=["H1"]).new) == {"H2"}
    assert choose(question, without=["H1", "H2"]).lost == ("C",)


def test_each_row_of_the_table_is_the_best_of_its_number() -> None:
    for seed in range(40):
        question = at_random(1000 + seed)
        rows = table(question)
        assert [len(r.new) for r in rows] == sorted({len(r.new) for r in rows})
        for row in rows:
            lost, _ = brute(question, len(row.new))
            assert len(row.lost) == lost


def test_two_panels_in_a_row_need_two_holes_at_once() -> None:
    """No row with one hole, which would help nobody; one with two, which reaches the cable."""
    question = Question(wires=(wire("C", "data", (4.0, "H1 H2")),), holes=(new("H1"), new("H2")))
    assert [(len(r.new), r.lost) for r in table(question)] == [(0, ("C",)), (2, ())]
    assert len(table(question, at_most=1)) == 1
