"""What the 3D view is told, without a browser."""

from __future__ import annotations

import base64
import itertools
import json
import re
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from routecut.documents import pack_html
from routecut.documents.figures import Lengths
from routecut.documents.markup import asset
from routecut.documents.pack import PAGE_SCRIPT, SCRIPTS
from routecut.documents.pull_words import clips_along, clips_of, support_m
from routecut.documents.reading import pulling_order
from routecut.documents.view_data import view_json
from routecut.model.body import Body
from routecut.model.drilling import Taped, TapeFix
from routecut.model.job import CableClass, Landmark, Position, SurfaceKind, SurfaceRule
from routecut.model.plan import LeadJoint, Plan
from routecut.scene.palette import CLASS_COLOUR, INSULATION
from routecut.survey import survey_job
from tests.documents import sample
from tests.documents.test_pack import HOSTILE
from tests.drilling.cards import card as drill_card

VAN = Path(__file__).parents[2] / "meshes" / "river-rescue-van"


@pytest.fixture(scope="module")
def told(plan: Plan) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(view_json(plan, sample.body()))
    return found


def test_json_in_the_page_can_end_no_script_whatever_the_names_hold(plan: Plan) -> None:
    mark = "".join(HOSTILE)
    body = replace(sample.body(), parts=tuple(p + mark for p in sample.body().parts))
    written = view_json(sample.renamed(plan, mark), body)
    assert not set("<>&") & set(written)
    assert written.isascii()
    found = json.loads(written)
    for record in (
        found["cables"][0],
        found["holes"][0],
        found["devices"][0],
        found["keepOuts"][0],
        found["spaces"][0],
    ):
        assert record["name"].endswith(mark)
    assert found["body"]["parts"][0][0].endswith(mark)


def test_lengths_stand_in_the_view_as_in_every_other_document(plan: Plan, told: dict[str, Any]) -> None:
    lengths = Lengths("mm")
    for planned, record in zip(pulling_order(plan), told["cables"], strict=True):
        facts = dict(record["facts"])
        assert record["name"] == planned.cable.name
        if planned.route is None or planned.cut is None:
            assert facts["run"] == "NO SAFE ROUTE"
            assert record["run"] == []
            assert "cut" not in facts
            continue
        assert facts["run"] == lengths.text(planned.route.length_m)
        sure = planned.verified is not None and planned.verified.ok
        bought = (
            planned.lead.lengths_m if planned.cable.ready_made and planned.lead else (planned.cut.length_m,)
        )
        wanted = " + ".join(lengths.up(m) for m in bought) + ("" if sure else " - NOT VERIFIED")
        assert facts["order" if planned.cable.ready_made else "cut"] == wanted
        assert [told["holes"][k]["name"] for k in record["holes"]] == [p.name for p in planned.route.passages]


def test_curves_follow_their_routes(plan: Plan, told: dict[str, Any]) -> None:
    for planned, record in zip(pulling_order(plan), told["cables"], strict=True):
        if planned.route is None:
            continue
        run = np.array(record["run"]).reshape(-1, 3)
        for point in planned.route.points_m:
            a, b = run[:-1], run[1:]
            along = np.clip(((point - a) * (b - a)).sum(axis=1) / ((b - a) ** 2).sum(axis=1), 0.0, 1.0)
            assert np.linalg.norm(a + along[:, None] * (b - a) - point, axis=1).min() < 0.001


def test_cards_that_are_named_are_there(plan: Plan, told: dict[str, Any]) -> None:
    page = pack_html(plan, pictures={}, body=sample.body())
    ids = set(re.findall(r' id="((?:cable|hole)-[0-9]+)"', page))
    cards = {record["card"] for key in ("cables", "holes") for record in told[key]} - {""}
    assert cards == ids
    for record in told["cables"]:
        assert f'id="{record["card"]}"' in page
        card = page[page.index(f'id="{record["card"]}"') :]
        assert f"<h3>{record['name']}" in card[:600]


def test_the_body_unpacks_to_where_it_was(told: dict[str, Any]) -> None:
    body = told["body"]
    levels = np.frombuffer(base64.b64decode(body["points"]), "<u2").reshape(-1, 3)
    points = np.array(body["low"]) + levels * body["step"]
    faces = np.frombuffer(base64.b64decode(body["faces"]), "<u2").reshape(-1, 3)
    found, wanted = points[faces].mean(axis=1), sample.body().triangles_m.mean(axis=1)
    for these, those in ((found, wanted), (wanted, found)):
        assert cKDTree(those).query(these)[0].max() <= 0.001
    assert body["faceEnds"][-1] == len(faces) == len(base64.b64decode(body["off"]))


