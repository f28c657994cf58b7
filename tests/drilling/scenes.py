"""Bodies of plates and boxes, and jobs round them, whose depths are known by construction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from routecut.drilling.scene import Scene
from routecut.model.body import Body, Floats
from routecut.model.job import (
    Box,
    HoleState,
    Job,
    KeepOut,
    Landmark,
    PassThrough,
    Position,
    Space,
    SurfaceKind,
    SurfaceRule,
    Vec3,
    Vehicle,
)

PANEL = SurfaceRule(part="*", kind=SurfaceKind.PANEL, material="steel", thickness_m=0.001, drill=True)
TRIM = SurfaceRule(part="*", kind=SurfaceKind.TRIM)
OBSTACLE = SurfaceRule(part="*", kind=SurfaceKind.OBSTACLE)


def plate(
    z: float, low: tuple[float, float] = (-0.5, -0.5), high: tuple[float, float] = (0.5, 0.5)
) -> Floats:
    """A level sheet of two triangles, (2, 3, 3)."""
    (x0, y0), (x1, y1) = low, high
    a, b, c, d = [x0, y0, z], [x1, y0, z], [x1, y1, z], [x0, y1, z]
    return np.array([[a, b, c], [a, c, d]], dtype=np.float64)


def box(low: Vec3, high: Vec3) -> Floats:
    """A closed box of twelve triangles."""
    x, y, z = zip(low, high, strict=True)
    corner = np.array([[x[i], y[j], z[k]] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return np.array([corner[[q[i] for i in t]] for q in quads for t in ((0, 1, 2), (0, 2, 3))])


def pipe(start: Vec3, end: Vec3, radius: float, sides: int = 24) -> Floats:
    """The skin of a round pipe."""
    a, b = np.array(start), np.array(end)
    along = (b - a) / np.linalg.norm(b - a)
    across = np.cross(along, [0.0, 0.0, 1.0] if abs(along[2]) < 0.9 else [1.0, 0.0, 0.0])
    across /= np.linalg.norm(across)
    up = np.cross(along, across)
    turn = np.arange(sides) * 2 * np.pi / sides
    ring = radius * (np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * up)
    found = []
    for i in range(sides):
        j = (i + 1) % sides
        found += [[a + ring[i], b + ring[i], b + ring[j]], [a + ring[i], b + ring[j], a + ring[j]]]
    return np.array(found)


def body_of(parts: Mapping[str, tuple[Floats, SurfaceRule]], pictured: Floats | None = None) -> Body:
    """A body of named parts."""
    triangles = np.concatenate([t for t, _ in parts.values()])
    owner = np.concatenate([np.full(len(t), i) for i, (t, _) in enumerate(parts.values())])
    return Body(
        vertices_m=triangles.reshape(-1, 3),
        faces=np.arange(3 * len(triangles)).reshape(-1, 3),
        face_part=owner.astype(np.int64),
        parts=tuple(parts),
        rules=tuple(rule for _, rule in parts.values()),
        pictured=pictured if pictured is not None else np.zeros((0, 3, 3)),
    )


def space(name: str, low: Vec3, high: Vec3, **more: object) -> Space:
    """A space of one box, its seed in the middle."""
    middle = tuple((a + b) / 2 for a, b in zip(low, high, strict=True))
    return Space(
        name=name,
        boxes=(Box(low_m=low, high_m=high),),
        seed_m=middle,  # type: ignore[arg-type]
        seed_given=True,
        **more,  # type: ignore[arg-type]
    )


def hole(
    name: str = "H1",
    at: Vec3 = (0.0, 0.0, 0.0),
    *,
    state: HoleState = HoleState.CANDIDATE,
    diameter: float = 0.020,
    depth: float = 0.0,
    joins: tuple[str, str] = ("below", "above"),
    axis: Vec3 = (0.0, 0.0, 1.0),
    classes: tuple[str, ...] = ("*",),
    in_use: float = 0.0,
) -> PassThrough:
    """A pass-through in the level plate."""
    return PassThrough(
        name=name,
        position=Position(at_m=at),
        axis=axis,
        diameter_m=diameter,
        state=state,
        joins=joins,
        depth_m=depth,
        classes=classes,
        in_use_m=in_use,
    )


SPACES = (
    space("below", (-0.6, -0.6, -0.6), (0.6, 0.6, 0.0)),
    space("above", (-0.6, -0.6, 0.0), (0.6, 0.6, 0.6)),
)


def job_of(
    *,
    keep_outs: Sequence[KeepOut] = (),
    landmarks: Mapping[str, Vec3] | None = None,
    pass_throughs: Sequence[PassThrough] = (),
    spaces: Sequence[Space] = SPACES,
    point_error_m: float = 0.0,
    scan_error: float = 0.0,
    **more: object,
) -> Job:
    """A job of no more than is asked."""
    return Job(
        folder=Path(),
        title="Test",
        length_unit="mm",
        vehicle=Vehicle(
            mesh="body.glb",
            mesh_unit="m",
            axes=((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
            axes_text="+x rear, +y right, +z up",
            point_error_m=point_error_m,
            scan_error=scan_error,
        ),
        spaces=tuple(spaces),
        keep_outs=tuple(keep_outs),
        landmarks=tuple(Landmark(name=n, position=Position(at_m=at)) for n, at in (landmarks or {}).items()),
        pass_throughs=tuple(pass_throughs),
        **more,  # type: ignore[arg-type]
    )


def scene_of(
    parts: Mapping[str, tuple[Floats, SurfaceRule]],
    *,
    keep_outs: Sequence[KeepOut] = (),
    pictured: Floats | None = None,
) -> Scene:
    """Body and job together."""
    return Scene.of(job_of(keep_outs=keep_outs), body_of(parts, pictured))
