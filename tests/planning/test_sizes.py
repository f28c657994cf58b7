"""Sizes in the plan as a whole: the length that is cut is the length that is sized."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from routecut.documents import plan_json
from routecut.model.job import CableClass
from routecut.planning import make_plan, stages
from routecut.planning.open_sizes import outgrown
from routecut.planning.stored import plan_from_json, what_is_read
from routecut.tables import cable_types

WORLD = Path(__file__).parent.parent / "worlds" / "plate-straight"


def open_job(tmp_path: Path) -> Path:
    """A battery, and a load at the far end of a plate, joined by a power cable of open size."""
    (tmp_path / "body.ply").write_bytes((WORLD / "body.ply").read_bytes())
    text = (WORLD / "job.toml").read_text(encoding="utf-8")
    text = text.replace('name = "a"', 'name = "a"\nkind = "battery"').replace(
        'type = "thread"\nclass = "control"', 'class = "power"\nload = { amps = 12, peak_amps = 20 }'
    )
    text = text.replace("bridge = 0", "bridge = 450")
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    return tmp_path


def test_an_open_power_cable_is_routed_cut_sized_and_ordered(tmp_path: Path) -> None:
    plan, _ = make_plan(open_job(tmp_path))
    (cable,) = plan.cables
    assert cable.route is not None
    assert cable.cut is not None
    assert plan.sizing is not None
    e = plan.sizing.electrical["C1"]
    assert e.length_m == cable.cut.length_m
    assert e.picked
    assert e.ok
    assert cable.cable.type.name == e.type_name
    assert plan.job.cables[0].type.name != e.type_name  # the job stays as it was read
    assert e.fuse is not None
    assert e.fuse.rating_a == 25  # 110 % of 20 A
    assert e.peak_drop_percent <= 3.0
    ordered = {line.what for line in plan.order}
    assert e.type_name in ordered
    assert "fuse 25 A, regular blade" in ordered
    assert {"size-picked", "return-assumed"} <= {f.code for f in plan.findings}
    assert "type-assumed" not in {f.code for f in plan.findings}
    stiffest = max(t.min_bend_radius_m for t in cable_types().values() if t.cable_class is CableClass.POWER)
    assert cable.cable.type.min_bend_radius_m <= cable.route.bend_radius_m < stiffest
    assert e.peak_drop_v == pytest.approx(plan.sizing.supplies[0].peak_drop_v)


def coax_job(tmp_path: Path, cable: str) -> Path:
    """The same two devices, joined by a coax."""
    job = open_job(tmp_path)
    text = (job / "job.toml").read_text(encoding="utf-8")
    was = 'class = "power"\nload = { amps = 12, peak_amps = 20 }'
    assert text.count(was) == 1
    (job / "job.toml").write_text(text.replace(was, cable), encoding="utf-8")
    return job


def test_an_open_coax_is_routed_cut_and_ordered_as_what_holds(tmp_path: Path) -> None:
    plan, _ = make_plan(coax_job(tmp_path, 'class = "coax"\nsignal = { mhz = 155, max_loss_db = 1.5 }'))
    (cable,) = plan.cables
    assert plan.sizing is not None
    assert cable.route is not None
    assert cable.cut is not None
    x = plan.sizing.coax["C1"]
    assert (x.picked, x.ok, x.length_m) == (True, True, cable.cut.length_m)
    assert cable.cable.type.name in cable_types()
    assert cable.cable.type.min_bend_radius_m <= cable.route.bend_radius_m
    assert cable.cable.type.name in {line.what for line in plan.order}
    assert "type-assumed" not in {f.code for f in plan.findings}
    thickest = max(t.diameter_m for t in cable_types().values() if t.cable_class is CableClass.COAX)
    assert cable.cable.type.diameter_m < thickest


def test_a_coax_is_cut_to_half_waves_where_asked_and_comes_back_from_the_file(tmp_path: Path) -> None:
    """155 MHz in coax of velocity factor 0.66: half a wave is 0.638267 m."""
    plan, _ = make_plan(
        coax_job(tmp_path, 'type = "coax-58"\nsignal = { mhz = 155, half_wave = true, watts = 25 }')
    )
    (cable,) = plan.cables
    assert plan.sizing is not None
    assert cable.cut is not None
    x = plan.sizing.coax["C1"]
    assert x.half_waves is not None
    assert cable.cut.length_m == pytest.approx(x.half_waves * 0.638267, abs=1e-5)
    assert cable.cut.length_m == pytest.approx(sum(line.length_m for line in cable.cut.lines))
    assert 0 <= cable.cut.lines[-1].length_m < 0.6383
    again = plan_from_json(plan_json(plan), plan.job)
    assert what_is_read(plan_json(again)) == what_is_read(plan_json(plan))


def test_a_size_guessed_too_thin_is_routed_again_as_what_it_needs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    thin = cable_types()["wire-18awg-red"]
    monkeypatch.setattr(stages, "first_sizes", lambda _job: {"C1": thin})
    said: list[str] = []
    plan, _ = make_plan(open_job(tmp_path), progress=said.append)
    (cable,) = plan.cables
    assert cable.route is not None
    assert cable.cable.type.diameter_m > thin.diameter_m
    assert cable.route.bend_radius_m == cable.cable.type.min_bend_radius_m
    assert "routing again with thicker wire: C1" in said
    assert plan.complete


def test_an_open_cable_without_a_load_stays_the_thickest(tmp_path: Path) -> None:
    job = open_job(tmp_path)
    text = (job / "job.toml").read_text(encoding="utf-8")
    (job / "job.toml").write_text(text.replace("load = { amps = 12, peak_amps = 20 }", ""), encoding="utf-8")
    plan, _ = make_plan(job)
    assert {"type-assumed", "load-missing"} <= {f.code for f in plan.findings}
    assert plan.cables[0].cable.type.name.startswith("wire-2/0awg")


def test_outgrown_by_diameter_or_by_bend() -> None:
    thin = cable_types()["wire-12awg-red"]
    thicker = replace(thin, diameter_m=thin.diameter_m * 1.1)
    stiffer = replace(thin, min_bend_radius_m=thin.min_bend_radius_m * 1.1)
    laid = {"a": thin, "b": thin, "c": thin, "d": thicker}
    assert outgrown({"a": thicker, "b": stiffer, "c": thin, "d": thin}, laid) == {"a": thicker, "b": stiffer}
    assert outgrown({"z": thicker}, laid) == {}
