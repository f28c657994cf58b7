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
from routecut.ordering import Fitted, choose_lead, missing_leads, order_lines, order_list
from routecut.tables import cable_types
from tests.drilling.cards import card as hole_card

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


@pytest.mark.parametrize(
    ("kind", "apart", "lengths", "more", "said"),
    [
        (CableClass.CONTROL, 2.0, (), {}, "in stock; at least 2000 mm is needed, straight from port to port"),
        (CableClass.CONTROL, 2.0, (2.0,), {}, None),
        (CableClass.CONTROL, 2.0, (1.0,), {}, None),  # two of them, joined
        (CableClass.CONTROL, 4.0, (1.0,), {}, "is 1000 mm, at least 3000 mm short of the 4000 mm needed"),
        (CableClass.POWER, 2.0, (1.0,), {}, "at least 1000 mm short"),
        (CableClass.CONTROL, 2.0, (), {"ready_made": False}, None),
        (CableClass.CONTROL, 2.0, (), {"type_assumed": True}, None),
    ],
)
def test_before_a_plan_a_lead_is_missing_when_the_straight_line_is_longer_than_any(
    kind: CableClass, apart: float, lengths: tuple[float, ...], more: dict[str, Any], said: str | None
) -> None:
    stock = (Stock(type="control-8", lengths_m=lengths),) if lengths else ()
    job = make_job(*stock)
    far = Position(at_m=(apart, 0.0, 0.0))
    cable = replace(
        CONTROL, cable_class=kind, type=make_type("control-8", kind), **({"ready_made": True} | more)
    )
    devices = tuple(
        replace(d, ports=tuple(replace(p, position=far) for p in d.ports)) if d.name == "head" else d
        for d in job.devices
    )
    found = missing_leads(replace(job, cables=(cable,), devices=devices))
    assert [(f.code, f.severity) for f in found] == (
        [] if said is None else [("no-stock-lead", Severity.WARNING)]
    )
    assert said is None or said in found[0].message


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
    """Every line: 9 terminals and a spare of each kind, a grommet for the one hole to drill, clips every 450 mm.

    Clips: all lie on one line. K9 takes 66, and the others share them as far as they reach: P3 4, K2 5, P2 and
    K1 6, P1 9. So 4 hold six discs of 5 mm (15 mm), 1 five (13.5), 1 four (12.1), 3 two, and 57 one; each size
    with its spares. Ties: between the first of them and the ninth, 450 mm being more than 12 in: 8, and 1 spare.
    Heat shrink over 5 mm: 1/4 in, 5 ends of 50 mm. Labels: 6 cables, 12 ends, 2 spare.
    """
    job, cables = an_order()
    found = [
        (o.what, round(o.quantity, 6), o.unit, o.for_cables) for o in order_lines(job=job, cables=cables)
    ]
    assert found == [
        ("wire-red", 9.05, "m", ("P1", "P2", "P3")),
        ("control-8, ready-made lead 3000 mm", 2.0, "piece", ("K1", "K2")),
        ("ring M6, for wire-red", 5.0, "piece", ("P1", "P2")),
        ("ring M8, for wire-red", 2.0, "piece", ("P3",)),
        ("heat shrink, 2:1, 1/4 in (6.4/3.2 mm)", 0.3, "m", ("P1", "P2", "P3")),
        ("label, printed, for a cable end", 14.0, "piece", ("K1", "K2", "K9", "P1", "P2", "P3")),
        ("grommet for a 30 mm hole", 1.0, "piece", ("P1", "P2")),
        ("touch-up primer and paint, small tin", 1.0, "piece", ("P1", "P2")),
        ("clip for a bundle of up to 10 mm", 4.0, "piece", ("K9", "P1")),
        ("clip for a bundle of up to 13 mm", 2.0, "piece", ("K1", "K9", "P1", "P2")),
        ("clip for a bundle of up to 16 mm", 6.0, "piece", ("K1", "K2", "K9", "P1", "P2", "P3")),
        ("clip for a cable of up to 5 mm", 63.0, "piece", ("K9",)),
        ("cable tie", 9.0, "piece", ("K1", "K2", "K9", "P1", "P2", "P3")),
    ]


