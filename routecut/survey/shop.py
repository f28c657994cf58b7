"""The shop's own defaults for `[lengths]`: a file in the job folder that the job names.

Stage      survey
Safe side  taken only where the job asks for it by name, and said with every value; the file lies in the job
           folder, so that a job carries its figures along
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from routecut.model.finding import Severity
from routecut.model.job import LengthPractice
from routecut.plain import nearest_name, shown
from routecut.survey.faults import Collector, listed
from routecut.survey.read_vehicle import path_inside, read_lengths
from routecut.survey.toml_fields import Fields
from routecut.survey.toml_file import JOB_FILE, read_bytes, toml_from
from routecut.units import UNIT_NAMES

LARGEST_BYTES: Final = 100_000


def shop_defaults(fields: Fields, folder: Path) -> LengthPractice:
    """The practice in the file under `defaults`; faults of it are said with its name.

    Parameters
    ----------
    fields : Fields
        The ``[lengths]`` table of the job.
    folder : Path
        The job folder.
    """
    name = fields.text("defaults")
    if not fields.sound or not name:
        return LengthPractice()
    if not path_inside(folder, name):
        fields.fault(
            "path-outside",
            "defaults",
            f"{name!r} leaves the job folder; copy the shop's file into it.",
            found=name,
            allowed="a path in the job folder",
        )
        return LengthPractice()
    data = _read(fields, folder, name)
    if data is None:
        return LengthPractice()
    collector = Collector(file=name)
    root = Fields(data, "", collector, fields.unit)
    if root.has("length_unit"):
        root.unit = root.one_of("length_unit", UNIT_NAMES)
        root.unit_known = root.sound
    table = root.child("lengths", "[lengths]")
    if table is None:
        root.require("lengths", "a [lengths] table")
    practice = LengthPractice() if table is None else read_lengths(table, LengthPractice())
    root.finish()
    if collector.errors:
        fields.spoil()
    elif table is not None:
        _say(collector, table, fields)
    fields.collector.take(collector)
    return replace(practice, defaults=name)


def _read(fields: Fields, folder: Path, name: str) -> dict[str, Any] | None:
    path = folder / name
    if not _is_file(path):
        there = sorted(p.name for p in folder.glob("*.toml") if p.name != JOB_FILE and p.is_file())
        fields.fault(
            "unknown-name",
            "defaults",
            f"There is no file {shown(name)} in the job folder.",
            found=name,
            allowed=listed(there) or "a TOML file with a [lengths] table",
            nearest=nearest_name(name, there),
        )
        return None
    collector = Collector(file=name)
    raw = read_bytes(path, collector, most=LARGEST_BYTES)
    data = None if raw is None else toml_from(raw, path, collector)
    for finding in collector.findings:
        fields.fault(
            "job-unreadable",
            "defaults",
            finding.message,
            found=name,
            allowed="a TOML file with a [lengths] table",
        )
    return data


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name that is too long
        return False


def _say(collector: Collector, table: Fields, job: Fields) -> None:
    """Every value the job takes from the file."""
    taken = [f"{key} = {value}" for key, value in table.data.items() if key not in job.data]
    kept = [key for key in table.data if key in job.data]
    over = f"; {', '.join(kept)} as the job says itself" if kept else ""
    collector.add(
        "shop-defaults",
        f"From the shop's own file: {', '.join(taken) or 'nothing'}{over}.",
        severity=Severity.NOTE,
        table="[lengths]",
    )
