"""A plan read back from plan.json: the same to the last digit, or not at all."""

from __future__ import annotations

import json
import math
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from routecut.documents import plan_json
from routecut.model.plan import Plan
from routecut.planning.stages import plan_survey
from routecut.planning.stored import NOT_READ, plan_from_json, stored_plan, what_is_read
from routecut.survey import Survey, survey_job
from tests.documents.sample import plan as sample_plan
from tests.documents.test_sizing_documents import made as sized_plan

WORLDS = Path(__file__).parents[1] / "worlds"


@pytest.fixture(scope="module")
def surveyed(tmp_path_factory: pytest.TempPathFactory) -> Survey:
    job = tmp_path_factory.mktemp("jobs") / "job"
    shutil.copytree(WORLDS / "wall-hole", job)
    return survey_job(job)


@pytest.fixture(scope="module")
def planned(surveyed: Survey) -> Plan:
    return plan_survey(surveyed)[0]


@pytest.fixture
def folder(tmp_path: Path, planned: Plan) -> Path:
    (tmp_path / "plan.json").write_bytes(plan_json(planned).encode())
    return tmp_path


def test_a_plan_comes_back_as_it_was_written(planned: Plan, surveyed: Survey, folder: Path) -> None:
    found = stored_plan(folder, surveyed)
    assert found is not None
    (route, again) = (plan.cables[0].route for plan in (planned, found))
    assert route is not None
    assert again is not None
    np.testing.assert_allclose(again.points_m, route.points_m, rtol=0, atol=6e-7)  # written to 1e-6
    assert again.passages[0].name == route.passages[0].name
    assert (found.complete, found.job, found.body_digest) == (True, surveyed.job, surveyed.body.digest)
    assert what_is_read(plan_json(found)) == what_is_read(plan_json(planned))


def test_every_kind_of_thing_in_a_plan_comes_back() -> None:
    """The made-up plan of the documents' tests has one of each: joints, hinges, strings, refusals."""
    plan = sample_plan()
    text = plan_json(plan)
    found = plan_from_json(text, plan.job)
    assert what_is_read(plan_json(found)) == what_is_read(text)
    assert json.loads(text).keys() - what_is_read(text).keys() <= set(NOT_READ)
    for one, other in zip(plan.cables, found.cables, strict=True):
        assert (one.route is None, one.cut is None, one.lead is None) == (
            other.route is None, other.cut is None, other.lead is None,
        )  # fmt: skip
        assert one.cable == other.cable
        if one.verified is not None and other.verified is not None:
            assert math.isinf(one.verified.least_bend_radius_m) == math.isinf(
                other.verified.least_bend_radius_m
            )


def test_what_was_sized_comes_back() -> None:
    """Wires, one of them picked, fuses in a lead and in a block, coax, a bond, a deviation, two supplies."""
    plan = sized_plan((("max_drop_percent", 5.0),))
    found = plan_from_json(plan_json(plan), plan.job)
    assert what_is_read(plan_json(found)) == what_is_read(plan_json(plan))
    assert plan.sizing is not None
    assert found.sizing is not None
    for kind in ("electrical", "coax", "bonds"):
        assert getattr(found.sizing, kind).keys() == getattr(plan.sizing, kind).keys()
        assert getattr(found.sizing, kind)
    for name, e in plan.sizing.electrical.items():
        again = found.sizing.electrical[name]
        assert (again.type_name, again.picked, again.polarity, again.ok, again.why) == (
            e.type_name, e.picked, e.polarity, e.ok, e.why,
        )  # fmt: skip
        assert (again.fuse is None) is (e.fuse is None)
        if e.fuse is not None:
            assert again.fuse is not None
            assert replace(again.fuse, distance_m=e.fuse.distance_m) == e.fuse
        assert again.resistance_ohm == pytest.approx(e.resistance_ohm, abs=6e-7)
    assert found.sizing.limits == plan.sizing.limits
    assert [s.device for s in found.sizing.supplies] == [s.device for s in plan.sizing.supplies]
    for one, other in zip(found.sizing.supplies, plan.sizing.supplies, strict=True):
        assert one.peak_volts == pytest.approx(other.peak_volts, abs=6e-4)


Change = Callable[[dict[str, Any]], object]


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d["inputs"].update(job_sha256="0" * 64),
        lambda d: d["inputs"].update(mesh_sha256="0" * 64),
        lambda d: d.update(format=2),
        lambda d: d.update(routecut="0.0.0"),
        lambda d: d.pop("inputs"),
        lambda d: d["cables"][0].update(name="nobody"),
        lambda d: d["cables"][0].update(diameter_m=0.5),
        lambda d: d["cables"][0].pop("route"),
        lambda d: d["cables"][0]["route"].update(points_m=[[0, 0]]),
        lambda d: d["cables"][0]["route"].update(points_m="x"),
        lambda d: d["cables"][0]["route"].update(length_m="x"),
        lambda d: d["cables"][0]["cut"].update(length_m=99.0),
        lambda d: d["holes"][0].update(state="gone"),
        lambda d: d["holes"][0].update(at_m=[0, 0]),
        lambda d: d["findings"].append({"code": "no-such-code"}),
        lambda d: d.update(more=1),
        lambda d: d.update(cables=[]),
        lambda d: d.update(cables={}),
    ],
)
def test_a_plan_of_something_else_or_changed_is_not_taken(
    folder: Path, surveyed: Survey, change: Change
) -> None:
    document = json.loads((folder / "plan.json").read_bytes())
    change(document)
    (folder / "plan.json").write_text(json.dumps(document), encoding="utf-8")
    assert stored_plan(folder, surveyed) is None


@pytest.mark.parametrize("raw", [b"", b"null", b"[]", b"{", b"\xff\xfe", b"[" * 100_000, b"7"])
def test_a_file_that_is_no_plan_is_not_taken(folder: Path, surveyed: Survey, raw: bytes) -> None:
    (folder / "plan.json").write_bytes(raw)
    assert stored_plan(folder, surveyed) is None


def test_no_plan_is_no_plan(tmp_path: Path, surveyed: Survey) -> None:
    assert stored_plan(tmp_path / "nowhere", surveyed) is None
    (tmp_path / "plan.json").mkdir()
    assert stored_plan(tmp_path, surveyed) is None


def test_another_setting_is_another_job(folder: Path, surveyed: Survey) -> None:
    job = replace(surveyed.job, routing=replace(surveyed.job.routing, bridge_m=0.1))
    assert stored_plan(folder, replace(surveyed, job=job)) is None
