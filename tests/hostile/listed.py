"""The list of hostile files: every class of the reliability page, and the files of each."""

from __future__ import annotations

import struct
from typing import Any, Final

import numpy as np

from tests.hostile.files import (
    CASES,
    FLAT,
    OBJ,
    TRIANGLE,
    add,
    broad,
    doubling,
    glb_changed,
    grid,
    job,
    job_round,
    linked,
    many_entries,
    mesh,
    mirrored,
    pit,
    ply,
    shown_often,
    sparse,
    stl,
    three_mf,
    zipped,
)
from tests.survey.mesh_bytes import exported, scene, triangle_glb
from tests.survey.test_parts import DAE, SHAPE

__all__ = ["CASES"]

KINDS: Final = ("obj", "ply", "stl", "off", "glb", "3mf", "dae")
DAE_TEXT: Final = DAE.format(pair=SHAPE)

# --- nothing in it ------------------------------------------------------------------------------

for kind in KINDS:
    add(f"an empty {kind}", "empty mesh", mesh(f"body.{kind}", b""), "it is empty")
    add(f"a {kind} of blanks", "empty mesh", mesh(f"body.{kind}", b" \n\0" * 900), "it is empty")
    other = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 4
    add(f"a picture called {kind}", "wrong header", mesh(f"body.{kind}", other), "The mesh can't be used")
add("an obj of points", "empty mesh", mesh("body.obj", OBJ.split("f ", maxsplit=1)[0].encode()), "no faces")
add("a ply of points", "empty mesh", mesh("body.ply", ply("0 0 0\n", "", (1, 0))), "no faces")
add("a glb of nothing", "empty mesh", mesh("body.glb", glb_changed(lambda d: d.update(nodes=[]))), "no faces")
add(
    "faces without area",
    "zero-area faces",
    mesh("body.obj", b"v 0 0 0\nv 2 0 0\nv 4 0 0\nf 1 2 3\n"),
    "have no area",
)
add(
    "some faces without area",
    "zero-area faces",
    mesh("body.obj", f"{OBJ}f 1 1 2\nf 1 2 2\n".encode()),
    "2 faces without area",
    code=0,
)

# --- figures that are none ----------------------------------------------------------------------

for word in ("nan", "inf", "-inf", "1e999"):
    add(
        f"an obj at {word}",
        "NaN and infinite vertices",
        mesh("body.obj", OBJ.replace("4 0.8 0", f"{word} 0.8 0").encode()),
        "not finite numbers",
    )
    spoilt = FLAT.copy()
    spoilt[0, 1, 2] = float(word)
    add(
        f"an stl at {word}",
        "NaN and infinite vertices",
        mesh("body.stl", stl(1, spoilt)),
        "not finite numbers",
    )
    add(
        f"a ply at {word}",
        "NaN and infinite vertices",
        mesh("body.ply", ply(f"0 0 0\n4 0 {word}\n0 2 1\n", "3 0 1 2\n", (3, 1))),
        "not finite numbers",
    )
data = (
    np.array([0, 0, 0, np.nan, 0, 0, 0, 1, 0], dtype="<f4").tobytes() + np.array([0, 1, 2], "<u4").tobytes()
)
add(
    "a glb at nan",
    "NaN and infinite vertices",
    mesh("body.glb", glb_changed(lambda d: None, data)),
    "not finite",
)
add(
    "an obj far out",
    "NaN and infinite vertices",
    mesh("body.obj", OBJ.replace("4 ", "1e300 ").encode()),
    "beyond",
)

# --- bookkeeping that lies ----------------------------------------------------------------------

add(
    "an obj corner 0",
    "index out of range",
    mesh("body.obj", f"{OBJ}f 0 1 2\n".encode()),
    "line 9: a face names",
)
add("an obj corner 99", "index out of range", mesh("body.obj", f"{OBJ}f 1 2 99\n".encode()), "names point 99")
add("an obj corner -9", "index out of range", mesh("body.obj", f"{OBJ}f 1 2 -9\n".encode()), "names point -9")
for corner in ("7", "-1", "4294967296", "99999999999999999999"):
    text = ply("0 0 0\n4 0 0\n0 2 1\n", f"3 0 1 {corner}\n", (3, 1))
    add(f"a ply corner {corner}", "index out of range", mesh("body.ply", text), "The mesh can't be used")
    text = f"OFF\n3 1 0\n0 0 0\n4 0 0\n0 2 1\n3 0 1 {corner}\n".encode()
    add(f"an off corner {corner}", "index out of range", mesh("body.off", text), "The mesh can't be used")
