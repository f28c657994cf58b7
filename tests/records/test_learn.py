"""What is learnt from simulated shops whose habits are known.

Truth     the shop: mean and spread of its lay by kind of stretch, and what its loops take
Tolerance intervals stated to hold with probability p are tried N times; a count outside
          p +- 4 sqrt(p (1 - p) / N) is a failure: by the normal approximation of the binomial distribution
          one in 16 000 runs of a right program; the seed is fixed
Circular? No: the shops are drawn, not computed by what is tested
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from routecut.model.as_built import AsBuilt
from routecut.model.job import LengthPractice
from routecut.model.learnt import FEWEST, Learnt, Taken
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.records.learn import BEHIND_TRIM, ON_PANELS, enough_for_next, learn, lessons
from tests.documents import sample

SHOPS = 300
PLANNED_LAY = 0.03


def shop(
    chance: np.random.Generator,
    *,
    number: int = 20,
    lay: float = 0.045,
    trim_lay: float | None = None,
    spread: float = 0.012,
    drip: float = 0.075,
    vehicle_spread: float = 0.0,
) -> list[Taken]:
    """Cables of a shop as they came out: lay is normal round what it is on panels and behind trim."""
    found = []
    off = chance.normal(0.0, vehicle_spread, 4)
    for k in range(number):
        x = float(chance.uniform(0.6, 7.0))
        trim = float(chance.uniform(0.0, 1.0))
        drips = int(chance.integers(0, 3))
        mean = (1.0 - trim) * lay + trim * (lay if trim_lay is None else trim_lay)
        really = float(chance.normal(mean + off[k % 4], spread))
        fixed = 0.2 + 0.075 * drips
        found.append(
            Taken(
                vehicle=f"van {k % 4}",
                cable=f"P{k}",
                cable_class=("power", "coax")[k % 2],
                used_m=0.2 + drip * drips + (1.0 + really) * x,
                planned_m=fixed + x + PLANNED_LAY * x,
                open_m=x,
                fixed_m=fixed + x,
                trim=trim,
                loops={"drip loop": drips, "hinge loop": 0, "service loop": 0},
                loops_m={"drip loop": 0.075 * drips, "hinge loop": 0.0, "service loop": 0.0},
            )
        )
    return found


def holds_as_stated(hits: int, tries: int, probability: float = 0.95) -> bool:
    return abs(hits / tries - probability) <= 4.0 * math.sqrt(probability * (1.0 - probability) / tries)


def proposed(found: Learnt) -> dict[str, float]:
    return {p.key: p.value for p in found.proposals}


@pytest.mark.parametrize("number", [8, 25])
def test_bias_and_spread_lie_in_their_intervals_as_often_as_stated(number: int) -> None:
    chance = np.random.default_rng(number)
    lay = bias = spread = one_class = 0
    for _ in range(SHOPS):
        found = lessons(shop(chance, number=number))
        assert found.every.lay is not None
        assert found.every.bias is not None
        assert found.every.spread is not None
        lay += found.every.lay.holds(0.045)
        bias += found.every.bias.holds(0.045 - PLANNED_LAY)
        spread += found.every.spread.holds(0.012)
        mean = found.classes[0].lay
        one_class += mean is None or mean.holds(0.045)
    assert holds_as_stated(lay, SHOPS), lay / SHOPS
    assert holds_as_stated(bias, SHOPS), bias / SHOPS
    assert holds_as_stated(spread, SHOPS), spread / SHOPS
    assert number == 8 or holds_as_stated(one_class, SHOPS), one_class / SHOPS


def test_each_kind_of_stretch_and_loop_lies_in_its_interval_as_often_as_stated() -> None:
    chance = np.random.default_rng(3)
    truth = {ON_PANELS: 0.02, BEHIND_TRIM: 0.06, "drip loop": 0.110}
    hits = dict.fromkeys(truth, 0)
    for _ in range(SHOPS):
        found = lessons(shop(chance, number=24, lay=0.02, trim_lay=0.06, drip=0.110))
        assert {s.about for s in found.stretches} == set(truth)
        for s in found.stretches:
            hits[s.about] += s.figure.holds(truth[s.about])
    for about, count in hits.items():
        assert holds_as_stated(count, SHOPS), (about, count / SHOPS)


@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_the_next_cable_is_long_enough_as_often_as_the_proposal_says(confidence: float) -> None:
    """A cut by the proposed figures, z times the error above the lay, against a cable of the same shop."""
    chance = np.random.default_rng(5)
    z = {0.9: 1.2815515655446004, 0.95: 1.6448536269514722}[confidence]
    practice = [LengthPractice(confidence=confidence)]
    enough = 0
    tries = 2 * SHOPS
    for _ in range(tries):
        values = proposed(lessons(shop(chance, number=10), practice=practice))
        cut = (values["lay_percent"] + z * values["lay_error_percent"]) / 100.0
        enough += cut >= chance.normal(0.045, 0.012)
    assert holds_as_stated(enough, tries, confidence), enough / tries


@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_what_is_enough_for_the_next_is_enough_as_often_as_stated(confidence: float) -> None:
    chance, tries = np.random.default_rng(6), 20 * SHOPS
    drawn = chance.normal(0.045, 0.012, (tries, 9))
    enough = sum(x[0] <= x[1:].mean() + enough_for_next(x[1:], confidence) for x in drawn)
    assert holds_as_stated(enough, tries, confidence), enough / tries


def test_a_loop_that_takes_more_than_planned_is_proposed_and_one_that_does_not_is_left_alone() -> None:
    chance = np.random.default_rng(8)
    more = proposed(lessons(shop(chance, number=60, drip=0.150, spread=0.004)))
    assert more["drip_loop"] == pytest.approx(0.150, abs=0.01)
    left_alone = sum(
        "drip_loop" not in proposed(lessons(shop(chance, number=24, drip=0.075))) for _ in range(SHOPS)
    )
    assert holds_as_stated(left_alone, SHOPS), left_alone / SHOPS


def test_too_few_say_so_and_propose_nothing() -> None:
    found = lessons(shop(np.random.default_rng(1), number=FEWEST - 1))
    assert found.every.lay is None
    assert not found.proposals
    assert "too few" in found.apart
    assert not lessons([]).proposals


def test_vehicles_that_differ_are_said_and_others_are_not() -> None:
    chance = np.random.default_rng(2)
    said = sum(lessons(shop(chance, number=40)).vehicles_differ is not None for _ in range(SHOPS))
    assert holds_as_stated(SHOPS - said, SHOPS, 0.99)
    differing = [lessons(shop(chance, number=40, vehicle_spread=0.03)) for _ in range(20)]
    assert sum(d.vehicles_differ is not None for d in differing) > 15


def test_kinds_that_come_together_everywhere_are_not_told_apart() -> None:
    taken = [replace(t, trim=0.5) for t in shop(np.random.default_rng(4), number=30)]
    found = lessons(taken)
    assert not found.stretches
    assert "none can be told from the others" in found.apart


def test_figures_come_from_plan_and_record() -> None:
    """Every cable of the sample took 5 % lay on top of its fixed lines, to the millimetre."""
    plan = sample.plan()
    lines: list[RecordLine] = []

    def say(what: What, name: str, length_m: float) -> None:
        fact = Fact(what=what, kind=Kind.CABLE, name=name, length_m=length_m)
        lines.append(RecordLine(number=len(lines) + 1, fact=fact))

    open_m = {}
    for planned in plan.cables:
        cut = planned.cut
        if cut is None or planned.route is None:
            continue
        name = planned.cable.name
        strings = sum(s.measured_m for s in planned.route.measured)
        x = next((e.over_m for e in cut.errors if e.what == "lay"), planned.route.length_m - strings)
        fixed = sum(s.length_m for s in cut.lines if s.what not in ("lay", "uncertainty", "rounding up"))
        open_m[name] = x
        say(What.CUT, name, cut.length_m)
        say(What.LEFT_OVER, name, cut.length_m - fixed - 0.05 * x)
    last = lines[-1].fact.name
    record = Record(lines=tuple(x for x in lines if (x.fact.what, x.fact.name) != (What.LEFT_OVER, last)))
    found = learn([("van 3", replace(plan, as_built=AsBuilt(record=record)))])
    assert found.taken
    for taken in found.taken:
        assert taken.lay == pytest.approx(0.05)
        assert taken.open_m == open_m[taken.cable]
    assert (f"van 3: {last}", "no left-over recorded: what it took is not known") in found.left_out
    assert {t.cable for t in found.taken} | {n.removeprefix("van 3: ") for n, _ in found.left_out} == {
        c.cable.name for c in plan.cables
    }
