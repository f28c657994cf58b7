"""What the tests of mesh files share: bodies, ways to write them, and a job round them."""

from __future__ import annotations

import json
import struct
import warnings
from pathlib import Path

import numpy as np
import trimesh

from routecut.model.body import Body
from routecut.model.finding import Finding
from routecut.survey import load_job, read_body

JOB = """
length_unit = "mm"
[vehicle]
mesh = "{mesh}"
mesh_unit = "{unit}"
axes = "{axes}"
"""
ISO = "+x rear, +y right, +z up"
PANEL = '[[surface]]\npart = "*"\nkind = "panel"\n'


def van() -> trimesh.Trimesh:
    """An uneven little body: no axis, sign or unit of it can be mistaken for another."""
    hull = trimesh.creation.box(bounds=[[0, -0.8, 0], [4, 0.9, 1.5]])
    lamp = trimesh.creation.icosphere(subdivisions=2, radius=0.2)
    lamp.apply_translation([0.3, 0.5, 1.9])
    return trimesh.util.concatenate([hull, lamp])


def read(
    folder: Path, raw: bytes, name: str, *, unit: str = "m", axes: str = ISO, rules: str = PANEL
) -> tuple[Body | None, tuple[Finding, ...]]:
    (folder / name).write_bytes(raw)
    (folder / "job.toml").write_text(JOB.format(mesh=name, unit=unit, axes=axes) + rules, encoding="utf-8")
    job, findings = load_job(folder)
    assert job is not None, findings
    return read_body(job)


def exported(mesh: trimesh.Trimesh | trimesh.Scene, kind: str) -> bytes:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the exporter, not of what is tested
        data = mesh.export(file_type=kind)
    return data.encode() if isinstance(data, str) else bytes(data)


def scene() -> trimesh.Scene:
    made = trimesh.Scene()
    seat = trimesh.creation.box((0.5, 0.5, 0.5))
    for name, x in (("seat left", 0.0), ("seat right", 2.0)):
        move = trimesh.transformations.translation_matrix([x, 0, 0])
        made.add_geometry(seat, node_name=name, geom_name=name + " mesh", transform=move)
    made.add_geometry(trimesh.creation.icosphere(subdivisions=1), node_name="dust", geom_name="dust mesh")
    return made


def glb(document: dict[str, object], binary: bytes) -> bytes:
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    total = 28 + len(text) + len(binary)
    head = struct.pack("<4sIIII", b"glTF", 2, total, len(text), 0x4E4F534A)
    return head + text + struct.pack("<II", len(binary), 0x004E4942) + binary


def triangle_glb(**changes: object) -> bytes:
    """Two primitives of one mesh, shown by an unnamed and by two equally named nodes, scaled by the parent."""
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0]], dtype="<f4").tobytes()
    document: dict[str, object] = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [
            {"children": [1, 2, 3], "scale": [2, 2, 2], "name": "all"},
            {"mesh": 0, "name": "door"},
            {"mesh": 0, "name": "door", "translation": [0, 0, 1]},
            {"mesh": 0, "translation": [0, 0, 2]},
        ],
        "meshes": [
            {
                "name": "skin",
                "primitives": [
                    {"attributes": {"POSITION": 0}, "indices": 1, "material": 0},
                    {"attributes": {"POSITION": 0}, "indices": 1, "material": 0},
                ],
            }
        ],
        "materials": [{"name": "paint"}],
        "buffers": [{"byteLength": 48}],
        "bufferViews": [
            {"buffer": 0, "byteLength": 36, "byteOffset": 0},
            {"buffer": 0, "byteOffset": 36, "byteLength": 12},
        ],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": 3, "type": "VEC3"},
            {"bufferView": 1, "componentType": 5125, "count": 3, "type": "SCALAR"},
        ],
    }
    return glb(document | changes, points + np.array([0, 1, 2], dtype="<u4").tobytes())
