"""Sheets: the few ways in which every part of a body is made.

A sheet is a triangle mesh without thickness: `(vertices, faces)`, vertices (n, 3) in mm,
faces (m, 3). Outlines are cut by a function that is positive where the sheet stays: the
nearest corner of every edge that the outline crosses is moved onto it, so cut edges run
clean without new vertices.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Sheet = tuple[Floats, Ints]
Field = Callable[[Floats], Floats]
"""Takes points (n, 3) in mm, gives (n,): positive inside. [mm, about]"""


def spaced(low: float, high: float, step: float) -> Floats:
    """Evenly spaced stations from `low` to `high`, no further apart than `step`. [mm]"""
    return np.linspace(low, high, max(1, int(np.ceil((high - low) / step - 1e-9))) + 1)


def surface(us: Floats, vs: Floats, place: Callable[[Floats, Floats], Sequence[Floats | float]]) -> Sheet:
    """The sheet over a grid: `place(u, v)` gives x, y and z of every crossing."""
    u, v = (a.ravel() for a in np.meshgrid(us, vs, indexing="ij"))
    points = np.column_stack([np.broadcast_to(np.asarray(c, float), u.shape) for c in place(u, v)])
    n_u, n_v = len(us), len(vs)
    i, j = (a.ravel() for a in np.meshgrid(np.arange(n_u - 1), np.arange(n_v - 1), indexing="ij"))
    a = i * n_v + j
    b, c, d = a + n_v, a + n_v + 1, a + 1
    flip = (i + j) % 2 == 0  # diagonals alternate, so that no direction is preferred
    first = np.where(flip[:, None], np.column_stack([a, b, c]), np.column_stack([a, b, d]))
    second = np.where(flip[:, None], np.column_stack([a, c, d]), np.column_stack([b, c, d]))
    return points, np.concatenate([first, second]).astype(np.int64)


def flat(axis: int, at: float, low: Sequence[float], high: Sequence[float], step: float = 70.0) -> Sheet:
    """A flat sheet square to axis 0, 1 or 2; `low` and `high` in the two other axes, in order."""
    us, vs = spaced(low[0], high[0], step), spaced(low[1], high[1], step)

    def place(u: Floats, v: Floats) -> list[Floats | float]:
        rest: list[Floats | float] = [u, v]
        rest.insert(axis, at)
        return rest

    return surface(us, vs, place)


def join(*sheets: Sheet) -> Sheet:
    """Several sheets as one, nothing welded."""
    starts = np.cumsum([0] + [len(v) for v, _ in sheets])
    return (
        np.concatenate([v for v, _ in sheets]),
        np.concatenate([f + s for (_, f), s in zip(sheets, starts[:-1], strict=True)]),
    )


def tidy(sheet: Sheet) -> Sheet:
    """Without vertices that no face uses and without faces of no area."""
    vertices, faces = sheet
    corners = vertices[faces]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1) / 2
    faces = faces[area > 0.5]
    used, renumbered = np.unique(faces, return_inverse=True)
    return vertices[used], renumbered.reshape(-1, 3).astype(np.int64)


def snap(sheet: Sheet, field: Field, locked: npt.NDArray[np.bool_] | None = None) -> Sheet:
    """Moves the nearest corner of each edge that crosses the field's zero onto the zero.

    `locked` marks corners that may not move any more; the ones moved are added to it.
    """
    vertices, faces = sheet
    vertices = vertices.copy()
    if locked is None:
        locked = np.zeros(len(vertices), dtype=bool)
    value = field(vertices)
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    edges = np.unique(edges, axis=0)
    crossing = edges[value[edges[:, 0]] * value[edges[:, 1]] < 0]
    share = np.abs(value[crossing[:, 0]]) / np.abs(value[crossing[:, 0]] - value[crossing[:, 1]])
    order = np.argsort(np.minimum(share, 1 - share), kind="stable")  # the shortest moves first
    for (a, b), t in zip(crossing[order].tolist(), share[order].tolist(), strict=True):
        if value[a] * value[b] >= 0:  # cured by an earlier move
            continue
        mover, fixed, way = (a, b, t) if (t <= 0.5 and not locked[a]) or locked[b] else (b, a, 1 - t)
        if locked[mover]:
            continue
        vertices[mover] += way * (vertices[fixed] - vertices[mover])
        value[mover] = 0.0
        locked[mover] = True
    return vertices, faces


def inside_faces(sheet: Sheet, field: Field) -> npt.NDArray[np.bool_]:
    """(m,) bool: the faces whose middle lies where the field is positive."""
    vertices, faces = sheet
    return field(vertices[faces].mean(axis=1)) > 0


def with_panes(sheet: Sheet, panes: Mapping[str, Field], rest: str) -> dict[str, Sheet]:
    """A sheet in parts with clean edges: one for each field, where it is positive, and the rest."""
    parts: dict[str, Sheet] = {}
    for name, field in panes.items():
        sheet = snap(sheet, field)
        chosen = inside_faces(sheet, field)
        parts[name] = tidy((sheet[0], sheet[1][chosen]))
        sheet = tidy((sheet[0], sheet[1][~chosen]))
    return {**parts, rest: sheet}


def trim(sheet: Sheet, field: Field) -> Sheet:
    """The part of a sheet where the field is positive, with a clean edge."""
    snapped = snap(sheet, field)
    beyond = np.any(field(snapped[0])[snapped[1]] < -2.0, axis=1)
    return tidy((snapped[0], snapped[1][inside_faces(snapped, field) & ~beyond]))


def cut_out(sheet: Sheet, field: Field) -> Sheet:
    """The sheet without the faces that lie wholly where the field is positive: never a gap."""
    vertices, faces = sheet
    return tidy((vertices, faces[~np.all(field(vertices)[faces] > 0, axis=1)]))


def box(low: Sequence[float], high: Sequence[float], step: float = 80.0, leave_out: str = "") -> Sheet:
    """A box of six flat sheets; `leave_out` names sides left open, such as "-x +z"."""
    sides = []
    for axis, name in enumerate("xyz"):
        rest = [a for a in range(3) if a != axis]
        for sign, at in (("-", low[axis]), ("+", high[axis])):
            if sign + name not in leave_out.split():
                sides.append(flat(axis, at, [low[a] for a in rest], [high[a] for a in rest], step))
    return join(*sides)


def pillow(low: Sequence[float], high: Sequence[float], radius: float, step: float = 60.0) -> Sheet:
    """A box with rounded edges and corners."""
    vertices, faces = box(low, high, step)
    core = np.clip(vertices, np.asarray(low, float) + radius, np.asarray(high, float) - radius)
    out = vertices - core
    length = np.linalg.norm(out, axis=1, keepdims=True)
    return core + radius * out / np.maximum(length, 1e-9), faces


def tube(path: Sequence[Sequence[float]], radius: float, sides: int = 10, step: float = 90.0) -> Sheet:
    """A round tube along a polyline, open at its ends."""
    points = np.asarray(path, float)
    legs = np.linalg.norm(np.diff(points, axis=0), axis=1)
    run = np.concatenate([[0.0], np.cumsum(legs)])
    stations = np.unique(np.concatenate([run, *(spaced(a, b, step) for a, b in itertools.pairwise(run))]))
    middle = np.column_stack([np.interp(stations, run, points[:, k]) for k in range(3)])
    along = np.gradient(middle, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    helper = np.where(np.abs(along[:, [2]]) > 0.8, [[0.0, 1.0, 0.0]], [[0.0, 0.0, 1.0]])
    across = np.cross(along, helper)
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    up = np.cross(across, along)
    index = np.arange(len(stations))

    def place(u: Floats, v: Floats) -> list[Floats | float]:
        k = u.astype(int)
        ring = np.cos(v)[:, None] * across[k] + np.sin(v)[:, None] * up[k]
        return list((middle[k] + radius * ring).T)

    return surface(index.astype(float), np.linspace(0, 2 * np.pi, sides + 1), place)


def disc(axis: int, centre: Sequence[float], radius: float, rings: int = 3, sides: int = 24) -> Sheet:
    """A flat round sheet square to an axis."""
    first, second = [a for a in range(3) if a != axis]

    def place(u: Floats, v: Floats) -> list[Floats | float]:
        out: list[Floats | float] = [0.0, 0.0, 0.0]
        out[axis] = centre[axis]
        out[first] = centre[first] + u * np.cos(v)
        out[second] = centre[second] + u * np.sin(v)
        return out

    return tidy(surface(np.linspace(0, radius, rings + 1), np.linspace(0, 2 * np.pi, sides + 1), place))


def drum(axis: int, low: Sequence[float], length: float, radius: float, step: float = 70.0) -> Sheet:
    """A closed cylinder that begins at `low` (its middle) and runs along an axis."""
    high = list(low)
    high[axis] += length
    rings = max(1, round(radius / 175))
    lids = [disc(axis, middle, radius, rings) for middle in (low, high)]
    return join(tube([low, high], radius, 24, step), *lids)


def folded(profile: Sequence[Sequence[float]], y_low: float, y_high: float, step: float = 70.0) -> Sheet:
    """A sheet bent along a polyline of (x, z) and straight across the vehicle."""
    points = np.asarray(profile, float)
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    stations = np.unique(np.concatenate([spaced(a, b, step) for a, b in itertools.pairwise(run)]))

    def place(u: Floats, v: Floats) -> list[Floats | float]:
        return [np.interp(u, run, points[:, 0]), v, np.interp(u, run, points[:, 1])]

    return surface(stations, spaced(y_low, y_high, step), place)


def rounded(axes: tuple[int, int], low: Sequence[float], high: Sequence[float], radius: float) -> Field:
    """A field for a rectangle with round corners in two axes, endless in the third."""
    middle = (np.asarray(low, float) + np.asarray(high, float)) / 2
    half = (np.asarray(high, float) - np.asarray(low, float)) / 2 - radius

    def field(points: Floats) -> Floats:
        out = np.abs(points[:, list(axes)] - middle) - half
        beyond = np.linalg.norm(np.maximum(out, 0), axis=1)
        return np.asarray(radius - beyond - np.minimum(out.max(axis=1), 0), float)

    return field


def round_hole(axes: tuple[int, int], centre: Sequence[float], radius: float) -> Field:
    """A field for a round opening in two axes, endless in the third."""
    middle = np.asarray(centre, float)

    def field(points: Floats) -> Floats:
        return np.asarray(radius - np.linalg.norm(points[:, list(axes)] - middle, axis=1), float)

    return field


def polygon(axes: tuple[int, int], corners: Sequence[Sequence[float]]) -> Field:
    """A field for a convex polygon in two axes, corners in either order, endless in the third."""
    points = np.asarray(corners, float)
    edges = np.roll(points, -1, axis=0) - points
    normals = np.column_stack([-edges[:, 1], edges[:, 0]])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    if np.sum((points.mean(axis=0) - points[0]) * normals[0]) < 0:
        normals = -normals

    def field(where: Floats) -> Floats:
        out = where[:, list(axes)][:, None] - points[None]
        return np.asarray(np.einsum("nkd,kd->nk", out, normals).min(axis=1), float)

    return field
