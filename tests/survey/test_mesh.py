"""Mesh files: one body in every dress, malformed files refused with a reason, parts and rules."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import trimesh

from routecut.model.finding import Severity
from routecut.model.job import SurfaceKind
from routecut.survey import load_job, read_body
from routecut.survey.mesh_obj import read_obj
from tests.survey.mesh_bytes import ISO, JOB, exported, read, scene, triangle_glb, van

Floats = npt.NDArray[np.float64]

# --- one body in every dress -----------------------------------------------------------


def y_up_mm(mesh: trimesh.Trimesh) -> trimesh.Trimesh:
    """File axes x right, y up, z rear; millimetres."""
    x, y, z = mesh.vertices.T * 1000
    return trimesh.Trimesh(np.column_stack([y, z, x]), mesh.faces, process=False)


def inches(mesh: trimesh.Trimesh) -> trimesh.Trimesh:
    return trimesh.Trimesh(mesh.vertices / 0.0254, mesh.faces, process=False)


def tripled(mesh: trimesh.Trimesh) -> trimesh.Trimesh:
    faces = np.vstack(
        [mesh.faces, mesh.faces[:, ::-1], np.roll(mesh.faces, 1, axis=1), mesh.faces[:, [0, 0, 1]]]
    )
    return trimesh.Trimesh(mesh.vertices, faces, process=False)


def soup(mesh: trimesh.Trimesh) -> trimesh.Trimesh:
    corners = mesh.vertices[mesh.faces].reshape(-1, 3)
    return trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3), process=False)


DRESSES: dict[str, tuple[Callable[[trimesh.Trimesh], trimesh.Trimesh], str, str]] = {
    "as it is": (lambda mesh: mesh, "m", ISO),
    "millimetres, Y up": (y_up_mm, "mm", "+x right, +y up, +z rear"),
    "inches": (inches, "in", ISO),
    "every face three times, and flat ones": (tripled, "m", ISO),
    "unwelded": (soup, "m", ISO),
}


@pytest.mark.parametrize("dress", DRESSES)
@pytest.mark.parametrize("kind", ["ply", "stl", "obj", "off", "glb", "stl_ascii", "dae", "3mf"])
def test_the_same_body_comes_out_of_every_dress(tmp_path: Path, dress: str, kind: str) -> None:
    change, unit, axes = DRESSES[dress]
    changed = change(van())
    if kind == "3mf" and unit != "mm":  # the exporter always says millimetre
        changed.apply_scale({"m": 1000.0, "in": 25.4}[unit])
        unit = "mm"
    raw = exported(changed, kind)
    if kind == "dae":  # the exporter says Y up and nothing of the unit, whatever it was given
        metres = {"m": 1.0, "mm": 0.001, "in": 0.0254}[unit]
        up = "Y" if "+y up" in axes else "Z"
        said = f'<unit meter="{metres}"/><up_axis>{up}_UP'
        raw = raw.replace(b"<up_axis>Y_UP", said.encode())
        assert said.encode() in raw
    body, findings = read(tmp_path, raw, f"body.{kind.split('_', maxsplit=1)[0]}", unit=unit, axes=axes)
    assert body is not None, findings
    assert [f for f in findings if f.severity is not Severity.NOTE] == []
    # single-precision files keep 7 digits: 0.3 mm of the millimetre file's 4000
    assert body.vertices_m.min(axis=0) == pytest.approx([0, -0.8, 0], abs=1e-6)
    assert body.vertices_m.max(axis=0) == pytest.approx([4, 0.9, 2.1], abs=1e-6)
    assert len(body.faces) == len(van().faces)
    assert len(body.vertices_m) == len(van().vertices)
    assert body.rules[0].kind is SurfaceKind.PANEL
    first, second, third = (body.vertices_m[body.faces[:, i]] for i in range(3))
    areas = np.linalg.norm(np.cross(second - first, third - first), axis=1)
    assert areas.sum() / 2 == pytest.approx(van().area, rel=1e-5)


def test_what_was_dropped_is_counted(tmp_path: Path) -> None:
    _, findings = read(tmp_path, exported(tripled(van()), "ply"), "body.ply")
    count = len(van().faces)
    (note,) = [f for f in findings if f.code == "mesh-repaired"]
    assert note.severity is Severity.NOTE
    assert f"{2 * count} repeated faces and {count} faces without area; {count} are left" in note.message


def test_reading_twice_gives_the_same_arrays_and_the_digest_of_the_file(tmp_path: Path) -> None:
    raw = exported(scene(), "glb")
    first, _ = read(tmp_path, raw, "body.glb")
    second, _ = read(tmp_path, raw, "body.glb")
    assert first is not None
    assert second is not None
    assert np.array_equal(first.vertices_m, second.vertices_m)
    assert np.array_equal(first.faces, second.faces)
    assert first.digest == second.digest
    assert len(first.digest) == 64


# --- polygons ---


def _called(names: dict[str, str], order: list[str], pieces: dict[str, trimesh.Trimesh]) -> bytes:
    """An OBJ of pieces by other names, in another order, each with its faces the other way round."""
    lines, points = [], 0
    for piece in order:
        mesh = pieces[piece]
        lines.append(f"o {names[piece]}")
        lines += [f"v {x!r} {y!r} {z!r}" for x, y, z in mesh.vertices.tolist()]
        lines += [f"f {a} {b} {c}" for a, b, c in (mesh.faces[::-1] + points + 1)[:, [1, 2, 0]].tolist()]
        points += len(mesh.vertices)
    return "\n".join(lines).encode()


def test_names_and_order_of_the_parts_leave_the_body_as_it_is(tmp_path: Path) -> None:
    lamp = trimesh.creation.icosphere(subdivisions=1, radius=0.2)
    lamp.apply_translation([0.3, 0.5, 1.9])
    pieces = {"hull": trimesh.creation.box(bounds=[[0, -0.8, 0], [4, 0.9, 1.5]]), "lamp": lamp}
    told = {}
    for names, order in (
        ({"hull": "a", "lamp": "b"}, ["hull", "lamp"]),
        ({"hull": "z", "lamp": "b"}, ["lamp", "hull"]),
    ):
        body, findings = read(tmp_path, _called(names, order, pieces), "body.obj")
        assert body is not None, findings
        told[names["hull"]] = body, [body.parts[k] == names["hull"] for k in body.face_part]
    (one, of_hull), (other, of_hull_too) = told["a"], told["z"]
    assert np.array_equal(one.vertices_m, other.vertices_m)
    assert np.array_equal(one.faces, other.faces)
    assert of_hull == of_hull_too
    assert sum(of_hull) == 12


def test_of_faces_in_two_parts_the_stricter_rule_counts_whatever_the_parts_are_called(tmp_path: Path) -> None:
    hull = trimesh.creation.box(bounds=[[0, -0.8, 0], [4, 0.9, 1.5]])
    for strict, loose in (("a", "z"), ("z", "a")):
        raw = _called({"one": strict, "two": loose}, ["two", "one"], {"one": hull, "two": hull})
        rules = (
            f'[[surface]]\npart = "{strict}"\nkind = "obstacle"\n[[surface]]\npart = "*"\nkind = "panel"\n'
        )
        body, findings = read(tmp_path, raw, "body.obj", rules=rules)
        assert body is not None, findings
        assert {body.parts[k] for k in body.face_part} == {strict}


def test_a_concave_polygon_keeps_its_area() -> None:
    # an L of 4 x 4 with a 3 x 2 bite: 10 by arithmetic; a plain fan would cover 14 of it
    ring = [(0, 0), (4, 0), (4, 2), (1, 2), (1, 4), (0, 4)]
    for shift in range(6):
        turned = ring[shift:] + ring[:shift]
        text = "".join(f"v {x} 0 {y}\n" for x, y in turned) + "f 1 2 3 4 5 6\n"
        (part,) = read_obj(text.encode(), most_faces=9)
        v, f = part.vertices, part.faces
        area = np.linalg.norm(np.cross(v[f[:, 1]] - v[f[:, 0]], v[f[:, 2]] - v[f[:, 0]]), axis=1).sum() / 2
        assert area == pytest.approx(10)
        assert len(f) == 4


# --- refusals --------------------------------------------------------------------------


def ply(points: str, faces: str, vertices: int, count: int) -> bytes:
    head = f"ply\nformat ascii 1.0\nelement vertex {vertices}\nproperty float x\nproperty float y\nproperty float z\n"
    return f"{head}element face {count}\nproperty list uchar int vertex_indices\nend_header\n{points}{faces}".encode()


CORNERS = "0 0 0\n1 0 0\n0 1 0\n"
SHORT_STL = exported(van(), "stl")[:-60]


def bomb() -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", b"<model>" + b" " * 151_000_000)
    return packed.getvalue()


REFUSED: list[tuple[str, bytes, str]] = [
    ("body.glb", b"", "empty"),
    ("body.xyz", b"1 2 3", "'.xyz' can't be read"),
    ("body", b"1 2 3", "no ending"),
    ("body.glb", b"PK\x03\x04" + b"x" * 99, "does not begin as a GLB"),
    ("body.glb", triangle_glb()[:-8], "cut short"),
    ("body.glb", triangle_glb()[:12] + struct.pack("<I", 0xFFFFFFFF) + triangle_glb()[16:], "a chunk says 4294967295"),
    ("body.glb", triangle_glb(extensionsRequired=["KHR_draco_mesh_compression"]), "needs KHR_draco"),
    ("body.glb", triangle_glb(buffers=[{"byteLength": 48, "uri": "../secret.bin"}]), "another file"),
    ("body.glb", triangle_glb(buffers=[{"byteLength": 4800}]), "says 4800 bytes"),
    ("body.glb", triangle_glb(meshes=[]), "contradicts itself"),
    ("body.glb", triangle_glb(nodes=[{"name": "none"}]), "no faces"),
    (
        "body.glb",
        triangle_glb(
            accessors=[
                {"bufferView": 0, "componentType": 5126, "count": 4, "type": "VEC3"},
                {"bufferView": 1, "componentType": 5125, "count": 3, "type": "SCALAR"},
            ]
        ),
        "says 4 values",
    ),
    ("body.stl", SHORT_STL, "the file holds"),
    ("body.stl", b"solid x\n facet normal 0 0 1\n", "cut short"),
    ("body.ply", b"plyx", "does not begin as a PLY"),
    ("body.ply", ply(CORNERS, "", 3, 0), "no faces"),
    ("body.ply", ply(CORNERS, "3 0 1 2\n", 3, 2_000_000_000), "2000000000 faces; 3000000 can be read"),
    ("body.ply", ply(CORNERS, "3 0 1 7\n", 3, 1), ""),
    ("body.ply", ply("0 0 0\nnan 0 0\n0 1 0\n", "3 0 1 2\n", 3, 1), "not finite"),
    ("body.ply", ply(CORNERS, "3 0 1 2\n", 3, 4), ""),
    ("body.off", b"OFFX", "does not begin as an OFF"),
    ("body.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n", "line 4: a face names point 0"),
    ("body.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n", "line 4: a face names point 4"),
    ("body.obj", b"v 0 0\n", "line 1: a point needs three numbers"),
    ("body.obj", b"v 0 0 0\nv 1 0 0\nf 1 2\n", "line 3: a face needs three corners"),
    ("body.obj", b"v 0 0 0\nv inf 0 0\nv 0 1 0\nf 1 2 3\n", "not finite"),
    ("body.3mf", b"PK nonsense", "not a readable 3MF"),
    ("body.dae", b"<?xml version='1.0'?><!DOCTYPE a [<!ENTITY b 'c'>]><COLLADA/>", "entities"),
    ("body.dae", b"<COLLADA>", "gave up"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "raw", "said"), REFUSED)
def test_malformed_files_are_refused_with_a_reason(tmp_path: Path, name: str, raw: bytes, said: str) -> None:
    body, findings = read(tmp_path, raw, name)
    assert body is None
    (error,) = findings
    of_the_job = name in {"body.xyz", "body"}  # seen before the file is opened
    file = "job.toml" if of_the_job else name
    assert (error.code, error.severity, error.file) == ("mesh-unreadable", Severity.ERROR, file)
    assert said in error.message


def test_a_package_that_unpacks_too_large_is_refused_unread(tmp_path: Path) -> None:
    raw = bomb()
    assert len(raw) < 1_000_000
    body, findings = read(tmp_path, raw, "body.3mf")
    assert body is None
    assert "unpacked it is larger than 120 MB" in findings[0].message


def test_a_missing_mesh(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB.format(mesh="none.glb", unit="m", axes=ISO), encoding="utf-8")
    job, _ = load_job(tmp_path)
    assert job is not None
    body, findings = read_body(job)
    assert body is None
    assert [f.code for f in findings] == ["mesh-unreadable"]


@pytest.mark.parametrize(
    ("size", "unit", "fits"), [(1000.0, "m", "mm"), (40.0, "m", "cm or in"), (1.0, "mm", "m or ft")]
)
def test_a_size_no_vehicle_has_names_the_units_that_would_fit(
    tmp_path: Path, size: float, unit: str, fits: str
) -> None:
    # The body is 4.8 units from corner to corner, times the size; a vehicle is 0.5 m to 30 m.
    # 4840 as mm is 4.8 m, as cm 48 m; 193 as cm is 1.9 m, as in 4.9 m, as mm 0.19 m, as ft 59 m;
    # 4.8 as m is 4.8 m, as ft 1.5 m, as in 0.12 m.
    mesh = van()
    mesh.apply_scale(size)
    body, findings = read(tmp_path, exported(mesh, "ply"), "body.ply", unit=unit)
    assert body is None
    (error,) = findings
    assert (error.code, error.severity, error.key) == ("mesh-size", Severity.ERROR, "mesh_unit")
    assert f"It would be a vehicle in {fits}." in error.message


def test_units_that_files_carry_must_agree_with_the_job(tmp_path: Path) -> None:
    mesh = van()
    mesh.apply_scale(1000)
    body, findings = read(tmp_path, exported(mesh, "3mf"), "body.3mf", unit="mm")
    assert body is not None
    assert [f for f in findings if f.severity is Severity.ERROR] == []
    _, findings = read(tmp_path, exported(van(), "3mf"), "body.3mf", unit="m")
    assert [(f.code, f.key, f.found, f.allowed) for f in findings if f.severity is Severity.ERROR] == [
        ("mesh-size", "mesh_unit", "m", "mm")
    ]
    raw = exported(van(), "dae")
    _, findings = read(tmp_path, raw, "body.dae", axes=ISO)  # the exporter says Y up
    assert [(f.key, f.allowed) for f in findings if f.severity is Severity.ERROR] == [("axes", "+y up")]
    inch = raw.replace(b"<up_axis>Y_UP", b'<unit name="inch" meter="0.0254"/><up_axis>Z_UP')
    _, findings = read(tmp_path, inch, "body.dae", axes=ISO)
    assert [(f.key, f.allowed) for f in findings if f.severity is Severity.ERROR] == [("mesh_unit", "in")]


def test_a_body_far_from_the_origin_is_a_warning(tmp_path: Path) -> None:
    mesh = van()
    mesh.apply_translation([500_000, 0, 0])
    _, findings = read(tmp_path, exported(mesh, "obj"), "body.obj")
    assert [(f.code, f.severity) for f in findings] == [("mesh-size", Severity.WARNING)]
