from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from routecut.documents import pack_html, placed_cautions
from routecut.documents.caution_texts import CAUTIONS, DEFER, Topic
from routecut.documents.cautions import PlaceKind, at
from routecut.documents.nearness import distance_m
from routecut.model.job import Box, Capsule, KeepOut, PartShape, Reason, Sphere, Vec3
from routecut.model.plan import Covered, Plan
from routecut.model.service import Service, Trim


def topics(plan: Plan, kind: PlaceKind, name: str = "") -> dict[Topic, str]:
    found = at(placed_cautions(plan), kind, name)
    assert len({p.caution.topic for p in found}) == len(found)
    return {p.caution.topic: p.because for p in found}


def test_every_topic_has_a_text_and_a_source() -> None:
    assert set(CAUTIONS) == set(Topic)
    assert all(c.text and c.source for c in CAUTIONS.values())


def test_the_general_dangers_are_told_also_where_none_is_tagged(plan: Plan) -> None:
    bare = replace(plan, job=replace(plan.job, keep_outs=()))
    for topic in (Topic.BATTERY, Topic.AIRBAG, Topic.HIGH_VOLTAGE, Topic.FUEL, Topic.CONTROLS, Topic.RF):
        assert topic in topics(bare, "job")


def test_battery_caution_gives_the_waits_and_leaves_the_choice_to_the_maker() -> None:
    text = CAUTIONS[Topic.BATTERY].text
    assert all(wait in text for wait in ("60", "90", "600"))
    assert "stated for this vehicle" in text


def test_a_hole_to_drill_has_the_drilling_cautions(plan: Plan) -> None:
    found = topics(plan, "hole", "roof front")
    assert {Topic.DRILLING, Topic.HOLE} <= found.keys()
    assert Topic.BLIND not in found  # both sides are known there
    assert "outside" in topics(plan, "hole", "roof rear")[Topic.BLIND]  # nobody knows its far side
    assert Topic.DRILLING not in topics(plan, "hole", "partition left")


def test_a_hole_that_was_only_found_is_to_be_looked_at(plan: Plan) -> None:
    assert Topic.BLIND in topics(plan, "hole", "partition right")


def test_what_is_near_a_hole_is_told_with_its_distance(plan: Plan) -> None:
    fuel = topics(plan, "hole", "partition left")[Topic.FUEL]
    # tank corner (2.5, -0.5, 0.33), hole (2.4, -0.78, 0.45): 0.3207 m, printed rounded down
    assert fuel == "fuel tank 320 mm away"
    assert Topic.FUEL not in topics(plan, "hole", "roof front")


def test_a_keep_out_made_of_mesh_parts_is_told_at_every_hole_to_drill(plan: Plan) -> None:
    assert "wheels" in topics(plan, "hole", "roof front")[Topic.MOVING]


def test_a_route_near_an_airbag_says_so_and_one_far_from_it_does_not(plan: Plan) -> None:
    assert topics(plan, "cable", "A1")[Topic.AIRBAG] == "curtain airbag 112 mm away"
    assert Topic.AIRBAG not in topics(plan, "cable", "P1")


def test_a_keep_out_is_near_within_150_mm_or_three_times_its_clearance(plan: Plan) -> None:
    a1 = next(c for c in plan.cables if c.cable.name == "A1")
    assert a1.verified is not None

    def told(**clear: float) -> set[Topic]:
        named = {name.replace("_", " "): m for name, m in clear.items()}
        verified = replace(a1.verified, least_clearance_m=named)  # type: ignore[type-var]
        near = topics(replace(plan, cables=(replace(a1, verified=verified),)), "cable", "A1")
        return near.keys() - {Topic.RF}

    # no clearance of its own: the seat; 100 mm: the orange line; 50 mm is less than 150 mm in three
    assert told(driver_seat=0.149, orange_line=0.299, curtain_airbag=0.149) == {
        Topic.MOVING, Topic.HIGH_VOLTAGE, Topic.AIRBAG,
    }  # fmt: skip
    assert told(driver_seat=0.151, orange_line=0.301, curtain_airbag=0.151) == set()


def test_hot_spaces_and_hinges_are_told_at_the_cable(plan: Plan) -> None:
    assert "engine bay" in topics(plan, "cable", "P1")[Topic.HOT]
    assert "rear door hinge" in topics(plan, "cable", "S2")[Topic.MOVING]


def section(html: str, key: str) -> str:
    found = re.search(rf'<section id="{key}">(.*?)</section>', html, re.DOTALL)
    assert found is not None
    return found[1]


