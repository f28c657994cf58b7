"""`plan.json` against the contract of format 1, key by key."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest

from routecut.documents import plan_json
from routecut.model.plan import Plan

TOP = {"format", "routecut", "title", "length_unit", "axes", "cables", "holes", "order", "findings"}
CABLE = {"name", "from", "to", "class", "type", "route", "cut", "verified"}
ROUTE = {"length_m", "points_m", "pass_throughs", "spaces", "bend_radius_m", "measured"}
CUT = {"length_m", "probability", "sum"}
VERIFIED = {"ok", "crossings", "least_clearance_m", "longest_span_m", "least_bend_radius_m"}
LEAD = {"lengths_m", "surplus_m", "joints"}
HOLE = {
    "name", "state", "drill", "at_m", "axis", "diameter_mm", "joins", "cables", "behind_m", "refused", "why",
}  # fmt: skip
ORDER = {"what", "quantity", "unit", "for", "why"}
FINDING = {"code", "severity", "where", "message"}


@pytest.fixture(scope="module")
def read(plan: Plan) -> Any:
    def refuse(word: str) -> float:
        raise AssertionError(f"{word} is no JSON number")

    return json.loads(plan_json(plan), parse_constant=refuse)


def test_every_key_of_the_contract_is_there(read: Any) -> None:
    assert read.keys() >= TOP
    assert (read["format"], read["length_unit"], read["axes"]) == (1, "m", "+x rear, +y right, +z up")
    for cable in read["cables"]:
        assert cable.keys() >= CABLE
        if cable["route"] is not None:
            assert cable["route"].keys() >= ROUTE
            assert cable["cut"].keys() >= CUT
            assert cable["verified"].keys() >= VERIFIED
            assert all(line.keys() >= {"what", "length_m", "why"} for line in cable["cut"]["sum"])
    assert all(hole.keys() >= HOLE for hole in read["holes"])
    assert all(line.keys() >= ORDER for line in read["order"])
    assert all(finding.keys() >= FINDING for finding in read["findings"])


def test_all_cables_are_there_in_the_order_of_the_job(read: Any, plan: Plan) -> None:
    assert [c["name"] for c in read["cables"]] == [c.name for c in plan.job.cables]


def test_a_cable_without_a_route_is_null_and_a_finding_says_why(read: Any) -> None:
    (without,) = [c for c in read["cables"] if c["route"] is None]
    assert (without["name"], without["cut"], without["verified"]) == ("D5", None, None)
    assert any("D5" in f["where"] and f["code"] == "no-route" for f in read["findings"])


def test_the_sum_adds_up_to_the_cut_exactly_in_tenths_of_a_millimetre(read: Any) -> None:
    for cable in read["cables"]:
        if cable["cut"] is not None:
            tenths = [round(line["length_m"] * 10_000) for line in cable["cut"]["sum"]]
            assert sum(tenths) == round(cable["cut"]["length_m"] * 10_000)
            assert cable["cut"]["sum"][0]["length_m"] == cable["route"]["length_m"]


def test_ready_made_cables_and_only_those_have_a_lead(read: Any) -> None:
    with_lead = {c["name"]: c["lead"] for c in read["cables"] if "lead" in c}
    assert with_lead.keys() == {"C1", "C2", "D1"}
    assert all(lead.keys() >= LEAD for lead in with_lead.values())
    (joint,) = with_lead["D1"]["joints"]
    assert (joint["at_route_m"], joint["space"], joint["access"]) == (3.0, "load area", "open")


def test_what_is_not_finite_or_not_known_is_null(plan: Plan) -> None:
    b1 = next(c for c in plan.cables if c.cable.name == "B1")
    assert b1.verified is not None
    wild = replace(
        b1, verified=replace(b1.verified, longest_span_m=math.nan, least_clearance_m={"a": math.inf})
    )
    read = json.loads(plan_json(replace(plan, cables=(wild,))))["cables"][0]["verified"]
    assert read["least_bend_radius_m"] is None  # a straight cable: its radius is infinite
    assert read["longest_span_m"] is None
    assert read["least_clearance_m"] == {"a": None}
    assert (
        next(h for h in json.loads(plan_json(plan))["holes"] if h["name"] == "roof rear")["behind_m"][
            "outside"
        ]
        is None
    )


def test_points_keep_a_tight_bend_measurable(read: Any, plan: Plan) -> None:
    """0.1 mm on chords of a few millimetres would bend a measured radius by per cents."""
    for cable, planned in zip(read["cables"], plan.cables, strict=True):
        if planned.route is not None:
            assert len(cable["route"]["points_m"]) == len(planned.route.points_m)
            for written, point in zip(cable["route"]["points_m"], planned.route.points_m, strict=True):
                assert math.dist(written, point) < 2e-6


def test_findings_of_the_verifier_are_told_once(read: Any, plan: Plan) -> None:
    assert [f["code"] for f in read["findings"]].count("verify-span") == 1
    s3 = next(c for c in plan.cables if c.cable.name == "S3")
    assert s3.verified is not None
    twice = replace(plan, findings=(*plan.findings, *s3.verified.findings))
    assert [f["code"] for f in json.loads(plan_json(twice))["findings"]].count("verify-span") == 1


def test_a_changed_job_changes_the_digest_and_a_moved_folder_does_not(plan: Plan) -> None:
    def digest(p: Plan) -> str:
        return str(json.loads(plan_json(p))["inputs"]["job_sha256"])

    moved = replace(plan, job=replace(plan.job, folder=plan.job.folder / "elsewhere"))
    changed = replace(plan, job=replace(plan.job, lengths=replace(plan.job.lengths, lay=0.04)))
    assert digest(moved) == digest(plan) != digest(changed)
