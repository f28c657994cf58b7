"""Ready-made leads and the order list. Truth: small orders worked by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecut.model.finding import Severity
from routecut.model.job import (
    Cable,
    CableClass,
    CableType,
    Device,
    HoleState,
    Job,
    PassThrough,
    Port,
    Position,
    Stock,
    Vehicle,
)
from routecut.model.plan import CutLength, Lead, Passage, PlannedCable, Route, SumLine
from routecut.ordering import choose_lead, order_lines

ORIGIN = Position(at_m=(0.0, 0.0, 0.0))
AXES = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def make_type(name: str, cable_class: CableClass = CableClass.CONTROL) -> CableType:
    return CableType(name=name, cable_class=cable_class, diameter_m=0.005, min_bend_radius_m=0.05)


def make_cable(name: str, kind: str, **more: Any) -> Cable:
    settings: dict[str, Any] = {"from_port": "radio.a", "to_port": "head.b"}
    return Cable(name=name, cable_class=CableClass.CONTROL, type=make_type(kind), **(settings | more))


def make_cut(needed: float, rounding: float = 0.0) -> CutLength:
    lines = (
        SumLine(what="route", length_m=needed, why="w"),
        SumLine(what="rounding up", length_m=rounding, why="w"),
    )
    return CutLength(length_m=needed + rounding, probability=0.95, lines=lines)


def make_job(*stock: Stock, unit: str = "mm") -> Job:
    def device(name: str, *ports: tuple[str, str]) -> Device:
        made = tuple(Port(device=name, name=p, position=ORIGIN, termination=t) for p, t in ports)
        return Device(name=name, position=ORIGIN, space="cab", ports=made)

    holes = tuple(
        PassThrough(
            name=name,
            position=ORIGIN,
            axis=(1.0, 0.0, 0.0),
            diameter_m=d,
            state=state,
            joins=("cab", "boot"),
        )
        for name, d, state in (
            ("rear", 0.020, HoleState.EXISTING),
            ("front", 0.030, HoleState.CANDIDATE),
            ("roof", 0.019, HoleState.EXISTING),
        )
    )
    return Job(
        folder=Path(),
        title="",
        length_unit=unit,
        vehicle=Vehicle(mesh="m", mesh_unit="m", axes=AXES, axes_text=""),
        devices=(
            device("radio", ("a", "plug"), ("power", "ring M6")),
            device("head", ("b", "plug"), ("bare", "")),
            device("battery", ("plus", "ring M6"), ("minus", "ring M8")),
        ),
        pass_throughs=holes,
        stock=stock,
    )


def planned(
    cable: Cable, needed: float, *holes: str, rounding: float = 0.0, lead: Lead | None = None
) -> PlannedCable:
    passages = tuple(
        Passage(name=h, at_route_m=0.1 * k, from_space="cab", to_space="boot") for k, h in enumerate(holes)
    )
    route = Route(
        points_m=np.array([[0.0, 0, 0], [needed, 0, 0]]),
        length_m=needed,
        spaces=("cab",),
        bend_radius_m=0.05,
        passages=passages,
    )
    return PlannedCable(cable=cable, route=route, cut=make_cut(needed, rounding), lead=lead)


# --- leads -------------------------------------------------------------------------------

CONTROL = make_cable("K1", "control-8", ready_made=True)
SHELF = (
    Stock(type="control-8", lengths_m=(5.0, 3.0)),
    Stock(type="control-8", lengths_m=(9.0,)),
    Stock(type="other", lengths_m=(3.5,)),
    Stock(type="control-8", reel_m=100.0),
)


@pytest.mark.parametrize(
    ("needed", "rounding", "length", "surplus"),
    [
        (2.9, 0.0, 3.0, 0.1),
        (2.98, 0.02, 3.0, 0.02),
        (3.0, 0.0, 3.0, 0.0),
        (2.99, 0.06, 3.0, 0.01),  # the rounding suits a reel, not a lead
        (3.001, 0.0, 5.0, 1.999),
        (3.4, 0.0, 5.0, 1.6),
        (8.9, 0.1, 9.0, 0.1),
    ],
)
def test_the_shortest_lead_that_reaches(
    needed: float, rounding: float, length: float, surplus: float
) -> None:
    lead, findings = choose_lead(job=make_job(*SHELF), cable=CONTROL, cut=make_cut(needed, rounding))
    assert [f.code for f in findings] == (["lead-surplus"] if surplus > 1.0 else [])
    assert lead.lengths_m == (length,)
    assert lead.surplus_m == pytest.approx(surplus, abs=1e-9)
    assert lead.joints == ()


def test_nothing_reaches() -> None:
    lead, findings = choose_lead(job=make_job(*SHELF), cable=CONTROL, cut=make_cut(9.2503))
    assert lead == Lead(lengths_m=(), surplus_m=0.0)
    (finding,) = findings
    assert finding.code == "no-stock-lead"
    assert finding.severity is Severity.ERROR
    assert finding.where == "cable K1"
    assert "longest in stock is 9000 mm, 251 mm short of the 9251 mm needed" in finding.message
    assert finding.allowed == "3000 mm, 5000 mm, 9000 mm"


def test_no_such_type_in_stock() -> None:
    lead, findings = choose_lead(job=make_job(), cable=CONTROL, cut=make_cut(2.0))
    assert lead.lengths_m == ()
    assert "no ready-made length of control-8 is in stock; 2000 mm is needed" in findings[0].message


@given(needed=st.floats(0.01, 12), lengths=st.lists(st.floats(0.1, 12), max_size=6))
def test_a_lead_reaches_and_no_shorter_one_does(needed: float, lengths: list[float]) -> None:
    job = make_job(Stock(type="control-8", lengths_m=tuple(lengths)))
    lead, findings = choose_lead(job=job, cable=CONTROL, cut=make_cut(needed))
    reaching = [length for length in lengths if length >= needed]
    if lead.lengths_m:
        assert lead.lengths_m[0] >= needed - 1e-9
        assert lead.surplus_m >= 0.0
        assert not [r for r in reaching if r < lead.lengths_m[0]]
    assert bool(lead.lengths_m) == ("no-stock-lead" not in {f.code for f in findings})
    assert bool(lead.lengths_m) or not reaching


# --- order list --------------------------------------------------------------------------


def an_order() -> tuple[Job, list[PlannedCable]]:
    job = make_job(Stock(type="wire-red", reel_m=5.0), Stock(type="wire-red", reel_m=15.0), *SHELF)
    wire = {"from_port": "battery.plus", "to_port": "radio.power"}
    cables = [
        planned(make_cable("P2", "wire-red", **wire), 3.0, "front", rounding=0.05),
        planned(make_cable("P1", "wire-red", **wire), 4.1, "front", "rear"),
        planned(make_cable("P3", "wire-red", from_port="battery.minus", to_port="head.bare"), 1.9),
        planned(CONTROL, 2.9, "rear", lead=Lead(lengths_m=(3.0,), surplus_m=0.1)),
        planned(replace(CONTROL, name="K2"), 2.5, "rear", lead=Lead(lengths_m=(3.0,), surplus_m=0.5)),
        planned(replace(CONTROL, name="K9"), 30.0, lead=Lead(lengths_m=(), surplus_m=0.0)),
        PlannedCable(cable=make_cable("X1", "wire-red")),
    ]
    return job, cables


def test_an_order_worked_by_hand() -> None:
    job, cables = an_order()
    found = [(o.what, o.quantity, o.unit, o.for_cables) for o in order_lines(job=job, cables=cables)]
    assert found == [
        ("wire-red", pytest.approx(9.05), "m", ("P1", "P2", "P3")),
        ("control-8, ready-made lead 3000 mm", 2.0, "piece", ("K1", "K2")),
        ("ring M6", 4.0, "piece", ("P1", "P2")),
        ("ring M8", 1.0, "piece", ("P3",)),
        ("grommet for a 30 mm hole", 1.0, "piece", ("P1", "P2")),
        ("grommet for a 20 mm hole", 1.0, "piece", ("K1", "K2", "P1")),
    ]


def test_why_it_is_ordered() -> None:
    job, cables = an_order()
    why = {o.what: o.why for o in order_lines(job=job, cables=cables)}
    # 4.1 m alone on a reel of 5 m, 3.05 m and 1.9 m together are 4.95 m on the second
    assert why["wire-red"] == (
        "cut lengths P1 4100 mm, P2 3050 mm, P3 1900 mm; 2 reels of 5000 mm, every cut in one piece"
    )
    assert "K1 needs 2900 mm, K2 needs 2500 mm" in why["control-8, ready-made lead 3000 mm"]
    assert "battery.plus (P1)" in why["ring M6"]
    assert why["grommet for a 30 mm hole"].startswith("front, candidate")


def test_the_reel_must_hold_the_longest_cut() -> None:
    job, cables = an_order()
    long = planned(make_cable("P4", "wire-red"), 7.0)
    why = order_lines(job=job, cables=[*cables, long])[0].why
    assert "2 reels of 15000 mm" in why
    too_long = planned(make_cable("P4", "wire-red"), 15.5)
    why = order_lines(job=job, cables=[*cables, too_long])[0].why
    assert "no reel holds the longest cut (15500 mm); the longest holds 15000 mm" in why


def test_the_order_of_the_cables_changes_nothing() -> None:
    job, cables = an_order()
    expected = order_lines(job=job, cables=cables)
    for seed in range(10):
        shuffled = [cables[k] for k in np.random.default_rng(seed).permutation(len(cables))]
        assert order_lines(job=job, cables=shuffled) == expected


def test_nothing_planned_orders_nothing() -> None:
    job, cables = an_order()
    assert order_lines(job=job, cables=[]) == ()
    assert order_lines(job=job, cables=cables[-1:]) == ()
