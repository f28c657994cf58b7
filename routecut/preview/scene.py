"""The shapes of a picture: body, keep-outs, cables, holes, devices. pyvista is imported inside."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any, Final

import numpy as np

from routecut.model.body import Body, Floats
from routecut.model.drilled import to_drill
from routecut.model.job import CableClass, KeepOut, Reason
from routecut.model.plan import Plan, PlannedHole
from routecut.scene.curves import dashed
from routecut.scene.palette import (
    BODY,
    CLASS_DASHES,
    DASH_M,
    DEVICE,
    DRILL,
    EDGE,
    HOLE,
    REASON_TINT,
    Colour,
    cable_colour,
    fraction,
)
from routecut.scene.solids import keep_out_triangles

Spot = tuple[float, float, float]

_MOST_FACES: Final = 30_000
_EDGE_DEGREES: Final = 28.0
BODY_OPACITY: Final = 0.10


@dataclass(slots=True)
class Actors:
    """What was put on a plotter, in two layers: the rest is drawn over the body."""

    under: list[Any] = field(default_factory=list)
    over: list[Any] = field(default_factory=list)
    body: list[Any] = field(default_factory=list)
    """Of `under`, the sheets of the body; they alone can be picked."""
    cables: dict[CableClass, list[Any]] = field(default_factory=dict)
    """Of `over`, the cables of each class."""
    keep_outs: list[tuple[Reason, Spot]] = field(default_factory=list)
    """The reason and the middle [m] of each keep-out that is drawn."""


def add_scene(plotter: Any, plan: Plan, body: Body) -> Actors:
    """Put everything on a plotter.

    Parameters
    ----------
    plotter : pyvista.Plotter
    plan : Plan
    body : Body

    Returns
    -------
    Actors
    """
    # no depth peeling: some software renderers draw nothing translucent with it, and with
    # one faint tint for the whole body the order of its sheets can't be seen anyway
    size = extent_m(body)
    actors = Actors()
    _add_body(plotter, actors, body)
    for keep_out in plan.job.keep_outs:
        _add_keep_out(plotter, actors, keep_out, body)
    for cable_class in CableClass:
        _add_cables(plotter, actors, plan, cable_class, size)
    for hole in plan.holes:
        if hole.cables or hole.drill:
            _add_hole(plotter, actors, replace(hole, drill=to_drill(plan, hole)), size)
    for device in plan.job.devices:
        _add_device(plotter, actors, device.position.at_m, size)
    return actors


def extent_m(body: Body) -> float:
    """Diagonal of the body's bounding box. [m]"""
    if not len(body.vertices_m):
        return 1.0
    return float(np.linalg.norm(np.ptp(body.vertices_m, axis=0))) or 1.0


def _mesh(triangles: Floats) -> Any:
    """Triangles (k, 3, 3) as a surface, equal corners merged."""
    import pyvista

    corners, number = np.unique(triangles.reshape(-1, 3).round(6), axis=0, return_inverse=True)
    return pyvista.PolyData.from_regular_faces(corners, number.reshape(-1, 3))


def _add_body(plotter: Any, actors: Actors, body: Body) -> None:
    import fast_simplification

    triangles = np.concatenate([body.triangles_m, body.pictured])
    if not len(triangles):
        return
    surface = _mesh(triangles)
    if surface.n_cells > _MOST_FACES:
        corners, faces = fast_simplification.simplify(
            surface.points.astype(np.float32),
            surface.regular_faces.astype(np.int32),
            target_reduction=1.0 - _MOST_FACES / surface.n_cells,
        )
        surface = _mesh(np.asarray(corners, dtype=np.float64)[faces])
    surface = surface.compute_normals(split_vertices=False, consistent_normals=False)
    sheets = plotter.add_mesh(
        surface, color=fraction(BODY), opacity=BODY_OPACITY, smooth_shading=False, lighting=True
    )
    actors.body.append(sheets)
    actors.under.append(sheets)
    edges = surface.extract_feature_edges(
        feature_angle=_EDGE_DEGREES, boundary_edges=True, non_manifold_edges=False, manifold_edges=False
    )
    if edges.n_points:
        actors.under.append(
            plotter.add_mesh(
                edges, color=fraction(EDGE), opacity=0.45, line_width=1.0, lighting=False, pickable=False
            )
        )
    outline = plotter.add_silhouette(surface, color=fraction(EDGE), line_width=3.0)
    outline.SetPickable(False)
    actors.under.append(outline)


