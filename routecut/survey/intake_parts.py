"""The body of a new job made of a file: cleaned, split into parts with names, and written as GLB.

Stage      survey, for a new job
Units      m, ISO 4130 axes
Safe side  what is dropped is counted and said; the file itself stays beside the job as it came
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import trimesh
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from routecut.model.body import Floats, Ints
from routecut.model.finding import Finding
from routecut.survey.faults import Collector
from routecut.survey.intake import NamedBox
from routecut.survey.mesh import cleaned
from routecut.survey.parts import distinct_names

SPECK_M: Final = 0.020
"""A loose piece smaller than this in every direction is dirt of a scan, where there is anything larger. [m]"""

MOST_PIECES: Final = 40
_LARGE: Final = 0.005  # of the area of everything: smaller pieces are put together


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clean:
    """A mesh fit for a job: points [m], faces, the part of each face, names of parts, and what was done."""

    vertices_m: Floats
    faces: Ints
    face_part: Ints
    parts: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
    specks: int = 0


def clean(vertices_m: Floats, faces: Ints, face_part: Ints, parts: Sequence[str], *, file: str) -> Clean:
    """Equal points welded, repeated faces and those without area dropped, and the dirt of a scan."""
    collector = Collector(file=file)
    vertices, faces, face_part = cleaned(vertices_m, faces, face_part, collector)
    label = pieces_of(len(vertices), faces)
    low, high = np.full((label.max() + 1, 3), np.inf), np.full((label.max() + 1, 3), -np.inf)
    np.minimum.at(low, np.repeat(label, 3), vertices[faces.ravel()])
    np.maximum.at(high, np.repeat(label, 3), vertices[faces.ravel()])
    speck = (high - low).max(axis=1) < SPECK_M
    if speck.all():
        speck[:] = False
    kept = ~speck[label]
    used, inverse = np.unique(faces[kept], return_inverse=True)
    return Clean(
        vertices_m=vertices[used],
        faces=inverse.reshape(-1, 3).astype(np.int64),
        face_part=face_part[kept],
        parts=tuple(parts),
        findings=tuple(collector.findings),
        specks=int(speck.sum()),
    )


def pieces_of(count: int, faces: Ints) -> Ints:
    """The number of the connected piece each face belongs to, (m,)."""
    rows, columns = faces[:, [0, 1]].ravel(), faces[:, [1, 2]].ravel()
    links = sparse.csr_array((np.ones(len(rows), dtype=np.int8), (rows, columns)), shape=(count, count))
    label = connected_components(links, directed=False)[1][faces[:, 0]]
    return np.unique(label, return_inverse=True)[1].astype(np.int64)


def split_pieces(mesh: Clean) -> Clean:
    """Parts by connected piece: the large ones each, largest first; the others together."""
    label = pieces_of(len(mesh.vertices_m), mesh.faces)
    area = np.bincount(label, weights=_area(mesh))
    order = np.argsort(-area, kind="stable")
    large = [k for k in order[:MOST_PIECES] if area[k] >= _LARGE * area.sum()]
    number = np.full(len(area), len(large), dtype=np.int64)
    number[large] = np.arange(len(large))
    names = [f"piece {k}" for k in range(1, len(large) + 1)]
    return _renamed(mesh, number[label], [*names, "small pieces"])


def split_boxes(mesh: Clean, boxes: Sequence[NamedBox]) -> Clean:
    """Parts by boxes: the first box that holds the middle of a face names it; the others keep their part."""
    middle = mesh.vertices_m[mesh.faces].mean(axis=1)
    number = mesh.face_part.copy()
    for k in range(len(boxes) - 1, -1, -1):
        within = (middle >= boxes[k].low_m).all(axis=1) & (middle <= boxes[k].high_m).all(axis=1)
        number[within] = len(mesh.parts) + k
    return _renamed(mesh, number, [*mesh.parts, *(box.name for box in boxes)])


def _renamed(mesh: Clean, number: Ints, names: Sequence[str]) -> Clean:
    return Clean(
        vertices_m=mesh.vertices_m,
        faces=mesh.faces,
        face_part=number,
        parts=tuple(names),
        findings=mesh.findings,
        specks=mesh.specks,
    )


def _area(mesh: Clean) -> Floats:
    a, b, c = (mesh.vertices_m[mesh.faces[:, k]] for k in range(3))
    return np.asarray(np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2)


def as_glb(mesh: Clean) -> tuple[bytes, tuple[str, ...]]:
    """The mesh as a GLB file, and the names of its parts; those without faces are left out."""
    scene = trimesh.Scene()
    there = [k for k in range(len(mesh.parts)) if (mesh.face_part == k).any()]
    names = distinct_names([mesh.parts[k] for k in there])
    for k, name in zip(there, names, strict=True):
        used, inverse = np.unique(mesh.faces[mesh.face_part == k], return_inverse=True)
        part = trimesh.Trimesh(mesh.vertices_m[used], inverse.reshape(-1, 3), process=False)
        scene.add_geometry(part, geom_name=name, node_name=name)
    return bytes(scene.export(file_type="glb")), tuple(names)
