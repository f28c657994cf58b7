"""The files of a new job: mesh, text and drawings.

Stage      patterns, last step
Units      m in the mesh
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

import numpy as np
import trimesh

from routecut.model.job import SurfaceRule
from routecut.patterns.drawings import GENERATOR, measure_page
from routecut.patterns.job_text import is_as_made, job_text
from routecut.patterns.known import Pattern
from routecut.patterns.made import Made, Noted
from routecut.patterns.measurements import Taken
from routecut.patterns.sheets import Sheet

MESH, DRAWINGS, JOB = "body.glb", "measure.html", "job.toml"
MARK = GENERATOR.encode()


def body_glb(parts: Mapping[str, Sheet]) -> bytes:
    """The parts as a GLB in metres, one named node each; the same parts give the same bytes."""
    scene = trimesh.Scene(metadata={"made by": GENERATOR})
    for name, (vertices, faces) in sorted(parts.items()):
        metres = np.round(vertices / 1000.0, 5)  # hundredths of a millimetre: the same on every machine
        scene.add_geometry(trimesh.Trimesh(metres, faces, process=False), node_name=name, geom_name=name)
    exported: Any = trimesh.exchange.gltf.export_glb(scene, include_normals=False)
    return bytes(exported)


def write_body(target: Path, parts: Mapping[str, Sheet]) -> str:
    """Write the GLB of some parts and say what is in it."""
    target.write_bytes(body_glb(parts))
    faces = sum(len(sheet[1]) for sheet in parts.values())
    return f"{target.name}: {len(parts)} parts, {faces} faces, {target.stat().st_size} bytes"


def made_of(pattern: Pattern, taken: Mapping[str, Taken]) -> Made:
    """The vehicle, its rules for surfaces cut down to those that match a part."""
    made = pattern.make({key: one.value for key, one in taken.items()})
    rules: list[Noted[SurfaceRule]] = []
    note = ""
    for rule in made.surfaces:
        note = rule.note or note  # of a rule that is left out, for the next of its group
        if any(fnmatchcase(part, rule.entry.part) for part in made.parts):
            rules.append(replace(rule, note=note))
            note = ""
    return replace(made, surfaces=tuple(rules))


def job_files(
    pattern: Pattern, taken: Mapping[str, Taken], *, title: str, unit: str, example: bool = False
) -> dict[str, bytes]:
    """Everything a new job folder begins with, by file name.

    Parameters
    ----------
    taken : mapping of str to Taken
        What `taken_all` made of the measurements.
    unit : str
        The job's `length_unit`.
    example : bool
        With the small fit-out of the pattern as entries; else it is commented out.
    """
    made = made_of(pattern, taken)
    return {
        MESH: body_glb(made.parts),
        DRAWINGS: measure_page(pattern, made, taken, unit=unit).encode(),
        JOB: job_text(pattern, made, taken, title=title, unit=unit, example=example).encode(),
    }


def is_made_here(name: str, data: bytes) -> bool:
    """Whether a file is one that a pattern made and nobody has written in: it can be made again."""
    if name == JOB:
        return is_as_made(data.decode("utf-8", "replace"))
    return MARK in data
