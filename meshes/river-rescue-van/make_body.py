"""Makes `body.glb`, the body of an invented river rescue van, from nothing but figures.

Run ``python make_body.py`` in any folder: the file is written beside this script. The same
figures give the same bytes. Coordinates in the file are metres in ISO 4130 axes: X rearward
(0 is a plane ahead of the front bumper), Y to the right (0 is the middle), Z up (0 is the
ground). Everything is a sheet without thickness. `form` holds the outer shape, `sheets` the
ways to make a sheet, `outside`, `structure` and `inside` the parts.
"""

from __future__ import annotations

from pathlib import Path

import inside
import numpy as np
import outside
import structure
import trimesh


def parts() -> outside.Parts:
    """Every part of the van by name. [mm]"""
    made: outside.Parts = {}
    groups = (outside.everything(), structure.everything(), inside.everything())
    for group in groups:
        if twice := sorted(set(group) & set(made)):
            raise ValueError(f"part made twice: {', '.join(twice)}")
        made.update(group)
    return made


def scene() -> trimesh.Scene:
    """The van as a scene with one named node a part. [m]"""
    van = trimesh.Scene()
    for name, (vertices, faces) in sorted(parts().items()):
        metres = np.round(vertices / 1000.0, 5)  # hundredths of a millimetre: the same on every machine
        mesh = trimesh.Trimesh(metres, faces, process=False)
        van.add_geometry(mesh, node_name=name, geom_name=name)
    return van


def main() -> None:
    """Writes the file and says what is in it."""
    target = Path(__file__).with_name("body.glb")
    van = scene()
    target.write_bytes(trimesh.exchange.gltf.export_glb(van, include_normals=False))
    low, high = van.bounds
    faces = sum(len(mesh.faces) for mesh in van.geometry.values())
    print(f"{target.name}: {len(van.geometry)} parts, {faces} faces, {target.stat().st_size} bytes")
    print(f"from {low.round(3).tolist()} to {high.round(3).tolist()} m")


if __name__ == "__main__":
    main()
