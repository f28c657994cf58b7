"""Reads GLB (binary glTF 2.0): checks its bookkeeping first, then lets the library read it.

Stage      survey
Units      as in the file; the job's `mesh_unit` and `axes` say what they mean, although
           the format itself says metres and Y up
Source     glTF 2.0 specification: chunk layout, accessor and buffer-view sizes
Safe side  every length is checked against the bytes there are before any is believed
"""

from __future__ import annotations

import json
import math
import re
import struct
from typing import Any

from routecut.survey.mesh_raw import (
    DEEPEST,
    LARGEST_JSON_BYTES,
    Floats,
    Ints,
    MeshFileError,
    RawMesh,
    check_count,
    joined,
    load_parts,
)

_GLB_JSON, _GLB_BINARY = 0x4E4F534A, 0x004E4942
_COMPONENT_BYTES = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_TYPE_COUNT = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT2": 4, "MAT3": 9, "MAT4": 16}
_TRIANGLES = 4
_MODES = frozenset({0, 1, 2, 3, _TRIANGLES, 5})
"""Points and lines bear no cable and are passed over; triangles and strips are read."""
# What a file may require without changing where its triangles lie.
_HARMLESS = ("KHR_materials_", "KHR_texture_", "KHR_lights_", "EXT_texture_")


def read_glb(raw: bytes) -> RawMesh:
    """Parts of a GLB file, one for each node with a mesh.

    Raises
    ------
    MeshFileError
        The file contradicts itself, or needs an extension or another file.
    """
    document, binary = _glb_chunks(raw)
    try:
        _check_gltf(document, len(binary))
        names, chains = _stripped(document)
    except (KeyError, IndexError, TypeError, AttributeError):
        raise MeshFileError("its description contradicts itself") from None
    loaded = load_parts(_glb_packed(document, binary), "glb")
    # A mesh of several primitives comes back as several nodes whose names begin with ours
    # and end by chance; geometry names are numbered and give the order.
    pieces: dict[int, list[tuple[str, Floats, Ints]]] = {}
    for node, geometry, vertices, faces in loaded:
        number = re.match(r"n(\d{7})", node)
        if number is None:
            raise MeshFileError("the mesh reader lost the names of its nodes")
        pieces.setdefault(int(number[1]), []).append((geometry, vertices, faces))
    parts = []
    for index in sorted(pieces):
        ordered = sorted(pieces[index], key=lambda piece: piece[0])
        parts.append(joined(names[index], [(v, f) for _, v, f in ordered], chains[index]))
    return RawMesh(parts=tuple(parts))


def _stripped(document: dict[str, Any]) -> tuple[list[str], list[tuple[str, ...]]]:
    """Leave nothing in the description but bare shapes on numbered nodes.

    Materials and pictures are dropped unread; numbered nodes come back in a known order.

    Returns
    -------
    names, chains : list
        For each node its name, and the names of those above it.
    """
    nodes, meshes = document.get("nodes", []), document.get("meshes", [])
    chains = _chains(nodes)
    names = [_gltf_name(node, chain, meshes) for node, chain in zip(nodes, chains, strict=True)]
    for index, node in enumerate(nodes):
        node["name"] = f"n{index:07d}"
    for key in ("materials", "textures", "images", "samplers", "animations", "skins", "cameras"):
        document.pop(key, None)
    for mesh in meshes:
        for primitive in mesh["primitives"]:
            for key in ("material", "targets", "extensions"):
                primitive.pop(key, None)
            primitive["attributes"] = {"POSITION": primitive["attributes"]["POSITION"]}
    return names, chains


def _glb_chunks(raw: bytes) -> tuple[dict[str, Any], bytes]:
    if raw[:4] != b"glTF" or len(raw) < 20:
        raise MeshFileError("it does not begin as a GLB file does")
    version, total = struct.unpack_from("<II", raw, 4)
    if version != 2:
        raise MeshFileError(f"it is glTF version {version}; version 2 can be read")
    if total > len(raw):
        raise MeshFileError(f"its header says {total} bytes, the file has {len(raw)}: it is cut short")
    position, document, binary = 12, None, b""
    while position + 8 <= total:
        length, kind = struct.unpack_from("<II", raw, position)
        position += 8
        if position + length > total:
            raise MeshFileError(f"a chunk says {length} bytes, more than the file has left")
        chunk = raw[position : position + length]
        position += length
        if kind == _GLB_JSON and document is None:
            if length > LARGEST_JSON_BYTES:
                raise MeshFileError(
                    f"its description is {length // 1_000_000} MB; {LARGEST_JSON_BYTES // 1_000_000} MB can be read"
                )
            try:
                document = json.loads(chunk)
            except (ValueError, RecursionError):
                raise MeshFileError("its description is not valid JSON") from None
        elif kind == _GLB_BINARY and not binary:
            binary = chunk
    if not isinstance(document, dict):
        raise MeshFileError("it has no description chunk")
    return document, binary


