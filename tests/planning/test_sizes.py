"""Sizes in the plan as a whole: the length that is cut is the length that is sized."""

from __future__ import annotations

from pathlib import Path

import pytest

from routecut.planning import make_plan

WORLD = Path(__file__).parent.parent / "worlds" / "plate-straight"


def test_an_open_power_cable_is_routed_cut_sized_and_ordered(tmp_path: Path) -> None:
    (tmp_path / "body.ply").write_bytes((WORLD / "body.ply").read_bytes())
    text = (WORLD / "job.toml").read_text(encoding="utf-8")
    text = text.replace('name = "a"', 'name = "a"\nkind = "battery"').replace(
        'type = "thread"\nclass = "control"', 'class = "power"\nload = { amps = 12, peak_amps = 20 }'
    )
    text = text.replace("bridge = 0", "bridge = 450")
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    plan, _ = make_plan(tmp_path)
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
    assert e.fuse.rating_a == 20
    assert e.peak_drop_percent <= 3.0
    ordered = {line.what for line in plan.order}
    assert e.type_name in ordered
    assert "fuse 20 A, regular blade" in ordered
    assert {"size-picked", "return-assumed"} <= {f.code for f in plan.findings}
    assert e.peak_drop_v == pytest.approx(plan.sizing.supplies[0].peak_drop_v)
