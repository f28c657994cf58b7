"""A small clean body with everything that damage shows on: two rooms, a double wall, an arch, a bench, a post.

All lengths in metres. `write` makes a job folder of it, with any triangles in place of the clean ones.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import trimesh

from tests.worlds.shapes import Floats, around, box, extruded, merged, plate

Parts = dict[str, Floats]

SIZE = (2.4, 1.3, 1.0)
WALL = (1.2, 1.235)
"""The two sheets of the wall between the rooms, at x."""

HOLE = (0.5 * (WALL[0] + WALL[1]), 0.35, 0.3)
ENDS = {
    "along": ((0.25, 0.2, 0.012), (1.5, 1.1, 0.012)),
    "over the arch": ((0.3, 1.0, 0.012), (1.0, 1.288, 0.5)),
    "under the bench": ((1.5, 0.2, 0.012), (2.2, 1.1, 0.3)),
    "up the roof": ((0.012, 0.5, 0.4), (2.0, 0.5, 0.988)),
}
"""Both ends of each cable."""


def cabin(cell: float = 0.04) -> Parts:
    """Parts by name, triangles (k, 3, 3)."""
    _, y, z = SIZE
    ring = around(0.25, 48)[:25] + np.array([0.65, 0.0])
    hollow = [plate(0, at, (0.0, y), (0.0, z), cell=cell) for at in WALL]
    return {
        "shell": box((0, 0, 0), SIZE, cell=cell),
        "wall": np.concatenate(hollow),
        "arch": extruded(ring, 1, (y - 0.3, y), 8),
        "bench": np.concatenate(
            [
                plate(2, 0.35, (1.7, 2.3), (0.4, 0.9), cell=cell),
                plate(0, 1.7, (0.4, 0.9), (0.0, 0.35), cell=cell),
                plate(0, 2.3, (0.4, 0.9), (0.0, 0.35), cell=cell),
            ]
        ),
        "post": extruded(around(0.04, 24) + np.array([0.6, 0.45]), 2, (0.0, z), 20),
    }


def write(
    folder: Path,
    parts: Mapping[str, Floats],
    *,
    grow: float = 0.0,
    tag_off: float = 0.0,
    cables: Sequence[str] = tuple(ENDS),
    faces: Mapping[str, dict[str, np.ndarray]] | None = None,
) -> None:
    """A job folder; `grow` makes the boxes of the spaces larger all round, `tag_off` moves the pass-through."""
    scene = trimesh.Scene()
    for name, triangles in parts.items():
        mesh = (faces or {}).get(name) or merged(triangles)
        scene.add_geometry(trimesh.Trimesh(**mesh, process=False), geom_name=name, node_name=name)
    (folder / "body.glb").write_bytes(scene.export(file_type="glb"))
    _, y, z = SIZE
    lines = [
        'title = "cabin"\nlength_unit = "m"\n[vehicle]\nmesh = "body.glb"\nmesh_unit = "m"',
        'axes = "+x rear, +y right, +z up"\n[routing]\nstand_off = 0.012\nbridge = 0.3',
        '[[surface]]\npart = "*"\nkind = "panel"',
    ]
    for name, low, high in (("front", (0, 0, 0), (HOLE[0], y, z)), ("rear", (HOLE[0], 0, 0), SIZE)):
        box_ = [[float(v) - grow for v in low], [float(v) + grow for v in high]]
        seed = [0.5 * (low[0] + high[0]), 0.65, 0.6]
        lines.append(f'[[space]]\nname = "{name}"\nbox = {box_}\nseed = {seed}')
    lines.append(
        f'[[pass_through]]\nname = "H"\nat = [{HOLE[0] + tag_off}, {HOLE[1]}, {HOLE[2]}]\naxis = [1, 0, 0]\n'
        'diameter = 0.03\ndepth = 0.04\njoins = ["front", "rear"]'
    )
    lines.append('[[cable_type]]\nname = "t"\nclass = "control"\ndiameter = 0.006\nmin_bend_radius = 0.025')
    for k, name in enumerate(cables):
        for device, at in zip((f"a{k}", f"b{k}"), ENDS[name], strict=True):
            room = "front" if at[0] < HOLE[0] else "rear"
            lines.append(
                f'[[device]]\nname = "{device}"\nat = {list(at)}\nspace = "{room}"\n'
                f'[[device.port]]\nname = "p"\nat = {list(at)}'
            )
        lines.append(f'[[cable]]\nname = "{name}"\nfrom = "a{k}.p"\nto = "b{k}.p"\ntype = "t"')
    (folder / "job.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")
