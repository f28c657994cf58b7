"""Bundles, separation and other ways as they are told: in the pack, in plan.json, on the cards."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import Any

import pytest

from routecut.documents import pack_html, plan_json
from routecut.documents.pack_cables import kept_apart
from routecut.documents.why_way import why_way
from routecut.model.company import OtherWay
from routecut.model.plan import Plan, PlannedCable, Stretch
from routecut.model.running import along


def section(plan: Plan) -> str:
    html = pack_html(plan, pictures={})
    found = re.search(r'<section id="bundles">(.*?)</section>', html, re.DOTALL)
    assert found is not None
    return found[1]


def rows(html: str) -> list[list[str]]:
    return [
        [re.sub(r"<[^>]+>", "", cell).strip() for cell in re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL)]
        for row in re.findall(r"<tr>(.*?)</tr>", html, re.DOTALL)
        if "<td" in row
    ]


def test_a_bundle_has_its_line(plan: Plan) -> None:
    first, second, *apart = rows(section(plan))
    assert first[:2] == ["bundle 1", "P1, P2"]
    route = next(c.route for c in plan.cables if c.cable.name == "P1")
    assert route is not None
    hole = next(p for p in route.passages if p.name == "partition left")
    assert abs(hole.at_route_m - 1.702) < 0.15
    assert first[2] == "at partition left, 1702 mm along P1"
    assert first[3].endswith(", 2906 mm along P1")
    # never printed thinner or tighter than it is
    assert first[4:] == ["1204 mm", "8.5 mm", "24 mm", "9.7 mm or more"]
    assert second[1] == "D1, C1"
    assert [row[:2] for row in apart] == [["S1", "A1"], ["A1", "ignition"]]
    assert apart[0][2:] == ["310 mm along S1", "720 mm", "410 mm", "11 mm", "51 mm"]


def test_what_was_bought_is_told(plan: Plan) -> None:
    told = section(plan)
    assert "Like is laid with like: 1200 mm more cable in all" in told
    assert "14300 mm share their run with their own kind instead of 6100 mm" in told
    assert "400 mm run alongside another kind instead of 5200 mm" in told
    assert "bundles are 1754 mm long, and 710 mm run alongside" in told


def test_a_plan_without_bundles_says_so(plan: Plan) -> None:
    told = section(replace(plan, bundles=(), beside=(), others={}, bought=None))
    assert "No cables run together far enough to be tied." in told
    assert "No cable runs alongside one of another kind" in told
    assert rows(told) == []


def test_why_this_way_in_short_words(plan: Plan) -> None:
    cables = {c.cable.name: c for c in plan.cables}
    assert why_way(plan, cables["P1"]) == (
        "the next best, through bulkhead plug right and partition left, is about 920 mm longer, "
        "wet, hot or stony for longer, a hole to drill"
    )
    assert why_way(plan, cables["C10"]) == (
        "the next best, another way round, is about 210 mm longer, less trim to take off"
    )
    assert why_way(plan, cables["C2"]) == "no other way was found"
    assert why_way(plan, cables["D5"]) == ""
    assert "Why this way: </b>the next best, through bulkhead plug right" in pack_html(plan, pictures={})


@pytest.mark.parametrize(
    "cause", ["length", "free air", "noise", "exposure", "trim", "hole", "separation", "company"]
)
def test_every_cause_has_its_words_both_ways(plan: Plan, cause: str) -> None:
    p1 = next(c for c in plan.cables if c.cable.name == "P1")

    def told(more: float) -> str:
        other = OtherWay(
            holes=("x",), length_m=1.0 + (more if cause == "length" else 0), taken_m=1.0, more_m={cause: more}
        )
        return why_way(replace(plan, others={"P1": other}), p1)

    nothing = told(0.0)
    assert len({told(0.5), told(-0.5), nothing}) == 3


def test_plan_json_keeps_causes_and_places(plan: Plan) -> None:
    found: dict[str, Any] = json.loads(plan_json(plan))
    first = found["bundles"][0]
    assert first["cables"] == ["P1", "P2"]
    assert first["members"][1] == {
        "cable": "P2", "from_route_m": 1.61, "to_route_m": 2.79, "place_m": [0.0021, 0.0],
    }  # fmt: skip
    assert (first["diameter_m"], first["bend_radius_m"], first["length_m"]) == (0.00841, 0.0231, 1.204)
    assert found["company"]["shared_m"] == pytest.approx(1.754)
    assert found["company"]["beside_m"] == pytest.approx(0.71)
    assert [("noise_source" in b, b["from_route_m"]) for b in found["company"]["beside"]] == [
        (False, 0.31),
        (True, 1.0),
    ]
    assert found["company"]["rounds"]["shared_after_m"] == 14.3
    assert found["other_ways"]["P1"] == {
        "pass_throughs": ["bulkhead plug right", "partition left"],
        "length_m": 5.52,
        "taken_m": 4.6,
        "costs_more_m": {"length": 0.92, "exposure": 0.3, "hole": 2.0, "company": 0.01},
    }


def test_where_a_bundle_begins_is_told_in_words_not_in_names_of_the_mesh(plan: Plan) -> None:
    def on_the_sill(c: PlannedCable) -> PlannedCable:
        if c.route is None:
            return c
        return replace(c, route=replace(c.route, parts=(("sill-trim-left", 0.0, c.route.length_m),)))

    (bundle, *_) = plan.bundles
    first = replace(bundle.members[0], from_m=1.0)  # away from port and hole
    told = section(
        replace(
            plan,
            cables=tuple(map(on_the_sill, plan.cables)),
            bundles=(replace(bundle, members=(first, *bundle.members[1:])),),
        )
    )
    assert "on left sill trim, 1000 mm along" in told
    assert "sill-trim-left" not in told


def test_a_cable_measured_by_string_has_one_running_length_everywhere(plan: Plan) -> None:
    """Its bundle and what it is kept from count as its card does: by the string, not along the curve."""
    more = 0.5

    def stretched(planned: PlannedCable, hole: str) -> PlannedCable:
        route = planned.route
        assert route is not None
        at = next(p.at_route_m for p in route.passages if p.name == hole)
        by_string = Stretch(
            from_name=planned.cable.from_port, to_name=hole, computed_m=at, measured_m=at + more
        )
        return replace(planned, route=replace(route, measured=(by_string,), length_m=route.length_m + more))

    s1 = next(c for c in plan.cables if c.cable.name == "S1")
    assert s1.route is not None
    first = s1.route.passages[0]
    cables = tuple(
        stretched(c, {"P1": "partition left", "S1": first.name}[c.cable.name])
        if c.cable.name in {"P1", "S1"}
        else c
        for c in plan.cables
    )
    told = replace(plan, cables=cables)
    before, after = (rows(section(p)) for p in (plan, told))
    p1 = next(c.route for c in plan.cables if c.cable.name == "P1")
    assert p1 is not None
    hole = next(p.at_route_m for p in p1.passages if p.name == "partition left")
    begins = 1000 * 1.702 * (hole + more) / hole  # before the hole: evenly over what was measured
    assert before[0][2] == "at partition left, 1702 mm along P1"
    assert after[0][2] == f"at partition left, {begins:.0f} mm along P1"
    assert [row[0][3].rsplit(", ", 1)[1] for row in (before, after)] == [
        "2906 mm along P1",
        "3406 mm along P1",
    ]
    assert (before[0][4], after[0][4]) == ("1204 mm", f"{3406 - begins:.0f} mm")
    shown = along(next(c for c in cables if c.cable.name == "S1"))
    start, end = shown(0.31), shown(0.72)
    assert start > 0.31
    (apart,) = [row for row in after if row[0] == "S1"]
    assert apart[2:5] == [
        f"{1000 * start:.0f} mm along S1",
        f"{1000 * end:.0f} mm",
        f"{1000 * (end - start):.0f} mm",
    ]
    (note,) = kept_apart(told, "S1")
    assert f"at {1000 * start:.0f} to {1000 * end:.0f} mm of the run" in note


def test_a_bundle_that_ends_far_from_all_that_has_a_name_is_not_said_to_end_there(plan: Plan) -> None:
    bundle, *others = plan.bundles
    (first, *_) = bundle.members
    cables = tuple(
        replace(c, route=replace(c.route, passages=(), parts=()))
        if c.cable.name == first.cable and c.route
        else c
        for c in plan.cables
    )
    route = next(c.route for c in cables if c.cable.name == first.cable)
    assert route is not None
    middle = replace(first, from_m=0.0, to_m=route.length_m / 2)
    told = section(
        replace(
            plan, cables=cables, bundles=(replace(bundle, members=(middle, *bundle.members[1:])), *others)
        )
    )
    row = rows(told)[0]
    assert row[2].startswith("at ")
    assert row[3].startswith("in a free span, ")
