"""Mesh files as a stranger may send them: read right or refused with a reason, never nonsense in silence.

Each case was read wrongly, ended in a traceback or took minutes once, or is the neighbour of one that did.
"""

from __future__ import annotations

import json
import logging
import random
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from routecut.model.finding import Severity
from routecut.survey import mesh_obj
from routecut.survey.mesh_obj import read_obj
from tests.survey.mesh_bytes import exported, glb, read, scene, triangle_glb, van
from tests.survey.test_parts import DAE, SHAPE

PLAIN = triangle_glb()
DOCUMENT: dict[str, Any] = json.loads(PLAIN[20 : 20 + struct.unpack("<I", PLAIN[12:16])[0]])

Change = Callable[[dict[str, Any]], object]

GLB: dict[str, tuple[Change, str]] = {
    "a node below itself": (lambda d: d["nodes"][1].update(children=[1]), "below two others"),
    "a ring of nodes": (lambda d: d["nodes"][1].update(children=[0]), "in a ring"),
    "nodes without end": (
        lambda d: (
            d["nodes"].extend({"children": [5 + k]} for k in range(66)) or d["nodes"].append({"mesh": 0})
        ),
        "nested more than 64 deep",
    ),
    "two parents": (lambda d: d["nodes"][1].update(children=[2]), "below two others"),
    "a child from behind": (lambda d: d["nodes"][0].update(children=[-1]), "contradicts"),
    "a child that is not there": (lambda d: d["nodes"][0].update(children=[99]), "contradicts"),
    "a mesh from behind": (lambda d: d["nodes"][1].update(mesh=-1), "contradicts"),
    "a mesh that is no number": (lambda d: d["nodes"][1].update(mesh=False), "contradicts"),
    "a view from behind": (lambda d: d["accessors"][0].update(bufferView=-1), "contradicts"),
    "a count of nothing": (lambda d: d["accessors"][0].update(count=-3), "contradicts"),
    "half a count": (lambda d: d["accessors"][0].update(count=3.5), "contradicts"),
    "an offset before the data": (lambda d: d["accessors"][0].update(byteOffset=-12), "contradicts"),
    "points on a plane": (lambda d: d["accessors"][0].update(type="VEC2"), "contradicts"),
    "a size that is no number": (lambda d: d["nodes"][0].update(scale=[float("nan")] * 3), "contradicts"),
    "a size without end": (lambda d: d["nodes"][0].update(scale=[1e300] * 3), "coordinates beyond"),
    "half a matrix": (lambda d: d["nodes"][1].update(matrix=[1, 0, 0, 0]), "contradicts"),
    "a perspective": (
        lambda d: d["nodes"][1].update(matrix=[1, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]),
        "contradicts",
    ),
    "fans": (lambda d: d["meshes"][0]["primitives"][1].update(mode=6), "triangle fans"),
    "sparse points": (lambda d: d["accessors"][0].update(sparse={"count": 1}), "sparse"),
    "instances": (lambda d: d.update(extensionsUsed=["EXT_mesh_gpu_instancing"]), "GPU_INSTANCING".lower()),
    "a list that is a word": (lambda d: d.update(nodes=["a"]), "contradicts"),
    "a mesh without anything": (lambda d: d["meshes"].append({"primitives": [{}]}), "contradicts"),
}


@pytest.mark.parametrize("what", GLB)
def test_a_glb_that_would_be_misread_is_refused(tmp_path: Path, what: str) -> None:
    change, said = GLB[what]
    document = json.loads(json.dumps(DOCUMENT))
    change(document)
    body, findings = read(tmp_path, glb(document, PLAIN[-48:]), "body.glb")
    assert body is None
    (error,) = findings
    assert error.code == "mesh-unreadable"
    assert said in error.message


def test_what_bears_no_cable_in_a_glb_is_passed_over(tmp_path: Path) -> None:
    document = json.loads(json.dumps(DOCUMENT))
    document["meshes"][0]["primitives"][1]["mode"] = 1  # lines
    body, _ = read(tmp_path, glb(document, PLAIN[-48:]), "body.glb")
    assert body is not None
    assert len(body.faces) == 3


