"""Parts of a mesh: what a job may call them by, and which rule applies."""

from __future__ import annotations

import zipfile
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest

from routecut.model.finding import Severity
from routecut.model.job import KeepOut, PartShape, SurfaceKind
from routecut.survey.mesh_obj import read_obj
from routecut.verify.shapes import PartsShape, make_shape
from tests.survey.mesh_bytes import exported, read, scene, triangle_glb

# --- parts and rules -------------------------------------------------------------------


def test_parts_are_nodes_and_the_first_rule_that_matches_wins(tmp_path: Path) -> None:
    rules = """
[[surface]]
part = "seat left"
kind = "obstacle"
[[surface]]
part = "seat*"
kind = "trim"
[[surface]]
part = "dust"
kind = "ignore"
[[surface]]
part = "dor*"
kind = "panel"
"""
    body, findings = read(tmp_path, exported(scene(), "glb"), "body.glb", rules=rules)
    assert body is not None
    kinds = dict(zip(body.parts, (rule.kind for rule in body.rules), strict=True))
    assert kinds == {"dust": "ignore", "seat left": "obstacle", "seat right": "trim"}
    assert len(body.faces) == 24
    assert len(body.pictured) == 80
    right = body.triangles_m[body.face_part == body.parts.index("seat right")]
    assert (right[:, :, 0].min(), right[:, :, 0].max()) == pytest.approx((1.75, 2.25))
    (warning,) = findings
    assert (warning.code, warning.severity, warning.table, warning.found) == (
        "mesh-part-unmatched", Severity.WARNING, '[[surface]] "dor*"', "dor*",
    )  # fmt: skip


def test_parts_without_a_rule_are_panels_and_said_so(tmp_path: Path) -> None:
    body, findings = read(tmp_path, exported(scene(), "glb"), "body.glb", rules="")
    assert body is not None
    assert {rule.kind for rule in body.rules} == {SurfaceKind.PANEL}
    assert not any(rule.drill for rule in body.rules)
    assert [(f.code, f.severity) for f in findings] == [("mesh-part-unmatched", Severity.NOTE)]
    assert "'dust', 'seat left', 'seat right'" in findings[0].message


def test_an_ignored_part_that_is_kept_out_of_stays_in_the_body(tmp_path: Path) -> None:
    rules = '[[surface]]\npart = "*"\nkind = "ignore"\n[[keep_out]]\nname = "k"\npart = "dust"\n'
    rules += '[[keep_out]]\nname = "m"\npart = "dusst"\n'
    body, findings = read(tmp_path, exported(scene(), "glb"), "body.glb", rules=rules)
    assert body is not None
    assert len(body.faces) == 80
    assert body.rules[body.parts.index("dust")].kind is SurfaceKind.OBSTACLE
    assert [(f.table, f.nearest) for f in findings] == [('[[keep_out]] "m"', "dust")]


def test_glb_nodes_keep_their_names_and_equal_ones_are_told_apart(tmp_path: Path) -> None:
    rules = '[[surface]]\npart = "door"\nkind = "trim"\n'
    body, _ = read(tmp_path, triangle_glb(), "body.glb", rules=rules)
    assert body is not None
    assert body.parts == ("door", "door.2", "skin")
    # the rule names what the file calls both of them
    assert [rule.kind for rule in body.rules] == ["trim", "trim", "panel"]
    assert body.vertices_m.max(axis=0) == pytest.approx([2, 2, 4])
    assert len(body.faces) == 3  # the second primitive repeats the first


# --- what a job may call a part by ----------------------------------------------------------


def tree() -> bytes:
    """all > (cab > (front > seat, seat), rear > seat, unnamed > seat, lamp): one shape, five places."""
    nodes = [
        {"name": "all", "children": [1, 4, 6, 8], "scale": [2, 2, 2]},
        {"name": "cab", "children": [2, 3]},
        {"name": "front", "children": [9]},
        {"name": "seat", "mesh": 0, "translation": [0, 0, 1]},
        {"name": "rear", "children": [5]},
        {"name": "seat", "mesh": 0, "translation": [0, 0, 2]},
        {"children": [7]},
        {"name": "seat", "mesh": 0, "translation": [0, 0, 3]},
        {"name": "lamp", "mesh": 0, "translation": [0, 0, 4]},
        {"name": "seat", "mesh": 0},
    ]
    return triangle_glb(nodes=nodes)


HEIGHTS = {"front": 0.0, "cab": 2.0, "rear": 4.0, "unnamed": 6.0, "lamp": 8.0}
"""Where each part of `tree` lies, twice its place in the file."""


