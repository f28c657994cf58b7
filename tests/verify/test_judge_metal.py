"""Sheets met or too near, and keep-outs not kept: each is caught, and said where.

Truth      the scenes are built so that what is wrong, and by how much, is known exactly
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from routecut.model.job import (
    Box,
    Capsule,
    KeepOut,
    PartShape,
    Reason,
    Shape,
    Sphere,
    SurfaceKind,
)
from routecut.model.plan import Passage
from tests.verify.scenes import (
    DIAMETER,
    STAND_OFF,
    along_floor,
    codes,
    flat_scene,
    judge,
    make_body,
    make_route,
    plate,
    run_of,
    wall_scene,
)


# --- sheets ------------------------------------------------------------------------------
def test_a_sheet_met_without_a_passage_is_caught_and_named() -> None:
    job, body, cable, route = wall_scene()
    verified = judge((job, body, cable, replace(route, passages=(), spaces=("engine bay", "cab"))))
    assert verified.crossings == 1
    assert {"verify-crossing", "verify-space"} <= codes(verified)
    finding = next(f for f in verified.findings if f.code == "verify-crossing")
    assert "skin0" in finding.message
    at = float(re.search(r"at ([\d.]+) m", finding.where)[1])  # type: ignore[index]
    assert at == pytest.approx(run_of(route.points_m, (0, 0, 0)), abs=0.006)


def test_a_second_sheet_beyond_the_depth_is_caught() -> None:
    """Two skins 40 mm apart: a depth of 0 at the middle opens neither, one skin too many is one crossing."""
    assert judge(wall_scene(skins=(-0.02, 0.02), depth=0.0)).crossings == 2
    job, body, cable, route = wall_scene(skins=(-0.02, 0.02), depth=0.04)
    third = make_body(
        a=(SurfaceKind.PANEL, body.triangles_m),
        b=(SurfaceKind.TRIM, plate((0.045, -1, -1), (0, 2, 0), (0, 0, 2))),
    )
    verified = judge((job, third, cable, route))
    assert verified.crossings == 2  # out through the trim after the hole, and back to the sheet behind it
    assert all("meets b " in f.message for f in verified.findings if f.code == "verify-crossing")


def test_metal_beside_the_hole_is_not_opened_by_it() -> None:
    """The hole is 30 mm wide: 14 mm off its axis a cable of 6 mm is in the metal."""
    job, body, cable, route = wall_scene()
    for off, crossings in ((0.0125, 0), (0.0145, 1), (0.1, 1)):
        hole = job.pass_throughs[0]
        moved = replace(hole, position=replace(hole.position, at_m=(0.0, 0.0, off)))
        verified = judge((replace(job, pass_throughs=(moved,)), body, cable, route))
        assert verified.crossings == crossings


def test_the_ends_are_not_exempt_from_crossings() -> None:
    """A port 10 mm behind a sheet, and a port on the sheet itself."""
    for z in (-0.010, 0.0):
        scene = along_floor((0.2, 0.3, z), (0.2, 0.3, 0.05), (0.5, 0.3, STAND_OFF), (1.5, 0.3, STAND_OFF))
        verified = judge(scene)
        assert verified.crossings == 1
        assert "verify-crossing" in codes(verified)


def test_a_crossing_on_the_edge_of_two_faces_counts_once() -> None:
    """The floor's grid lines are 1/3 m apart: straight through a shared corner of six faces."""
    scene = along_floor((1 / 3, 1 / 3, 0.1), (1 / 3, 1 / 3, -0.1))
    assert judge(scene).crossings == 1


def test_two_sheets_half_a_millimetre_apart_are_one() -> None:
    """A flange spot-welded to its panel is one sheet to a drill; 3 mm apart they are two."""
    for gap, crossings in ((0.0005, 1), (0.003, 2)):
        job, body, cable, route = along_floor((0.31, 0.37, 0.1), (0.31, 0.37, -0.1))
        flange = plate((0, 0, gap), (2, 0, 0), (0, 2, 0), 5)
        both = make_body(floor=(SurfaceKind.PANEL, body.triangles_m), flange=(SurfaceKind.PANEL, flange))
        assert judge((job, both, cable, route)).crossings == crossings


def test_a_cable_lying_in_the_metal_beside_a_hole_is_caught() -> None:
    """In the plane of the sheet up to 3 mm from the rim of the passage: no part of that is in it."""
    job, body, cable, _ = wall_scene()
    points = np.array([(0.0, 0.0, 0.018), (0.0, 0.0, 0.010), (0.2, 0.0, 0.0)])
    passage = Passage(name="grommet", at_route_m=0.0, from_space="engine bay", to_space="cab")
    verified = judge((job, body, cable, make_route(points, ("engine bay", "cab"), (passage,))))
    assert verified.crossings > 0


def test_a_route_inside_a_sheet_is_told_in_few_lines() -> None:
    scene = along_floor((0.0, 0.1, 0.0), (2.0, 1.9, 0.0))
    verified = judge(scene)
    crossings = [f for f in verified.findings if f.code == "verify-crossing"]
    assert verified.crossings > 10
    assert len(crossings) == 11
    assert "more places" in crossings[-1].message


