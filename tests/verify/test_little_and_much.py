"""Each code of the verifier by a curve that just keeps the rule, one wrong by a little, one wrong by a lot.

Truth      the limit each rule has (`routecut.verify.limits`) and curves made just inside and just beyond it
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from routecut.model.codes import CODES
from routecut.model.job import KeepOut, SurfaceKind
from routecut.model.plan import Verification
from tests.verify.scenes import (
    DIAMETER,
    RADIUS,
    STAND_OFF,
    Floats,
    along_floor,
    box,
    codes,
    fillet,
    flat_scene,
    judge,
    make_body,
    make_cable,
    make_job,
    make_route,
    plate,
    space,
    wall_scene,
)


def dipping(z: float) -> Verification:
    """Along a floor, down to a height in the middle."""
    heights = [(0.2, STAND_OFF), (0.5, STAND_OFF), (0.75, z), (0.85, z), (1.1, STAND_OFF), (1.5, STAND_OFF)]
    return judge(along_floor(*((x, 0.3, h) for x, h in heights)))


def near_keep_out(gap: float) -> Verification:
    """Past a box at a gap; 50 mm are asked for."""
    low = 0.3 + DIAMETER / 2 + gap
    shape = box((0.5, low, -0.1), (0.7, 0.6, 0.2))
    return judge(flat_scene(keep_outs=(KeepOut(name="duct", shape=shape, clearance_m=0.05),)))


def hanging(free: float) -> Verification:
    """Over a gap in the floor, free for a length; 300 mm are allowed."""
    reach = float(np.sqrt((1.25 * STAND_OFF + 0.001) ** 2 - STAND_OFF**2))
    gap = free + 2 * reach
    body = make_body(
        front=(SurfaceKind.PANEL, plate((0, 0, 0), (0.6, 0, 0), (0, 1, 0))),
        rear=(SurfaceKind.PANEL, plate((0.6 + gap, 0, 0), (0.6, 0, 0), (0, 1, 0))),
    )
    points = np.array([(0.1, 0.5, STAND_OFF), (1.1 + gap, 0.5, STAND_OFF)])
    cab = space("cab", (-0.1, -0.1, -0.5), (4.0, 2.1, 1.0))
    return judge((make_job(*points, spaces=(cab,)), body, make_cable(), make_route(points, ("cab",))))


def bent(radius: float) -> Verification:
    """Round a corner with a radius; 30 mm are asked for, read to 3 %."""
    job, body, cable, _ = flat_scene()
    points = fillet([(0.2, 0.3, STAND_OFF), (1.5, 0.3, STAND_OFF), (1.5, 1.7, STAND_OFF)], radius, 0.001)
    return judge((job, body, cable, make_route(points, ("cab",))))


def outside(beyond: float) -> Verification:
    """Along a floor that goes on beyond the space, and back; 60 mm are doubtful."""
    edge = 0.8
    body = make_body(floor=(SurfaceKind.PANEL, plate((0, 0, 0), (3, 0, 0), (0, 1, 0))))
    points = fillet(
        [(0.2, y, STAND_OFF) if x is None else (x, y, STAND_OFF) for x, y in _loop(edge + beyond)], RADIUS
    )
    cab = space("cab", (-0.1, -0.1, -0.5), (edge, 1.1, 1.0))
    return judge(
        (make_job(points[0], points[-1], spaces=(cab,)), body, make_cable(), make_route(points, ("cab",)))
    )


def _loop(furthest: float) -> list[tuple[float | None, float]]:
    return [(None, 0.3), (furthest, 0.3), (furthest, 0.7), (None, 0.7)]


def filled(diameter: float) -> Verification:
    """One cable in a hole of 30 mm; 53 % of its area are 21.84 mm."""
    job, body, cable, route = wall_scene()
    thick = replace(cable, type=replace(cable.type, diameter_m=diameter))
    verified = judge((job, body, thick, route))
    # so thick a cable is too near to the sheets for other reasons: only the fill is asked here
    kept = tuple(f for f in verified.findings if f.code == "verify-fill")
    return replace(verified, ok=not kept, findings=kept)


def off_its_port(way: float) -> Verification:
    """The last point beside its port; 1 mm is allowed."""
    scene = flat_scene()
    points: Floats = scene[3].points_m.copy()
    points[-1] += (way, 0.0, 0.0)
    return judge(
        scene, points_m=points, length_m=float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    )


def misstated(way: float) -> Verification:
    """The length off the curve's; 1 mm is allowed."""
    scene = flat_scene()
    return judge(scene, length_m=scene[3].length_m + way)


CASES: dict[str, list[tuple[Callable[[float], Verification], float, float, float]]] = {
    "verify-crossing": [(dipping, 0.0026, -0.0005, -0.2)],
    "verify-clearance": [(dipping, 0.0026, 0.0024, 0.0002), (near_keep_out, 0.0496, 0.0494, -0.02)],
    "verify-span": [(hanging, 0.29, 0.32, 1.5)],
    "verify-bend": [(bent, 0.0295, 0.0285, 0.002)],
    "verify-space": [(outside, 0.058, 0.062, 1.5)],
    "verify-fill": [(filled, 0.0218, 0.0219, 0.029)],
    "verify-ends": [(off_its_port, 0.0009, 0.0011, 0.01)],
    "verify-length": [(misstated, 0.0009, 0.0011, 3.0), (misstated, -0.0009, -0.0011, -1.0)],
}
"""By code: a scene, and the figure with which it is just right, wrong by a little, wrong by a lot."""


def test_every_code_of_the_verifier_is_here() -> None:
    # of bundles, which are no curves, `test_company.py` does the same: 30 mm, 40 mm and 300 mm aside
    assert {*CASES, "verify-bundle"} == {code for code in CODES if code.startswith("verify-")}


@pytest.mark.parametrize(
    ("code", "number"), [(code, k) for code, cases in CASES.items() for k in range(len(cases))]
)
def test_right_a_little_wrong_and_very_wrong(code: str, number: int) -> None:
    scene, right, little, much = CASES[code][number]
    assert codes(scene(right)) == set()
    assert code in codes(scene(little))
    assert code in codes(scene(much))
