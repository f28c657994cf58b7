"""The vehicle body from its mesh file: metres, ISO 4130 axes, clean faces, parts with rules.

Stage      survey, second step
Units      in: as the job states (`mesh_unit`, `axes`); out: m
Safe side  a body of a size no vehicle has is an error, since its unit is probably wrong;
           what is dropped is counted and said
"""

from __future__ import annotations

import hashlib
import tomllib
from itertools import islice
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from routecut.model.body import Body
from routecut.model.finding import Finding, Severity
from routecut.model.job import Job, SurfaceKind
from routecut.plain import nearest_name, shown
from routecut.survey.faults import Collector
from routecut.survey.mesh_files import READERS, mesh_bytes, read_mesh_bytes
from routecut.survey.mesh_raw import MeshFileError, RawMesh
from routecut.survey.parts import called_by, distinct_names, rules_for, tidied
from routecut.survey.read_vehicle import path_inside
from routecut.survey.roughness import LEAST_M, noise_sigma_m, smoothed
from routecut.survey.soundness import report_soundness
from routecut.units import UNIT_NAMES, to_m

SMALLEST_M: Final = 0.5
LARGEST_M: Final = 30.0
"""Diagonals of the bounding box outside these are no vehicle's. [m]"""

MERGE_DIGITS: Final = 7
"""Points that agree to this many decimals of a metre are one point."""

_STRICTNESS: Final = (SurfaceKind.OBSTACLE, SurfaceKind.TRIM, SurfaceKind.PANEL, SurfaceKind.IGNORE)
_LEAST_AREA_M2: Final = 1e-12
_LOOKED_AT = 1000  # files in the folder, for one whose name is like the one that is missing
# Single-precision files lose a tenth of a millimetre when they lie this many times their
# own size from the origin.
_FAR_OUT: Final = 300.0

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def read_body(job: Job) -> tuple[Body | None, tuple[Finding, ...]]:
    """Read the mesh of a job.

    Parameters
    ----------
    job : Job

    Returns
    -------
    body : Body or None
        None when the file can't be used.
    findings : tuple of Finding
    """
    collector = Collector(file=job.vehicle.mesh)
    file = job.folder / job.vehicle.mesh
    suffix = file.suffix.lower()
    kinds = ", ".join(READERS)
    try:
        if not path_inside(job.folder, job.vehicle.mesh):
            collector.add("path-outside", "The mesh is not inside the job folder.")
            return None, tuple(collector.findings)
        job_file = Collector()
        if not is_there(job.folder, job.vehicle.mesh, job_file):
            return None, tuple(job_file.findings)
        raw = mesh_bytes(file)
        mesh = read_mesh_bytes(raw, suffix)
    except MeshFileError as error:
        collector.add("mesh-unreadable", f"The mesh can't be used: {error}.", found=suffix, allowed=kinds)
        return None, tuple(collector.findings)
    except OSError as error:
        collector.add("mesh-unreadable", f"The mesh can't be read: {error.strerror}.", allowed=kinds)
        return None, tuple(collector.findings)
    body = _make_body(job, mesh, hashlib.sha256(raw).hexdigest(), collector)
    return body, tuple(collector.findings)


def mesh_digest(folder: Path) -> str:
    """SHA-256 of the mesh of a job, hexadecimal; empty where there is none to read."""
    try:
        with (folder / "job.toml").open("rb") as file:
            mesh = tomllib.load(file)["vehicle"]["mesh"]
        if not path_inside(folder, mesh):
            return ""
        with (folder / mesh).open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except (OSError, KeyError, TypeError, ValueError):
        return ""