COLLADA: dict[str, tuple[str, str, str]] = {
    "points that are no numbers": ("0 0 0 1 0 0", "nan 0 0 1 0 0", "not finite"),
    "a place that is no number": ("<translate>0 0 1<", "<translate>0 0 inf<", "not finite"),
    "a unit that is no number": ('meter="1"', 'meter="nan"', "its unit is 'nan'"),
    "a corner that is not there": ("<p>0 1 2</p>", "<p>0 1 7</p>", "gave up"),
    "a corner from behind": ("<p>0 1 2</p>", "<p>0 1 -1</p>", "does not have"),
    "a shape that is not there": (SHAPE, '<instance_geometry url="#none"/>', "gave up"),
    "half a matrix": ("<scale>2 2 2</scale>", "<matrix>1 2 3</matrix>", "gave up"),
    "a skeleton": (SHAPE, '<instance_controller url="#s"/>', "skeleton"),
}


@pytest.mark.parametrize("what", COLLADA)
def test_a_collada_file_that_would_be_misread_is_refused(tmp_path: Path, what: str) -> None:
    old, new, said = COLLADA[what]
    text = DAE.format(pair=SHAPE)
    assert old in text
    body, findings = read(tmp_path, text.replace(old, new, 1).encode(), "body.dae")
    assert body is None
    assert said in findings[0].message


def test_pictures_and_lights_of_a_collada_file_may_be_broken(tmp_path: Path) -> None:
    more = (
        '<library_images><image id="i"><init_from>nowhere.png</init_from></image></library_images>'
        '<library_effects><effect id="e"><profile_COMMON><technique sid="t"><phong><diffuse><texture '
        'texture="none" texcoord="UV"/></diffuse></phong></technique></profile_COMMON></effect></library_effects>'
        '<library_materials><material id="m"><instance_effect url="#none"/></material></library_materials>'
    )
    bound = (
        '<instance_geometry url="#shape"><bind_material><technique_common><instance_material symbol="s" '
        'target="#gone"/></technique_common></bind_material></instance_geometry><instance_light url="#none"/>'
    )
    text = DAE.format(pair=SHAPE).replace("<library_geometries>", f"{more}<library_geometries>")
    body, findings = read(tmp_path, text.replace(SHAPE, bound, 1).encode(), "body.dae")
    assert body is not None, findings
    assert len(body.faces) == 4


def test_the_unit_of_a_collada_file_is_found_wherever_it_stands(tmp_path: Path) -> None:
    text = (
        DAE.format(pair=SHAPE)
        .replace("<asset>", f"<!--{'x' * 30_000}--><asset>")
        .replace('"1"/><up', '"0.0254"/><up')
    )
    _, findings = read(tmp_path, text.encode(), "body.dae")
    assert [f.key for f in findings if f.severity is Severity.ERROR] == ["mesh_unit"]


def test_a_large_collada_file_is_read(tmp_path: Path) -> None:
    """Eleven megabytes of numbers in one element, more than the XML reader takes by itself."""
    padding = " " * 11_000_000
    text = DAE.format(pair=SHAPE).replace("0 0 0 1 0 0 0 1 0", f"0 0 0 1 0 0{padding} 0 1 0")
    body, findings = read(tmp_path, text.encode(), "body.dae")
    assert body is not None, findings


OBJ = "v 0 0 0\nv 4 0 0\nv 0 2 0\nv 4 2 0\n"


def test_an_obj_line_may_go_on_in_the_next() -> None:
    for end in ("\\\n", "\\\r\n"):
        (part,) = read_obj(f"{OBJ}o a\\nb\nf 1 {end}2 3\n".encode(), most_faces=9)
        assert (part.name, len(part.faces)) == (r"a\nb", 1)


@pytest.mark.parametrize(("corners", "area"), [("1 2 4 3", 8.0), ("1 2 3 4", 4.0), ("1 1 2 4", 4.0)])
def test_quads_whole_crossed_and_collapsed(corners: str, area: float) -> None:
    """A crossed quad has no right answer; it may not be more than its two triangles."""
    (part,) = read_obj(f"{OBJ}f {corners}\n".encode(), most_faces=9)
    a, b, c = (part.vertices[part.faces[:, k]] for k in range(3))
    covered = np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2
    assert covered == pytest.approx(area) or (corners == "1 2 3 4" and covered <= 8.0)


def test_a_dart_is_not_covered_outside_itself() -> None:
    # arithmetic: the triangle (0,0) (4,0) (2,4) of 8 less the triangle (0,0) (4,0) (2,1) of 2
    ring = [(0, 0), (2, 1), (4, 0), (2, 4)]
    for shift in range(4):
        turned = ring[shift:] + ring[:shift]
        text = "".join(f"v {x} 1 {y}\n" for x, y in turned) + "f 1 2 3 4\n"
        (part,) = read_obj(text.encode(), most_faces=9)
        a, b, c = (part.vertices[part.faces[:, k]] for k in range(3))
        assert np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2 == pytest.approx(6.0)


