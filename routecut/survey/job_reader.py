"""Reads job.toml whole: every fault at once, and the job as far as it is sound.

Stage      survey, first step; touches nothing but the file
Units      out come m and ISO 4130 axes
Leaves     the mesh (`survey.mesh`) and what needs both (`survey.seat`)
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from routecut.model.finding import Finding
from routecut.model.job import (
    CableType,
    Drilling,
    Job,
    LengthPractice,
    Port,
    Routing,
    Rules,
    ServicePractice,
    Vec3,
    Vehicle,
)
from routecut.survey.faults import Collector, TooManyFaultsError
from routecut.survey.mesh import is_there
from routecut.survey.positions import Places, read_landmarks
from routecut.survey.read_fitout import read_cable, read_cable_type, read_device, read_stock
from routecut.survey.read_room import (
    read_hinge,
    read_keep_out,
    read_noise_source,
    read_opening,
    read_pass_through,
    read_space,
)
from routecut.survey.read_vehicle import (
    path_inside,
    read_drilling,
    read_lengths,
    read_routing,
    read_rules,
    read_service,
    read_surface,
    read_vehicle,
)
from routecut.survey.references import Entries, check_references
from routecut.survey.shop import shop_defaults
from routecut.survey.tape_checks import scale_from
from routecut.survey.toml_fields import Fields
from routecut.survey.toml_file import JOB_FILE, read_bytes, toml_from
from routecut.units import UNIT_NAMES

T = TypeVar("T")


def load_job(path: Path | str) -> tuple[Job | None, tuple[Finding, ...]]:
    """Read and check a job, without its mesh.

    Parameters
    ----------
    path : Path or str
        The job folder, or the ``job.toml`` in it.

    Returns
    -------
    job : Job or None
        Every entry that is sound; entries at fault are left out, so a job that comes with
        an error is good for looking further but not for planning. None when the file
        can't be read or the vehicle or the unit is at fault.
    findings : tuple of Finding
        Every fault, in the order of the job format, and warnings and notes.
    """
    given = Path(path)
    file = given if given.name == JOB_FILE and not given.is_dir() else given / JOB_FILE
    collector = Collector()
    raw = read_bytes(file, collector)
    if raw is None:
        return None, tuple(collector.findings)
    return job_from(raw, file.parent)


def job_from(raw: bytes, folder: Path) -> tuple[Job | None, tuple[Finding, ...]]:
    """As `load_job`, from what a ``job.toml`` in that folder would hold."""
    collector = Collector()
    data = toml_from(raw, folder / JOB_FILE, collector)
    job = None
    if data is not None:
        with contextlib.suppress(TooManyFaultsError):
            job = _read_job(data, folder, collector)
    return job, tuple(collector.findings)


def _read_job(data: dict[str, Any], folder: Path, collector: Collector) -> Job | None:
    written_unit = data.get("length_unit")
    unit = written_unit if written_unit in UNIT_NAMES else "m"
    root = Fields(data, "", collector, unit)
    root.one_of("length_unit", UNIT_NAMES)
    root.unit_known = root.sound
    title = root.name("title") if root.has("title") else folder.resolve().name
    entries = Entries()

    vehicle_fields = root.child("vehicle", "[vehicle]")
    vehicle: Vehicle | None = None
    if vehicle_fields is not None:
        vehicle = read_vehicle(vehicle_fields, folder)
    elif "vehicle" not in data:
        root.require("vehicle", "a [vehicle] table with mesh, mesh_unit and axes")
    entries.surfaces = [(read_surface(f), f) for f in root.children("surface", "[[surface]]")]
    if vehicle is not None and vehicle.rescale:
        scale = _mesh_scale(data, vehicle, unit, collector)
        vehicle = replace(
            vehicle,
            mesh_scale=scale,
            sections=tuple(
                replace(s, low_m=_times(scale, s.low_m), high_m=_times(scale, s.high_m))
                for s in vehicle.sections
            ),
        )
        root.scale = scale
    places = Places(sigma_m=vehicle.point_error_m if vehicle else 0.005)
    entries.spaces = [(read_space(f), f) for f in root.children("space", "[[space]]")]
    entries.landmarks = read_landmarks(root.children("landmark", "[[landmark]]"), places)
    entries.keep_outs = _each(root.children("keep_out", "[[keep_out]]"), places, read_keep_out)
    entries.noise_sources = _each(
        root.children("noise_source", "[[noise_source]]"), places, read_noise_source
    )
    entries.hinges = _each(root.children("hinge", "[[hinge]]"), places, read_hinge)
    entries.openings = _each(root.children("opening", "[[opening]]"), places, read_opening)
    entries.pass_throughs = _each(
        root.children("pass_through", "[[pass_through]]"), places, read_pass_through
    )
    for device_fields in root.children("device", "[[device]]"):
        device, port_tables = read_device(device_fields, places)
        entries.devices.append((device, device_fields))
        entries.ports += [
            (device.name, _port_name(port), table)
            for port, table in zip(device.ports, port_tables, strict=True)
        ]
    entries.cable_types = [(read_cable_type(f), f) for f in root.children("cable_type", "[[cable_type]]")]
    own_types: dict[str, CableType | None] = {
        t.name: t if table.sound else None for t, table in entries.cable_types if t.name
    }
    entries.cables = [(read_cable(f, own_types), f) for f in root.children("cable", "[[cable]]")]
    entries.stock = [(read_stock(f), f) for f in root.children("stock", "[[stock]]")]
    routing = _single(root, "routing", read_routing, Routing())
    rules = _single(root, "rules", read_rules, Rules())
    lengths = _lengths(root, folder)
    drilling = _single(root, "drilling", read_drilling, Drilling())
    service = _single(root, "service", read_service, ServicePractice())
    root.finish()
    check_references(entries, vehicle_fields, vehicle.tape_checks if vehicle else ())

    if not root.unit_known or vehicle is None or vehicle_fields is None or not vehicle_fields.sound:
        # Nobody will read the mesh now; whether there is one is said in this run all the same.
        if vehicle is not None and vehicle.mesh and path_inside(folder, vehicle.mesh):
            is_there(folder, vehicle.mesh, collector)
        return None
    return Job(
        folder=folder,
        title=title,
        length_unit=unit,
        vehicle=vehicle,
        surfaces=_sound(entries.surfaces),
        spaces=_sound(entries.spaces),
        keep_outs=_sound(entries.keep_outs),
        noise_sources=_sound(entries.noise_sources),
        hinges=_sound(entries.hinges),
        landmarks=_sound(entries.landmarks),
        openings=_sound(entries.openings),
        pass_throughs=_sound(entries.pass_throughs),
        devices=_sound(entries.devices),
        cables=_sound(entries.cables),
        cable_types=_sound(entries.cable_types),
        stock=_sound(entries.stock),
        routing=routing,
        rules=rules,
        lengths=lengths,
        drilling=drilling,
        service=service,
    )


def _lengths(root: Fields, folder: Path) -> LengthPractice:
    """The shop's practice: what the job says, over the shop's own file where the job names one."""
    fields = root.child("lengths", "[lengths]")
    if fields is None:
        return LengthPractice()
    default = shop_defaults(fields, folder) if fields.has("defaults") else LengthPractice()
    return read_lengths(fields, default)


def _mesh_scale(data: dict[str, Any], vehicle: Vehicle, unit: str, collector: Collector) -> float:
    """The scale the tape checks ask for, from a first look at the landmarks alone.

    It is needed before anything is read: what is taped from a landmark is taped from
    where the landmark really is. Faults of the landmarks are reported when they are read.
    """
    places = Places(sigma_m=vehicle.point_error_m)
    first_look = Fields(data, "", Collector(), unit)
    read_landmarks(first_look.children("landmark", "[[landmark]]"), places)
    return scale_from(vehicle.tape_checks, places.landmarks, collector)


def _times(scale: float, point_m: Vec3) -> Vec3:
    x, y, z = point_m
    return (x * scale, y * scale, z * scale)


def _each(
    tables: list[Fields], places: Places, read: Callable[[Fields, Places], T]
) -> list[tuple[T, Fields]]:
    return [(read(table, places), table) for table in tables]


def _single(root: Fields, key: str, read: Callable[[Fields], T], default: T) -> T:
    table = root.child(key, f"[{key}]")
    return default if table is None else read(table)


def _sound(entries: list[tuple[T, Fields]]) -> tuple[T, ...]:
    return tuple(value for value, table in entries if table.sound)


def _port_name(port: Port) -> str:
    return port.name
