"""Looks at a mesh file before anything is parsed, and hands its parts over raw.

Stage      survey
Units      file units and file axes, exactly as written
Safe side  sizes and counts are checked before parsing; a file that contradicts itself is
           refused, with the reason, rather than read in part
"""

from __future__ import annotations

import io
import lzma
import re
import struct
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from typing import Final

import numpy as np

from routecut.survey.faults import shown
from routecut.survey.mesh_dae import read_dae
from routecut.survey.mesh_glb import read_glb
from routecut.survey.mesh_obj import read_obj
from routecut.survey.mesh_raw import (
    FARTHEST,
    LARGEST_FILE_BYTES,
    LARGEST_XML_BYTES,
    MOST_FACES,
    Floats,
    Ints,
    MeshFileError,
    RawMesh,
    RawPart,
    check_count,
    load_parts,
)


def read_mesh_bytes(raw: bytes, suffix: str) -> RawMesh:
    """The parts of a mesh file.

    Parameters
    ----------
    raw : bytes
        The file.
    suffix : str
        Its ending, ``.glb`` and so on, in lower case.

    Raises
    ------
    MeshFileError
        For every reason a file can't be read.
    """
    if suffix not in READERS:
        raise MeshFileError(
            f"files ending in {suffix!r} can't be read"
            if suffix
            else "the file has no ending that says its kind"
        )
    if len(raw) > LARGEST_FILE_BYTES:
        raise MeshFileError(f"it is larger than {LARGEST_FILE_BYTES // 1_000_000} MB")
    if not raw.strip(b"\0 \r\n\t"):
        raise MeshFileError("it is empty")
    mesh = READERS[suffix](raw)
    faces = 0
    for part in mesh.parts:
        _check_part(part)
        faces += len(part.faces)
    if not faces:
        raise MeshFileError("it holds no faces")
    check_count(faces, "faces")
    return mesh


def _check_part(part: RawPart) -> None:
    if part.vertices.ndim != 2 or part.vertices.shape[1] != 3:
        raise MeshFileError(f"the points of part {shown(part.name)} are not three-dimensional")
    if len(part.faces) and (part.faces.min() < 0 or part.faces.max() >= len(part.vertices)):
        raise MeshFileError(f"part {shown(part.name)} has a face that names a point the file does not have")
    used = part.vertices[part.faces.reshape(-1)]
    bad = int((~np.isfinite(used)).any(axis=1).sum())
    if bad:
        raise MeshFileError(
            f"part {shown(part.name)} has {bad} face corners whose coordinates are not finite numbers"
        )
    if len(used) and np.abs(used).max() > FARTHEST:
        raise MeshFileError(f"part {shown(part.name)} has coordinates beyond {FARTHEST:g}")


# --- formats with one piece ------------------------------------------------------------


