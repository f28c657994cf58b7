"""Reads COLLADA: triangles where its scene puts them, and the names of nodes in nodes.

Stage      survey; XML and arrays are read by a library (pycollada)
Units      as in the file; its unit and up axis are handed on, not applied
Why own    the mesh library names parts by geometry and forgets the nodes; here the nodes
           are what a job calls the parts by
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any

import numpy as np

from routecut.plain import shown
from routecut.survey.mesh_raw import (
    DEEPEST,
    Floats,
    Ints,
    MeshFileError,
    RawMesh,
    RawPart,
    check_count,
    joined,
    library_at_work,
)

# A node may be shown many times over by instances of instances.
_MOST_NODES = 200_000


# What no cable has to know of. References to it go too, so that a picture that is missing, or a
# material this library can't read, costs nothing; whatever is wrong after that is wrong with the body.
_LEFT_OUT = frozenset(
    {
        *("library_animations", "library_animation_clips", "library_cameras", "library_effects"),
        *("library_force_fields", "library_images", "library_lights", "library_materials"),
        *("library_physics_materials", "library_physics_models", "library_physics_scenes"),
        *("instance_camera", "instance_light", "instance_physics_scene", "bind_material", "extra"),
    }
)
_NOT_FINITE = re.compile(r"\b(?:nan|inf|infinity)\b|1\.#", re.IGNORECASE)


def read_dae(raw: bytes) -> RawMesh:
    """One part for each node that holds geometry, in the order of the file.

    Raises
    ------
    MeshFileError
    """
    with library_at_work():
        import collada  # noqa: PLC0415 - heavy, and wanted only here
        from lxml import etree  # noqa: PLC0415

        root = etree.fromstring(raw, etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True))
        if root.find(".//{*}instance_controller") is not None:
            raise MeshFileError(
                "it shows shapes on a skeleton, which can't be read; export them as plain ones"
            )
        for element in list(root.iter("{*}*")):
            if etree.QName(element).localname in _LEFT_OUT and element.getparent() is not None:
                element.getparent().remove(element)
        for numbers in root.iter("{*}float_array", "{*}matrix", "{*}scale", "{*}rotate", "{*}translate"):
            if _NOT_FINITE.search(numbers.text or ""):  # the library takes them for zero
                raise MeshFileError("it has coordinates that are not finite numbers")
        document = collada.Collada(io.BytesIO(etree.tostring(root)))
        if document.scene is None:
            raise MeshFileError("it has no scene")
        walk = _Walk()
        for node in document.scene.nodes:
            walk.visit(node, np.eye(4), ())
    unit = root.find("{*}asset/{*}unit")
    metres = unit.get("meter") if unit is not None else None
    up = (root.findtext("{*}asset/{*}up_axis") or "").strip()
    return RawMesh(
        parts=tuple(walk.parts),
        metres_per_unit=None if metres is None else _positive(metres),
        up=up[0].lower() if up in {"X_UP", "Y_UP", "Z_UP"} else "",
    )


def _positive(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 1e-9 < value < 1e9:
        raise MeshFileError(f"it says that its unit is {shown(text)} metres")
    return value


class _Walk:
    """Goes down the tree of nodes and gathers parts; what grows without end is refused."""

    def __init__(self) -> None:
        self.parts: list[RawPart] = []
        self._nodes = 0
        self._faces = 0
        self._points = 0

    def visit(self, node: Any, above: Floats, groups: tuple[str, ...], depth: int = 0) -> None:
        if not hasattr(node, "children"):  # lights and cameras bear no cable
            return
        self._nodes += 1
        if depth > DEEPEST or self._nodes > _MOST_NODES:
            raise MeshFileError(
                f"its nodes are nested more than {DEEPEST} deep, or show each other without end"
            )
        matrix = above @ np.asarray(node.matrix, dtype=np.float64)
        name = _name_of(node)
        pieces: list[tuple[Floats, Ints]] = []
        for child in node.children:
            if hasattr(child, "geometry"):
                pieces += self._pieces(child.geometry, matrix)
            else:
                self.visit(child, matrix, (*groups, name) if name else groups, depth + 1)
        if pieces:
            self.parts.append(joined(name or (groups[-1] if groups else "body"), pieces, groups))

    def _pieces(self, geometry: Any, matrix: Floats) -> Iterator[tuple[Floats, Ints]]:
        for primitive in geometry.primitives:
            triangles = primitive.triangleset() if hasattr(primitive, "triangleset") else primitive
            corners = getattr(triangles, "vertex_index", None)
            if (
                corners is None
                or triangles.vertex is None
                or np.ndim(corners) != 2
                or np.shape(corners)[1] != 3
            ):
                continue  # lines
            self._faces += len(corners)
            self._points += len(triangles.vertex)
            check_count(self._faces, "faces")
            check_count(self._points // 3, "points for that many faces")
            points = np.asarray(triangles.vertex, dtype=np.float64)
            yield points @ matrix[:3, :3].T + matrix[:3, 3], np.asarray(corners, dtype=np.int64)


def _name_of(node: Any) -> str:
    """The name the file gives a node, else its id; an instance is called as what it shows."""
    shown = getattr(node, "node", node)
    return str(getattr(shown, "name", None) or getattr(shown, "id", None) or "")
