"""Reads COLLADA: triangles where its scene puts them, and the names of nodes in nodes.

Stage      survey; XML and arrays are read by a library (pycollada)
Units      as in the file; its unit and up axis are handed on, not applied
Why own    the mesh library names parts by geometry and forgets the nodes; here the nodes
           are what a job calls the parts by
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import numpy as np

from routecut.survey.mesh_raw import (
    DEEPEST,
    Floats,
    Ints,
    MeshFileError,
    RawPart,
    check_count,
    joined,
    library_at_work,
)

# A node may be shown many times over by instances of instances.
_MOST_NODES = 200_000


def dae_parts(raw: bytes) -> tuple[RawPart, ...]:
    """One part for each node that holds geometry, in the order of the file.

    Raises
    ------
    MeshFileError
    """
    with library_at_work():
        import collada  # noqa: PLC0415 - heavy, and wanted only here

        document = collada.Collada(io.BytesIO(raw), ignore=[collada.common.DaeError])
        if document.scene is None:
            raise MeshFileError("it has no scene")
        walk = _Walk()
        for node in document.scene.nodes:
            walk.visit(node, np.eye(4), ())
        return tuple(walk.parts)


class _Walk:
    """Goes down the tree of nodes and gathers parts; what grows without end is refused."""

    def __init__(self) -> None:
        self.parts: list[RawPart] = []
        self._nodes = 0
        self._faces = 0

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
            check_count(self._faces, "faces")
            points = np.asarray(triangles.vertex, dtype=np.float64)
            yield points @ matrix[:3, :3].T + matrix[:3, 3], np.asarray(corners, dtype=np.int64)


def _name_of(node: Any) -> str:
    """The name the file gives a node, else its id; an instance is called as what it shows."""
    shown = getattr(node, "node", node)
    return str(getattr(shown, "name", None) or getattr(shown, "id", None) or "")
