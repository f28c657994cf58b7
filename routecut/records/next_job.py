"""The same fit-out on the next vehicle: a job that begins where the record of the last one ended.

Stage      records; the text of a job and its record in, the text of a new job out
Units      as the job has them
Safe side  what was found out on the last vehicle is carried over where it is likely to hold again, and everything
           that is carried over is listed to be checked; nothing that belongs to the one vehicle (serial numbers,
           photos, readings) goes along
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any, Final

import tomlkit
from tomlkit.exceptions import TOMLKitError

from routecut.errors import RoutecutError
from routecut.model.finding import Finding, Severity
from routecut.model.job import HoleState, Job
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.units import format_length, from_m

_CHECK: Final = "like-check"


@dataclass(frozen=True, slots=True, kw_only=True)
class NextJob:
    """The text of the new job, and what to check on the vehicle before anything is cut or drilled."""

    text: str
    findings: tuple[Finding, ...]


def next_job(text: str, job: Job, record: Record, *, title: str, like: str) -> NextJob:
    """The job of the next vehicle.

    Parameters
    ----------
    text : str
        Of the ``job.toml`` of the last one; comments stay.
    job : Job
        The same, read.
    record : Record
        Of it.
    title : str
        Of the new job.
    like : str
        What the last one is called in what is said.

    Raises
    ------
    RoutecutError
        The text can't be edited by machine.
    """
    try:
        document = tomlkit.parse(text.removeprefix("\ufeff"))
        if "title" in document:
            document["title"] = title
            findings = list(_changes(document, job, record, like))
            written = tomlkit.dumps(document)
        else:
            findings = list(_changes(document, job, record, like))
            written = f"title = {tomlkit.item(title).as_string()}\n{tomlkit.dumps(document)}"
    except (TOMLKitError, KeyError, TypeError, ValueError) as error:
        raise RoutecutError(f"{like}: its job.toml can't be carried over by machine: {error}") from error
    return NextJob(text=written, findings=tuple(findings))


def _changes(document: Any, job: Job, record: Record, like: str) -> Iterator[Finding]:
    for table, key in (("vehicle", "mesh"), ("lengths", "defaults")):
        named = document.get(table, {}).get(key)
        if named is not None and "/" in named:  # files go along without their folders
            document[table][key] = PurePosixPath(named).name
    yield _check(
        "vehicle", f"The mesh is that of {like}: look at what is different on this one before you trust it."
    )
    if job.vehicle.tape_checks:
        yield _check(
            "vehicle, tape_check", f"The tape distances were taken on {like}: take them again on this one."
        )
    moved_by: dict[str, int] = {}
    for line in record.standing:
        if line.fact.what is What.MOVED:
            moved_by[line.fact.name] = line.number
            yield from _moved(document, job, line.fact, like)
    for line in record.standing:
        match line.fact.what:
            case What.SWAPPED:
                yield from _swapped(document, line.fact, like)
            case What.STRING:
                yield from _string(document, job, line, moved_by, like)
            case What.JOINT:
                at = format_length(line.fact.length_m or 0.0, job.length_unit)
                yield _check(f"cable {line.fact.name}", f"Its joint lay {at} along the run on {like}.")
            case _:
                pass
    for cable in job.cables:
        yield from _hint(document, job, record, cable.name, like)


def _entry(document: Any, kind: str, name: str) -> Any:
    return next(entry for entry in document[kind] if entry.get("name") == name)


def _moved(document: Any, job: Job, fact: Fact, like: str) -> Iterator[Finding]:
    if fact.position is None:
        return
    hole = fact.kind is Kind.HOLE
    entry = _entry(document, "pass_through" if hole else "device", fact.name)
    digits = {"mm": 1, "cm": 2, "m": 4, "in": 3, "ft": 4}[job.length_unit]
    # points of a job are scaled with its mesh when it is read
    at = [round(from_m(v / job.vehicle.mesh_scale, job.length_unit), digits) for v in fact.position.at_m]
    entry["at"] = at
    entry["at"].comment(f"as built in {like}")
    about = f"{fact.kind} {fact.name}"
    drilled = hole and any(h.name == fact.name and h.state is HoleState.CANDIDATE for h in job.pass_throughs)
    if drilled:
        yield _check(
            about, f"It is where it was drilled in {like}, not drilled here yet: look behind the panel first."
        )
    else:
        yield _check(about, f"It is where it was found in {like}: measure it here.")


def _swapped(document: Any, fact: Fact, like: str) -> Iterator[Finding]:
    about = f"{fact.kind} {fact.name}"
    if fact.kind is Kind.CABLE:
        entry = _entry(document, "cable", fact.name)
        entry["type"] = fact.fitted
        entry["type"].comment(f"as fitted in {like}")
        yield _check(about, f"{fact.fitted} was fitted in {like}, and is planned here: is it to be had?")
    else:
        entry = _entry(document, "device", fact.name)
        entry["name"].comment(f"{fact.fitted} was fitted in {like}")
        yield _check(
            about,
            f"{fact.fitted} was fitted in {like}: are its connectors, loads and loops those of this job?",
        )


def _string(
    document: Any, job: Job, line: RecordLine, moved_by: dict[str, int], like: str
) -> Iterator[Finding]:
    """A string holds here where it was laid to where its ends are now."""
    fact = line.fact
    stretch = f"{fact.from_name} to {fact.to_name}"
    ends = [fact.from_name, fact.to_name]
    devices = {p.full_name: d.name for d in job.devices for p in d.ports}
    after = [moved_by.get(devices.get(end, end), 0) for end in ends]
    if max(after) > line.number:
        yield _check(
            f"cable {fact.name}", f"{stretch} was measured in {like} before one of its ends moved: left out."
        )
        return
    length = round(from_m(fact.length_m or 0.0, job.length_unit), 4)
    entry = _entry(document, "cable", fact.name)
    kept = [dict(m) for m in entry.get("measured", []) if {m["from"], m["to"]} != set(ends)]
    measured = tomlkit.array()
    for found in (*kept, {"from": fact.from_name, "to": fact.to_name, "length": length}):
        row = tomlkit.inline_table()
        row.update(found)
        measured.append(row)
    entry["measured"] = measured
    entry["measured"].comment(f"measured in {like}")
    yield _check(
        f"cable {fact.name}",
        f"{stretch}: {format_length(fact.length_m or 0.0, job.length_unit)}, measured with a string in {like}, counts "
        "as measured here: lay a string again before you cut.",
    )


def _hint(document: Any, job: Job, record: Record, name: str, like: str) -> Iterator[Finding]:
    """What a cable was cut to, beside its name: a hint, no figure that is counted with."""
    cut, over = record.told(What.CUT, name), record.told(What.LEFT_OVER, name)
    if cut is None or cut.length_m is None:
        return
    said = f"cut to {format_length(cut.length_m, job.length_unit)} in {like}"
    if over is not None and over.length_m is not None:
        left = format_length(abs(over.length_m), job.length_unit)
        said += f", {left} {'left over' if over.length_m >= 0 else 'too short'}"
    _entry(document, "cable", name)["name"].comment(said)
    yield _check(f"cable {name}", f"{said[0].upper()}{said[1:]}: a hint; its length is planned anew.")


def _check(where: str, message: str) -> Finding:
    return Finding(code=_CHECK, severity=Severity.NOTE, where=where, message=message)
