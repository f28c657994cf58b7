"""The plan as glTF: read back by a library, and by eye of the format itself."""

from __future__ import annotations

import io
import itertools
import json
import struct
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import trimesh

from routecut.documents import scene_glb
from routecut.documents.scene_glb import TO_GLTF
from routecut.model.plan import Plan
from tests.documents import sample
from tests.documents.test_pack import HOSTILE


@pytest.fixture(scope="module")
def glb(plan: Plan) -> bytes:
    return scene_glb(plan, sample.body())


def read(glb: bytes) -> Any:
    return trimesh.load_scene(io.BytesIO(glb), file_type="glb")


def header(glb: bytes) -> dict[str, Any]:
    """The JSON chunk of the file."""
    magic, version, length = struct.unpack("<4sII", glb[:12])
    assert (magic, version, length) == (b"glTF", 2, len(glb))
    size, kind = struct.unpack("<I4s", glb[12:20])
    assert kind == b"JSON"
    found: dict[str, Any] = json.loads(glb[20 : 20 + size])
    return found


def test_everything_of_the_plan_is_a_node_by_its_name(plan: Plan, glb: bytes) -> None:
    wanted = {f"cable {c.cable.name}" for c in plan.cables if c.route is not None}
    wanted |= {f"hole {h.pass_through.name}" for h in plan.holes}
    wanted |= {f"device {d.name}" for d in plan.job.devices}
    wanted |= {f"body {part}" for part in sample.body().parts}
    nodes = {n["name"] for n in header(glb)["nodes"] if "mesh" in n}
    assert nodes - {f"keep-out {k.name}" for k in plan.job.keep_outs} == wanted
    assert any(n.startswith("keep-out ") for n in nodes)


def test_figures_are_in_the_extras_and_a_route_that_does_not_hold_says_so(plan: Plan, glb: bytes) -> None:
    extras = {m["name"]: m["extras"] for m in header(glb)["meshes"]}
    for c in plan.cables:
        if c.route is None or c.cut is None:
            continue
        found = extras[f"cable {c.cable.name}"]
        assert found["run_m"] == pytest.approx(c.route.length_m, abs=1e-4)
        assert found["cut_m"] == pytest.approx(c.cut.length_m, abs=1e-4)
        assert (found["from"], found["to"]) == (c.cable.from_port, c.cable.to_port)
        assert found["through"] == [p.name for p in c.route.passages]
        assert found["verified"] is (c.verified is not None and c.verified.ok)


def test_a_cable_is_a_closed_tube_along_its_route_at_its_diameter(plan: Plan, glb: bytes) -> None:
    scene = read(glb)
    planned = next(c for c in plan.cables if c.cable.name == "A1")
    assert planned.route is not None
    mesh = scene.geometry["cable A1"]
    assert mesh.is_watertight
    radius = planned.cable.type.diameter_m / 2.0
    ends = planned.route.points_m[[0, -1]] @ TO_GLTF.T
    for end in ends:
        assert np.linalg.norm(mesh.vertices - end, axis=1).min() < 1e-4
    curve = planned.route.points_m @ TO_GLTF.T
    steps = np.linspace(0.0, 1.0, 60)[:, None]
    fine = np.concatenate([a + steps * (b - a) for a, b in itertools.pairwise(curve)])
    off = np.linalg.norm(mesh.vertices[:, None] - fine[None], axis=2).min(axis=1)
    assert off.max() < radius + 0.01


def test_the_vehicle_stands_on_its_wheels_and_looks_along_z(glb: bytes) -> None:
    low, high = read(glb).bounds
    body = sample.body().vertices_m
    assert high[1] == pytest.approx(body[:, 2].max(), abs=0.1)  # Z up becomes Y up
    assert -low[2] == pytest.approx(body[:, 0].max(), abs=0.3)  # rearward is away from +Z
    assert np.linalg.det(TO_GLTF) == pytest.approx(1.0)


def test_hostile_names_change_nothing_but_names(plan: Plan, glb: bytes) -> None:
    for mark in HOSTILE:
        found = header(scene_glb(sample.renamed(plan, mark), sample.body()))
        told = json.dumps(found).count(json.dumps(mark)[1:-1])
        assert told > 50
        assert len(found["nodes"]) == len(header(glb)["nodes"])


def test_a_plan_without_routes_and_a_job_without_anything_are_written(plan: Plan) -> None:
    bare = replace(plan, cables=(), holes=(), job=replace(plan.job, devices=(), keep_outs=(), cables=()))
    names = {n["name"] for n in header(scene_glb(bare, sample.body()))["nodes"] if "mesh" in n}
    assert names == {f"body {part}" for part in sample.body().parts}
