"""Van-like bodies of any number of faces, with holes, keep-outs and cables: job folders for the comparison.

Invented, for comparing planners alone. Nothing of it is measured on a vehicle.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import trimesh

from routecut.model.body import Floats

LONG_M, WIDE_M, HIGH_M = 4.4, 1.7, 1.8
BULKHEAD_M, PARTITION_M = 0.9, 2.1
"""Where along the van the walls stand between engine bay, cab and load space."""

OFF_M = 0.012
HEATER_M = (1.3, 1.9)
"""No port on the wall along this stretch."""

SPACES = (("engine", 0.0, BULKHEAD_M), ("cab", BULKHEAD_M, PARTITION_M), ("load", PARTITION_M, LONG_M))
HOLES = (
    ("bulkhead left", (BULKHEAD_M, 0.35, 0.6), "engine", "cab"),
    ("bulkhead right", (BULKHEAD_M, 1.35, 0.8), "engine", "cab"),
    ("partition low", (PARTITION_M, 0.25, 0.25), "cab", "load"),
    ("partition high", (PARTITION_M, 1.2, 1.5), "cab", "load"),
)


def _sheet(corner: Floats, u: Floats, v: Floats, edge_m: float) -> Floats:
    """A rectangle as a grid of triangles no longer than the edge, (n, 3, 3)."""
    m, n = (max(1, int(np.ceil(np.linalg.norm(side) / edge_m))) for side in (u, v))
    s, t = np.meshgrid(np.linspace(0, 1, m + 1), np.linspace(0, 1, n + 1), indexing="ij")
    grid = corner + s[..., None] * u + t[..., None] * v
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    return np.concatenate(
        [np.stack([a, b, c], axis=2).reshape(-1, 3, 3), np.stack([a, c, d], axis=2).reshape(-1, 3, 3)]
    )


def _box(low: Floats, high: Floats, edge_m: float, *, open_below: bool = False) -> Floats:
    sheets = []
    size = high - low
    for axis in range(3):
        u, v = (np.eye(3)[k] * size[k] for k in range(3) if k != axis)
        if not (open_below and axis == 2):
            sheets.append(_sheet(low, u, v, edge_m))
        sheets.append(_sheet(low + np.eye(3)[axis] * size[axis], u, v, edge_m))
    return np.concatenate(sheets)


def triangles(edge_m: float) -> Floats:
    """Shell, two walls, two wheel boxes, a bench and a shelf, (n, 3, 3). [m]"""
    v = np.array
    parts = [_box(v([0.0, 0, 0]), v([LONG_M, WIDE_M, HIGH_M]), edge_m)]
    parts += [
        _sheet(v([x, 0, 0]), v([0, WIDE_M, 0]), v([0, 0, HIGH_M]), edge_m) for x in (BULKHEAD_M, PARTITION_M)
    ]
    parts += [
        _box(v([3.0, y, 0]), v([3.7, y + 0.25, 0.35]), edge_m, open_below=True) for y in (0.0, WIDE_M - 0.25)
    ]
    parts.append(_box(v([1.3, 0.3, 0.0]), v([1.8, 1.4, 0.4]), edge_m, open_below=True))
    parts.append(_sheet(v([2.5, 0.0, 1.2]), v([1.2, 0, 0]), v([0, 0.35, 0]), edge_m))
    return np.concatenate(parts)


def of_faces(count: int) -> Floats:
    """About so many faces: the grid is made finer until there are."""
    low, high = 0.001, 2.0
    for _ in range(24):
        middle = (low * high) ** 0.5
        low, high = (middle, high) if len(triangles(middle)) > count else (low, middle)
    return triangles(high)


def _ports(rng: np.random.Generator, space: int) -> Floats:
    """A place at the stand-off from a side wall or the roof of a space, clear of corners and boxes."""
    _, first, last = SPACES[space]
    x = rng.uniform(first + 0.12, last - 0.12)
    wall = rng.integers(3)
    if wall == 2:
        return np.array([x, rng.uniform(0.3, WIDE_M - 0.3), HIGH_M - OFF_M])
    at = np.array([x, OFF_M if wall == 0 else WIDE_M - OFF_M, rng.uniform(0.5, 1.05)])
    by_heater = wall == 0 and HEATER_M[0] < x < HEATER_M[1]
    return _ports(rng, space) if by_heater else at


def write(folder: Path, faces: int, cables: int, *, seed: int = 7) -> None:
    """A job folder: the body, its holes and keep-outs, and so many cables."""
    folder.mkdir(parents=True, exist_ok=True)
    soup = of_faces(faces)
    mesh = trimesh.Trimesh(soup.reshape(-1, 3), np.arange(3 * len(soup)).reshape(-1, 3), process=False)
    mesh.merge_vertices()
    mesh.export(folder / "body.ply")
    rng = np.random.default_rng(seed)
    lines = [
        'title = "van for comparison"\nlength_unit = "m"\n',
        '[vehicle]\nmesh = "body.ply"\nmesh_unit = "m"\naxes = "+x rear, +y right, +z up"\n',
        '[[surface]]\npart = "*"\nkind = "panel"\ndrill = false\n',
    ]
    for name, first, last in SPACES:
        lines.append(
            f'[[space]]\nname = "{name}"\nbox = [[{first}, 0.0, 0.0], [{last}, {WIDE_M}, {HIGH_M}]]\n'
        )
    for name, at, one, other in HOLES:
        lines.append(
            f'[[pass_through]]\nname = "{name}"\nat = {list(at)}\naxis = [1, 0, 0]\ndiameter = 0.12\n'
            f'state = "existing"\njoins = ["{one}", "{other}"]\n'
        )
    lines += [
        '[[keep_out]]\nname = "heater"\nreason = "hot"\nclearance = 0.05\nbox = [[1.5, 0, 0.6], [1.7, 0.1, 0.9]]\n',
        '[[keep_out]]\nname = "duct"\nreason = "hot"\nclearance = 0.03',
        f"capsule = {{ from = [2.4, {WIDE_M}, 1.3], to = [4.0, {WIDE_M}, 1.3], radius = 0.05 }}\n",
        '[[cable_type]]\nname = "lead"\nclass = "control"\ndiameter = 0.005\nmin_bend_radius = 0.02\n',
    ]
    for k in range(cables):
        ends = [_ports(rng, int(rng.integers(3))) for _ in range(2)]
        while np.linalg.norm(ends[0] - ends[1]) < 0.6:
            ends[1] = _ports(rng, int(rng.integers(3)))
        for side, place in zip("ab", ends, strict=True):
            space = next(name for name, first, last in SPACES if first <= place[0] <= last)
            here = [round(float(x), 4) for x in place]
            lines.append(
                f'[[device]]\nname = "{side}{k}"\nat = {here}\nspace = "{space}"\n'
                f'[[device.port]]\nname = "p"\nat = {here}\n'
            )
        lines.append(
            f'[[cable]]\nname = "C{k}"\nfrom = "a{k}.p"\nto = "b{k}.p"\ntype = "lead"\nclass = "control"\n'
        )
    (folder / "job.toml").write_text("\n".join(lines), encoding="utf-8")
