"""Openings that nobody has tagged are told from free edges that a route just goes round.

Truth      the scenes are built so that where an opening is, and how large, is known exactly
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from routecut.model.finding import Finding, Severity
from routecut.model.job import HoleState, Opening, PassThrough, Position, SurfaceKind
from routecut.verify import untagged_gaps
from routecut.verify.faces import FaceIndex
from routecut.verify.rims import rims_near
from tests.verify.scenes import (
    STAND_OFF,
    Scene,
    fillet,
    make_body,
    make_cable,
    make_job,
    make_route,
    plate,
    space,
)
from tests.worlds.shapes import Floats, box

PANEL = SurfaceKind.PANEL


def wall_with(
    low: tuple[float, float], high: tuple[float, float], *, across: float = 1.0, up: float = 1.0
) -> Floats:
    """A wall at x = 0 from the origin of y and z, with a rectangle left out."""
    y, z = [0.0, low[0], high[0], across], [0.0, low[1], high[1], up]
    plates = [
        plate((0, y[i], z[k]), (0, y[i + 1] - y[i], 0), (0, 0, z[k + 1] - z[k]), 3)
        for i in range(3)
        for k in range(3)
        if (i, k) != (1, 1) and y[i + 1] > y[i] and z[k + 1] > z[k]
    ]
    return np.concatenate(plates)


def through(y: float, z: float, *, from_z: float = 0.1) -> Floats:
    """Up the front of the wall, through it at (y, z), and down its rear."""
    s, lead = STAND_OFF, 0.03
    return fillet(
        [(-s, y, from_z), (-s, y, z - lead), (-s / 2, y, z), (s / 2, y, z), (s, y, z - lead), (s, y, from_z)],
        0.004,
    )


def gaps(points: Floats, *, spaces: Any = None, changes: Any = None, **parts: Floats) -> list[Finding]:
    body = make_body(**{name: (PANEL, triangles) for name, triangles in parts.items()})
    spaces = spaces or (space("cab", (-2, -2, -2), (2, 2, 2)),)
    job = make_job(points[0], points[-1], spaces=spaces, **(changes or {}))
    route = make_route(points, tuple(s.name for s in spaces))
    return untagged_gaps(job=job, body=body, routed=[(make_cable(), route)])


def size_of(finding: Finding) -> tuple[float, float]:
    one, other = re.match(r"(\d+) x (\d+) mm", finding.found).groups()  # type: ignore[union-attr]
    return int(one), int(other)


@pytest.mark.parametrize(("wide", "high"), [(0.18, 0.09), (0.5, 0.4), (0.02, 0.03), (0.9, 0.3)])
@pytest.mark.parametrize("share", [(0.5, 0.5), (0.15, 0.7)])
def test_an_opening_is_reported_with_its_place_and_width(
    wide: float, high: float, share: tuple[float, float]
) -> None:
    low, top = (0.5 - wide / 2, 0.5 - high / 2), (0.5 + wide / 2, 0.5 + high / 2)
    at = (low[0] + share[0] * wide, low[1] + share[1] * high)
    (finding,) = gaps(through(*at), bulkhead=wall_with(low, top))
    assert (finding.code, finding.severity) == ("untagged-gap", Severity.WARNING)
    assert size_of(finding) == pytest.approx(
        (1000 * max(wide, high), 1000 * min(wide, high)), rel=0.06, abs=2
    )
    x, y, z = (float(v) for v in re.findall(r"[XYZ] (-?\d+)", finding.where))
    assert (x, y, z) == pytest.approx((0, 500, 500), abs=0.04 * 1000 * wide + 2)
    assert "bulkhead" in finding.where
    assert "C1" in finding.message


def test_a_ragged_hole_in_a_rough_scan_is_reported() -> None:
    """Every vertex up to 3 mm off, and what is missing has no straight side."""
    random = np.random.default_rng(5)
    sheet = plate((0, 0, 0), (0, 1, 0), (0, 0, 1), 40)
    corners, which = np.unique(sheet.reshape(-1, 3).round(9), axis=0, return_inverse=True)
    middle = sheet.mean(axis=1)[:, 1:] - (0.45, 0.55)
    angle = np.arctan2(middle[:, 1], middle[:, 0])
    kept = np.linalg.norm(middle, axis=1) > 0.11 + 0.03 * np.sin(3 * angle)
    rough = (corners + random.uniform(-0.003, 0.003, corners.shape))[which].reshape(-1, 3, 3)[kept]
    (finding,) = gaps(through(0.45, 0.55), scan=rough)
    assert size_of(finding) == pytest.approx((250, 240), abs=45)


def test_an_opening_in_a_bent_panel_is_reported() -> None:
    """A panel bent round 0.3 m: the sides of the opening lie 50 mm off the plane of its ends."""
    flat = wall_with((0.34, 0.4), (0.66, 0.6))
    angle = (flat[..., 1] - 0.5) / 0.3
    bent = np.stack(
        [0.3 * (1 - np.cos(angle)), 0.5 + 0.3 * np.sin(angle), flat[..., 2]],
        axis=-1,
    )
    (finding,) = gaps(through(0.5, 0.5), bent=bent[(np.abs(angle) < 1.3).all(axis=1)])
    assert size_of(finding) == pytest.approx((1000 * 0.6 * np.sin(0.16 / 0.3), 200), abs=15)


@pytest.mark.parametrize(("gap", "fine"), [(0.0, True), (0.001, True), (0.004, True), (0.03, False)])
def test_a_crack_has_no_rim(gap: float, fine: bool) -> None:
    """Two panels whose corners do not meet, in one plane: only their outer edges are free."""
    sheets = {
        "one": (PANEL, plate((0, 0, 0), (0, 0.5, 0), (0, 0, 1), 5)),
        "other": (PANEL, plate((0, 0.5 + gap, 0), (0, 0.5, 0), (0, 0, 1), 7)),
    }
    body = make_body(**sheets)
    merged = np.unique(body.vertices_m.round(7), axis=0, return_inverse=True)
    body = replace(body, vertices_m=merged[0], faces=merged[1].reshape(-1, 3))
    rims = rims_near(body, FaceIndex(body.triangles_m), body.vertices_m, 0.2)
    length = float(np.linalg.norm(rims.end_m - rims.start_m, axis=1).sum())
    assert length == pytest.approx(4.0 if fine else 6.0, abs=0.1)


def test_a_panel_missing_beside_a_wall_is_reported() -> None:
    """Three sides are its neighbours, the fourth is the side wall, which goes on."""
    side = plate((-0.5, 0, 0), (1, 0, 0), (0, 0, 1))
    (finding,) = gaps(through(0.1, 0.5), bulkhead=wall_with((0.0, 0.35), (0.25, 0.65)), side=side)
    assert size_of(finding) == pytest.approx((300, 250), abs=30)


ROOM = box((-0.6, 0, 0), (0.6, 1, 1), cell=0.1)


def over(z: float, y: float = 0.5) -> Floats:
    """Up the front of a partition at x = 0, over its edge at height z, and down its rear."""
    s = STAND_OFF
    return fillet([(-s, y, 0.1), (-s, y, z + s), (s, y, z + s), (s, y, 0.1)], s)


@pytest.mark.parametrize(
    ("points", "parts"),
    [
        # a partition across a room that ends 60 mm or 400 mm under its roof
        (over(0.94), {"wall": wall_with((0, 0.94), (1, 1)), "room": ROOM}),
        (over(0.6), {"wall": wall_with((0, 0.6), (1, 1)), "room": ROOM}),
        # the corner of one that ends before roof and side
        (over(0.6), {"wall": wall_with((0.4, 0.6), (1, 1)), "room": ROOM}),
        # a shelf in free air, and a notch in its edge
        (over(0.6), {"wall": wall_with((0, 0.6), (1, 1))}),
        (over(0.55), {"wall": wall_with((0.45, 0.55), (0.55, 1)), "room": ROOM}),
        # into an open box, whose sides stand square to its mouth
        (
            np.array([(-0.3, 0.5, 0.988), (0.0, 0.5, 0.988), (0.3, 0.5, 0.988)]),
            {
                "tray": np.concatenate(
                    [
                        plate((0, 0, 1), (1, 0, 0), (0, 1, 0)),
                        plate((0, 0, 0), (1, 0, 0), (0, 1, 0)),
                        plate((0, 0, 0), (1, 0, 0), (0, 0, 1)),
                        plate((0, 1, 0), (1, 0, 0), (0, 0, 1)),
                    ]
                )
            },
        ),
        # along a sheet past a hole in it, on one side all the way
        (
            np.array([(-STAND_OFF, 0.1, 0.5), (-STAND_OFF, 0.9, 0.5)]),
            {"wall": wall_with((0.4, 0.4), (0.6, 0.6))},
        ),
        # the same, sagging 3 mm into the hole
        (
            np.array(
                [(-STAND_OFF, y, 0.5) for y in (0.1, 0.4)] + [(0.003, 0.5, 0.5), (-STAND_OFF, 0.6, 0.5)]
            ),
            {"wall": wall_with((0.4, 0.4), (0.6, 0.6))},
        ),
        # over a partition in a duct so narrow that its walls are as near as the edge
        (
            over(0.85, 0.1),
            {
                "wall": wall_with((0, 0.85), (0.2, 1), across=0.2),
                "duct": box((-0.6, 0, 0), (0.6, 0.2, 1), cell=0.1),
            },
        ),
    ],
)
def test_a_free_edge_is_no_opening(points: Floats, parts: dict[str, Floats]) -> None:
    assert gaps(points, **parts) == []


WINDOW = wall_with((0.4, 0.4), (0.6, 0.5))


@pytest.mark.parametrize(
    ("at", "fine"), [((0.0, 0.5, 0.45), True), ((0.0, 0.57, 0.45), True), ((0.0, 0.5, 0.6), False)]
)
def test_an_opening_that_is_confirmed_is_not_reported(at: tuple[float, float, float], fine: bool) -> None:
    confirmed = Opening(name="window", position=Position(at_m=at))
    assert (gaps(through(0.5, 0.45), changes={"openings": (confirmed,)}, bulkhead=WINDOW) == []) is fine


def test_an_opening_that_a_pass_through_lies_in_is_tagged() -> None:
    for z, fine in ((0.45, True), (0.8, False)):
        hole = PassThrough(
            name="grommet",
            position=Position(at_m=(0.0, 0.5, z)),
            axis=(1.0, 0.0, 0.0),
            diameter_m=0.03,
            depth_m=0.0,
            state=HoleState.EXISTING,
            joins=("cab", "cab"),
        )
        assert (gaps(through(0.5, 0.45), changes={"pass_throughs": (hole,)}, bulkhead=WINDOW) == []) is fine


def test_between_spaces_that_are_open_to_each_other_an_opening_is_no_news() -> None:
    points = through(0.5, 0.45)
    points = np.concatenate([[(-0.5, 0.5, 0.1)], points, [(0.5, 0.5, 0.1)]])
    for open_to in ((), ("load",)):
        spaces = (
            space("cab", (-1, -1, -1), (0, 2, 2), open_to=open_to),
            space("load", (0, -1, -1), (1, 2, 2)),
        )
        assert len(gaps(points, spaces=spaces, bulkhead=WINDOW)) == (0 if open_to else 1)


def test_cables_through_one_opening_are_told_in_one_finding() -> None:
    points = through(0.5, 0.45)
    body = make_body(bulkhead=(PANEL, wall_with((0.4, 0.4), (0.6, 0.5))))
    job = make_job(points[0], points[-1], spaces=(space("cab", (-2, -2, -2), (2, 2, 2)),))
    routed = [
        (make_cable(name), make_route(points + np.array([0, off, 0]), ("cab",)))
        for name, off in (("B", 0.0), ("A", 0.04), ("C", 0.45))
    ]
    (finding,) = untagged_gaps(job=job, body=body, routed=routed)
    assert finding.message.startswith("A, B go through")


def test_the_scene_counts_for_nothing_without_a_curve() -> None:
    job, body, cable, route = _flat()
    assert untagged_gaps(job=job, body=body, routed=[]) == []
    assert (
        untagged_gaps(job=job, body=body, routed=[(cable, replace(route, points_m=np.zeros((1, 3))))]) == []
    )


def _flat() -> Scene:
    points = through(0.5, 0.45)
    body = make_body(bulkhead=(PANEL, WINDOW))
    return (
        make_job(points[0], points[-1], spaces=(space("cab", (-2, -2, -2), (2, 2, 2)),)),
        body,
        make_cable(),
        make_route(points, ("cab",)),
    )