def test_a_terminal_is_ordered_for_the_wire_it_takes() -> None:
    """M6 rings on 10 AWG of either colour are one line; on 16 AWG and on a braid they are other parts."""
    job, _ = an_order()
    wires = [
        ("P1", "wire-10awg-red"),
        ("P2", "wire-10awg-black"),
        ("P3", "wire-16awg-red"),
        ("B1", "bond-strap"),
    ]
    cables = [
        planned(
            Cable(
                name=name, from_port="radio.power", to_port="battery.plus", type=cable_types()[kind],
                cable_class=cable_types()[kind].cable_class,
            ),
            1.0,
        )
        for name, kind in wires
    ]  # fmt: skip
    lines = {o.what: o for o in order_lines(job=job, cables=cables) if o.group == "terminal or connector"}
    assert {what: (o.quantity, o.for_cables) for what, o in lines.items()} == {
        "ring M6, for 10 AWG (SAE)": (5.0, ("P1", "P2")),
        "ring M6, for 12 mm braid": (3.0, ("B1",)),
        "ring M6, for 16 AWG (SAE)": (3.0, ("P3",)),
    }


def test_why_it_is_ordered() -> None:
    job, cables = an_order()
    lines = {o.what: o for o in order_lines(job=job, cables=cables)}
    wire = lines["wire-red"]
    assert wire.why.startswith("cut lengths P1 4100 mm, P2 3050 mm, P3 1900 mm; every cut in one piece")
    assert "K1 needs 2900 mm, K2 needs 2500 mm" in lines["control-8, ready-made lead 3000 mm"].why
    assert "at battery.plus (P1)" in lines["ring M6, for wire-red"].why
    assert lines["grommet for a 30 mm hole"].why == "front: to be drilled"
    assert "ISO 10133" in lines["clip for a cable of up to 5 mm"].why
    assert "one in ten, at least one" in lines["ring M6, for wire-red"].spare
    assert all(line.why and line.group for line in lines.values())


def test_reels_are_cut_without_joins() -> None:
    """5 m and 15 m: 4.1 alone on 5, 3.05 and 1.9 need 4.96 with loss, 5 less its end gives 4.95: 15 m it is.

    One reel of 15 m is as long as three of 5; two of 5 would do without loss and end.
    """
    job, cables = an_order()
    wire = order_lines(job=job, cables=cables)[0]
    assert wire.buy == "1 reel of 15000 mm"
    assert wire.cutting == (
        "reel 1, 15000 mm, bought: P1 4100 mm, P2 3050 mm, P3 1900 mm; 5885 mm left, kept",
    )
    none_lost = replace(job, lengths=replace(job.lengths, cut_loss_m=0.0, end_waste_m=0.0))
    wire = order_lines(job=none_lost, cables=cables)[0]
    assert wire.buy == "2 reels of 5000 mm"
    assert sorted(text[8:] for text in wire.cutting) == [
        "5000 mm, bought: P1 4100 mm; 900 mm left, kept",
        "5000 mm, bought: P2 3050 mm, P3 1900 mm; 50 mm left, waste",
    ]


def test_the_reel_must_hold_the_longest_cut() -> None:
    job, cables = an_order()
    long = planned(make_cable("P4", "wire-red"), 7.0)
    lines, findings = order_list([Fitted(job=job, cables=(*cables, long))])
    assert "15000 mm" in lines[0].buy
    assert findings == ()
    too_long = planned(make_cable("P4", "wire-red"), 15.5)
    lines, findings = order_list([Fitted(job=job, cables=(*cables, too_long))])
    assert "no reel holds P4" in lines[0].why
    assert [f.code for f in findings] == ["no-reel"]
    assert (
        "its 15500 mm of wire-red are longer than any reel: the longest holds 15000 mm" in findings[0].message
    )