def is_there(folder: Path, mesh: str, collector: Collector) -> bool:
    """Whether the mesh file is there and of a kind that can be read; reported if not."""
    file = folder / mesh
    kinds = ", ".join(READERS)
    try:
        if file.is_file():
            ending = f"files ending in {file.suffix!r}" if file.suffix else "files with no ending"
            why = (
                "" if file.suffix.lower() in READERS else f"{ending} can't be read; save it as one of {kinds}"
            )
        else:
            why = "it is no file" if file.exists() else "there is no such file"
        near = "" if not why or file.exists() else nearest_name(mesh, _meshes_in(folder))
    except (OSError, ValueError) as error:
        why, near = f"it can't be read ({getattr(error, 'strerror', None) or error})", ""
    if why:
        collector.add(
            "mesh-unreadable",
            f"mesh is {shown(mesh)}: {why}.",
            table="[vehicle]",
            key="mesh",
            found=mesh,
            allowed=f"a mesh file in the job folder: {kinds}",
            nearest=near,
        )
    return not why


def _meshes_in(folder: Path) -> list[str]:
    return [path.name for path in islice(folder.iterdir(), _LOOKED_AT) if path.suffix.lower() in READERS]


def _make_body(job: Job, mesh: RawMesh, digest: str, collector: Collector) -> Body | None:
    _check_unit_and_axes(job, mesh, collector)
    parts = sorted((tidied(part) for part in mesh.parts), key=lambda part: part.name)
    names = distinct_names([part.name for part in parts])
    part_names = called_by(parts, names)
    rules = rules_for(job, part_names, collector)
    offsets = np.cumsum([0, *(len(part.vertices) for part in parts)])
    in_file = np.concatenate([part.vertices for part in parts])
    faces = np.concatenate([part.faces + start for part, start in zip(parts, offsets[:-1], strict=True)])
    face_part = np.repeat(np.arange(len(parts)), [len(part.faces) for part in parts])
    factor = to_m(1.0, job.vehicle.mesh_unit) * job.vehicle.mesh_scale
    vertices = in_file * factor @ np.array(job.vehicle.axes).T
    if not _size_is_plausible(vertices[np.unique(faces)], job, collector):
        return None

    kept = np.array([rule.kind is not SurfaceKind.IGNORE for rule in rules])[face_part]
    pictured = vertices[faces[~kept]]
    # Of faces that are there twice the first stays: the one with the stricter rule, whatever its part is called.
    strictness = np.array([_STRICTNESS.index(rule.kind) + 0.5 * rule.drill for rule in rules])
    strictest = np.flatnonzero(kept)[np.argsort(strictness[face_part[kept]], kind="stable")]
    vertices, faces, face_part = cleaned(vertices, faces[strictest], face_part[strictest], collector)
    if not len(faces):
        collector.add("mesh-unreadable", "No face is left: all are ignored or have no area.")
        return None
    sigma_m = noise_sigma_m(vertices, faces)
    if sigma_m < LEAST_M:
        sigma_m = 0.0
    report_soundness(vertices, faces, sigma_m, collector)
    return Body(
        vertices_m=vertices,
        faces=faces,
        face_part=face_part,
        parts=tuple(names),
        rules=tuple(rules),
        digest=digest,
        pictured=pictured,
        part_names=part_names,
        smoothed_m=smoothed(vertices, faces, sigma_m) if sigma_m > 0.0 else None,
        noise_m=sigma_m,
    )


def _check_unit_and_axes(job: Job, mesh: RawMesh, collector: Collector) -> None:
    vehicle = job.vehicle
    stated = to_m(1.0, vehicle.mesh_unit)
    said = mesh.metres_per_unit
    if said is not None and not np.isclose(said, stated, rtol=1e-6, atol=0.0):
        known = next(
            (u for u in UNIT_NAMES if np.isclose(to_m(1.0, u), said, rtol=1e-6, atol=0.0)), f"{said:g} m"
        )
        collector.add(
            "mesh-size",
            f"The file says its unit is {known}, the job says mesh_unit = {vehicle.mesh_unit!r}; correct "
            "the job or the file.",
            table="[vehicle]",
            key="mesh_unit",
            found=vehicle.mesh_unit,
            allowed=known,
        )
    if mesh.up and not np.allclose(np.array(vehicle.axes)[2], [mesh.up == axis for axis in "xyz"]):
        collector.add(
            "mesh-size",
            f"The file says that its {mesh.up} axis points up, the job says axes = {vehicle.axes_text!r}; "
            "correct the job or the file.",
            table="[vehicle]",
            key="axes",
            found=vehicle.axes_text,
            allowed=f"+{mesh.up} up",
        )