@pytest.mark.parametrize(
    ("glob", "meant"),
    [
        ("seat", ["front", "cab", "rear", "unnamed"]),  # every node called so, however many there are
        ("sea?", ["front", "cab", "rear", "unnamed"]),
        ("cab", ["front", "cab"]),  # all below a group, however deep
        ("front", ["front"]),
        ("c*", ["front", "cab"]),
        ("front/seat", ["front"]),
        ("cab/seat", ["cab"]),
        ("cab/*", ["front", "cab"]),
        ("cab/front/seat", ["front"]),
        ("*/seat", ["front", "cab", "rear"]),
        ("lamp", ["lamp"]),
        ("*", ["front", "cab", "rear", "unnamed", "lamp"]),
        ("all", []),  # holds the whole mesh: exporters make such a node up
        ("a*", []),
        ("Seat", []),
        ("eat", []),
    ],
)
def test_a_glob_means_nodes_groups_and_paths(tmp_path: Path, glob: str, meant: list[str]) -> None:
    """The same parts in [[surface]], in the keep-out that is verified, and in `Body`."""
    rules = f'[[surface]]\npart = "{glob}"\nkind = "trim"\n[[keep_out]]\nname = "k"\npart = "{glob}"\n'
    body, findings = read(tmp_path, tree(), "body.glb", rules=rules)
    assert body is not None
    heights = {HEIGHTS[name] for name in meant}
    low = body.triangles_m[:, :, 2].min(axis=1)
    assert set(low[body.faces_of_kind(SurfaceKind.TRIM)]) == heights
    assert set(low[body.faces_called(glob)]) == heights
    shape = make_shape(KeepOut(name="k", shape=PartShape(part=glob)), body)
    assert isinstance(shape, PartsShape)
    assert {float(t[:, 2].min()) for t in shape.faces.triangles_m} == heights
    unmatched = [f for f in findings if f.code == "mesh-part-unmatched" and f.severity is Severity.WARNING]
    assert len(unmatched) == (0 if meant else 2)


def test_one_of_several_equal_names_can_be_meant_by_its_number(tmp_path: Path) -> None:
    body, _ = read(tmp_path, tree(), "body.glb")
    assert body is not None
    assert body.parts == ("lamp", "seat", "seat.2", "seat.3", "seat.4")
    assert body.parts_called("seat.3").tolist() == [False, False, False, True, False]
    assert body.parts_called("seat").sum() == 4


def test_an_ignored_group_that_is_kept_out_of_stays_in_the_body(tmp_path: Path) -> None:
    rules = '[[surface]]\npart = "*"\nkind = "ignore"\n[[keep_out]]\nname = "k"\npart = "cab"\n'
    body, _ = read(tmp_path, tree(), "body.glb", rules=rules)
    assert body is not None
    assert sorted(set(body.triangles_m[:, 0, 2])) == [0.0, 2.0]


def test_a_slip_in_a_groups_name_is_told_with_the_nearest(tmp_path: Path) -> None:
    rules = '[[surface]]\npart = "reer"\nkind = "trim"\n'
    _, findings = read(tmp_path, tree(), "body.glb", rules=rules)
    assert [f.nearest for f in findings if f.severity is Severity.WARNING] == ["rear"]


def test_a_body_made_without_names_is_called_by_its_parts(tmp_path: Path) -> None:
    body, _ = read(tmp_path, tree(), "body.glb")
    assert body is not None
    bare = replace(body, part_names=())
    assert bare.parts_called("seat").tolist() == [False, True, False, False, False]
    none = replace(bare, parts=(), rules=(), faces=body.faces[:0], face_part=body.face_part[:0])
    assert none.faces_called("*").shape == (0,)


DAE = """<?xml version="1.0"?>
<COLLADA xmlns="http://www.collada.org/2005/11/COLLADASchema" version="1.4.1">
<asset><unit meter="1"/><up_axis>Z_UP</up_axis></asset>
<library_geometries><geometry id="shape"><mesh>
<source id="p"><float_array id="pa" count="9">0 0 0 1 0 0 0 1 0</float_array><technique_common>
<accessor source="#pa" count="3" stride="3"><param name="X" type="float"/><param name="Y" type="float"/>
<param name="Z" type="float"/></accessor></technique_common></source>
<vertices id="v"><input semantic="POSITION" source="#p"/></vertices>
<triangles count="1"><input semantic="VERTEX" source="#v" offset="0"/><p>0 1 2</p></triangles>
</mesh></geometry></library_geometries>
<library_nodes><node id="pair" name="pair">{pair}</node></library_nodes>
<library_visual_scenes><visual_scene id="s">
<node id="n0" name="van"><scale>2 2 2</scale>
 <node id="n1" name="cab">
  <node id="n2" name="seat"><translate>0 0 1</translate><instance_geometry url="#shape"/></node>
  <node id="n3" name="seat"><translate>0 0 2</translate><instance_geometry url="#shape"/></node>
 </node>
 <node id="n4"><translate>0 0 3</translate><instance_geometry url="#shape"/></node>
 <node id="n5" name="left"><translate>0 0 4</translate><instance_node url="#pair"/></node>
</node>
</visual_scene></library_visual_scenes>
<scene><instance_visual_scene url="#s"/></scene></COLLADA>"""
SHAPE = '<instance_geometry url="#shape"/>'


