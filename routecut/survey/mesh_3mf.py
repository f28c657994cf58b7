"""Reads 3MF: looks at the package and counts what its build shows, then lets the library read it.

Stage      survey
Units      as in the file; its unit is handed on, not applied
Source     3MF core specification 1.3: objects are meshes or components of other objects, and the
           build shows them
Safe side  nothing is unpacked before its size is known; what the library does not read is noticed
"""

from __future__ import annotations

import io
import lzma
import re
import zipfile
import zlib
from dataclasses import replace
from html import unescape
from typing import Final

from routecut.survey.mesh_raw import (
    DEEPEST,
    LARGEST_XML_BYTES,
    MOST_PACKED,
    MeshFileError,
    RawMesh,
    check_count,
    check_xml,
    load_parts,
    named_parts,
)

_3MF_UNITS: Final = {
    "micron": 1e-6,
    "millimeter": 0.001,
    "centimeter": 0.01,
    "inch": 0.0254,
    "foot": 0.3048,
    "meter": 1.0,
}

_ENTRY: Final = b"PK\x01\x02"
_SHOWS: Final = re.compile(rb"<(?:\w+:)?(object|component|triangle|item)\b([^>]*)>")


def read_3mf(raw: bytes) -> RawMesh:
    """One part for each object that the build shows, in the order of their names.

    Raises
    ------
    MeshFileError
        The package is too much, is damaged, or shows what the library does not read.
    """
    try:
        models = _unpacked(raw)
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
    names: set[str] = set()
    root = b""
    for path, text in models.items():
        names |= {
            unescape(tag.decode("utf-8", "replace"))
            for tag in re.findall(rb"<(?:\w+:)?object\b[^>]*?\sname\s*=\s*[\"']([^\"']*)[\"']", text)
        }
        if "3d/3dmodel.model" in path.lower():
            root = text
    tag = re.search(rb"<(?:\w+:)?model\b[^>]*?\bunit\s*=\s*[\"'](\w+)[\"']", root[:20_000])
    word = tag[1].decode() if tag else "millimeter"
    if word not in _3MF_UNITS:
        raise MeshFileError(f"its unit {word!r} is none of the format's")
    shown = _faces_shown(root)
    parts = named_parts(load_parts(raw, "3mf"))
    read = sum(len(part.faces) for part in parts)
    if shown is not None and read != shown:
        raise MeshFileError(
            f"its build shows {shown} faces, but {read} could be read; save it with every object as a plain mesh"
        )
    parts = tuple(replace(part, name=_3mf_name(part.name, names)) for part in parts)
    return RawMesh(parts=parts, metres_per_unit=_3MF_UNITS[word])


def _unpacked(raw: bytes) -> dict[str, bytes]:
    """The models in the package by their path, none of them too much to read."""
    if raw.count(_ENTRY) > MOST_PACKED:  # before the list of them is read
        raise MeshFileError(f"it holds more than {MOST_PACKED} files")
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        if sum(info.file_size for info in archive.infolist()) > LARGEST_XML_BYTES:
            raise MeshFileError(f"unpacked it is larger than {LARGEST_XML_BYTES // 1_000_000} MB")
        paths = [path for path in archive.namelist() if path.lower().endswith(".model")]
        if not paths:
            raise MeshFileError("there is no model in it")
        models = {path: archive.read(path) for path in paths}
    for text in models.values():
        check_xml(text)
    return models


def _faces_shown(model: bytes) -> int | None:
    """How many faces the build shows, components of components counted through; None where other files matter.

    Raises
    ------
    MeshFileError
        More than can be read: objects that show each other twice grow with every level.
    """
    text = re.sub(rb"<!--.*?-->", b"", model, flags=re.DOTALL)
    faces: dict[bytes, int] = {}
    items: list[bytes] = []
    components: dict[bytes, list[bytes]] = {}
    within = b""
    for found in _SHOWS.finditer(text):
        kind, attributes = found[1], found[2]
        if kind == b"triangle":
            faces[within] = faces.get(within, 0) + 1
            continue
        if re.search(rb"\bpath\s*=", attributes):
            return None
        name = re.search(rb"\b(?:object)?id\s*=\s*[\"']([^\"']*)[\"']", attributes)
        if name is None:
            return None
        if kind == b"object":
            within = name[1]
        elif kind == b"component":
            components.setdefault(within, []).append(name[1])
        else:
            items.append(name[1])
    known: dict[bytes, int] = {}

    def count(name: bytes, depth: int) -> int:
        if depth > DEEPEST:
            raise MeshFileError(f"its objects are nested more than {DEEPEST} deep, or in a ring")
        if name not in known:
            below = sum(count(part, depth + 1) for part in components.get(name, ()))
            known[name] = faces.get(name, 0) + below
            check_count(known[name], "faces")
        return known[name]

    total = sum(count(name, 0) for name in items)
    check_count(total, "faces")
    return total


def _3mf_name(found: str, names: set[str]) -> str:
    """The name in the file: the library numbers equal ones, seat_1, seat_2."""
    base = re.fullmatch(r"(.+)_\d+", found)
    return base[1] if base is not None and found not in names and base[1] in names else found