add(
    "a glb corner 7",
    "index out of range",
    mesh("body.glb", glb_changed(lambda d: None, triangle_glb()[-48:-4] + struct.pack("<I", 7))),
    "The mesh can't be used",
)
add(
    "a 3mf corner 7",
    "index out of range",
    mesh(
        "body.3mf",
        three_mf(
            f'<resources><object id="1">{TRIANGLE.replace("v3=" + chr(34) + "2", "v3=" + chr(34) + "7")}</object>'
            '</resources><build><item objectid="1"/></build>'
        ),
    ),
    "The mesh can't be used",
)
for count in (0, 2, 50_000_000, 2**32 - 1):
    add(
        f"an stl of 1 that says {count}",
        "face count that lies",
        mesh("body.stl", stl(count, FLAT)),
        f"says {count} tri",
    )
add(
    "an stl of 50 million",
    "50 million faces",
    sparse("body.stl", b"\0" * 80 + struct.pack("<I", 50_000_000), 84 + 50 * 50_000_000),
    "larger than 300 MB",
)
for said in ((3, 50_000_000), (50_000_000, 1), (3, 2)):
    kind = "50 million faces" if max(said) > 9 else "face count that lies"
    text = ply("0 0 0\n4 0 0\n0 2 1\n", "3 0 1 2\n", said)
    add(f"a ply that says {said}", kind, mesh("body.ply", text), "The mesh can't be used")
    text = f"OFF\n{said[0]} {said[1]} 0\n0 0 0\n4 0 0\n0 2 1\n3 0 1 2\n".encode()
    add(f"an off that says {said}", kind, mesh("body.off", text), "The mesh can't be used")
add(
    "a glb that says 50 million",
    "50 million faces",
    mesh("body.glb", glb_changed(lambda d: d["accessors"][1].update(count=150_000_000))),
    "50000000 faces",
)
add(
    "a glb chunk of 4 GiB",
    "face count that lies",
    mesh("body.glb", triangle_glb()[:12] + struct.pack("<I", 2**32 - 1) + triangle_glb()[16:]),
    "more than the file has left",
)
add(
    "an obj of 30 million",
    "50 million faces",
    mesh("body.obj", lambda: OBJ.encode() + b"f 1 2 3\n" * 30_000_000),
    "more than 3000000 faces",
)
add(
    "an obj of 30 million points",
    "50 million faces",
    mesh("body.obj", lambda: OBJ.encode() + b"v 0 0 0\n" * 30_000_000),
    "Points alone bear no cable",
)
add(
    "an obj of one line",
    "50 million faces",
    mesh("body.obj", lambda: OBJ.encode() + b"f" + b" 1" * 20_000_000),
    "line 9: longer than",
)
add(
    "an off of 80 MB",
    "50 million faces",
    mesh("body.off", lambda: b"OFF\n3 1 0\n" + b"0 " * 40_000_000),
    "it is text of 80 MB",
)
add(
    "an stl text of 80 MB",
    "50 million faces",
    mesh("body.stl", lambda: b"solid a\n" + b"0 " * 40_000_000 + b"endfacet\nendsolid\n"),
    "it is text of 80 MB",
)

# --- bombs --------------------------------------------------------------------------------------