def test_in_the_pack_cautions_defer_where_they_stand(plan: Plan) -> None:
    """Before the cautions in full, on every drill card, over the holes that are there, over the cable cards.

    Where a caution is in short it leads to the one in full.
    """
    html = pack_html(plan, pictures={})
    assert section(html, "before").index(DEFER) < section(html, "before").index("CAUTION")
    to_drill, there = section(html, "holes").split("There already and used")
    cards = re.findall(r'<article id="hole-.*?</article>', to_drill, re.DOTALL)
    assert len(cards) == 2
    assert all(card.count(DEFER) == 1 < card.count("CAUTION") for card in cards)
    assert there.index(DEFER) < there.index("CAUTION")
    told = [
        c for c in re.findall(r"<article.*?</article>", section(html, "cables"), re.DOTALL) if "CAUTION" in c
    ]
    assert len(told) == len({p.name for p in placed_cautions(plan) if p.kind == "cable"})
    assert section(html, "cables").index(DEFER) < section(html, "cables").index("CAUTION")
    for place in (*told, there):
        asked = re.findall(r'href="#(caution-[a-z-]+)"', place)
        assert len(asked) == place.count("CAUTION")
        assert all(section(html, "before").count(f'id="{key}"') == 1 for key in asked)
    drill = html[html.index("roof rear <") :].split("</article>")[0]
    assert CAUTIONS[Topic.BLIND].text in drill


@pytest.mark.parametrize(
    ("shape", "sweep", "expected"),
    [
        (Box(low_m=(1, -1, -1), high_m=(2, 1, 1)), (0, 0, 0), 1.0),
        (Box(low_m=(-1, -1, -1), high_m=(2, 1, 1)), (0, 0, 0), 0.0),
        (Box(low_m=(3, 4, 0), high_m=(9, 9, 1)), (0, 0, 0), 5.0),
        (Sphere(at_m=(0, 3, 4), radius_m=1.0), (0, 0, 0), 4.0),
        (Capsule(from_m=(-5, 2, 0), to_m=(5, 2, 0), radius_m=0.5), (0, 0, 0), 1.5),
        (Capsule(from_m=(3, 4, 0), to_m=(9, 4, 0), radius_m=0.5), (0, 0, 0), 4.5),
        (Sphere(at_m=(5, 0, 0), radius_m=1.0), (-4, 0, 0), 0.0),
        (Sphere(at_m=(5, 0, 0), radius_m=1.0), (-2, 0, 0), 2.0),
        (PartShape(part="seat*"), (0, 0, 0), None),
    ],
)  # fmt: skip
def test_distance_from_the_origin(
    shape: Box | Sphere | Capsule | PartShape, sweep: Vec3, expected: float | None
) -> None:
    found = distance_m((0.0, 0.0, 0.0), KeepOut(name="k", shape=shape, sweep_m=sweep, reason=Reason.HOT))
    if expected is None:
        assert found is None
    else:
        assert found is not None
        assert math.isclose(found, expected, abs_tol=1e-9)


def test_all_that_is_near_a_route_is_told_not_only_the_nearest(plan: Plan) -> None:
    a1 = next(c for c in plan.cables if c.cable.name == "A1")
    assert a1.verified is not None
    clear = {"curtain airbag": 0.112, "exhaust": 0.449, "fuel tank": 0.451}
    near = replace(plan, cables=(replace(a1, verified=replace(a1.verified, least_clearance_m=clear)),))
    found = topics(near, "cable", "A1")
    assert {Topic.AIRBAG, Topic.HOT} <= found.keys()
    assert Topic.FUEL not in found


def test_trim_that_comes_off_near_an_airbag_is_said_at_the_cable(plan: Plan) -> None:
    bag = next(k for k in plan.job.keep_outs if k.reason is Reason.AIRBAG)
    first, *others = plan.cables
    covered = replace(first, covered=(Covered(trim="b-post-trim-left", from_m=0.0, to_m=0.4, minutes=8.0),))
    trims = (Trim(name="b-post-trim-left", minutes=8.0, near=((bag.name, 0.115),)),)
    behind = replace(plan, cables=(covered, *others), service=Service(trims=trims))
    said = [
        p for p in at(placed_cautions(behind), "cable", first.cable.name) if p.caution.topic is Topic.AIRBAG
    ]
    assert any(f"{bag.name} 115 mm from " in p.because and "which has to come off" in p.because for p in said)
    bare = replace(behind, cables=(replace(covered, covered=()), *others))
    assert "which has to come off" not in str(at(placed_cautions(bare), "cable", first.cable.name))
