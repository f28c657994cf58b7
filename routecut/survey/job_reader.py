"""Reads job.toml whole: every fault at once, and the job as far as it is sound.

Stage      survey, first step; touches nothing but the file
Units      out come m and ISO 4130 axes
Leaves     the mesh (`survey.mesh`) and what needs both (`survey.seat`)
"""

from __future__ import annotations

import contextlib
import math
import re
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Final, Self, TypeVar

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
from routecut.units import UNIT_NAMES

JOB_FILE: Final = "job.toml"
LARGEST_JOB_BYTES: Final = 5_000_000
"""A job file larger than this is refused unread."""

# The TOML reader takes time with the square of the dots in a key.
_DEEP_KEY = re.compile(rb"[\s\[]*(?:[^.\s=#]+[ \t]*\.[ \t]*){64}")

_MOST_DIGITS: Final = 300
_LONG_NUMBER = re.compile(rb"(?<![0-9A-Za-z_])(?:0[xob][0-9A-Fa-f_]{301}|[0-9][0-9_]{300})")

T = TypeVar("T")


class _Beyond(float):
    """A figure larger than a float holds; quoted as it was written, not as infinity."""

    _text: str

    def __new__(cls, text: str) -> Self:
        made = super().__new__(cls, text)
        made._text = text
        return made

    def __repr__(self) -> str:
        return self._text


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


def read_bytes(file: Path, collector: Collector) -> bytes | None:
    """A TOML file of the user's as it is; None, and a fault, when it can't be had."""
    try:
        if file.name == JOB_FILE and not path_inside(file.parent, file.name):
            collector.add("path-outside", f"{JOB_FILE} is a link that leaves the job folder.")
            return None
        if not file.is_file():
            why = f"{file.name} is no file." if file.exists() else f"There is no {file.name} here."
            _unreadable(file, why, collector)
            return None
        with file.open("rb") as stream:
            raw = stream.read(LARGEST_JOB_BYTES + 1)
    except (OSError, ValueError) as error:
        why = str(getattr(error, "strerror", None) or error)
        _unreadable(file, f"{file.name} can't be read: {why}.", collector)
        return None
    if len(raw) > LARGEST_JOB_BYTES:
        _unreadable(
            file,
            f"{file.name} is larger than {LARGEST_JOB_BYTES // 1_000_000} MB; it was not read.",
            collector,
        )
        return None
    return raw


def toml_from(raw: bytes, file: Path, collector: Collector) -> dict[str, Any] | None:
    """What a TOML file says; None, and a fault, when it says nothing that can be read."""
    if any(_DEEP_KEY.match(line) for line in raw.splitlines()):
        _unreadable(file, f"{file.name} is nested too deeply.", collector)
        return None
    if long := _LONG_NUMBER.search(raw):
        line = raw[: long.start()].count(b"\n") + 1
        _unreadable(
            file, f"{file.name} holds a number of more than {_MOST_DIGITS} digits, line {line}.", collector
        )
        return None
    try:
        return tomllib.loads(raw.decode("utf-8-sig"), parse_float=_figure)
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        why = f"{file.name} is not UTF-8 text: byte {error.start + 1}, line {line}. Save it as UTF-8."
    except RecursionError:
        why = f"{file.name} is nested too deeply."
    except ValueError as error:  # TOMLDecodeError among them, with line and column
        why = f"{file.name} is not valid TOML: {error}."
    _unreadable(file, why, collector)
    return None


def _figure(text: str) -> float:
    number = float(text)
    return _Beyond(text) if math.isinf(number) and text.lstrip("+-") != "inf" else number


def _unreadable(file: Path, why: str, collector: Collector) -> None:
    allowed = f"a folder with a {JOB_FILE}" if file.name == JOB_FILE else "a TOML file with entries of a job"
    collector.add("job-unreadable", f"{why} ({file})", allowed=allowed)


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
