"""Ways to damage a clean body, as files and scans come: each takes parts and gives parts, seeded.

All lengths in metres; triangles (k, 3, 3).
"""

from __future__ import annotations

import numpy as np

from tests.damage.cabin import Parts
from tests.worlds.shapes import Floats


def _by_vertex(triangles: Floats) -> tuple[Floats, np.ndarray]:
    points, which = np.unique(triangles.reshape(-1, 3).round(7), axis=0, return_inverse=True)
    return points, which.reshape(-1, 3)


def rough(parts: Parts, most: float, seed: int = 1) -> Parts:
    """Scan noise: every vertex moved by up to `most` along the sheet's normal there, evenly spread."""
    random = np.random.default_rng(seed)
    result = {}
    for name, triangles in parts.items():
        points, faces = _by_vertex(triangles)
        normal = np.zeros_like(points)
        own = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
        for corner in range(3):
            np.add.at(normal, faces[:, corner], own)
        normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]
        result[name] = (points + random.uniform(-most, most, len(points))[:, None] * normal)[faces]
    return result


def cracked(parts: Parts, width: float) -> Parts:
    """A triangle soup: every triangle shrunk, so that a crack of that width is left between neighbours."""
    result = {}
    for name, triangles in parts.items():
        a, b, c = (triangles[:, k] for k in range(3))
        area = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
        around = sum(np.linalg.norm(p - q, axis=1) for p, q in ((a, b), (b, c), (c, a)))
        inner = 2 * area / np.maximum(around, 1e-12)
        share = np.clip(1 - width / 2 / np.maximum(inner, 1e-12), 0.05, 1.0)[:, None, None]
        middle = triangles.mean(axis=1, keepdims=True)
        result[name] = middle + share * (triangles - middle)
    return result


def flipped(parts: Parts, share: float = 0.5, seed: int = 2) -> Parts:
    """Faces wound the other way round."""
    random = np.random.default_rng(seed)
    return {
        name: np.where((random.random(len(t)) < share)[:, None, None], t[:, ::-1], t)
        for name, t in parts.items()
    }


def doubled(parts: Parts, share: float = 0.5, seed: int = 3) -> Parts:
    """Faces that are there twice, and some without area."""
    random = np.random.default_rng(seed)
    result = {}
    for name, triangles in parts.items():
        again = triangles[random.random(len(triangles)) < share]
        flat = triangles[:: max(1, len(triangles) // 20)].copy()
        flat[:, 2] = flat[:, 1]
        result[name] = np.concatenate([triangles, again, flat])
    return result


def holed(parts: Parts, share: float = 0.08, wide: float = 0.06, seed: int = 4) -> Parts:
    """A scan that missed places about so wide, `share` of the area in all."""
    random = np.random.default_rng(seed)
    result = {}
    for name, triangles in parts.items():
        middle = triangles.mean(axis=1)
        area = np.linalg.norm(
            np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1
        )
        kept = np.ones(len(triangles), dtype=bool)
        while area[~kept].sum() < share * area.sum():
            kept &= np.linalg.norm(middle - middle[random.integers(len(middle))], axis=1) > wide / 2
        result[name] = triangles[kept]
    return result


def pieces(parts: Parts, count: int = 100) -> Parts:
    """Hundreds of loose parts: each part cut into many, by place."""
    result = {}
    for name, triangles in parts.items():
        middle = triangles.mean(axis=1)
        many = max(1, round(count * len(triangles) / sum(len(t) for t in parts.values())))
        for k, rows in enumerate(np.array_split(np.lexsort(middle.round(1).T), many)):
            result[f"{name} {k}"] = triangles[rows]
    return result


def windowed(parts: Parts, wide: float = 0.3) -> Parts:
    """An open window through both sheets of the wall, over the middle of the floor."""
    wall = parts["wall"]
    off = np.abs(wall.mean(axis=1)[:, 1:] - (0.65, 0.6))
    return {**parts, "wall": wall[(off > wide / 2).any(axis=1)]}


def uneven(parts: Parts, seed: int = 5) -> Parts:
    """Huge beside tiny triangles: some are cut into 64, and a sheet of two triangles is added outside."""
    random = np.random.default_rng(seed)
    result = {}
    for name, triangles in parts.items():
        some = random.random(len(triangles)) < 0.02
        fine = triangles[some]
        for _ in range(3):
            a, b, c = fine[:, 0], fine[:, 1], fine[:, 2]
            ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
            fine = np.concatenate(
                [np.stack(t, axis=1) for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]
            )
        result[name] = np.concatenate([triangles[~some], fine])
    big = np.array(
        [[(-3, -3, -0.5), (6, -3, -0.5), (6, 5, -0.5)], [(-3, -3, -0.5), (6, 5, -0.5), (-3, 5, -0.5)]], float
    )
    return {**result, "ground": big}