def test_many_faces_of_many_corners_are_refused_before_they_take_minutes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    star = [
        (np.cos(k / 150 * np.pi) * (1 + k % 2), np.sin(k / 150 * np.pi) * (1 + k % 2)) for k in range(300)
    ]
    text = "".join(f"v {x} {y} 0\n" for x, y in star)
    face = "f " + " ".join(map(str, range(1, 301))) + "\n"
    assert mesh_obj._MOST_WORK < 100 * 300**2  # a hundred of these take half a minute
    monkeypatch.setattr(mesh_obj, "_MOST_WORK", 4 * 300**2)
    body, _ = read(tmp_path, (text + 4 * face).encode(), "body.obj")
    assert body is not None
    body, findings = read(tmp_path, (text + 5 * face).encode(), "body.obj")
    assert body is None
    assert "line 305: too many faces of many corners" in findings[0].message


@pytest.mark.parametrize("size", ["1e308", "1e200", "1e10"])
def test_coordinates_beyond_reason_are_refused_without_a_warning_of_the_arithmetic(
    tmp_path: Path, size: str
) -> None:
    body, findings = read(tmp_path, f"{OBJ.replace('4', size)}f 1 2 3\n".encode(), "body.obj")
    assert body is None
    assert "coordinates beyond 1e+09" in findings[0].message


@pytest.mark.filterwarnings("error")
def test_a_concave_face_of_no_numbers_is_refused_without_a_warning(tmp_path: Path) -> None:
    """The cutting into triangles came before the look at the figures, and complained on the terminal."""
    corners = "v 0 0 0\nv 4 0 nan\nv 1 1 0\nv 0 inf 0\nv 2 2 2\n"
    body, findings = read(tmp_path, f"{corners}f 1 2 3 4 5\n".encode(), "body.obj")
    assert body is None
    assert "not finite numbers" in findings[0].message


def test_names_that_no_job_can_hold_are_made_so_that_it_can(tmp_path: Path) -> None:
    text = f"{OBJ}o  a\x1b[2J \nf 1 2 3\no {'x' * 100_000}\nf 2 3 4\no \x07\ng \u202e\nf 1 2 4\n"
    body, _ = read(tmp_path, text.encode(), "body.obj")
    assert body is not None
    assert set(body.parts) == {"a\ufffd[2J", "x" * 120, "\ufffd"}
    assert all(name.isprintable() for names in body.part_names for name in names)


def test_a_damaged_package_is_refused_wherever_the_damage_is(tmp_path: Path) -> None:
    whole = exported(scene(), "3mf")
    chance = random.Random(7)  # noqa: S311 - no secret
    for _ in range(60):
        raw = bytearray(whole)
        for _ in range(4):
            raw[chance.randrange(len(raw))] = chance.randrange(256)
        body, findings = read(tmp_path, bytes(raw), "body.3mf", unit="mm")
        assert body is not None or findings


@pytest.mark.parametrize("kind", ["glb", "obj", "ply", "stl", "stl_ascii", "3mf", "dae", "off"])
def test_damage_at_random_is_never_a_traceback_nor_a_body_of_no_numbers(
    tmp_path: Path, kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    raw = exported(van() if kind in {"stl", "stl_ascii", "off", "dae"} else scene(), kind)
    unit = "mm" if kind == "3mf" else "m"
    chance = random.Random(11)  # noqa: S311 - no secret
    for _ in range(25):
        spoilt = bytearray(raw)
        place = chance.randrange(len(raw))
        match chance.randrange(4):
            case 0:
                del spoilt[place:]
            case 1:
                del spoilt[place : place + chance.randrange(1, 100)]
            case 2:
                spoilt[place:place] = chance.randbytes(chance.randrange(1, 50))
            case _:
                for _ in range(6):
                    spoilt[chance.randrange(min(len(raw), 500))] = chance.choice((0, 45, 57, 255))
        body, findings = read(tmp_path, bytes(spoilt), f"body.{kind.split('_', maxsplit=1)[0]}", unit=unit)
        assert body is not None or findings
        if body is not None:
            assert np.isfinite(body.vertices_m).all()
    assert capsys.readouterr() == ("", "")


def test_what_the_mesh_library_logs_is_not_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    raw = exported(van(), "stl_ascii").replace(b"normal", b"norm\xe4l", 3)
    read(tmp_path, raw, "body.stl")
    assert capsys.readouterr().err == ""
    assert any(isinstance(h, logging.NullHandler) for h in logging.getLogger("trimesh").handlers)
    assert isinstance(trimesh.util.log, logging.Logger)