add(
    "a 3mf of 0.1 MB that unpacks to 130 MB",
    "3MF and ZIP bombs",
    mesh("body.3mf", lambda: zipped({"3D/3dmodel.model": b" " * 65_000_000, "b": b" " * 65_000_000})),
    "unpacked it is larger than 120 MB",
)
add("a 3mf of 40 levels", "3MF and ZIP bombs", mesh("body.3mf", doubling(40)), "faces; 3000000 can be read")
add(
    "a 3mf in a ring",
    "3MF and ZIP bombs",
    mesh(
        "body.3mf",
        three_mf(
            '<resources><object id="1"><components><component objectid="2"/></components></object>'
            '<object id="2"><components><component objectid="1"/></components></object></resources>'
            '<build><item objectid="1"/></build>'
        ),
    ),
    "in a ring",
)
add(
    "a 3mf of a million files",
    "3MF and ZIP bombs",
    mesh("body.3mf", lambda: many_entries(1_000_000)),
    "more than 1000 files",
)
add(
    "a 3mf of empty tags",
    "3MF and ZIP bombs",
    mesh("body.3mf", lambda: three_mf("<a/>" * 5_000_000)),
    "more than 3000000 tags",
)
add(
    "a 3mf in a 3mf",
    "3MF and ZIP bombs",
    mesh("body.3mf", zipped({"inner.3mf": doubling(3)})),
    "there is no model in it",
)
add(
    "a dae of empty tags",
    "3MF and ZIP bombs",
    mesh("body.dae", lambda: DAE_TEXT.replace("</COLLADA>", "<a/>" * 5_000_000 + "</COLLADA>").encode()),
    "more than 3000000 tags",
)
add(
    "a glb of 60 MB of brackets",
    "3MF and ZIP bombs",
    mesh("body.glb", lambda: broad(20_000_000)),
    "its description is 60 MB",
)
add("a glb 100,000 deep", "3MF and ZIP bombs", mesh("body.glb", pit(100_000)), "not valid JSON")
add(
    "a glb shown 500 times",
    "3MF and ZIP bombs",
    mesh("body.glb", lambda: shown_often(1_000_000, 500)),
    "points for that many faces",
)

# --- what points elsewhere ----------------------------------------------------------------------


def _glb_elsewhere(*, buffer: str = "", picture: str = "") -> bytes:
    def change(d: dict[str, Any]) -> None:
        if buffer:
            d["buffers"][0].update(uri=buffer)
        if picture:
            d.update(images=[{"uri": picture}], textures=[{"source": 0}])

    return glb_changed(change)


ELSEWHERE: Final = (
    "../outside.mtl",
    "/etc/passwd",
    "http://127.0.0.1:9/a",
    "file:///etc/passwd",
    "\\\\host\\share\\a",
)
for place in ELSEWHERE:
    add(
        f"an obj with mtllib {place}",
        "references outside the folder",
        mesh("body.obj", f"mtllib {place}\nusemtl x\n{OBJ}".encode()),
        "no errors",
        code=0,
    )
    add(
        f"a glb with a buffer at {place}",
        "references outside the folder",
        mesh("body.glb", _glb_elsewhere(buffer=place)),
        "The mesh can't be used",
    )
    add(
        f"a glb with a picture at {place}",
        "references outside the folder",
        mesh(
            "body.glb",
            _glb_elsewhere(picture=place),
        ),
        "no errors",
        code=0,
    )
    picture = f'<library_images><image id="i"><init_from>{place}</init_from></image></library_images>'
    add(
        f"a dae with a picture at {place}",
        "references outside the folder",
        mesh("body.dae", DAE_TEXT.replace("<library_geometries>", picture + "<library_geometries>").encode()),
        "no errors",
        code=0,
    )
    add(
        f"a dae with a shape at {place}",
        "references outside the folder",
        mesh("body.dae", DAE_TEXT.replace('url="#shape"', f'url="{place}#shape"').encode()),
        "The mesh can't be used",
    )
add(
    "a mesh called ../outside.obj",
    "references outside the folder",
    job(job_round("../outside.obj")),
    "not inside the job folder",
)
add(
    "a mesh called /etc/passwd",
    "references outside the folder",
    job(job_round("/etc/passwd")),
    "not inside the job folder",
)
add(
    "a mesh called http://",
    "references outside the folder",
    job(job_round("http://127.0.0.1:9/body.obj")),
    "there is no such file",
)

