"""What was sized, in `plan.json` and in the pack; the figures come from small jobs."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from routecut.documents import pack_html, plan_json
from routecut.documents.figures import Lengths
from routecut.documents.limit_words import NAMES, limit_value, limits_table
from routecut.documents.pack_power import power_and_coax
from routecut.model.as_built import AsBuilt, Relaid
from routecut.model.job import CableClass, CableType
from routecut.model.plan import Plan, PlannedCable
from routecut.model.record import NO_RECORD
from routecut.ordering import Fitted, order_list
from tests.sizing import jobs


def made(limits: tuple[tuple[str, float], ...] = ()) -> Plan:
    strap = CableType(name="strap", cable_class=CableClass.BOND, diameter_m=0.012, min_bend_radius_m=0.02)
    job = jobs.job(
        jobs.power("P1", "battery.positive", "block.feed", None, type_name="wire-4awg-red"),
        jobs.power("P2", "block.out 1", "radio.power", 10, peak=14, type_name="wire-16awg-red", drop=0.5),
        jobs.power("P3", "block.out 2", "second radio.power", 4, peak=6),
        jobs.power("N1", "block.return", "stud.lug", None, type_name="wire-4awg-black"),
        jobs.coax("X1", "coax-58", 155, most=1.5, watts=25),
        replace(jobs.coax("B1", "coax-58", 1), cable_class=CableClass.BOND, type=strap, signal=None),
        limits=limits,
    )
    lengths = {"P1": 4.0, "P2": 1.0, "P3": 2.0, "N1": 1.0, "X1": 3.0, "B1": 0.30}
    sizing, picked, findings = jobs.sized(
        job, lengths, routes={"P1": jobs.straight(4.0, beside_m=9.0, spaces=("engine bay", "cab"))}
    )
    cables = tuple(PlannedCable(cable=replace(c, type=picked.get(c.name, c.type))) for c in job.cables)
    return Plan(
        version="0",
        job=job,
        cables=cables,
        holes=(),
        order=order_list([Fitted(job=job, cables=cables, sizing=sizing)])[0],
        findings=tuple(findings),
        sizing=sizing,
    )


@pytest.fixture(scope="module")
def read() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(plan_json(made()))
    return found


def electrical(read: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(c for c in read["cables"] if c["name"] == name)["electrical"]
    return found


def test_power_keys_and_how_they_hang_together(read: dict[str, Any]) -> None:
    e = electrical(read, "P2")
    assert e["conductor"] == "16 AWG (SAE)"
    assert (e["amps"], e["peak_amps"], e["fuse_a"], e["fuse_distance_m"]) == (10.0, 14.0, 20.0, 0.0)
    assert e["drop_percent"] == pytest.approx(e["drop_v"] / 12 * 100, abs=0.01)
    assert e["peak_drop_v"] > e["drop_v"]
    assert e["ok"] is False
    a = e["ampacity"]
    assert e["ampacity_a"] == round(a["table_a"] * a["heat_factor"] * a["bundle_factor"], 2)
    hot = electrical(read, "P1")["ampacity"]
    assert (hot["heat_factor"], hot["air_c"]) == (0.7746, 50.0)
    assert e["area_mm2"] == pytest.approx(1.184, abs=0.001)
    assert electrical(read, "N1")["fuse_a"] is None
    assert electrical(read, "P1")["fuse_distance_m"] == 0.07
    assert electrical(read, "P1")["amps"] == 14.0


def test_a_picked_type_stands_in_the_cable(read: dict[str, Any]) -> None:
    cable = next(c for c in read["cables"] if c["name"] == "P3")
    assert cable["electrical"]["picked"] is True
    assert cable["type_assumed"] is True
    assert cable["type"].startswith("wire-")
    assert cable["diameter_m"] < 0.006


def test_coax_bond_supplies_and_rules(read: dict[str, Any]) -> None:
    x = electrical(read, "X1")
    assert (x["mhz"], x["connectors"], x["watts"]) == (155.0, 2, 25.0)
    assert x["low_db"] < x["loss_db"] < x["high_db"] < 1.5
    assert x["watts_left"] == pytest.approx(25 * x["share_percent"] / 100, abs=0.05)
    b = electrical(read, "B1")
    assert b["resistance_mohm"] < b["max_resistance_mohm"]
    assert b["ok"] is False  # too long
    assert [s["device"] for s in read["supplies"]] == ["radio", "second radio"]
    assert read["rules"]["profile"] == "common practice"
    assert all(limit["source"] for limit in read["rules"]["limits"])


def test_a_plan_without_sizing_says_so() -> None:
    plan = replace(made(), sizing=None)
    read = json.loads(plan_json(plan))
    assert read["rules"] is None
    assert read["supplies"] == []
    assert all("electrical" not in c for c in read["cables"])
    assert "Nothing in this job was sized" in "".join(power_and_coax(plan).itertext()).replace(
        "\N{NO-BREAK SPACE}", " "
    )


def test_the_pack_prints_what_does_not_hold_and_leaves_room() -> None:
    text = " ".join(power_and_coax(made()).itertext()).replace("\N{NO-BREAK SPACE}", " ")
    assert "DOES NOT HOLD" in text
    assert text.count("________ / ________ V") == 4  # volts lost over each lead
    for room in ("________ mΩ", "forward ________ W", "reflected ________ W"):
        assert room in text
    assert text.count("________") >= 8
    for words in (
        "20 A",
        "in the block",
        "along the conductor",
        "13.6 V at the battery",
        "mΩ",
        "25 W",
        "vehicle maker",
    ):
        assert words in text
    assert "DEVIATION" not in text
    assert "DEVIATION: set by this job; the profile says 3" in " ".join(
        power_and_coax(made((("max_drop_percent", 5.0),))).itertext()
    )
    assert 'id="power"' in pack_html(made(), pictures={})


def test_limits_stand_in_words_with_their_keys() -> None:
    sizing = made().sizing
    assert sizing is not None
    assert {limit.name for limit in sizing.limits} <= set(NAMES)  # none without words
    text = " ".join(limits_table(sizing, Lengths("in")).itertext()).replace("\N{NO-BREAK SPACE}", " ")
    for limit in sizing.limits:
        assert limit.name in text
        assert NAMES[limit.name] in text
    assert "7 in" in text
    assert "177.8" not in text
    values = {limit.name: limit_value(limit, Lengths("mm")) for limit in sizing.limits}
    assert values["negative_fuse"] == "no"
    assert values["bundle_rule"] == "as in a raceway"
    assert values["ambient_c"] == "30 \N{DEGREE SIGN}C"
    assert values["bond_mohm"] == "2.5 m\N{GREEK CAPITAL LETTER OMEGA}"
    assert values["system_volts"] == "12 V"


def test_what_nobody_has_checked_is_said() -> None:
    """The coax has no power rating, the fuses no breaking capacity: no figures were read."""
    plan = made()
    text = " ".join(power_and_coax(plan).itertext()).replace("\N{NO-BREAK SPACE}", " ")
    assert "Power rating of X1: no table of it was read" in text
    assert "Breaking capacity of the fuses" in text
    assert plan.sizing is not None
    x1 = plan.sizing.coax["X1"]
    assert x1.bears_watts is not None
    assert f"by its heat, worked out: about {x1.bears_watts:.0f} W in 30 \N{DEGREE SIGN}C" in text
    rated = replace(x1, rating_watts=20.0, bears_watts=None)
    text = " ".join(
        power_and_coax(replace(plan, sizing=replace(plan.sizing, coax={"X1": rated}))).itertext()
    ).replace("\N{NO-BREAK SPACE}", " ")
    assert "Power rating of" not in text
    assert "rated for 20 W; DOES NOT HOLD" in text
    assert "by its heat" not in text


def test_fuses_are_ordered_with_a_spare_and_a_holder_where_there_is_no_block() -> None:
    lines = {line.what: line for line in made().order}
    assert lines["fuse 20 A, regular blade"].for_cables == ("P2",)
    assert lines["fuse 20 A, regular blade"].quantity == 2
    holders = [line for what, line in lines.items() if "holder" in what]
    assert [line.for_cables for line in holders] == [("P1",)]


def test_a_row_of_coax_says_that_it_is_of_the_plan_where_another_way_was_built() -> None:
    plan = made()
    assert plan.sizing is not None
    name = next(iter(plan.sizing.coax))
    route = next(c.route for c in plan.cables if c.cable.name == name)
    relaid = Relaid(why="coax-58 was fitted", route=route)
    assert "this row is of the plan" not in "".join(power_and_coax(plan).itertext()).replace(
        "\N{NO-BREAK SPACE}", " "
    )
    otherwise = replace(plan, as_built=AsBuilt(record=NO_RECORD, relaid={name: relaid}))
    page = "".join(power_and_coax(otherwise).itertext()).replace("\N{NO-BREAK SPACE}", " ")
    assert "DEVIATES, as built: coax-58 was fitted" in page
    assert page.count("this row is of the plan") == 1


def test_a_figure_and_its_unit_are_not_parted_where_a_column_is_narrow() -> None:
    plan = made()
    assert plan.sizing is not None
    held = "\N{NO-BREAK SPACE}"
    text = "".join(power_and_coax(plan).itertext())
    p2 = plan.sizing.electrical["P2"]
    assert f"{p2.drop_v:.2f}{held}/{held}{p2.peak_drop_v:.2f}{held}V (" in text
    assert f"{held}V lost at {p2.peak_amps:g}{held}A" in text
    coax = text[text.index("loss with connectors") :]
    assert f"{plan.sizing.coax['X1'].mhz:g}" in coax
    assert " MHz" not in coax.split("Not checked")[0]


def test_how_far_a_source_is_trusted_is_said_in_words() -> None:
    text = "".join(power_and_coax(made()).itertext())
    assert "published-read" not in text
    assert "(read there); " in text
