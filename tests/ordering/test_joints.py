"""Leads joined from several: where the joint lands, and what is chosen for it.

Truth      a straight run of 8 m along x, worked by hand: 0 to 2 m in the load area, 2 to 5 m under
           a sealed floor, 5 to 8 m in the cab. A joint of a lead of so many metres lies where
           so much of the lead is used up.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import combinations_with_replacement, permutations
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from routecut.cutlist.spent import Spent
from routecut.model.body import Body
from routecut.model.job import (
    Access,
    Box,
    Cable,
    CableClass,
    CableType,
    Device,
    Exposure,
    HoleState,
    Job,
    PassThrough,
    Port,
    Position,
    Space,
    Stock,
    SurfaceKind,
    SurfaceRule,
    Surplus,
    Vehicle,
)
from routecut.model.plan import CutLength, Lead, Passage, Route, SumLine
from routecut.ordering import Cover, choose_lead
from routecut.ordering.parking import how_parked, parked_text, parking_end

AXES = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
LEAD = CableType(name="lead", cable_class=CableClass.DATA, diameter_m=0.006, min_bend_radius_m=0.03)
LENGTH_M = 8.0


def at(x: float) -> Position:
    return Position(at_m=(x, 0.0, 0.0))


def space(name: str, low: float, high: float, access: Access, *exposure: Exposure) -> Space:
    box = Box(low_m=(low, -1.0, -1.0), high_m=(high, 1.0, 1.0))
    return Space(
        name=name,
        boxes=(box,),
        seed_m=((low + high) / 2, 0, 0),
        access=access,
        exposure=exposure or (Exposure.DRY,),
    )


def make_job(*stock: Stock, floor: Access = Access.SEALED, kind: CableType = LEAD) -> Job:
    def device(name: str, x: float, where: str) -> Device:
        port = Port(device=name, name="p", position=at(x))
        return Device(name=name, position=at(x), space=where, ports=(port,), serviceable=True)

    def hole(name: str, x: float, joins: tuple[str, str]) -> PassThrough:
        return PassThrough(
            name=name,
            position=at(x),
            axis=(1.0, 0.0, 0.0),
            diameter_m=0.03,
            state=HoleState.EXISTING,
            joins=joins,
        )

    return Job(
        folder=Path(),
        title="",
        length_unit="mm",
        vehicle=Vehicle(mesh="m", mesh_unit="m", axes=AXES, axes_text=""),
        spaces=(
            space("load area", -0.5, 2.0, Access.OPEN),
            space("floor duct", 2.0, 5.0, floor),
            space("cab", 5.0, 9.0, Access.OPEN),
        ),
        devices=(device("radio", 0.0, "load area"), device("head", LENGTH_M, "cab")),
        pass_throughs=(
            hole("rear", 2.0, ("load area", "floor duct")), hole("front", 5.0, ("floor duct", "cab")),
        ),
        cables=(make_cable(kind),),
        cable_types=(kind,),
        stock=stock,
    )  # fmt: skip


def make_cable(kind: CableType = LEAD, **more: Any) -> Cable:
    settings: dict[str, Any] = {"from_port": "radio.p", "to_port": "head.p", "ready_made": True}
    return Cable(name="D1", cable_class=kind.cable_class, type=kind, **(settings | more))


ROUTE = Route(
    points_m=np.array([[0.0, 0.0, 0.0], [LENGTH_M, 0.0, 0.0]]),
    length_m=LENGTH_M,
    spaces=("load area", "floor duct", "cab"),
    bend_radius_m=0.03,
    passages=(
        Passage(name="rear", at_route_m=2.0, from_space="load area", to_space="floor duct"),
        Passage(name="front", at_route_m=5.0, from_space="floor duct", to_space="cab"),
    ),
)


def make_cut(*more: SumLine) -> CutLength:
    lines = (
        SumLine(what="route", length_m=LENGTH_M, why="w"),
        *more,
        SumLine(what="rounding up", length_m=0.0, why="w"),
    )
    return CutLength(length_m=sum(line.length_m for line in lines), probability=0.95, lines=lines)


def stock(price: float | None, *lengths: float, quantity: int | None = None) -> Stock:
    return Stock(type="lead", lengths_m=lengths, price=price, quantity=quantity)


def chosen(job: Job, cut: CutLength | None = None, cover: Cover | None = None) -> tuple[Lead, dict[str, str]]:
    lead, findings = choose_lead(
        job=job, cable=job.cables[0], cut=cut or make_cut(), route=ROUTE, cover=cover or Cover(job)
    )
    return lead, {f.code: f.message for f in findings}


# --- the planted case --------------------------------------------------------------------


def test_the_cheapest_has_its_joint_under_a_sealed_floor_and_a_better_one_is_found() -> None:
    """4 m and 4 m are cheapest, 8 m in all: nothing over, the joint at 4 m, under the floor.

    2.5 m would do no better in front; 6 m and 2.5 m, half a metre over, put the joint at 5.5 to
    6 m, in the cab: that one is taken, and why.
    """
    job = make_job(stock(20.0, 4.0), stock(27.0, 6.0), stock(15.0, 2.5))
    lead, said = chosen(job)
    assert lead.lengths_m == (6.0, 2.5)
    (joint,) = lead.joints
    assert (joint.space, joint.access, joint.minutes) == ("cab", "open", 0.0)
    assert 5.5 <= joint.at_route_m <= 6.0
    assert lead.price == 42.0
    assert "the cheapest, 4000 mm + 4000 mm, was not taken" in said["joint-place"]
    assert "joint at 4000 mm of the run, in floor duct, which is sealed: out of reach" in said["joint-place"]
    assert "Taken: 6000 mm + 2500 mm" in said["joint-place"]
    passed_over = {option.lengths_m: option.why_not for option in lead.others}
    assert "sealed" in passed_over[4.0, 4.0]


def test_the_same_leads_the_other_way_round_would_be_sealed() -> None:
    """The order is chosen: 6 m first puts the joint into the cab, 2.5 m first under the floor."""
    job = make_job(stock(27.0, 6.0), stock(15.0, 2.5))
    lead, _ = chosen(job)
    assert lead.lengths_m == (6.0, 2.5)
    turned = replace(job, cables=(make_cable(from_port="head.p", to_port="radio.p"),))
    back = replace(
        ROUTE,
        points_m=ROUTE.points_m[::-1].copy(),
        spaces=ROUTE.spaces[::-1],
        passages=(
            Passage(name="front", at_route_m=3.0, from_space="cab", to_space="floor duct"),
            Passage(name="rear", at_route_m=6.0, from_space="floor duct", to_space="load area"),
        ),
    )
    lead, _ = choose_lead(job=turned, cable=turned.cables[0], cut=make_cut(), route=back, cover=Cover(turned))
    assert lead.lengths_m == (2.5, 6.0)
    assert lead.joints[0].space == "cab"


def test_parking_the_surplus_shifts_the_joint_out_of_the_floor() -> None:
    """2 x 5.5 m: 3 m over. Parked at the far end the joint is at 5.5 m, at the near end at 2.5 m."""
    lead, said = chosen(make_job(stock(20.0, 5.5)))
    (joint,) = lead.joints
    assert joint.space == "cab"
    assert [joint.from_m, joint.to_m] == pytest.approx([2.5, 5.5])
    assert "joint-sealed" not in said
    assert "at head.p" in lead.parked


def test_where_no_joint_can_be_reached_it_is_said() -> None:
    lead, said = chosen(make_job(stock(20.0, 4.0)))
    assert lead.lengths_m == (4.0, 4.0)
    assert lead.joints[0].access == "sealed"
    assert lead.joints[0].minutes is None
    assert "nothing puts the joint within reach" in said["joint-sealed"]


def test_a_joint_does_not_sit_in_a_hole() -> None:
    """5 m first would sit in the hole at 5 m; 3 m first lies under an open floor."""
    lead, _ = chosen(make_job(stock(20.0, 5.0), stock(15.0, 3.0), floor=Access.OPEN))
    assert lead.lengths_m == (3.0, 5.0)
    assert lead.joints[0].at_route_m == pytest.approx(3.0)
    lead, said = chosen(make_job(stock(20.0, 5.0), stock(15.0, 3.0), floor=Access.SEALED))
    assert lead.joints[0].behind == "front"  # still better than under the floor
    assert "joint-sealed" in said


def test_one_piece_is_taken_where_there_is_one() -> None:
    lead, said = chosen(make_job(stock(5.0, 4.0), stock(99.0, 9.0)))
    assert lead.lengths_m == (9.0,)
    assert lead.joints == ()
    assert "was not taken" in said["joint-place"]  # two of 4 m are cheaper, and lie under the floor
    assert said["joint-place"].endswith("Taken: 9000 mm, no joint.")


# --- where a joint lies ------------------------------------------------------------------


def test_what_is_used_before_the_joint_moves_it() -> None:
    """300 mm of loop at the from end and 10 % of lay: 5.8 m of lead reach (5.8 - 0.3) / 1.1 = 5 m."""
    cut = make_cut(
        SumLine(what="lay", length_m=0.8, why="w"),
        SumLine(what="service loop at radio.p", length_m=0.3, why="w", at_route_m=0.0),
        SumLine(what="service loop at head.p", length_m=0.2, why="w", at_route_m=LENGTH_M),
        SumLine(what="uncertainty", length_m=0.15, why="w"),
    )
    spent = Spent(ROUTE, cut)
    assert spent.total_m == pytest.approx(9.3)
    assert float(spent.place_of(5.8)) == pytest.approx(5.0)
    assert float(spent.place_of(0.2)) == 0.0
    assert float(spent.place_of(9.25)) == pytest.approx(LENGTH_M)


def test_a_loop_on_the_way_holds_the_joint_where_it_is() -> None:
    cut = make_cut(SumLine(what="drip loop at rear", length_m=0.5, why="w", at_route_m=2.0))
    spent = Spent(ROUTE, cut)
    assert spent.place_of(np.array([1.9, 2.0, 2.25, 2.5, 2.7])) == pytest.approx([1.9, 2.0, 2.0, 2.0, 2.2])


def body_with_trim(low: float, high: float) -> Body:
    """A floor under the run and a sill trim before a piece of it."""
    floor = [[0.0, -1.0, -0.02], [8.0, -1.0, -0.02], [8.0, 1.0, -0.02]]
    trim = [[low, -0.3, 0.03], [high, -0.3, 0.03], [(low + high) / 2, 0.6, 0.03]]
    return Body(
        vertices_m=np.array(floor + trim),
        faces=np.array([[0, 1, 2], [3, 4, 5]]),
        face_part=np.array([0, 1]),
        parts=("floor", "sill-trim"),
        rules=(
            SurfaceRule(part="floor", kind=SurfaceKind.PANEL),
            SurfaceRule(part="sill-trim", kind=SurfaceKind.TRIM, removal_minutes=12.0),
        ),
    )


def test_trim_in_front_costs_its_minutes() -> None:
    job = make_job(floor=Access.OPEN)
    cover = Cover(job, body_with_trim(5.5, 8.0))
    reaches = cover.at(ROUTE, np.array([1.0, 3.0, 5.0, 6.75]))
    assert [r.space for r in reaches] == ["load area", "floor duct", "cab", "cab"]
    assert [r.rank for r in reaches] == [0, 0, 2, 1]
    assert (reaches[3].behind, reaches[3].minutes) == ("sill-trim", 12.0)


def test_trim_that_has_to_be_off_before_counts_as_well() -> None:
    """The sill trim waits for a cover elsewhere, and that for a cap: 12 + 5 + 3 minutes, the cap once."""
    body = body_with_trim(5.5, 8.0)
    floor, sill = body.rules
    body = replace(
        body,
        parts=(*body.parts, "cover", "cap"),
        rules=(
            floor,
            replace(sill, after=("cover", "cap")),
            SurfaceRule(part="cover", kind=SurfaceKind.TRIM, removal_minutes=5.0, after=("cap",)),
            SurfaceRule(part="cap", kind=SurfaceKind.TRIM, removal_minutes=3.0),
        ),
    )
    job = make_job(floor=Access.OPEN)
    assert [r.minutes for r in Cover(job, body).at(ROUTE, np.array([1.0, 6.75]))] == [0.0, 20.0]


def test_the_stretches_behind_trim_are_found_along_the_run() -> None:
    """The run crosses the triangle of trim 30 mm below it, a third up from its base."""
    half, high = (8.0 - 5.5) / 2, 0.6 + 0.3
    in_plane = math.sqrt(0.1**2 - 0.03**2)  # 100 mm from an edge that leans
    beyond = in_plane * math.hypot(half, high) / high
    (found,) = Cover(make_job(), body_with_trim(5.5, 8.0)).along(ROUTE)
    assert (found.trim, found.minutes) == ("sill-trim", 12.0)
    assert found.from_m == pytest.approx(5.5 + half / 3 - beyond, abs=0.02)
    assert found.to_m == pytest.approx(8.0 - half / 3 + beyond, abs=0.02)
    assert Cover(make_job()).along(ROUTE) == ()


def test_the_joint_goes_where_nothing_has_to_come_off() -> None:
    """6 m and 2.5 m: from 5.5 to 6 m; trim stands before 5.7 m on, so the joint goes to 5.5 m."""
    job = make_job(stock(27.0, 6.0), stock(15.0, 2.5))
    lead, _ = chosen(job, cover=Cover(job, body_with_trim(5.6, 8.0)))
    assert lead.joints[0].access == "open"
    assert lead.joints[0].at_route_m < 5.75


# --- rules -------------------------------------------------------------------------------


@pytest.mark.parametrize("cable_class", [CableClass.POWER, CableClass.BOND])
def test_a_supply_lead_is_never_joined(cable_class: CableClass) -> None:
    kind = replace(LEAD, cable_class=cable_class)
    job = make_job(stock(1.0, 4.0, 6.0), kind=kind)
    lead, said = chosen(job)
    assert lead.lengths_m == ()
    assert "is never joined" in said["no-stock-lead"]


def test_the_longest_run_allowed_is_kept() -> None:
    """9 m would be one piece; the maker allows 8.4: 6 m and 2 m, joint at 6 m."""
    kind = replace(LEAD, max_length_m=8.4)
    lead, _ = chosen(make_job(stock(1.0, 2.0, 6.0, 9.0), kind=kind))
    assert lead.lengths_m == (6.0, 2.0)


def test_nothing_on_the_shelf_and_nothing_to_buy_is_not_there() -> None:
    lead, _ = chosen(make_job(stock(None, 8.5, quantity=0), stock(9.0, 10.0)))
    assert lead.lengths_m == (10.0,)


def test_too_long_is_said_as_well_as_too_short() -> None:
    lead, said = chosen(make_job(stock(9.0, 12.0)))
    assert lead.surplus_m == pytest.approx(4.0)
    assert "4000 mm longer than the 8000 mm needed" in said["lead-surplus"]


@pytest.mark.parametrize("seed", range(12))
def test_no_order_or_set_beats_the_one_chosen(seed: int) -> None:
    """Against all orders of all sets of up to three leads, each with its surplus at either end or shared."""
    rng = np.random.default_rng(seed)
    lengths = tuple(sorted({round(float(x), 2) for x in rng.uniform(1.5, 6.5, size=3)}))
    job = make_job(*(stock(round(float(rng.uniform(5, 40)), 2), length) for length in lengths))
    lead, _ = chosen(job)
    reachable = []
    for count in (1, 2, 3):
        for pieces in combinations_with_replacement(lengths, count):
            spare = sum(pieces) - LENGTH_M
            if spare < 0 or sum(pieces) - min(pieces) >= LENGTH_M:
                continue
            for order in set(permutations(pieces)):
                ends = np.cumsum(order)[:-1]
                for first in np.linspace(0, spare, 9):
                    places = ends - first
                    if all((x < 1.9) or (x > 5.1) for x in places):
                        reachable.append(count)
    if not lead.lengths_m:
        assert max(lengths) * 3 < LENGTH_M
        return
    sealed = [j for j in lead.joints if j.access == "sealed" or j.behind]
    assert bool(sealed) <= (not reachable)
    if reachable:
        assert len(lead.lengths_m) <= min(reachable)


# --- where surplus goes ------------------------------------------------------------------


def test_surplus_goes_where_its_class_wants_it() -> None:
    job = make_job()
    kinds = {c: replace(LEAD, cable_class=c) for c in CableClass}
    texts = {c: parked_text(job, make_cable(kind), 1.2) for c, kind in kinds.items()}
    assert "never coiled" in texts[CableClass.POWER]
    assert "shorten it" in texts[CableClass.POWER]
    assert "flat loop" in texts[CableClass.COAX]
    assert "never coiled together with other cables" in texts[CableClass.CONTROL]
    assert re.search(r"3 folds of 200 mm", texts[CableClass.DATA])
    assert parked_text(job, make_cable(), 0.005) == ""


@pytest.mark.parametrize("asked", list(Surplus))
def test_a_supply_lead_is_never_coiled_whatever_is_asked(asked: Surplus) -> None:
    kind = replace(LEAD, cable_class=CableClass.POWER)
    job = make_job(stock(1.0, 9.0), kind=kind)
    job = replace(job, cables=(make_cable(kind, surplus=asked),))
    assert how_parked(job.cables[0]) is Surplus.TRIM
    _, said = chosen(job)
    assert ("surplus-coiled" in said) == (asked is not Surplus.TRIM)


def test_surplus_is_kept_at_the_end_that_is_easier_to_get_at() -> None:
    job = make_job()
    assert parking_end(job, make_cable()) == "radio.p"
    wet = replace(job.spaces[0], exposure=(Exposure.WET,))
    assert parking_end(replace(job, spaces=(wet, *job.spaces[1:])), make_cable()) == "head.p"