def _add_keep_out(plotter: Any, actors: Actors, keep_out: KeepOut, body: Body) -> None:
    triangles = keep_out_triangles(keep_out, body)
    if len(triangles):
        surface = _mesh(triangles)
        tint = fraction(REASON_TINT[Reason(keep_out.reason)])
        actors.under.append(
            plotter.add_mesh(surface, color=tint, opacity=0.32, lighting=True, pickable=False)
        )
        actors.keep_outs.append((Reason(keep_out.reason), surface.center))


def _add_cables(plotter: Any, actors: Actors, plan: Plan, cable_class: CableClass, size: float) -> None:

    routes: dict[Colour, list[Floats]] = {}
    for c in plan.cables:
        if c.cable.cable_class is cable_class and c.route is not None and len(c.route.points_m) > 1:
            routes.setdefault(cable_colour(cable_class, c.cable.type), []).append(c.route.points_m)
    for colour, of_colour in routes.items():
        tubes = _dashes(of_colour, cable_class, size)
        drawn_tubes = plotter.add_mesh(
            tubes, color=fraction(colour), ambient=0.45, diffuse=0.6, smooth_shading=True, pickable=False
        )
        actors.cables.setdefault(cable_class, []).append(drawn_tubes)
        actors.over.append(drawn_tubes)


def _dashes(routes: Sequence[Floats], cable_class: CableClass, size: float) -> Any:
    """Curves as tubes in the pattern of their class."""
    import pyvista

    drawn, left_out = CLASS_DASHES[cable_class]
    scale = DASH_M * size / 6.0
    dashes = [d for points in routes for d in dashed(points, drawn * scale, left_out * scale)]
    points = np.concatenate(dashes)
    first = np.concatenate([[0], np.cumsum([len(d) for d in dashes])])
    cells = np.concatenate([np.r_[b - a, np.arange(a, b)] for a, b in pairwise(first.tolist())])
    lines = pyvista.PolyData(points, lines=cells)
    return lines.tube(radius=size / 900.0, n_sides=10)


def _add_hole(plotter: Any, actors: Actors, hole: PlannedHole, size: float) -> None:
    import pyvista

    axis = np.array(hole.axis, dtype=np.float64)
    across = np.cross(axis, [0.0, 0.0, 1.0] if abs(axis[2]) < 0.9 else [1.0, 0.0, 0.0])
    across /= np.linalg.norm(across) or 1.0
    up = np.cross(axis, across)
    turn = np.linspace(0.0, 2.0 * math.pi, 37)[:, None]
    radius = max(hole.pass_through.diameter_m / 2.0, size / 130.0)
    ring = np.array(hole.at_m) + radius * (np.cos(turn) * across + np.sin(turn) * up)
    lines = [ring]
    if hole.drill:  # a cross in the ring: the colour alone is lost in grey
        lines += [
            np.array(hole.at_m) + radius * 1.5 * end * np.array([[-1.0], [1.0]]) for end in (across, up)
        ]
    colour: Colour = DRILL if hole.drill else HOLE
    for line in lines:
        tube = pyvista.lines_from_points(line).tube(radius=size / 1100.0, n_sides=8)
        actors.over.append(plotter.add_mesh(tube, color=fraction(colour), lighting=False, pickable=False))


def _add_device(plotter: Any, actors: Actors, at_m: tuple[float, float, float], size: float) -> None:
    import pyvista

    side = size / 140.0
    cube = pyvista.Cube(center=at_m, x_length=side, y_length=side, z_length=side)
    actors.over.append(plotter.add_mesh(cube, color=fraction(DEVICE), ambient=0.4, pickable=False))
