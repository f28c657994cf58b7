"""Reads Wavefront OBJ: points, polygons, and the names of objects and groups.

Stage      survey
Units      as in the file
Why own    the mesh library merges groups by material, takes index 0 for the last point
           and fans concave polygons across their outside; names and places matter here
"""

from __future__ import annotations

import io
import itertools
from array import array
from collections.abc import Iterator
from typing import Final

import numpy as np

from routecut.survey.mesh_raw import Floats, RawPart

# Cutting ears takes time with the square of the corners, and a second for four of the largest.
_MOST_CORNERS = 300
_MOST_WORK = 5_000_000
_LONGEST_LINE: Final = 1_000_000
# More points than this are refused unless there are faces for them, this many points to each.
_POINTS_ALONE: Final = 1_000_000
_POINTS_EACH: Final = 30


def read_obj(raw: bytes, *, most_faces: int) -> list[RawPart]:
    r"""Parts of an OBJ file, by the last ``o`` or ``g`` line before a face, sorted by name.

    A group stands in the object that was named before it; an object ends the group.

    Parameters
    ----------
    raw : bytes
    most_faces : int
        More triangles than this are refused.

    Returns
    -------
    list of RawPart
        Faces before any name are called by their material if there is one, else "body".

    Raises
    ------
    ValueError
        With the line number and the reason.

    Examples
    --------
    >>> lid, = read_obj(b"v 0 0 0\nv 1 0 0\nv 0 1 0\no box\ng lid\nf 1 2 3", most_faces=9)
    >>> lid.name, lid.groups, lid.faces.tolist()
    ('lid', ('box',), [[0, 1, 2]])
    """
    _check_lines(raw, most_faces)
    points = array("d")
    in_object, in_group, material = "", "", ""
    faces: dict[tuple[str, str], array[int]] = {}
    count = work = 0
    for number, line in _lines(raw):
        words = (line.split("#", 1)[0] if "#" in line else line).split()
        if not words:
            continue
        if words[0] == "v":
            points.extend(_point(words, number))
        elif words[0] == "f":
            corners = [_corner(word, len(points) // 3, number) for word in words[1:]]
            if len(corners) < 3:
                raise ValueError(f"line {number}: a face needs three corners or more")
            if len(corners) > _MOST_CORNERS:
                raise ValueError(
                    f"line {number}: a face with {len(corners)} corners; cut it into triangles first"
                )
            work += len(corners) ** 2 if len(corners) > 8 else 0
            if work > _MOST_WORK:
                raise ValueError(
                    f"line {number}: too many faces of many corners; cut them into triangles first"
                )
            triangles = corners if len(corners) == 3 else _cut_ears(corners, points)
            count += len(triangles) // 3
            if count > most_faces:
                raise ValueError(f"it has more than {most_faces} faces. Reduce the mesh first")
            name = in_group or in_object or material or "body"
            faces.setdefault((name, in_object if in_group else ""), array("q")).extend(triangles)
        elif words[0] == "o":
            in_object, in_group = " ".join(words[1:]), ""
        elif words[0] == "g":
            in_group = " ".join(words[1:])
        elif words[0] == "usemtl":
            material = " ".join(words[1:])
    vertices = np.array(points, dtype=np.float64).reshape(-1, 3)
    return [_part(name, above, vertices, faces[name, above]) for name, above in sorted(faces)]


def _check_lines(raw: bytes, most_faces: int) -> None:
    """Refuse at a glance what would take minutes to read line by line."""
    faces, points = (raw.count(kind) + raw.startswith(kind[1:]) for kind in (b"\nf ", b"\nv "))
    if points > _POINTS_ALONE and points > _POINTS_EACH * faces:
        raise ValueError(f"it has {points} points and {faces} faces. Points alone bear no cable")
    for kind, most, what in (
        (b"\nf ", most_faces, "faces"),
        (b"\nv ", 3 * most_faces, "points"),
        (b"\n", 4 * most_faces, "lines"),
        (b"\r", 4 * most_faces, "lines"),
    ):
        if raw.count(kind) > most:
            raise ValueError(f"it has more than {most} {what}. Reduce the mesh first")


def _lines(raw: bytes) -> Iterator[tuple[int, str]]:
    r"""The lines with their numbers, whatever ends them; one that ends in ``\`` goes on in the next."""
    begun, began = "", 0
    with io.TextIOWrapper(io.BytesIO(raw), encoding="utf-8", errors="replace") as text:
        for number in itertools.count(1):
            line = text.readline(_LONGEST_LINE)
            if not line:
                break
            if len(begun) + len(line) >= _LONGEST_LINE:
                raise ValueError(f"line {began or number}: longer than {_LONGEST_LINE} letters")
            if line.endswith("\\\n"):
                begun, began = begun + line[:-2] + " ", began or number
                continue
            yield began or number, begun + line
            begun, began = "", 0
    if begun:
        yield began, begun


def _part(name: str, above: str, vertices: Floats, faces: array[int]) -> RawPart:
    # Only the points it uses: a file of many groups would be copied once for each.
    used, inverse = np.unique(np.array(faces, dtype=np.int64), return_inverse=True)
    return RawPart(
        name=name,
        vertices=vertices[used],
        faces=inverse.reshape(-1, 3).astype(np.int64),
        groups=(above,) if above else (),
    )


def _point(words: list[str], number: int) -> tuple[float, float, float]:
    try:
        return (float(words[1]), float(words[2]), float(words[3]))
    except (ValueError, IndexError):
        raise ValueError(f"line {number}: a point needs three numbers") from None


def _corner(word: str, points: int, number: int) -> int:
    try:
        index = int(word.split("/", 1)[0])
    except ValueError:
        raise ValueError(f"line {number}: {word[:20]!r} is no corner of a face") from None
    if index == 0 or index > points or index < -points:
        raise ValueError(f"line {number}: a face names point {index}; points 1 to {points} are there so far")
    return index - 1 if index > 0 else points + index


def _cut_ears(corners: list[int], points: array[float]) -> list[int]:
    """Triangles of a flat polygon, concave ones too, by cutting off ears; their corners in one row.

    A polygon that crosses itself has no ears to be sure of; what is left of it is fanned.
    """
    places = [(points[3 * k], points[3 * k + 1], points[3 * k + 2]) for k in corners]
    if len(corners) == 4 and _is_convex(places):
        a, b, c, d = corners
        return [a, b, c, a, c, d]
    ring = np.array(places)
    following = np.roll(ring, -1, axis=0)
    # Newell's normal: area-weighted, right for concave polygons as well
    normal = np.cross(ring - ring[0], following - ring[0]).sum(axis=0)
    drop = int(np.argmax(np.abs(normal)))
    keep = [axis for axis in range(3) if axis != drop]
    flat = ring[:, keep]
    area = 0.5 * float(np.sum(flat[:, 0] * np.roll(flat[:, 1], -1) - np.roll(flat[:, 0], -1) * flat[:, 1]))
    if area < 0:
        flat = flat * [1.0, -1.0]
    left = list(range(len(corners)))
    triangles: list[int] = []
    while len(left) > 3:
        for place in range(len(left)):
            a, b, c = left[place - 1], left[place], left[(place + 1) % len(left)]
            others = [i for i in left if i not in (a, b, c)]
            if _cross(flat[b] - flat[a], flat[c] - flat[b]) > 0 and not any(
                _inside(flat[i], flat[a], flat[b], flat[c]) for i in others
            ):
                triangles += (corners[a], corners[b], corners[c])
                left.pop(place)
                break
        else:
            break
    for i in range(1, len(left) - 1):
        triangles += (corners[left[0]], corners[left[i]], corners[left[i + 1]])
    return triangles


def _is_convex(ring: list[tuple[float, float, float]]) -> bool:
    """Whether four corners turn one way all round, seen along their normal; most quads do."""
    sides = [_minus(ring[k], ring[k - 1]) for k in range(4)]
    turns = [_times(sides[k], sides[(k + 1) % 4]) for k in range(4)]
    normal = [sum(axis) for axis in zip(*turns, strict=True)]
    return all(sum(a * b for a, b in zip(turn, normal, strict=True)) > 0 for turn in turns)


def _minus(a: tuple[float, float, float], b: tuple[float, float, float]) -> tuple[float, float, float]:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _times(a: tuple[float, float, float], b: tuple[float, float, float]) -> tuple[float, float, float]:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _cross(a: Floats, b: Floats) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def _inside(p: Floats, a: Floats, b: Floats, c: Floats) -> bool:
    return _cross(b - a, p - a) >= 0 and _cross(c - b, p - b) >= 0 and _cross(a - c, p - c) >= 0
