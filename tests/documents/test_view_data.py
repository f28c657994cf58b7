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
from routecut.documents.pack import SCRIPTS
from routecut.documents.pull_words import clip_places, support_m
from routecut.documents.reading import pulling_order
from routecut.documents.view_data import view_json
from routecut.model.body import Body
from routecut.model.job import SurfaceKind, SurfaceRule
from routecut.model.plan import LeadJoint, Plan
from routecut.survey import survey
from tests.documents import sample
from tests.documents.test_pack import HOSTILE

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
    ids = set(re.findall(r' id="([a-z]+-[0-9]+)"', page))
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
    every_m = support_m(plan)
    assert told["clips"]
    for number, planned in enumerate(pulling_order(plan)):
        clips = [np.array(c["at"]) for c in told["clips"] if c["cable"] == number]
        assert bool(clips) <= (planned.route is not None)
        if planned.route is None:
            continue
        assert [c["name"] for c in told["clips"] if c["cable"] == number] == [
            f"clip of {planned.cable.name}"
        ] * len(clip_places(planned.route, every_m))
        curve = planned.route.points_m
        fine = np.concatenate(
            [a + np.linspace(0.0, 1.0, 2000)[:, None] * (b - a) for a, b in itertools.pairwise(curve)]
        )
        for at in clips:
            assert np.linalg.norm(fine - at, axis=1).min() < 0.002
        straight = [np.linalg.norm(b - a) for a, b in itertools.pairwise(clips)]
        assert all(far <= every_m + 0.001 for far in straight)


def test_the_page_of_the_sample_mesh_leaves_two_megabytes_for_pictures(plan: Plan) -> None:
    assert len(pack_html(plan, pictures={}, body=survey(VAN).body).encode()) < 1_200_000


def test_the_scripts_are_ours_to_read_and_call_nothing_that_runs_text() -> None:
    script = "".join(map(asset, SCRIPTS))
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
    body = survey(VAN).body
    read = time.process_time() - begun
    begun = time.process_time()
    view_json(plan, body)
    assert time.process_time() - begun < max(4.0 * read, 4.0)
