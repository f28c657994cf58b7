"""Job and mesh files as strangers may send them, by class: how each is built, and what is said of it.

Every file is made here, when it is asked for; large ones are sparse or repeat one piece.
"""

from __future__ import annotations

import io
import json
import struct
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from tests.hostile.runner import Ended
from tests.survey.mesh_bytes import ISO, JOB, PANEL, exported, glb, triangle_glb, van

OBJ: Final = "o box\nv 0 -0.8 0\nv 4 -0.8 0\nv 4 0.8 0\nv 0 0.8 1.5\nf 1 2 3\nf 1 3 4\nf 2 3 4\n"
MOST_SECONDS: Final = 10.0
MOST_BYTES: Final = 2_000_000_000


@dataclass(frozen=True, kw_only=True)
class Case:
    """One file: of which class, how it is made in a folder, and what ``routecut check`` says of it.

    `code` is the exit code; `said` a piece of the one message, or of the finding where the file is read.
    """

    kind: str
    build: Callable[[Path], None]
    said: str
    code: int = 2


CASES: Final[dict[str, Case]] = {}


def faults(case: Case, ended: Ended) -> list[str]:
    """What is wrong with how a case ended; nothing, as it should be."""
    wrong = []
    if ended.code != case.code:
        wrong.append(f"exit code {ended.code}, not {case.code}")
    if case.said not in ended.out:
        wrong.append(f"does not say {case.said!r}")
    if ended.err:
        wrong.append(f"says on standard error: {ended.err[-300:]}")
    if "Traceback" in ended.out + ended.err:
        wrong.append("a traceback")
    if case.code and sum(line.startswith("  ") for line in ended.out.splitlines()) > 3:
        wrong.append("more than a few messages")
    if len(ended.out) > 4000:
        wrong.append(f"{len(ended.out)} letters")
    if any(ord(letter) < 32 and letter != "\n" for letter in ended.out):
        wrong.append("control characters")
    if ended.seconds >= MOST_SECONDS:
        wrong.append(f"{ended.seconds:.1f} s")
    if ended.peak_bytes >= MOST_BYTES:
        wrong.append(f"{ended.peak_bytes / 1e6:.0f} MB")
    return wrong