def test_a_body_of_thousands_of_parts_is_told_whole_and_in_seconds(plan: Plan) -> None:
    """More vertices than two bytes can number; the time of a part does not grow with their number."""
    box, many = trimesh.creation.box((0.1, 0.1, 0.1)), 9_000
    spots = np.random.default_rng(1).uniform(-2.0, 2.0, (many, 1, 3))
    body = Body(
        vertices_m=(box.vertices[None] + spots).reshape(-1, 3),
        faces=(box.faces[None] + 8 * np.arange(many)[:, None, None]).reshape(-1, 3),
        face_part=np.repeat(np.arange(many), 12),
        parts=tuple(f"box {k}" for k in range(many)),
        rules=(SurfaceRule(part="box", kind=SurfaceKind.PANEL),) * many,
    )
    begun = time.process_time()
    found = json.loads(view_json(plan, body))["body"]
    assert time.process_time() - begun < 10.0  # two on an idle machine
    assert found["wide"] is True
    faces = np.frombuffer(base64.b64decode(found["faces"]), "<u4").reshape(-1, 3)
    levels = np.frombuffer(base64.b64decode(found["points"]), "<u2").reshape(-1, 3)
    middles = (np.array(found["low"]) + levels * found["step"])[faces].mean(axis=1)
    np.testing.assert_allclose(middles, body.triangles_m.mean(axis=1), atol=found["step"])
    assert len(np.frombuffer(base64.b64decode(found["edges"]), "<u4")) == 2 * 12 * many


def test_a_joint_lies_on_its_cable_at_its_running_length(plan: Plan) -> None:
    planned = next(c for c in plan.cables if c.lead is not None and c.route is not None)
    assert planned.lead is not None
    assert planned.route is not None
    joint = LeadJoint(at_route_m=planned.route.length_m / 2.0, space="cab", access="trim")
    joined = replace(planned, lead=replace(planned.lead, joints=(joint,)))
    others = (replace(c, lead=None) for c in plan.cables)
    cables = tuple(joined if c.cable is planned.cable else c for c in others)
    found = json.loads(view_json(replace(plan, cables=cables), sample.body()))
    (record,) = found["joints"]
    points = planned.route.points_m
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    k = int(np.searchsorted(np.cumsum(steps), joint.at_route_m))
    behind = joint.at_route_m - steps[:k].sum()
    at = points[k] + (points[k + 1] - points[k]) * behind / steps[k]
    assert record["at"] == pytest.approx(at.tolist(), abs=0.001)
    assert found["cables"][record["cable"]]["name"] == planned.cable.name


def test_clips_lie_on_their_cables_and_no_further_apart_than_the_rules_allow(
    plan: Plan, told: dict[str, Any]
) -> None:
    every_m, drawn = support_m(plan), clips_of(plan)
    assert len(told["clips"]) == len(drawn)
    order = pulling_order(plan)
    for record, clip in zip(told["clips"], drawn, strict=True):
        names = [order[number].cable.name for number in record["cables"]]
        assert sorted(names) == sorted(name for name, _ in clip.held)
        assert record["name"] == f"clip of {', '.join(names)}"
        for name, _ in clip.held:
            (route,) = [c.route for c in plan.cables if c.cable.name == name]
            assert route is not None
            fine = np.concatenate(
                [
                    a + np.linspace(0.0, 1.0, 500)[:, None] * (b - a)
                    for a, b in itertools.pairwise(route.points_m)
                ]
            )
            # on the cable it was set for, beside those tied to it
            most = 0.002 if name == clip.held[0][0] else 0.15
            assert np.linalg.norm(fine - record["at"], axis=1).min() < most
    for planned in order:
        at = [at for at, _ in clips_along(plan, planned.cable.name)]
        assert all(b - a <= every_m + 1e-6 for a, b in itertools.pairwise(at))


