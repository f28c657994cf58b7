"""Looks at a mesh file before anything is parsed, and hands its parts over raw.

Stage      survey
Units      file units and file axes, exactly as written
Safe side  sizes and counts are checked before parsing; a file that contradicts itself is
           refused, with the reason, rather than read in part
"""

from __future__ import annotations

import re
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Final

import numpy as np

from routecut.plain import shown
from routecut.survey.mesh_3mf import read_3mf
from routecut.survey.mesh_dae import read_dae
from routecut.survey.mesh_glb import read_glb
from routecut.survey.mesh_obj import read_obj
from routecut.survey.mesh_raw import (
    FARTHEST,
    LARGEST_FILE_BYTES,
    MOST_FACES,
    Floats,
    Ints,
    MeshFileError,
    RawMesh,
    RawPart,
    check_count,
    check_text,
    check_xml,
    load_parts,
    named_parts,
)

_STL_HEAD: Final = 84  # bytes before the first triangle of a binary STL


def mesh_bytes(file: Path) -> bytes:
    """A mesh file as it is, looked at before a byte of it is read.

    Raises
    ------
    MeshFileError
        It is no ordinary file (a pipe would be waited for, a device never ends), or too large.
    OSError
        It can't be read.
    """
    if file.exists() and not file.is_file():
        raise MeshFileError("it is no ordinary file")
    _refuse_large(file.stat().st_size)
    return file.read_bytes()


def _refuse_large(size: int) -> None:
    if size > LARGEST_FILE_BYTES:
        raise MeshFileError(f"it is larger than {LARGEST_FILE_BYTES // 1_000_000} MB")


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
            (
                f"files ending in {shown(suffix)} can't be read"
                if suffix
                else "the file has no ending that says its kind"
            )
            + f"; save it as one of {', '.join(READERS)}"
        )
    _refuse_large(len(raw))
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
    said = struct.unpack_from("<I", raw, 80)[0] if len(raw) >= _STL_HEAD else None
    if said is not None and len(raw) == _STL_HEAD + 50 * said:
        check_count(said, "faces")
        kind = "stl"
    elif raw[:200].lstrip().lower().startswith(b"solid"):
        check_text(raw)
        written = raw.lower().count(b"endfacet")
        if b"endsolid" not in raw.lower() or not written:
            raise MeshFileError("it is an STL text that is cut short")
        check_count(written, "faces")
        kind = "stl_ascii"
    elif said is None:
        raise MeshFileError(
            f"it is no STL text, and too short for a binary STL: {len(raw)} bytes, at least {_STL_HEAD} are wanted"
        )
    else:
        holds = (len(raw) - _STL_HEAD) // 50
        raise MeshFileError(f"its header says {said} triangles, the file holds {holds}")
    parts = named_parts(load_parts(raw, kind))
    if kind == "stl_ascii" and sum(len(part.faces) for part in parts) != written:
        raise MeshFileError(f"of its {written} triangles not all could be read")
    return RawMesh(parts=parts)


def _read_ply(raw: bytes) -> RawMesh:
    head = raw[: raw.find(b"end_header")]
    if not raw.startswith(b"ply") or len(head) < 10:
        raise MeshFileError("it does not begin as a PLY file does")
    if re.search(rb"^format\s+ascii\b", head, re.MULTILINE):
        check_text(raw)
    counts = {m[1].decode(): int(m[2]) for m in re.finditer(rb"element\s+(\w+)\s+(\d{1,12})", head)}
    return _counted(raw, "ply", counts.get("vertex", 0), counts.get("face", 0))


def _read_off(raw: bytes) -> RawMesh:
    check_text(raw)
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
    parts = named_parts(load_parts(raw, kind))
    got_vertices, got_faces = (sum(len(a) for a in arrays) for arrays in _arrays(parts))
    if got_vertices != vertices or got_faces < faces:
        raise MeshFileError(
            f"its header says {vertices} points and {faces} faces, "
            f"but {got_vertices} and {got_faces} could be read"
        )
    return RawMesh(parts=parts)


def _arrays(parts: tuple[RawPart, ...]) -> tuple[list[Floats], list[Ints]]:
    return [part.vertices for part in parts], [part.faces for part in parts]


def _read_dae(raw: bytes) -> RawMesh:
    check_xml(raw)
    return read_dae(raw)


def _read_obj(raw: bytes) -> RawMesh:
    try:
        with np.errstate(all="ignore"):  # of coordinates beyond reason, which are refused further on
            groups = read_obj(raw, most_faces=MOST_FACES)
    except ValueError as error:
        raise MeshFileError(str(error)) from None
    except MemoryError:
        raise MeshFileError("it needs more memory than there is") from None
    return RawMesh(parts=tuple(groups))


READERS: Final[dict[str, Callable[[bytes], RawMesh]]] = {
    ".glb": read_glb,
    ".obj": _read_obj,
    ".ply": _read_ply,
    ".stl": _read_stl,
    ".3mf": read_3mf,
    ".dae": _read_dae,
    ".off": _read_off,
}
"""Kinds of mesh file that can be read, by file ending."""