def _read_stl(raw: bytes) -> RawMesh:
    said = struct.unpack_from("<I", raw, 80)[0] if len(raw) >= 84 else -1
    if len(raw) == 84 + 50 * said:
        check_count(said, "faces")
        kind = "stl"
    elif raw[:200].lstrip().lower().startswith(b"solid"):
        written = raw.lower().count(b"endfacet")
        if b"endsolid" not in raw.lower() or not written:
            raise MeshFileError("it is an STL text that is cut short")
        check_count(written, "faces")
        kind = "stl_ascii"
    else:
        holds = max(0, (len(raw) - 84) // 50)
        raise MeshFileError(f"its header says {said} triangles, the file holds {holds}")
    parts = _parts(load_parts(raw, kind))
    if kind == "stl_ascii" and sum(len(part.faces) for part in parts) != written:
        raise MeshFileError(f"of its {written} triangles not all could be read")
    return RawMesh(parts=parts)


def _read_ply(raw: bytes) -> RawMesh:
    head = raw[: raw.find(b"end_header")]
    if not raw.startswith(b"ply") or len(head) < 10:
        raise MeshFileError("it does not begin as a PLY file does")
    counts = {m[1].decode(): int(m[2]) for m in re.finditer(rb"element\s+(\w+)\s+(\d{1,12})", head)}
    return _counted(raw, "ply", counts.get("vertex", 0), counts.get("face", 0))


def _read_off(raw: bytes) -> RawMesh:
    text = re.sub(rb"#[^\n]*", b"", raw)
    head = re.match(rb"\s*(?:C|N|ST)*OFF\s+(\d{1,12})\s+(\d{1,12})", text)
    if head is None:
        raise MeshFileError("it does not begin as an OFF file does")
    return _counted(raw, "off", int(head[1]), int(head[2]))


def _counted(raw: bytes, kind: str, vertices: int, faces: int) -> RawMesh:
    """A file whose header says how much it holds; it must hold that."""
    if not faces:
        raise MeshFileError("it holds no faces")
    check_count(faces, "faces")
    check_count(vertices // 3, "points for that many faces")
    if vertices + faces > len(raw):  # every one takes more than a byte
        raise MeshFileError(
            f"its header says {vertices} points and {faces} faces, more than the file has room for"
        )
    parts = _parts(load_parts(raw, kind))
    got_vertices, got_faces = (sum(len(a) for a in arrays) for arrays in _arrays(parts))
    if got_vertices != vertices or got_faces < faces:
        raise MeshFileError(
            f"its header says {vertices} points and {faces} faces, "
            f"but {got_vertices} and {got_faces} could be read"
        )
    return RawMesh(parts=parts)


def _arrays(parts: tuple[RawPart, ...]) -> tuple[list[Floats], list[Ints]]:
    return [part.vertices for part in parts], [part.faces for part in parts]


def _parts(loaded: list[tuple[str, str, Floats, Ints]]) -> tuple[RawPart, ...]:
    """Parts by node name; a name the library made up is "body"."""
    return tuple(
        RawPart(name="body" if re.fullmatch(r"geometry_\d+", node) else node, vertices=vertices, faces=faces)
        for node, _, vertices, faces in loaded
    )


# --- XML formats -----------------------------------------------------------------------


def _read_dae(raw: bytes) -> RawMesh:
    _check_xml(raw)
    return read_dae(raw)


_3MF_UNITS: Final = {
    "micron": 1e-6,
    "millimeter": 0.001,
    "centimeter": 0.01,
    "inch": 0.0254,
    "foot": 0.3048,
    "meter": 1.0,
}


def _read_3mf(raw: bytes) -> RawMesh:
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            if sum(info.file_size for info in archive.infolist()) > LARGEST_XML_BYTES:
                raise MeshFileError(f"unpacked it is larger than {LARGEST_XML_BYTES // 1_000_000} MB")
            models = [name for name in archive.namelist() if name.lower().endswith(".model")]
            if not models:
                raise MeshFileError("there is no model in it")
            root = b""
            names: set[str] = set()
            for name in models:
                text = archive.read(name)
                _check_xml(text)
                names |= {
                    unescape(tag.decode("utf-8", "replace"))
                    for tag in re.findall(rb"<(?:\w+:)?object\b[^>]*?\sname\s*=\s*[\"']([^\"']*)[\"']", text)
                }
                if "3d/3dmodel.model" in name.lower():
                    root = text[:20_000]
    except (
        zipfile.BadZipFile,
        zlib.error,
        lzma.LZMAError,
        OSError,
        RuntimeError,
        NotImplementedError,
        ValueError,
        EOFError,
        KeyError,
    ) as error:
        raise MeshFileError(f"it is not a readable 3MF package: {error}") from None
    tag = re.search(rb"<(?:\w+:)?model\b[^>]*?\bunit\s*=\s*[\"'](\w+)[\"']", root)
    word = tag[1].decode() if tag else "millimeter"
    if word not in _3MF_UNITS:
        raise MeshFileError(f"its unit {word!r} is none of the format's")
    parts = tuple(replace(part, name=_3mf_name(part.name, names)) for part in _parts(load_parts(raw, "3mf")))
    return RawMesh(parts=parts, metres_per_unit=_3MF_UNITS[word])


def _3mf_name(found: str, names: set[str]) -> str:
    """The name in the file: the library numbers equal ones, seat_1, seat_2."""
    base = re.fullmatch(r"(.+)_\d+", found)
    return base[1] if base is not None and found not in names and base[1] in names else found


def _check_xml(text: bytes) -> None:
    if len(text) > LARGEST_XML_BYTES:
        raise MeshFileError(f"its XML is larger than {LARGEST_XML_BYTES // 1_000_000} MB")
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
        raise MeshFileError("its XML defines entities, which a mesh has no need of")
    check_count(text.count(b"<triangle "), "faces")


def _read_obj(raw: bytes) -> RawMesh:
    try:
        with np.errstate(all="ignore"):  # of coordinates beyond reason, which are refused further on
            groups = read_obj(raw, most_faces=MOST_FACES)
    except ValueError as error:
        raise MeshFileError(str(error)) from None
    return RawMesh(parts=tuple(groups))


READERS: Final[dict[str, Callable[[bytes], RawMesh]]] = {
    ".glb": read_glb,
    ".obj": _read_obj,
    ".ply": _read_ply,
    ".stl": _read_stl,
    ".3mf": _read_3mf,
    ".dae": _read_dae,
    ".off": _read_off,
}
"""Kinds of mesh file that can be read, by file ending."""