def test_cables_tied_together_have_one_clip_for_all(told: dict[str, Any], plan: Plan) -> None:
    shared = [c for c in told["clips"] if len(c["cables"]) > 1]
    assert shared
    together = [{m.cable for m in b.members} for b in plan.bundles]
    order = pulling_order(plan)
    for record in shared:
        assert any({order[n].cable.name for n in record["cables"]} <= mates for mates in together)


def test_bundles_lie_along_their_first_cable_and_name_all(told: dict[str, Any], plan: Plan) -> None:
    assert [b["name"] for b in told["bundles"]] == [b.name for b in plan.bundles]
    for record, bundle in zip(told["bundles"], plan.bundles, strict=True):
        run = np.array(record["run"]).reshape(-1, 3)
        long = np.linalg.norm(np.diff(run, axis=0), axis=1).sum()
        assert long == pytest.approx(abs(bundle.members[0].to_m - bundle.members[0].from_m), abs=0.01)
        assert dict(record["facts"])["cables"] == ", ".join(m.cable for m in bundle.members)


def test_a_cable_is_drawn_in_the_colour_of_its_insulation_where_its_type_says_it(
    told: dict[str, Any],
) -> None:
    drawn = {c["name"]: tuple(c["colour"]) for c in told["cables"]}
    assert drawn["P2"] == drawn["P6"] == INSULATION["black"]  # wire-10awg-black
    assert drawn["P1"] == INSULATION["red"]
    assert drawn["A1"] == CLASS_COLOUR[CableClass.COAX]  # coax-5 names none
    dashes = {c["name"]: c["dash"] for c in told["cables"]}
    assert dashes["P1"] == dashes["P2"] != dashes["B1"]


def test_the_tapes_of_a_hole_lead_from_its_landmarks_to_it_and_the_check_is_marked(plan: Plan) -> None:
    hole = next(h for h in plan.holes if h.drill)
    marks = tuple(
        Landmark(name=name, position=Position(at_m=at))
        for name, at in (("bolt", (2.0, 0.0, 2.0)), ("stud", (2.2, 0.5, 2.0)), ("clip", (2.9, 0.0, 2.0)))
    )
    fix = TapeFix(
        tapes=(taped("bolt", 0.2), taped("stud", 0.5)), check=taped("clip", 0.7), check_within_m=0.01,
        crossing_deg=90.0, which="", axes_m=(0.008, 0.006), long_axis=(1, 0, 0), model_axes_m=(0.02, 0.01),
        from_space="outside",
    )  # fmt: skip
    card = replace(drill_card(), fix=fix, name=hole.pass_through.name, at_m=hole.at_m)
    taped_plan = replace(plan, job=replace(plan.job, landmarks=marks), drilling=(card,))
    found = json.loads(view_json(taped_plan, sample.body()))["tapes"]
    assert [(t["name"], t["check"]) for t in found] == [
        ("200 mm (7 7/8 in)", False),
        ("500 mm (19 5/8 in)", False),
        ("check 700 mm (27 1/2 in)", True),
    ]
    for tape, mark in zip(found, marks, strict=True):
        assert tape["run"] == pytest.approx([*mark.position.at_m, *hole.at_m], abs=1e-4)
        assert plan.holes[tape["hole"]] == hole
        assert dict(tape["facts"])["from"] == mark.name


def taped(landmark: str, distance_m: float) -> Taped:
    return Taped(landmark=landmark, distance_m=distance_m, sigma_m=0.003)


def test_the_page_of_the_sample_mesh_leaves_two_megabytes_for_pictures(plan: Plan) -> None:
    assert len(pack_html(plan, pictures={}, body=survey_job(VAN).body).encode()) < 1_200_000


def test_the_scripts_are_ours_to_read_and_call_nothing_that_runs_text() -> None:
    script = "".join(map(asset, (PAGE_SCRIPT, *SCRIPTS)))
    assert script.isascii()
    assert "</" not in script
    for word in (
        "innerHTML",
        "outerHTML",
        "insertAdjacent",
        "document.write",
        "eval(",
        "Function(",
        "fetch(",
        "import(",
    ):
        assert word not in script
    assert "http" not in script


def test_the_view_is_made_in_a_moment(plan: Plan) -> None:
    """As a ratio to reading the mesh, which every plan does: no clock of this machine's own."""
    begun = time.process_time()
    body = survey_job(VAN).body
    read = time.process_time() - begun
    begun = time.process_time()
    view_json(plan, body)
    assert time.process_time() - begun < max(4.0 * read, 4.0)
