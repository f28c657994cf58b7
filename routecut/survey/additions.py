"""Puts entries of another file into a job: picks of the survey page, or what somebody wrote.

Stage      survey; the text of the job comes out with the new entries in it, nothing is written
Safe side  every clash is a fault, all at once; what is there is never changed, only added to
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from tomlkit.exceptions import TOMLKitError

from routecut.errors import JobError
from routecut.model.finding import Finding, Severity
from routecut.plain import nearest_name, shown
from routecut.survey.faults import Collector, TooManyFaultsError, listed
from routecut.survey.job_reader import job_from
from routecut.survey.own_unit import with_own_unit
from routecut.survey.toml_file import JOB_FILE, LARGEST_JOB_BYTES, read_bytes, toml_from
from routecut.survey.toml_places import Data, Entry, PlaceError, entries_of, with_entry
from routecut.units import UNIT_NAMES

TAPE: Final = "vehicle.tape_check"
KINDS: Final = (
    TAPE,
    "surface",
    "space",
    "landmark",
    "pass_through",
    "opening",
    "keep_out",
    "noise_source",
    "hinge",
    "device",
    "cable_type",
    "cable",
    "stock",
)
"""Arrays of the job that can be added to, in the order in which they are."""

MOST_ADDED: Final = 200
"""Entries of one file: each is put in and the whole read again, so that nothing else of the job changes."""

LARGEST_BYTES: Final = 200_000
"""Of a file of additions, a thousand letters for each entry: it is read with the places of all that is in it."""

_NAMELESS: Final = ("surface", "stock", TAPE)
_ABOUT: Final = ("length_unit", "picked_on")
"""What a file of additions may say of itself."""

_BOM: Final = "\ufeff"


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition:
    """A job with new entries.

    Attributes
    ----------
    old, new : bytes
        The text of ``job.toml`` as it is, and as it would be.
    added : tuple of str
        What is new, in the words of messages: ``[[landmark]] "left striker"``.
    findings : tuple of Finding
        Warnings: picked on another mesh.
    unit : str
        Of the file's bare numbers, where it is not the job's: each has got its unit.
    """

    old: bytes
    new: bytes
    added: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
    unit: str = ""


def add_to_job(job: Path, file: Path, *, mesh_digest: str = "") -> Addition:
    """The job with every entry of a file in it.

    Parameters
    ----------
    job : Path
        The job folder.
    file : Path
        A TOML file with arrays of tables as in the job. A ``[[device]]`` of a name the job has, with
        nothing but ports, adds these ports to it.
    mesh_digest : str
        SHA-256 of the mesh of the job, to hold against the one the points were picked on.

    Raises
    ------
    JobError
        With everything that stands against it: unreadable, unknown, used twice, and what the job would
        be at fault for with the new entries and is not now.
    """
    collector = Collector(file=file.name)
    target = job / JOB_FILE
    of_job = Collector()
    raw, more = read_bytes(target, of_job), read_bytes(file, collector, most=LARGEST_BYTES)
    data = None if raw is None else toml_from(raw, target, of_job)
    new = None if more is None else toml_from(more, file, collector)
    if raw is None or more is None or data is None or new is None:
        raise JobError((*of_job.findings, *collector.findings))
    with contextlib.suppress(TooManyFaultsError):
        _check(data, new, collector)
    if collector.errors:
        raise JobError(tuple(collector.findings))
    _check_mesh(new, mesh_digest, collector)
    text = raw.decode("utf-8")
    mark = _BOM if text.startswith(_BOM) else ""
    grown = text.removeprefix(_BOM)
    added: list[str] = []
    unit = new.get("length_unit")
    other = str(unit) if unit is not None and unit != data.get("length_unit") else ""
    try:
        given = more.decode("utf-8-sig")
        for kind, entry in _all(with_own_unit(given, other) if other else given, new):
            grown = _with(grown, kind, entry, data)
            added += _words(kind, entry)
    except (PlaceError, TOMLKitError) as error:
        collector.add("job-unreadable", f"{error}.")
        raise JobError(tuple(collector.findings)) from None
    result = (mark + grown).encode("utf-8")
    with contextlib.suppress(TooManyFaultsError):
        _check_result(job, raw, result, collector)
    if collector.errors:
        raise JobError(tuple(collector.findings))
    return Addition(old=raw, new=result, added=tuple(added), findings=tuple(collector.findings), unit=other)


def _all(text: str, new: Data) -> Iterator[tuple[str, Entry]]:
    for kind in KINDS:
        if _listed_in(new, kind):
            for entry in entries_of(text, kind):
                for key, inner in entry.inner:
                    if inner.inner:
                        deeper = f"[[{kind}.{key}.{inner.inner[0][0]}]]"
                        raise PlaceError(f"{deeper} can't be added: a [[{kind}.{key}]] holds no tables")
                yield kind, entry


def _with(text: str, kind: str, entry: Entry, job: Data) -> str:
    """The text with an entry and what is in it; `job` is followed, so that places can be counted."""
    if kind == TAPE:
        return with_entry(text, tuple(TAPE.split(".")), entry)
    known = [item.get("name") for item in job.get(kind, [])]
    name = entry.data.get("name")
    if kind == "device" and _only_ports(entry.data) and name is not None and name in known:
        number = known.index(name)
    else:
        text = with_entry(text, (kind,), entry)
        job.setdefault(kind, []).append(dict(entry.data))
        number = len(known)
    for key, inner in entry.inner:
        text = with_entry(text, (kind, key), inner, of=number)
    return text


def _words(kind: str, entry: Entry) -> Iterator[str]:
    if kind == TAPE:
        yield f"[[{TAPE}]] {_taped(entry.data)}"
        return
    name = entry.data.get("name") or entry.data.get("part") or entry.data.get("type") or ""
    ports = [f'[[device.port]] "{name}.{inner.data.get("name", "")}"' for _, inner in entry.inner]
    if not (kind == "device" and _only_ports(entry.data) and ports):
        yield f'[[{kind}]] "{name}"'
    yield from ports


def _only_ports(data: Data) -> bool:
    return set(data) <= {"name", "port"}


# --- what stands against it ----------------------------------------------------------------


def _check(job: Data, new: Data, collector: Collector) -> None:
    for key, value in new.items():
        if key in _ABOUT:
            continue
        if key == "vehicle" and isinstance(value, dict) and set(value) == {"tape_check"}:
            _check_tapes(job.get(key), value["tape_check"], collector)
        elif key not in KINDS or key == TAPE:
            collector.add(
                "unknown-key",
                f"{key!r} can't be added to a job.",
                key=key,
                found=key,
                allowed=listed(f"[[{kind}]]" for kind in KINDS),
                nearest=nearest_name(key, KINDS),
            )
        elif not _is_array(value):
            collector.add(
                "wrong-type", f"{key} is {shown(value)}; wanted is [[{key}]], in double brackets.", key=key
            )
        elif not _is_array(job.get(key, [])):
            collector.add(
                "wrong-type",
                f"{key} of the job is {shown(job[key])}; make it [[{key}]], in double brackets, before more is added.",
                key=key,
            )
        else:
            _check_names(key, job.get(key), value, collector)
    if not any(_listed_in(new, kind) for kind in KINDS):
        collector.add(
            "missing-key",
            "There is nothing in it to add.",
            allowed=listed(f"[[{kind}]]" for kind in KINDS),
        )
    entries = [item for key in KINDS for item in _listed_in(new, key)]
    many = len(entries) + sum(len(_listed_in(item, "port")) for item in entries if isinstance(item, dict))
    if many > MOST_ADDED:
        collector.add(
            "out-of-range",
            f"There are {many} entries in it; {MOST_ADDED} can be added at a time. Split the file.",
            found=str(many),
            allowed=f"up to {MOST_ADDED} entries",
        )
    unit = new.get("length_unit")
    if unit is not None and unit not in UNIT_NAMES:
        collector.add(
            "not-allowed",
            f"length_unit is {shown(unit)}.",
            key="length_unit",
            found=shown(unit),
            allowed=", ".join(UNIT_NAMES),
        )


def _is_array(value: Any) -> bool:
    """An array of tables."""
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)


def _listed_in(data: Data, kind: str) -> list[Any]:
    """The entries of a kind; none where there is no list of them."""
    found: Any = data
    for key in kind.split("."):
        found = found.get(key) if isinstance(found, dict) else None
    return found if isinstance(found, list) else []


def _taped(data: Data) -> str:
    """What a tape check is of."""
    return str(data["of"]) if "of" in data else f"{data.get('from', '')} to {data.get('to', '')}"


def _check_tapes(there: Any, new: Any, collector: Collector) -> None:
    if not isinstance(new, list) or not all(isinstance(item, dict) for item in new):
        collector.add("wrong-type", f"tape_check is {shown(new)}; wanted is [[{TAPE}]].", key="tape_check")
        return
    old = there.get("tape_check", []) if isinstance(there, dict) else []
    seen = {_between(item) for item in old if isinstance(item, dict)} if isinstance(old, list) else set()
    for item in new:
        if _between(item) in seen:
            collector.add(
                "duplicate-name",
                f"{_taped(item)} was taken already; take the old check out first, or leave this one out.",
                table=f"[[{TAPE}]]",
                key="distance",
                found=_taped(item),
            )
        seen.add(_between(item))


def _between(item: Data) -> frozenset[str]:
    return frozenset(str(item.get(key)) for key in ("of", "from", "to"))


def _check_names(kind: str, there: Any, new: list[Data], collector: Collector) -> None:
    if kind in _NAMELESS:
        return
    entries = [item for item in there if isinstance(item, dict)] if isinstance(there, list) else []
    taken = {item["name"]: item for item in entries if isinstance(item.get("name"), str)}
    seen: set[str] = set()
    for item in new:
        name = item.get("name")
        if not isinstance(name, str):
            continue  # said when the whole is read
        table = f'[[{kind}]] "{name}"'
        if name in seen:
            collector.add(
                "duplicate-name", f"{name!r} is in it more than once.", table=table, key="name", found=name
            )
        elif kind == "device" and name in taken and _only_ports(item):
            _check_ports(taken[name], item, table, collector)
        elif name in taken:
            collector.add(
                "duplicate-name",
                f"The job has a [[{kind}]] called {name!r} already; give the new one another name, or take "
                "the old one out first.",
                table=table,
                key="name",
                found=name,
                allowed="a name that is used once",
            )
        seen.add(name)


def _check_ports(there: Data, new: Data, table: str, collector: Collector) -> None:
    def names(of: Data) -> list[str]:
        ports = of.get("port")
        found = [p.get("name") for p in ports if isinstance(p, dict)] if isinstance(ports, list) else []
        return [name for name in found if isinstance(name, str)]

    taken = set(names(there))
    if not names(new):
        collector.add(
            "duplicate-name",
            "The job has this device already, and there is no port to add to it.",
            table=table,
            key="name",
            found=str(new.get("name")),
        )
    for name in names(new):
        if name in taken:
            collector.add(
                "duplicate-name",
                f"This device has a port called {name!r} already.",
                table=f'{table}, [[device.port]] "{name}"',
                key="name",
                found=name,
                allowed="a name that is used once",
            )


def _check_mesh(new: Data, digest: str, collector: Collector) -> None:
    about = new.get("picked_on")
    on = about.get("mesh_sha256") if isinstance(about, dict) else None
    if digest and isinstance(on, str) and on and not digest.startswith(on):
        collector.add(
            "picked-elsewhere",
            "The points were picked on another mesh than the job has now; look at where they come to lie, or "
            "make the survey page again.",
            severity=Severity.WARNING,
            table="[picked_on]",
            key="mesh_sha256",
            found=on,
            allowed=digest[: len(on)],
        )


def _check_result(job: Path, old: bytes, new: bytes, collector: Collector) -> None:
    """What the job would be at fault for and is not now."""
    if len(new) > LARGEST_JOB_BYTES:
        collector.add("job-unreadable", f"The job would be larger than {LARGEST_JOB_BYTES // 1_000_000} MB.")
        return
    before = {(f.code, f.where, f.message) for f in job_from(old, job)[1]}
    for finding in job_from(new, job)[1]:
        if (
            finding.severity is Severity.ERROR
            and (finding.code, finding.where, finding.message) not in before
        ):
            where = finding.where.replace(JOB_FILE, collector.file, 1)
            collector.add(
                finding.code,
                finding.message,
                table=finding.table,
                key=finding.key,
                found=finding.found,
                allowed=finding.allowed,
            )
            collector.findings[-1] = replace(finding, where=where, file=collector.file)