def test_collada_nodes_and_groups(tmp_path: Path) -> None:
    raw = DAE.format(pair=SHAPE).encode()
    body, _ = read(tmp_path, raw, "body.dae", rules='[[surface]]\npart = "cab"\nkind = "trim"\n')
    assert body is not None
    assert body.parts == ("n4", "pair", "seat", "seat.2")
    low = body.triangles_m[:, :, 2].min(axis=1)
    assert sorted(low) == [2.0, 4.0, 6.0, 8.0]
    assert body.triangles_m[:, :, 0].max() == 2.0  # the outer node's scale
    assert sorted(low[body.faces_of_kind(SurfaceKind.TRIM)]) == [2.0, 4.0]
    assert sorted(low[body.faces_called("left/pair")]) == [8.0]


def test_collada_instances_without_end_are_refused(tmp_path: Path) -> None:
    """Twenty nodes, each showing the next twice: a million shapes from two kilobytes."""
    more = "".join(
        f'<node id="m{k}">{2 * (f"""<instance_node url="#m{k + 1}"/>""" if k < 20 else SHAPE)}</node>'
        for k in range(20, -1, -1)
    )
    raw = DAE.format(pair='<instance_node url="#m0"/>').replace("<library_nodes>", f"<library_nodes>{more}")
    body, findings = read(tmp_path, raw.encode(), "body.dae")
    assert body is None
    assert "without end" in findings[0].message


def object_3mf(number: int, name: str) -> str:
    """A triangle two metres long, at a height of its own."""
    corners = "".join(f'<vertex x="{x}" y="{y}" z="{number}"/>' for x, y in ((0, 0), (2000, 0), (0, 9)))
    return (
        f'<object id="{number}" type="model" name="{name}"><mesh><vertices>{corners}</vertices>'
        '<triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh></object>'
    )


def test_3mf_objects_of_equal_names_keep_them(tmp_path: Path) -> None:
    names = ["seat", "seat", "rack_2", "rack", "tools &amp; rope", "tools &amp; rope"]
    objects = "".join(object_3mf(number, name) for number, name in enumerate(names, start=1))
    items = "".join(f'<item objectid="{number}"/>' for number in range(1, len(names) + 1))
    model = (
        '<model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">'
        f"<resources>{objects}</resources><build>{items}</build></model>"
    )
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("3D/3dmodel.model", model)
    body, findings = read(tmp_path, packed.getvalue(), "body.3mf", unit="mm")
    assert body is not None, findings
    assert body.parts == ("rack", "rack_2", "seat", "seat.2", "tools & rope", "tools & rope.2")
    assert [int(body.parts_called(glob).sum()) for glob in ("seat", "rack", "rack_2", "tools & rope")] == [
        2,
        1,
        1,
        2,
    ]


def test_obj_names_are_its_objects_and_groups() -> None:
    text = (
        b"v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nf 1 2 3\no hull\nf 1 3 4\ng door left\nusemtl red\nf -4 -3 -1\n"
    )
    found = read_obj(text, most_faces=9)
    corners = {p.name: p.vertices[p.faces][0, :, :2].astype(int).tolist() for p in found}
    assert corners == {
        "body": [[0, 0], [1, 0], [1, 1]],
        "hull": [[0, 0], [1, 1], [0, 1]],
        "door left": [[0, 0], [1, 0], [0, 1]],
    }
    assert {p.name: p.groups for p in found} == {"body": (), "hull": (), "door left": ("hull",)}
    assert [len(p.vertices) for p in found] == [3, 3, 3]  # each has its own points only


def test_groups_of_two_obj_objects_do_not_run_together() -> None:
    text = b"v 0 0 0\nv 1 0 0\nv 0 1 0\no left\ng lid\nf 1 2 3\no right\nf 1 3 2\ng lid\nf 3 2 1\n"
    found = [(p.name, p.groups) for p in read_obj(text, most_faces=9)]
    assert found == [("lid", ("left",)), ("lid", ("right",)), ("right", ())]