def _size_is_plausible(used_m: Floats, job: Job, collector: Collector) -> bool:
    low, high = used_m.min(axis=0), used_m.max(axis=0)
    diagonal = float(np.linalg.norm(high - low))
    if not SMALLEST_M <= diagonal <= LARGEST_M:
        fits = [
            unit
            for unit in UNIT_NAMES
            if SMALLEST_M <= diagonal / to_m(1.0, job.vehicle.mesh_unit) * to_m(1.0, unit) <= LARGEST_M
        ]
        collector.add(
            "mesh-size",
            f"With mesh_unit = {job.vehicle.mesh_unit!r} the body is {diagonal:.3g} m from corner to corner."
            + (f" It would be a vehicle in {' or '.join(fits)}." if fits else ""),
            table="[vehicle]",
            key="mesh_unit",
            found=job.vehicle.mesh_unit,
            allowed=f"a body of {SMALLEST_M:g} m to {LARGEST_M:g} m",
        )
        return False
    far = float(np.abs(used_m).max())
    if far > _FAR_OUT * diagonal:
        collector.add(
            "mesh-size",
            f"The body lies {far:.0f} m from the origin; that far out coordinates lose their last digits. "
            "Move it to the origin where it was made.",
            severity=Severity.WARNING,
            found=f"{far:.0f} m",
            allowed=f"{_FAR_OUT * diagonal:.0f} m",
        )
    return True


def cleaned(
    vertices: Floats, faces: Ints, face_part: Ints, collector: Collector
) -> tuple[Floats, Ints, Ints]:
    """Equal points merged, faces without area and repeated faces dropped, unused points gone; all in m.

    Points and faces come out in the order of where they lie, from the front: neither the names of parts
    nor the order of the file has a say in what is sampled from them.
    """
    used, inverse = np.unique(faces, return_inverse=True)
    vertices, faces = vertices[used], inverse.reshape(-1, 3)
    grid = np.round(vertices * 10.0**MERGE_DIGITS).astype(np.int64)
    same = _first_equal(grid)
    welded = int((same != np.arange(len(same))).sum())
    faces = same[faces]
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    area = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    solid = area > _LEAST_AREA_M2
    faces, face_part = faces[solid], face_part[solid]
    once = np.unique(_first_equal(np.sort(faces, axis=1)))
    flat, repeated = int((~solid).sum()), len(faces) - len(once)
    faces, face_part = faces[once], face_part[once]
    used, faces = _placed(grid, faces)
    order = np.lexsort(np.sort(faces, axis=1).T[::-1])
    faces, face_part = faces[order], face_part[order]
    if flat or repeated:
        collector.add(
            "mesh-repaired",
            f"Welded {welded} points that lie on another; dropped {repeated} repeated faces and {flat} faces without "
            f"area; {len(faces)} are left.",
            severity=Severity.NOTE,
            found=str(welded + repeated + flat),
        )
    return vertices[used], faces, face_part.astype(np.int64)


def _placed(grid: Ints, faces: Ints) -> tuple[Ints, Ints]:
    """Points in use, in the order of where they lie, and faces of them that begin with their first point."""
    used, inverse = np.unique(faces, return_inverse=True)
    order = np.lexsort(grid[used].T[::-1])
    place = np.empty(len(used), dtype=np.int64)
    place[order] = np.arange(len(used))
    faces = place[inverse.reshape(-1, 3)]
    turn = (faces.argmin(axis=1)[:, None] + np.arange(3)) % 3  # the winding stays
    return used[order], np.take_along_axis(faces, turn, axis=1)


def _first_equal(rows: Ints) -> Ints:
    """For each row, the number of the first row that equals it; rows of three."""
    # much quicker than a unique over rows: three plain sorts, stable, so the first stays first
    order = np.lexsort(rows.T)
    ordered = rows[order]
    new = np.ones(len(rows), dtype=bool)
    new[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    found = np.empty(len(rows), dtype=np.int64)
    found[order] = order[new][np.cumsum(new) - 1]
    return found
