"""What a mesh file holds before anything is made of it, and the library that reads most.

Stage      survey; the one boundary where the mesh library is called
Units      file units and file axes, exactly as written
Safe side  whatever the library raises comes out as one error with a reason
"""

from __future__ import annotations

import contextlib
import io
import logging
import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from routecut.errors import OutOfRangeError

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

LARGEST_FILE_BYTES: Final = 300_000_000
LARGEST_XML_BYTES: Final = 120_000_000
"""Of the unpacked XML of a 3MF or COLLADA file, which takes twelve times its size to read."""
MOST_TAGS: Final = 3_000_000
MOST_ATTRIBUTES: Final = 4_500_000
"""Of that XML: a tag of four letters takes hundreds of bytes to read. A 3MF of a million faces has as many."""
LARGEST_TEXT_BYTES: Final = 75_000_000
"""Of a PLY, STL or OFF file that is text, which takes up to 25 times its size to read."""
LARGEST_JSON_BYTES: Final = 20_000_000
"""Of the description in a GLB file, which takes up to 27 times its size to read."""
MOST_PACKED: Final = 1000
"""Files in a 3MF package; those of vehicles have ten or so."""
MOST_FACES: Final = 3_000_000
FARTHEST: Final = 1e9
"""Coordinates beyond this are no vehicle's in any unit: 30 m are 3e4 in the smallest. [file units]"""
DEEPEST: Final = 64
"""Levels of nodes in nodes; files of vehicles have ten or so."""

_ENCODINGS: Final = frozenset({b"utf-8", b"us-ascii", b"ascii", b"iso-8859-1", b"windows-1252"})


class MeshFileError(OutOfRangeError):
    """The mesh file can't be used; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RawPart:
    """A named piece of the mesh, in file units and axes.

    `vertices` is (n, 3) float64, `faces` (m, 3) int64; `groups` are the named nodes above
    it, outermost first.
    """

    name: str
    vertices: Floats
    faces: Ints
    groups: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RawMesh:
    """What a mesh file holds. `metres_per_unit` and `up` only where the file says so."""

    parts: tuple[RawPart, ...]
    metres_per_unit: float | None = None
    up: str = ""


def joined(name: str, pieces: list[tuple[Floats, Ints]], groups: tuple[str, ...] = ()) -> RawPart:
    """One part of several pieces, in their order."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in pieces)])
    return RawPart(
        name=name,
        vertices=np.concatenate([vertices for vertices, _ in pieces]),
        faces=np.concatenate([faces + start for (_, faces), start in zip(pieces, starts, strict=False)]),
        groups=groups,
    )


def check_count(count: int, what: str) -> None:
    """Refuse more of something than can be read."""
    if count > MOST_FACES:
        raise MeshFileError(f"it has {count} {what}; {MOST_FACES} can be read. Reduce the mesh first")


def check_text(raw: bytes) -> None:
    """Refuse more text than can be read in the memory that is stated for any file."""
    if len(raw) > LARGEST_TEXT_BYTES:
        raise MeshFileError(
            f"it is text of {len(raw) // 1_000_000} MB; {LARGEST_TEXT_BYTES // 1_000_000} MB can be read. Save "
            "it in the binary form of its kind, or reduce the mesh first"
        )


def check_xml(text: bytes) -> None:
    """Refuse XML that is too much to read, or that could make more of itself."""
    if len(text) > LARGEST_XML_BYTES:
        raise MeshFileError(f"its XML is larger than {LARGEST_XML_BYTES // 1_000_000} MB")
    head = text[:200].lstrip(b"\xef\xbb\xbf \r\n\t")
    said = re.match(rb"<\?xml\b[^>]*?\bencoding\s*=\s*[\"']([^\"']*)", head)
    if not head.startswith(b"<") or b"\0" in text or (said and said[1].lower() not in _ENCODINGS):
        raise MeshFileError("its XML is not UTF-8 text")  # others can hide what is looked for next
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
        raise MeshFileError("its XML defines entities, which a mesh has no need of")
    check_count(text.count(b"<triangle "), "faces")
    for mark, most, what in ((b"<", MOST_TAGS, "tags"), (b"=", MOST_ATTRIBUTES, "attributes")):
        if text.count(mark) > most:
            raise MeshFileError(
                f"its XML has more than {most} {what}. Reduce the mesh first, or save it in another format"
            )


def load_parts(raw: bytes, kind: str, **options: Any) -> list[tuple[str, str, Floats, Ints]]:
    """(node, geometry, vertices, faces) of everything in the file, sorted by node name."""
    found = []
    with library_at_work():
        import trimesh  # noqa: PLC0415 - heavy, and wanted only here

        scene = trimesh.load_scene(io.BytesIO(raw), file_type=kind, process=False, **options)
        for node in scene.graph.nodes_geometry:
            transform, name = scene.graph[node]
            geometry = scene.geometry[name]
            faces = getattr(geometry, "faces", None)
            if faces is None:  # points and lines bear no cable
                continue
            vertices = trimesh.transform_points(np.asarray(geometry.vertices, dtype=np.float64), transform)
            found.append((str(node), str(name), vertices, np.asarray(faces, dtype=np.int64).reshape(-1, 3)))
    return sorted(found, key=lambda item: item[:2])


def named_parts(loaded: list[tuple[str, str, Floats, Ints]]) -> tuple[RawPart, ...]:
    """Parts by node name; a name the library made up is "body"."""
    return tuple(
        RawPart(name="body" if re.fullmatch(r"geometry_\d+", node) else node, vertices=vertices, faces=faces)
        for node, _, vertices, faces in loaded
    )


@contextlib.contextmanager
def library_at_work() -> Iterator[None]:
    """Whatever a reading library raises becomes one error with a reason; it says nothing itself."""
    for library in ("trimesh", "collada"):
        logging.getLogger(library).addHandler(logging.NullHandler())
    try:
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            yield
    except MeshFileError:
        raise
    except ImportError as error:
        raise MeshFileError(
            f"reading this kind of file needs the Python package {error.name or error}"
        ) from None
    except MemoryError:
        raise MeshFileError("it needs more memory than there is") from None
    except Exception as error:  # the library raises whatever its parsers meet
        reason = " ".join(str(error).split())[:200]
        raise MeshFileError(f"the mesh reader gave up: {reason or type(error).__name__}") from None
