"""The small sample jobs: their bodies are what their scripts make, and what they are made to show is so.

Each is planned once; the van is planned by the page of a first job.
"""

from __future__ import annotations

import runpy
import shutil
from pathlib import Path

import pytest

from routecut import Plan, make_plan
from routecut.model.finding import Severity
from routecut.model.job import CableClass
from tests.docs.pages import TOP

BOAT, TRACTOR = (TOP / "meshes" / name for name in ("river-rescue-boat", "slipway-tractor"))
EACH = pytest.mark.parametrize("folder", [BOAT, TRACTOR], ids=lambda p: p.name)


@pytest.fixture(scope="session")
def planned() -> dict[Path, Plan]:
    """Filled by `plan_of`: a job that no test asks for is not planned."""
    return {}


def plan_of(planned: dict[Path, Plan], folder: Path) -> Plan:
    if folder not in planned:
        planned[folder] = make_plan(folder)[0]
    return planned[folder]


@EACH
def test_the_body_is_what_its_script_makes(folder: Path, tmp_path: Path) -> None:
    """The script writes beside itself, so a copy of it writes elsewhere what it would write here."""
    made = shutil.copy(next(folder.glob("make_*.py")), tmp_path)
    runpy.run_path(str(made), run_name="__main__")
    assert (tmp_path / "body.glb").read_bytes() == (folder / "body.glb").read_bytes()


UNTIE, MOST = {"bundle-bend", "separation-not-kept"}, 3
"""Asks for a clip set apart or a tie left out; whether one stays depends on how the panels are sampled."""


@EACH
def test_every_cable_is_verified_and_nothing_else_is_warned_of(
    planned: dict[Path, Plan], folder: Path
) -> None:
    plan = plan_of(planned, folder)
    warned = [f for f in plan.findings if f.severity is not Severity.NOTE]
    assert {f.code for f in warned} <= UNTIE, [str(f) for f in warned]
    assert len(warned) <= MOST, [str(f) for f in warned]
    assert all(f.severity is Severity.WARNING for f in warned)
    assert plan.complete
    assert {"power", "coax", "control", "audio"} <= {c.cable.cable_class.value for c in plan.cables}
    assert 8 <= len(plan.cables) <= 14
    for c in plan.cables:
        assert c.verified is not None, c.cable.name
        assert c.verified.ok, c.cable.name
        assert c.cut is not None
        assert c.cut.length_m > c.verified.length_m


def test_the_boat_has_no_return_but_cables_and_comes_in_from_the_wet_with_a_loop(
    planned: dict[Path, Plan],
) -> None:
    plan = plan_of(planned, BOAT)
    cables = {c.cable.name: c for c in plan.cables}
    studs = {d.name for d in plan.job.devices if d.kind == "earth stud"}
    ends = {c.cable.to_port.split(".")[0] for c in plan.cables if c.cable.cable_class is CableClass.POWER}
    assert studs == {"counterpoise stud"}
    assert not studs & ends
    glands = {"P1": "console grommet", "P2": "console grommet", "A3": "wheelhouse rear gland"}
    for name, gland in glands.items():  # out of the wet locker and bilge, and to the deck speaker
        cut = cables[name].cut
        assert cut is not None
        assert f"drip loop at {gland}" in {line.what for line in cut.lines}, name


def test_the_boat_is_drilled_in_its_roof_alone_and_its_compass_left_in_peace(
    planned: dict[Path, Plan],
) -> None:
    plan = plan_of(planned, BOAT)
    assert [hole.pass_through.name for hole in plan.holes if hole.drill] == ["roof gland"]
    assert not any(rule.drill for rule in plan.job.surfaces if rule.part != "wheelhouse-roof")
    for c in plan.cables:
        if c.cable.cable_class in {CableClass.POWER, CableClass.AUDIO}:
            assert c.verified is not None
            assert c.verified.least_clearance_m["compass"] >= 0.3 - 1e-6, c.cable.name


def test_the_boat_keeps_the_drop_that_small_craft_are_allowed(planned: dict[Path, Plan]) -> None:
    sizing = plan_of(planned, BOAT).sizing
    assert sizing is not None
    assert {s.device for s in sizing.supplies} == {"voice radio", "marine radio"}
    assert all(s.ok and 0 < s.peak_drop_percent <= 3 for s in sizing.supplies)


def test_the_frame_of_the_tractor_holds_no_cable_and_no_hole(planned: dict[Path, Plan]) -> None:
    plan = plan_of(planned, TRACTOR)
    tubes = [k for k in plan.job.keep_outs if k.name.startswith("frame ")]
    assert len(tubes) == 10  # six posts, two rails, two beams
    for c in plan.cables:
        assert c.verified is not None
        assert all(c.verified.least_clearance_m[k.name] >= 0.0 for k in tubes), c.cable.name
    assert not any(rule.drill for rule in plan.job.surfaces if rule.part.startswith("frame"))
    drilled = [hole.pass_through.name for hole in plan.holes if hole.drill]
    assert len(drilled) == 1
    assert drilled[0].startswith("roof gland")


def test_the_tractor_is_reckoned_at_24_v_and_has_a_long_control_lead(planned: dict[Path, Plan]) -> None:
    plan = plan_of(planned, TRACTOR)
    assert plan.sizing is not None
    assert plan.sizing.limit("system_volts").value == 24
    assert {s.device for s in plan.sizing.supplies} == {"voice radio", "hailer amplifier"}
    assert all(26 < s.peak_volts < 2 * 13.6 for s in plan.sizing.supplies)
    assert any(f.code == "rule-deviation" for f in plan.findings)  # said where 12 V are the profile's
    control = next(c for c in plan.cables if c.cable.name == "C1")
    assert control.lead is not None
    assert sum(control.lead.lengths_m) >= 3.0