def test_the_shelf_is_used_first_and_only_the_rest_is_bought() -> None:
    """A rest of 5.2 m on the shelf takes P1 and nothing else useful; the price is of what is bought."""
    job, cables = an_order()
    stock = (
        Stock(type="wire-red", reel_m=5.2, quantity=1),
        Stock(type="wire-red", reel_m=6.0, price=9.0),
        Stock(type="control-8", lengths_m=(3.0,), price=20.0, quantity=1),
    )
    lines = {o.what: o for o in order_lines(job=replace(job, stock=stock), cables=cables)}
    wire, lead = lines["wire-red"], lines["control-8, ready-made lead 3000 mm"]
    assert wire.buy == "1 reel of 6000 mm"
    assert wire.price == 9.0
    assert wire.on_hand + 1e-9 >= 3.05
    assert (lead.quantity, lead.on_hand, lead.price) == (2.0, 1.0, 20.0)


def test_a_shelf_that_does_not_do_is_said() -> None:
    job, cables = an_order()
    stock = (
        Stock(type="wire-red", reel_m=5.0, quantity=1),
        Stock(type="control-8", lengths_m=(3.0,), quantity=1),
    )
    lines, findings = order_list([Fitted(job=replace(job, stock=stock), cables=tuple(cables))])
    assert "more is needed than lies on the shelf" in lines[0].why
    assert lines[0].price is None
    assert [f.code for f in findings] == ["lead-shelf"]


# --- holes -------------------------------------------------------------------------------


def grommets(job: Job, cables: list[PlannedCable]) -> list[str]:
    return [o.what for o in order_lines(job=job, cables=cables) if o.group == "grommet"]


def test_a_hole_that_is_there_has_its_grommet_unless_the_job_says_otherwise() -> None:
    job, cables = an_order()
    assert grommets(job, cables) == ["grommet for a 30 mm hole"]
    bare = tuple(replace(h, grommet=False) if h.name == "rear" else h for h in job.pass_throughs)
    assert grommets(replace(job, pass_throughs=bare), cables) == [
        "grommet for a 20 mm hole",
        "grommet for a 30 mm hole",
    ]


def test_a_hole_through_two_sheets_takes_a_grommet_in_each() -> None:
    job, cables = an_order()
    size = replace(hole_card().size, sheets=2)
    lines, _ = order_list([Fitted(job=job, cables=tuple(cables), sizes={"front": size})])
    (line,) = [o for o in lines if o.group == "grommet"]
    assert (line.what, line.quantity) == ("grommet, 16 mm bore, 20 mm hole, 1 mm sheet", 2.0)
    assert line.why == "front: to be drilled, one in each of 2 sheets"


def test_a_hole_too_large_for_a_grommet_gets_edge_guard() -> None:
    """70 mm: 220 mm round, a tenth more, up to 300 mm."""
    job, cables = an_order()
    large = tuple(replace(h, diameter_m=0.070) if h.name == "front" else h for h in job.pass_throughs)
    lines = {o.group: o for o in order_lines(job=replace(job, pass_throughs=large), cables=cables)}
    assert "grommet" not in lines
    assert lines["edge guard"].quantity == pytest.approx(0.3)


# --- several jobs ------------------------------------------------------------------------


def test_several_jobs_are_added_up_and_reels_cut_across_them() -> None:
    """Twice 9.05 m: apart two reels of 15 m, together 18.1 m and its losses from 15 m and 5 m."""
    job, cables = an_order()
    fits = [Fitted(job=job, cables=tuple(cables), label=name) for name in ("van 1", "van 2")]
    lines = {o.what: o for o in order_list(fits)[0]}
    wire = lines["wire-red"]
    assert wire.quantity == pytest.approx(18.1)
    assert wire.buy == "1 reel of 5000 mm, 1 reel of 15000 mm"
    assert wire.for_cables == ("van 1: P1", "van 1: P2", "van 1: P3", "van 2: P1", "van 2: P2", "van 2: P3")
    assert lines["ring M6, for wire-red"].quantity == 9.0  # 8 and a spare, not twice 5
    assert lines["control-8, ready-made lead 3000 mm"].quantity == 4.0
    assert lines["grommet for a 30 mm hole"].quantity == 2.0


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