ENTITIES: Final = {
    "laughs": '<!DOCTYPE a [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;">]>',
    "a file": '<!DOCTYPE a [<!ENTITY a SYSTEM "file:///etc/passwd">]>',
    "a URL": '<!DOCTYPE a SYSTEM "http://127.0.0.1:9/a.dtd">',
}
for name, doctype in ENTITIES.items():
    xml = DAE_TEXT.replace("<COLLADA", f"{doctype}<COLLADA", 1)
    add(f"a dae with entities of {name}", "XML entities", mesh("body.dae", xml.encode()), "defines entities")
    wide = xml.replace('<?xml version="1.0"?>', '<?xml version="1.0" encoding="UTF-16"?>').encode("utf-16")
    add(f"a wide dae with entities of {name}", "XML entities", mesh("body.dae", wide), "not UTF-8 text")
    add(
        f"a 3mf with entities of {name}",
        "XML entities",
        mesh("body.3mf", three_mf("<resources/>", head=doctype)),
        "defines entities",
    )
seven = DAE_TEXT.replace(
    '<?xml version="1.0"?>', '<?xml version="1.0" encoding="UTF-7"?>+ADwAIQ-DOCTYPE a+AD4-'
)
add("a dae in UTF-7", "XML entities", mesh("body.dae", seven.encode()), "not UTF-8 text")

# --- units and sides ----------------------------------------------------------------------------

add(
    "millimetres as metres",
    "millimetres and metres",
    mesh("body.obj", grid(1000)),
    "It would be a vehicle in mm",
)
add(
    "metres as millimetres",
    "millimetres and metres",
    mesh("body.obj", grid(1), unit="mm"),
    "It would be a vehicle in",
)
add(
    "a file that says mm", "millimetres and metres", mesh("body.3mf", exported(scene(), "3mf")), "its unit is"
)
add("a left bolt on the right", "mirrored axes", mirrored(), "whether the mesh is mirrored", code=0)
add(
    "axes that are two of one",
    "mirrored axes",
    job(job_round("body.obj", axes="+x rear, +y rear, +z up")),
    "[not-allowed]",
)

# --- job files ----------------------------------------------------------------------------------

add(
    "a job of 100 MB",
    "job file of 100 MB",
    sparse("job.toml", b"title = 1\n", 100_000_000),
    "larger than 5 MB",
)
add(
    "a job of 100 MB of names",
    "job file of 100 MB",
    job(lambda: b'[[space]]\nname = "x"\n' * 4_000_000),
    "larger than 5 MB",
)
for opening in ("[", "{ a = ", "[[", "a.", '{"a":'):
    add(f"a job of {opening * 3}", "deep nesting", job(f"a = {opening * 100_000}"), "[job-unreadable]")
add("a job of dots", "deep nesting", job(b"a" + b".a" * 200_000 + b" = 1"), "nested too deeply")
GOOD: Final = job_round("body.obj")
for number in ("1e400", "-1e400", "9" * 400, "1" + "0" * 5000, "nan", "inf", "0x" + "f" * 3000, "1e-400"):
    code = 0 if number == "1e-400" else 2
    add(
        f"a figure of {number[:12]}, {len(number)} long",
        "huge numbers",
        job(f"{GOOD}\n[routing]\nbridge = {number}\n"),
        "no errors" if not code else "job.toml",
        code=code,
    )
add("a key twice", "keys given twice", job(f'length_unit = "m"\n{GOOD}'), "[job-unreadable]")
add("a table twice", "keys given twice", job(f"{GOOD}\n[routing]\n[routing]\n"), "[job-unreadable]")
add(
    "a space twice",
    "keys given twice",
    job(GOOD + 2 * '[[space]]\nname = "a"\nbox = [[0, 0, 0], [1, 1, 1]]\n'),
    "[duplicate-name]",
)

# --- links --------------------------------------------------------------------------------------

add(
    "a mesh that is a link out",
    "paths through links",
    linked("body.obj", "../outside.obj"),
    "not inside the job folder",
)
add("a mesh that is a link to itself", "paths through links", linked("body.obj", "body.obj"), "body.obj")
add(
    "a mesh that is a link to a device",
    "paths through links",
    linked("body.obj", "/dev/zero"),
    "not inside the job folder",
)
add(
    "a job that is a link out",
    "paths through links",
    linked("job.toml", "../../job.toml"),
    "leaves the job folder",
)
add("a mesh that is a folder", "paths through links", linked("body.obj", "."), "it is no file")
