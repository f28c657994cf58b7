"""The plan as glTF 2.0 in one binary file: opens in any viewer of that format.

Stage      documents; shapes from `routecut.scene`
Units      m, axes of glTF: Y up, the vehicle looks along +Z
Leaves     what is drawn how: names and figures are in `extras`, colours in the materials
"""

from __future__ import annotations

import json
from typing import Any, Final

import numpy as np
import trimesh
from trimesh.visual.material import PBRMaterial

from routecut.documents.reading import natural, state_text
from routecut.model.body import Body, Floats, Ints
from routecut.model.drilled import to_drill
from routecut.model.job import SurfaceKind
from routecut.model.plan import Plan, PlannedCable, PlannedHole
from routecut.plain import plain
from routecut.scene import keep_out_triangles, reduced, thinned, tube
from routecut.scene.palette import BODY, DEVICE, DRILL, HOLE, REASON_TINT, Colour, cable_colour

TO_GLTF: Final = np.array([[0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [-1.0, 0.0, 0.0]])
"""From ISO 4130 axes (X rearward, Y right, Z up) to those of glTF."""

_CURVE_OFF_M: Final = 0.001
_DEVICE_M: Final = 0.04
_RING_M: Final = 0.003
_OPACITY: Final = {SurfaceKind.TRIM: 0.25, SurfaceKind.IGNORE: 0.1}
_PANEL_OPACITY: Final = 0.35


def scene_glb(plan: Plan, body: Body) -> bytes:
    """The body with fewer faces, every routed cable at its diameter, holes, devices and keep-outs.

    Parameters
    ----------
    plan : Plan
    body : Body
        The body the plan was made on.

    Returns
    -------
    bytes
        GLB. Each thing is a node of its own, its kind and name before it ("cable P1"), with what is known
        of it in the `extras` of its mesh; lengths in metres, keys end in ``_m``. Same plan, same bytes.
    """
    scene = trimesh.Scene()
    few = reduced(body)
    for number, (part, kind) in enumerate(zip(few.parts, few.kinds, strict=True)):
        faces = few.faces[few.face_part == number]
        if len(faces):
            used, index = np.unique(faces, return_inverse=True)
            extras = {"kind": str(kind), "simplified": True}
            name, opacity = f"body {part or 'ignored'}", _OPACITY.get(kind, _PANEL_OPACITY)
            _add(scene, name, (few.vertices_m[used], index.reshape(-1, 3)), BODY, extras, opacity=opacity)
    for planned in sorted(plan.cables, key=lambda c: natural(c.cable.name)):
        _add_cable(scene, planned)
    for hole in plan.holes:
        _add_hole(scene, plan, hole)
    for device in plan.job.devices:
        box = trimesh.creation.box((_DEVICE_M,) * 3)
        shape = np.asarray(box.vertices) + np.array(device.position.at_m), np.asarray(box.faces)
        _add(scene, f"device {device.name}", shape, DEVICE, {"kind": device.kind, "space": device.space})
    for keep_out in plan.job.keep_outs:
        triangles = keep_out_triangles(keep_out, body)
        if len(triangles):
            extras = {"reason": str(keep_out.reason), "clearance_m": keep_out.clearance_m}
            corners, index = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
            shape, tint = (corners, index.reshape(-1, 3)), REASON_TINT[keep_out.reason]
            _add(scene, f"keep-out {keep_out.name}", shape, tint, extras, opacity=_PANEL_OPACITY)
    written: bytes = scene.export(file_type="glb", extension_webp=False)
    return written


def _add(
    scene: trimesh.Scene,
    name: str,
    shape: tuple[Floats, Ints],
    colour: Colour,
    extras: dict[str, Any],
    *,
    opacity: float = 1.0,
) -> None:
    """A node with a mesh: `shape` is its vertices [m] and its faces."""
    vertices_m, faces = shape
    factor = [*(round((c / 255) ** 2.2, 4) for c in colour), opacity]  # glTF colours are linear
    material = PBRMaterial(
        name=f"{plain(name).split(' ')[0]} {colour[0]} {colour[1]} {colour[2]}",
        baseColorFactor=factor,
        metallicFactor=0.0,
        roughnessFactor=0.8,
        alphaMode="BLEND" if opacity < 1.0 else "OPAQUE",
        doubleSided=True,
    )
    mesh = trimesh.Trimesh(vertices_m @ TO_GLTF.T, faces, process=False)
    mesh.visual = trimesh.visual.TextureVisuals(material=material)
    mesh.metadata = json.loads(json.dumps({"name": plain(name), **extras}))
    scene.add_geometry(mesh, node_name=plain(name), geom_name=plain(name))


def _add_cable(scene: trimesh.Scene, planned: PlannedCable) -> None:
    cable, route = planned.cable, planned.route
    if route is None:
        return
    shape = tube(thinned(route.points_m, _CURVE_OFF_M), cable.type.diameter_m / 2.0)
    extras = {
        "class": str(cable.cable_class),
        "type": cable.type.name,
        "from": cable.from_port,
        "to": cable.to_port,
        "run_m": round(route.length_m, 4),
        "cut_m": None if planned.cut is None else round(planned.cut.length_m, 4),
        "verified": planned.verified is not None and planned.verified.ok,
        "through": [p.name for p in route.passages],
    }
    _add(scene, f"cable {cable.name}", shape, cable_colour(cable.cable_class, cable.type), extras)


def _add_hole(scene: trimesh.Scene, plan: Plan, hole: PlannedHole) -> None:
    """A ring of the size of the hole."""
    through, axis = hole.pass_through, np.array(hole.axis, dtype=np.float64)
    across = np.cross(axis, np.eye(3)[np.abs(axis).argmin()])
    across /= np.linalg.norm(across)
    turn = np.linspace(0.0, 2.0 * np.pi, 33)[:, None]
    ring = np.array(hole.at_m) + through.diameter_m / 2.0 * (
        np.cos(turn) * across + np.sin(turn) * np.cross(axis, across)
    )
    extras = {
        "state": state_text(plan, hole),
        "diameter_m": through.diameter_m,
        "joins": list(through.joins),
        "cables": list(hole.cables),
    }
    _add(
        scene,
        f"hole {through.name}",
        tube(ring, _RING_M, sides=6),
        DRILL if to_drill(plan, hole) else HOLE,
        extras,
    )