def written(folder: Path) -> dict[str, tuple[int, int]]:
    """Every file below a folder by its size and when it was changed."""
    return {
        str(path.relative_to(folder)): (path.lstat().st_size, path.lstat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if not path.is_dir()
    }


# --- ways to build ----------------------------------------------------------------------------


def job_round(name: str, unit: str = "m", axes: str = ISO, rules: str = PANEL) -> str:
    """A job that asks for nothing but its mesh."""
    return JOB.format(mesh=name, unit=unit, axes=axes) + rules


def mesh(name: str, raw: bytes | Callable[[], bytes], **more: str) -> Callable[[Path], None]:
    """A job folder round one mesh file."""

    def build(folder: Path) -> None:
        (folder / name).write_bytes(raw if isinstance(raw, bytes) else raw())
        (folder / "job.toml").write_text(job_round(name, **more), encoding="utf-8")

    return build


def sparse(name: str, head: bytes, size: int) -> Callable[[Path], None]:
    """A job folder round a file of a size, all nothing after its head; takes no room on the disk."""

    def build(folder: Path) -> None:
        with (folder / name).open("wb") as file:
            file.write(head)
            file.truncate(size)
        if name != "job.toml":
            (folder / "job.toml").write_text(job_round(name), encoding="utf-8")

    return build


def job(text: str | bytes | Callable[[], bytes]) -> Callable[[Path], None]:
    """A job folder with a good mesh and this job."""

    def build(folder: Path) -> None:
        (folder / "body.obj").write_text(OBJ, encoding="utf-8")
        raw = text.encode() if isinstance(text, str) else text if isinstance(text, bytes) else text()
        (folder / "job.toml").write_bytes(raw)

    return build


def add(name: str, kind: str, build: Callable[[Path], None], said: str, code: int = 2) -> None:
    """Put a case on the list."""
    assert name not in CASES
    CASES[name] = Case(kind=kind, build=build, said=said, code=code)


def stl(count: int, triangles: np.ndarray) -> bytes:
    """A binary STL whose header says `count`."""
    records = np.zeros(len(triangles), dtype=[("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")])
    records["v"] = triangles
    return b"\0" * 80 + struct.pack("<I", count) + records.tobytes()


def ply(vertices: str, faces: str, said: tuple[int, int]) -> bytes:
    """A PLY text whose header says so many points and faces."""
    return (
        f"ply\nformat ascii 1.0\nelement vertex {said[0]}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {said[1]}\nproperty list uchar int vertex_indices\nend_header\n{vertices}{faces}"
    ).encode()


def glb_changed(change: Callable[[dict[str, Any]], object], binary: bytes | None = None) -> bytes:
    """A small GLB with its description changed."""
    raw = triangle_glb()
    document = json.loads(raw[20 : 20 + struct.unpack("<I", raw[12:16])[0]])
    change(document)
    return glb(document, raw[-48:] if binary is None else binary)


def zipped(files: dict[str, bytes], level: int = 9) -> bytes:
    """A package."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=level) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return packed.getvalue()


def three_mf(body: str, head: str = '<?xml version="1.0"?>') -> bytes:
    """A package with a model."""
    core = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    return zipped({"3D/3dmodel.model": f'{head}<model unit="meter" xmlns="{core}">{body}</model>'.encode()})


TRIANGLE: Final = (
    '<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="2" y="0" z="0"/><vertex x="0" y="1" z="1"/>'
    '</vertices><triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh>'
)


def doubling(levels: int) -> bytes:
    """Objects that each show the one before twice."""
    objects = f'<object id="1" type="model">{TRIANGLE}</object>'
    for k in range(2, levels + 2):
        twice = 2 * f'<component objectid="{k - 1}"/>'
        objects += f'<object id="{k}" type="model"><components>{twice}</components></object>'
    return three_mf(f'<resources>{objects}</resources><build><item objectid="{levels + 1}"/></build>')


def many_entries(count: int) -> bytes:
    """A package that lists one file many times."""
    raw = zipped({"3D/3dmodel.model": b"<model/>"})
    start, end = raw.index(b"PK\1\2"), raw.index(b"PK\5\6")
    one, tail = raw[start:end], bytearray(raw[end:])
    few = min(count, 65_535)
    struct.pack_into("<HHII", tail, 8, few, few, len(one) * count, start)
    return raw[:start] + one * count + bytes(tail)


def shown_often(points: int, times: int) -> bytes:
    """A GLB of one face among many points, shown by many nodes."""
    vertices = np.zeros((points, 3), dtype="<f4")
    vertices[1], vertices[2] = (2, 0, 0), (0, 1, 1)
    data = vertices.tobytes() + np.array([0, 1, 2], dtype="<u4").tobytes()

    def change(d: dict[str, Any]) -> None:
        d["buffers"] = [{"byteLength": len(data)}]
        d["bufferViews"] = [
            {"buffer": 0, "byteLength": 12 * points},
            {"buffer": 0, "byteOffset": 12 * points, "byteLength": 12},
        ]
        d["accessors"][0]["count"] = points
        d["nodes"] = [{"mesh": 0, "name": "a"} for _ in range(times)]
        d["scenes"] = [{"nodes": list(range(times))}]

    return glb_changed(change, data)


def pit(depth: int) -> bytes:
    """A GLB whose description is nested that deep."""
    text = b'{"asset":' + b"[" * depth + b"]" * depth + b"}"
    text += b" " * (-len(text) % 4)
    return struct.pack("<4sIIII", b"glTF", 2, 20 + len(text), len(text), 0x4E4F534A) + text


def broad(pieces: int) -> bytes:
    """A GLB whose description is a list of so many empty lists."""
    text = b'{"asset":[' + b"[]," * pieces + b"[]]}"
    text += b" " * (-len(text) % 4)
    return struct.pack("<4sIIII", b"glTF", 2, 20 + len(text), len(text), 0x4E4F534A) + text


def grid(scale: float) -> bytes:
    """A body like a van's, in other units: an OBJ."""
    return exported(van().apply_scale(scale), "obj")


def mirrored() -> Callable[[Path], None]:
    """A left landmark that lies on the right of the mesh."""
    mark = '\n[[landmark]]\nname = "left striker"\nat = [0, 900, 700]\n'
    return mesh("body.obj", grid(1), rules=PANEL + mark)


def linked(name: str, target: str) -> Callable[[Path], None]:
    """A job folder in which a file is a link."""

    def build(folder: Path) -> None:
        (folder.parent / "outside.obj").write_text(OBJ, encoding="utf-8")
        (folder / "job.toml").write_text(job_round("body.obj"), encoding="utf-8")
        (folder / "body.obj").write_text(OBJ, encoding="utf-8")
        (folder / name).unlink()
        (folder / name).symlink_to(target)

    return build


FLAT: Final = np.array([[[0, 0, 0], [4, 0, 0], [0, 2, 1]]], dtype="<f4")