def _check_gltf(document: dict[str, Any], binary_bytes: int) -> None:
    for extension in document.get("extensionsRequired", []):
        if not extension.startswith(_HARMLESS):
            raise MeshFileError(f"it needs {extension}, which can't be read; export it without compression")
    if "EXT_mesh_gpu_instancing" in document.get("extensionsUsed", []):
        raise MeshFileError(
            "it shows parts by EXT_mesh_gpu_instancing; export each part as a node of its own"
        )
    for buffer in document.get("buffers", []):
        if "uri" in buffer:
            raise MeshFileError("it keeps data in another file; export it as one GLB file")
        if not 0 <= buffer["byteLength"] <= binary_bytes:
            raise MeshFileError(f"it says {buffer['byteLength']} bytes of data and holds {binary_bytes}")
    accessors, views = document.get("accessors", []), document.get("bufferViews", [])
    meshes, nodes = document.get("meshes", []), document.get("nodes", [])
    total = points = 0
    for node in nodes:
        _check_place(node)
        for child in node.get("children", []):
            _at(nodes, child)
        if "mesh" not in node:
            continue
        for primitive in _at(meshes, node["mesh"])["primitives"]:
            if primitive.get("mode", _TRIANGLES) not in _MODES:
                raise MeshFileError(
                    "it has faces as triangle fans, which can't be read; export plain triangles"
                )
            position = _at(accessors, primitive["attributes"]["POSITION"])
            index = _at(accessors, primitive["indices"]) if "indices" in primitive else position
            if position["type"] != "VEC3" or index["type"] != ("SCALAR" if index is not position else "VEC3"):
                raise TypeError("points or corners of a wrong kind")
            for accessor in (position, index):
                _check_accessor(accessor, views, binary_bytes)
            total += index["count"] // 3
            points += position["count"]
            # here, not at the end: one mesh may be shown by a million nodes
            check_count(total, "faces")
            check_count(points // 3, "points for that many faces")
    if not total:
        raise MeshFileError("it holds no faces")


def _at(things: list[dict[str, Any]], index: object) -> dict[str, Any]:
    """One of a list by its number in the file; a number from behind is none."""
    return things[_count(index)]


def _count(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise TypeError(f"{value!r} is no count")
    return value


def _check_place(node: dict[str, Any]) -> None:
    """Where a node puts what is below it: whole rows of finite numbers, and no perspective."""
    for key, length in (("translation", 3), ("rotation", 4), ("scale", 3), ("matrix", 16)):
        row = node.get(key)
        if row is not None and (len(row) != length or not all(math.isfinite(value) for value in row)):
            raise TypeError(f"{key} is no row of {length} finite numbers")
    matrix = node.get("matrix")
    if matrix is not None and matrix[3::4] != [0, 0, 0, 1]:
        raise TypeError("matrix has a perspective")


def _check_accessor(accessor: dict[str, Any], views: list[dict[str, Any]], binary_bytes: int) -> None:
    count = _count(accessor["count"])
    width = _COMPONENT_BYTES[accessor["componentType"]] * _TYPE_COUNT[accessor["type"]]
    check_count(count // 3, "faces")
    if "sparse" in accessor:
        raise MeshFileError("it has sparse data, which can't be read; export it without")
    if "bufferView" not in accessor:
        return
    view = _at(views, accessor["bufferView"])
    start, size = _count(view.get("byteOffset", 0)), _count(view["byteLength"])
    step = _count(view.get("byteStride", width))
    needed = _count(accessor.get("byteOffset", 0)) + (count - 1) * step + width
    if count < 1 or needed > size or start + size > binary_bytes:
        raise MeshFileError(f"it says {count} values where the data for them ends before")


def _chains(nodes: list[dict[str, Any]]) -> list[tuple[str, ...]]:
    """For each node the names of those above it, outermost first; unnamed ones are passed over.

    Raises
    ------
    MeshFileError
        A node has two parents or hangs below itself: the format allows neither, and both
        can make a small file endless.
    """
    parent: dict[int, int] = {}
    for index, node in enumerate(nodes):
        for child in node.get("children", []):
            if child in parent:
                raise MeshFileError(f"its node {child} stands below two others")
            parent[child] = index
    chains: list[tuple[str, ...]] = []
    for index in range(len(nodes)):
        chain: list[str] = []
        above, steps = parent.get(index), 0
        while above is not None:
            steps += 1
            if steps > DEEPEST:
                raise MeshFileError(f"its nodes are nested more than {DEEPEST} deep, or in a ring")
            if nodes[above].get("name"):
                chain.append(str(nodes[above]["name"]))
            above = parent.get(above)
        chains.append(tuple(reversed(chain)))
    return chains


def _gltf_name(node: dict[str, Any], chain: tuple[str, ...], meshes: list[dict[str, Any]]) -> str:
    """The node's own name, else its mesh's, else that of the nearest named node above."""
    if node.get("name"):
        return str(node["name"])
    if "mesh" in node and meshes[node["mesh"]].get("name"):
        return str(meshes[node["mesh"]]["name"])
    return chain[-1] if chain else "body"


def _glb_packed(document: dict[str, Any], binary: bytes) -> bytes:
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    binary += b"\0" * (-len(binary) % 4)
    total = 12 + 8 + len(text) + 8 + len(binary)
    return b"".join(
        (
            struct.pack("<4sII", b"glTF", 2, total),
            struct.pack("<II", len(text), _GLB_JSON),
            text,
            struct.pack("<II", len(binary), _GLB_BINARY),
            binary,
        )
    )