def test_too_near_a_sheet_is_caught() -> None:
    corners = [(0.2, 0.3, STAND_OFF), (0.6, 0.3, 0.0022), (1.0, 0.3, 0.0022), (1.5, 0.3, STAND_OFF)]
    verified = judge(along_floor(*corners))
    assert codes(verified) == {"verify-clearance"}
    assert verified.least_sheet_m == pytest.approx(0.0022, abs=1e-6)
    corners = [(x, y, max(z, 0.5 * DIAMETER - 0.0004)) for x, y, z in corners]
    assert codes(judge(along_floor(*corners))) == set()


def test_a_spike_between_two_samples_is_caught() -> None:
    """A corner of sheet that reaches to 2 mm under the cable, half way between two samples."""
    job, body, cable, route = along_floor((0.2, 0.3, STAND_OFF), (1.5, 0.3, STAND_OFF))
    tip = np.array([[[0.6525, 0.3, STAND_OFF - 0.002], [0.6525, 0.301, 0.0], [0.6525, 0.299, 0.0]]])
    spiked = make_body(floor=(SurfaceKind.PANEL, body.triangles_m), spike=(SurfaceKind.OBSTACLE, tip))
    verified = judge((job, spiked, cable, route))
    assert codes(verified) == {"verify-clearance"}
    assert verified.least_sheet_m == pytest.approx(0.002, abs=1e-9)
    assert "nearest part: spike" in verified.findings[0].where


# --- keep-outs ---------------------------------------------------------------------------
# the route of the flat scene runs along y = 0.3 from x = 0.2, then along x = 1.5; its
# surface is 50 mm from each of these shapes
BESIDE: dict[str, Shape] = {
    "box": Box(low_m=(0.5, 0.353, -0.1), high_m=(0.7, 0.6, 0.2)),
    "sphere": Sphere(at_m=(0.7, 0.3 - 0.253, STAND_OFF), radius_m=0.2),
    "capsule": Capsule(from_m=(0.5, 0.403, STAND_OFF), to_m=(0.9, 0.403, STAND_OFF), radius_m=0.05),
}


@pytest.mark.parametrize("name", sorted(BESIDE))
@pytest.mark.parametrize(("clearance", "fine"), [(0.0, True), (0.0504, True), (0.0506, False), (0.2, False)])
def test_clearance_to_a_keep_out(name: str, clearance: float, fine: bool) -> None:
    keep_out = KeepOut(name="duct", shape=BESIDE[name], clearance_m=clearance, reason=Reason.HOT)
    verified = judge(flat_scene(keep_outs=(keep_out,)))
    assert verified.least_clearance_m == {"duct": pytest.approx(0.050, abs=1e-4)}
    assert codes(verified) == (set() if fine else {"verify-clearance"})
    assert fine or "keep-out duct (hot)" in verified.findings[0].message


def test_where_the_cable_is_nearest_is_told() -> None:
    """The ball lies beside X 0.7; the run begins at X 0.2."""
    keep_out = KeepOut(name="duct", shape=BESIDE["sphere"], clearance_m=0.0, reason=Reason.HOT)
    assert judge(flat_scene(keep_outs=(keep_out,))).least_clearance_at_m == {
        "duct": pytest.approx(0.5, abs=0.011)
    }


def test_a_sweep_is_kept_out_of() -> None:
    """The box comes 40 mm nearer at the end of its sweep; sideways it does not."""
    for sweep, least in (((0.0, -0.04, 0.0), 0.010), ((0.3, 0.0, 0.0), 0.050), ((0.0, -0.2, 0.0), -0.003)):
        keep_out = KeepOut(name="seat", shape=BESIDE["box"], clearance_m=0.02, sweep_m=sweep)
        verified = judge(flat_scene(keep_outs=(keep_out,)))
        assert verified.least_clearance_m["seat"] == pytest.approx(least, abs=1e-4)
        assert codes(verified) == (set() if least > 0.02 else {"verify-clearance"})
        assert least > 0 or "enters keep-out seat" in verified.findings[0].message


def test_a_keep_out_of_mesh_parts() -> None:
    job, body, cable, route = flat_scene()
    shape = plate((0.5, 0.353, 0), (0.4, 0, 0), (0, 0, 0.3))
    both = make_body(floor=(SurfaceKind.PANEL, body.triangles_m), airbag=(SurfaceKind.OBSTACLE, shape))
    for clearance, fine in ((0.05, True), (0.06, False)):
        keep_out = KeepOut(
            name="bag", shape=PartShape(part="air*"), clearance_m=clearance, reason=Reason.AIRBAG
        )
        verified = judge((replace(job, keep_outs=(keep_out,)), both, cable, route))
        assert verified.least_clearance_m["bag"] == pytest.approx(0.05, abs=1e-6)
        assert codes(verified) == (set() if fine else {"verify-clearance"})


def test_a_keep_out_for_other_classes_does_not_apply() -> None:
    other = KeepOut(name="other", shape=BESIDE["box"], clearance_m=0.3, applies_to=("coax", "audio"))
    own = replace(other, name="own", applies_to=("coax", "power"))
    assert judge(flat_scene(keep_outs=(other,))).least_clearance_m == {}
    assert codes(judge(flat_scene(keep_outs=(other,)))) == set()
    assert codes(judge(flat_scene(keep_outs=(other, own)))) == {"verify-clearance"}
