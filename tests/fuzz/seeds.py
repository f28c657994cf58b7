"""What fuzzing begins with: small good files of every kind, and files that once made trouble."""

from __future__ import annotations

import json
import random
import struct
from pathlib import Path
from typing import Final

from tests.fuzz.targets import MESH_KINDS, TARGETS, packed_3mf
from tests.survey.conftest import FULL_JOB
from tests.survey.mesh_bytes import exported, triangle_glb, van
from tests.survey.test_parts import DAE, SHAPE

_JOBS: Final = (0, 1, 5)
"""Seeds of bytes that stand for a job planned in part, one refused, one planned."""
KEPT: Final = Path(__file__).with_name("kept")
"""One folder for each target; the files in it are inputs that once made trouble, or led far inside."""

_OBJ: Final = (
    b"mtllib a.mtl\no front\nv 0 0 0\nv 2 0 0\nv 2 1 0\nv 0 1 1\nusemtl a\nf 1/1 2 3\ng lid\nf 1 2 3 -1\n"
)

_3MF: Final = b"""<?xml version="1.0"?>
<model unit="meter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources>
<object id="1" name="seat" type="model"><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="2" y="0" z="0"/>
<vertex x="0" y="1" z="1"/><vertex x="1" y="1" z="2"/></vertices>
<triangles><triangle v1="0" v2="1" v3="2"/><triangle v1="1" v2="2" v3="3"/></triangles></mesh></object>
<object id="2" name="bench" type="model"><components><component objectid="1" transform="1 0 0 0 1 0 0 0 1 0 2 0"/>
</components></object></resources><build><item objectid="1"/><item objectid="2"/></build></model>"""

WORDS: Final = (
    *(
        "nan",
        "inf",
        "-0",
        "1e308",
        "1e-308",
        "9999999999999999999",
        "-1",
        "0x",
        "true",
        "''",
        '"""',
        "[[",
        "]]",
    ),
    *("../", "/etc/passwd", "\\u202e", "\\u0000", "=cmd()", "</script>", "http://", "file:///", "<!ENTITY"),
    *("[[space]]", "[[cable]]", "[[device]]", "[[device.port]]", "[[pass_through]]", "[[keep_out]]"),
    *("[[surface]]", "[[landmark]]", "[[stock]]", "[[cable_type]]", "[routing]", "[lengths]", "[drilling]"),
    *("tape = {", "snap = true", "side = 'left'", "sweep", "boxes", "seed", "open_to", "joins", "axis"),
    *("diameter", "depth", "in_use", "leaves", "offset", "through", "avoid", "measured", "load", "signal"),
    *("end_header", "element face", "element vertex", "property list", "format ascii 1.0", "endfacet"),
    *("endsolid", "facet normal", "vertex", "usemtl", "mtllib", "OFF", "<triangle ", "<vertex ", "unit="),
    *("instance_node", "instance_geometry", "float_array", "matrix", "meter", "up_axis", "componentType"),
    *("byteOffset", "byteStride", "bufferView", "children", "primitives", "POSITION", "indices", "sparse"),
)
"""Pieces that a mutation may put in."""


def first(target: str) -> list[bytes]:
    """Good files of every kind, and those kept."""
    match target:
        case "job":
            made = [FULL_JOB.encode()]
        case "edits":
            made = [bytes([7, place, 0, number]) for place in range(0, 200, 9) for number in range(0, 21, 7)]
        case "jobs":
            made = [random.Random(k).randbytes(4000) for k in _JOBS]  # noqa: S311 - no secret
        case _:
            made = [bytes([k]) + _good(k) for k in range(len(MESH_KINDS))]
    return made + [path.read_bytes() for path in kept(target)]


def kept(target: str) -> list[Path]:
    """The files kept for a target, in the order of their names."""
    assert target in TARGETS
    return sorted((KEPT / target).glob("*"))


def _good(number: int) -> bytes:
    match MESH_KINDS[number]:
        case "obj":
            return _OBJ
        case "dae":
            return DAE.format(pair=SHAPE).encode()
        case "glb":
            return triangle_glb()
        case "glb text":
            raw = triangle_glb()
            document = json.loads(raw[20 : 20 + struct.unpack("<I", raw[12:16])[0]])
            return json.dumps(document).encode()
        case "3mf":
            return packed_3mf(_3MF)
        case "3mf text":
            return _3MF
        case kind:
            return exported(van(), kind)
