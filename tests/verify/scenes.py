"""Small vehicles built by hand, and right curves through them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from routecut.model.body import Body
from routecut.model.finding import Severity
from routecut.model.job import (
    Box,
    Cable,
    CableClass,
    CableType,
    Device,
    HoleState,
    Job,
    PassThrough,
    Port,
    Position,
    Routing,
    Space,
    SurfaceKind,
    SurfaceRule,
    Vec3,
    Vehicle,
)
from routecut.model.plan import Passage, Route, Verification
from routecut.verify import verify_route

Floats = npt.NDArray[np.float64]
Scene = tuple[Job, Body, Cable, Route]

IDENTITY = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def vec(point: Any) -> Vec3:
    x, y, z = (float(v) for v in point)
    return (x, y, z)


def plate(corner: Any, u: Any, v: Any, cells: int = 6) -> Floats:
    """A rectangle of 2 cells^2 triangles, (k, 3, 3)."""
    corner, u, v = (np.asarray(a, dtype=float) for a in (corner, u, v))
    t = np.linspace(0, 1, cells + 1)
    grid = corner + t[:, None, None] * u + t[None, :, None] * v
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    return np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)


def make_body(**parts: tuple[SurfaceKind, Floats]) -> Body:
    triangles = np.concatenate([t for _, t in parts.values()])
    return Body(
        vertices_m=triangles.reshape(-1, 3),
        faces=np.arange(3 * len(triangles)).reshape(-1, 3),
        face_part=np.repeat(np.arange(len(parts)), [len(t) for _, t in parts.values()]),
        parts=tuple(parts),
        rules=tuple(SurfaceRule(part=name, kind=kind) for name, (kind, _) in parts.items()),
    )


def fillet(corners: Any, radius: float, step: float = 0.002) -> Floats:
    """A polyline with its inner corners rounded by tangent arcs, points on the true arc."""
    corners = [np.asarray(c, dtype=float) for c in corners]
    points = [corners[0]]
    for before, at, after in zip(corners, corners[1:], corners[2:], strict=False):
        a, b = before - at, after - at
        a, b = a / np.linalg.norm(a), b / np.linalg.norm(b)
        half = 0.5 * np.arccos(np.clip(a @ b, -1, 1))
        middle = at + (a + b) / np.linalg.norm(a + b) * radius / np.sin(half)
        start = at + a * radius / np.tan(half) - middle
        end = at + b * radius / np.tan(half) - middle
        angle = np.arccos(np.clip(start @ end / radius**2, -1, 1))
        points.extend(
            middle + (np.sin((1 - t) * angle) * start + np.sin(t * angle) * end) / np.sin(angle)
            for t in np.linspace(0, 1, max(int(np.ceil(angle * radius / step)), 2) + 1)
        )
    return np.array([*points, corners[-1]])


def length(points: Floats) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def run_of(points: Floats, at: Any) -> float:
    """Running length of the place nearest to a point, found by fine sampling."""
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    fine = np.linspace(0, run[-1], 200001)
    sampled = np.stack([np.interp(fine, run, points[:, k]) for k in range(3)], axis=1)
    return float(fine[np.argmin(np.linalg.norm(sampled - np.asarray(at), axis=1))])


DIAMETER, RADIUS, STAND_OFF = 0.006, 0.030, 0.012


def make_cable(name: str = "C1", **changes: Any) -> Cable:
    settings: dict[str, Any] = {
        "name": name,
        "from_port": "radio.power",
        "to_port": "battery.positive",
        "cable_class": CableClass.POWER,
        "type": CableType(
            name="wire", cable_class=CableClass.POWER, diameter_m=DIAMETER, min_bend_radius_m=RADIUS
        ),
    }
    return Cable(**(settings | changes))


def make_job(start: Any, end: Any, *, spaces: tuple[Space, ...], **changes: Any) -> Job:
    first, last = changes.pop("device_spaces", (spaces[0].name, spaces[-1].name))
    devices = tuple(
        Device(
            name=device,
            position=Position(at_m=vec(at)),
            space=space,
            ports=(Port(device=device, name=port, position=Position(at_m=vec(at))),),
        )
        for device, port, at, space in (
            ("radio", "power", start, first),
            ("battery", "positive", end, last),
        )
    )
    settings: dict[str, Any] = {
        "folder": Path(),
        "title": "scene",
        "length_unit": "mm",
        "vehicle": Vehicle(mesh="none", mesh_unit="m", axes=IDENTITY, axes_text=""),
        "spaces": spaces,
        "devices": devices,
        "routing": Routing(stand_off_m=STAND_OFF, bridge_m=0.30),
    }
    return Job(**(settings | changes))


def box(low: Any, high: Any) -> Box:
    return Box(low_m=vec(low), high_m=vec(high))


def space(name: str, low: Any, high: Any, **more: Any) -> Space:
    middle = 0.5 * (np.asarray(low, dtype=float) + np.asarray(high, dtype=float))
    return Space(name=name, boxes=(box(low, high),), seed_m=vec(middle), **more)


def make_route(
    points: Floats, spaces: tuple[str, ...], passages: tuple[Passage, ...] = (), **more: Any
) -> Route:
    settings: dict[str, Any] = {
        "points_m": points,
        "length_m": length(points),
        "spaces": spaces,
        "bend_radius_m": RADIUS,
        "passages": passages,
    }
    return Route(**(settings | more))


def flat_scene(**changes: Any) -> Scene:
    """A floor of 2 m x 2 m; a route with one corner, 12 mm above it."""
    floor = plate((0, 0, 0), (2, 0, 0), (0, 2, 0))
    body = make_body(floor=(SurfaceKind.PANEL, floor))
    corners = [(0.2, 0.3, STAND_OFF), (1.5, 0.3, STAND_OFF), (1.5, 1.7, STAND_OFF)]
    points = fillet(corners, RADIUS)
    cab = space("cab", (-0.1, -0.1, -0.5), (2.1, 2.1, 1.0))
    job = make_job(points[0], points[-1], spaces=(cab,), **changes)
    return job, body, make_cable(), make_route(points, ("cab",))


def wall_scene(*, skins: tuple[float, ...] = (0.0,), depth: float = 0.0, **changes: Any) -> Scene:
    """A wall of one or more sheets across x with a hole at (0, 0); mesh not cut out.

    The cable runs down the front sheet, through the hole and up the rear sheet.
    """
    sheets = {
        f"skin{k}": (SurfaceKind.PANEL, plate((x, -1, -1), (0, 2, 0), (0, 0, 2), 7))
        for k, x in enumerate(skins)
    }
    body = make_body(**sheets)
    front, rear = min(skins) - STAND_OFF, max(skins) + STAND_OFF
    # square into the hole on a bend: out from the sheet, then straight through
    lead = RADIUS * 1.5
    points = fillet(
        [
            (front, 0.02, 0.8),
            (front, 0.02, 0.25),
            (front - lead, 0.0, 0.12),
            (front - lead, 0.0, 0.0),
            (rear + lead, 0.0, 0.0),
            (rear + lead, 0.0, 0.12),
            (rear, -0.02, 0.25),
            (rear, -0.02, 0.8),
        ],
        RADIUS,
    )
    middle = 0.5 * (min(skins) + max(skins))
    hole = PassThrough(
        name="grommet",
        position=Position(at_m=(middle, 0.0, 0.0)),
        axis=(1.0, 0.0, 0.0),
        diameter_m=0.030,
        depth_m=depth,
        state=HoleState.EXISTING,
        joins=("engine bay", "cab"),
    )
    bay = space("engine bay", (-1, -1.1, -1.1), (middle, 1.1, 1.1))
    cab = space("cab", (middle, -1.1, -1.1), (1, 1.1, 1.1))
    settings: dict[str, Any] = {"spaces": (bay, cab), "pass_throughs": (hole,)}
    job = make_job(points[0], points[-1], **(settings | changes))
    passage = Passage(
        name="grommet", at_route_m=run_of(points, hole.position.at_m), from_space="engine bay", to_space="cab"
    )
    return job, body, make_cable(), make_route(points, ("engine bay", "cab"), (passage,))


def judge(scene: Scene, **changes: Any) -> Verification:
    job, body, cable, route = scene
    return verify_route(
        job=job, body=body, cable=cable, route=replace(route, **changes) if changes else route
    )


def codes(verified: Verification) -> set[str]:
    assert verified.ok == (not verified.findings)
    assert all(f.severity is Severity.ERROR for f in verified.findings)
    return {f.code for f in verified.findings}


def along_floor(*corners: Any, part: str = "floor", kind: SurfaceKind = SurfaceKind.PANEL) -> Scene:
    """A curve over a floor of 2 m x 2 m at z = 0, corners rounded."""
    body = make_body(**{part: (kind, plate((0, 0, 0), (2, 0, 0), (0, 2, 0)))})
    points = fillet(corners, RADIUS)
    cab = space("cab", (-0.1, -0.1, -0.5), (2.1, 2.1, 1.0))
    return make_job(points[0], points[-1], spaces=(cab,)), body, make_cable(), make_route(points, ("cab",))
