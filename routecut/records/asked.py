"""What the command line asks to record, as lines: ``NAME=VALUE`` of every kind, all faults at once.

Stage      records, above facts
Units      lengths in the job's unit, or with their own
Safe side  nothing is written while anything is at fault
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from routecut.errors import JobError
from routecut.model.finding import Finding, Severity
from routecut.model.job import Job
from routecut.model.record import NOT_GIVEN, WHOLE_JOB, Fact, Kind, Record, What
from routecut.plain import nearest_name, shown
from routecut.records.facts import MOST_TEXT, MOST_WORDS, Known, places_of, read_fact
from routecut.survey.faults import Collector, listed
from routecut.units import plain_number

Table = dict[str, Any]

OPTIONS: Final[Mapping[What, str]] = {
    What.CUT: "--cut",
    What.LEFT_OVER: "--left-over",
    What.MOVED: "--moved",
    What.JOINT: "--joint",
    What.STRING: "--string",
    What.SWAPPED: "--swapped",
    What.VOLTS: "--volts",
    What.POWER: "--power",
    What.RESISTANCE: "--resistance",
    What.SERIAL: "--serial",
    What.PHOTO: "--photo",
    What.NOTE: "--note",
    What.WITHDRAWN: "--withdraw",
}
"""How each kind of line is asked for."""

TAPED: Final = "--taped"
_NO_PLAN: Final[Mapping[str, str]] = {}

_WANTED: Final[Mapping[What, str]] = {
    What.CUT: "CABLE=LENGTH",
    What.LEFT_OVER: "CABLE=LENGTH",
    What.MOVED: "NAME=X,Y,Z",
    What.JOINT: "CABLE=LENGTH or CABLE=LENGTH,SPACE",
    What.STRING: "CABLE=FROM:TO:LENGTH",
    What.SWAPPED: "CABLE=TYPE or DEVICE=WHAT",
    What.VOLTS: "NAME=PEAK or NAME=DUTY/PEAK",
    What.POWER: "CABLE=FORWARD/REFLECTED",
    What.RESISTANCE: "CABLE=MILLIOHM",
    What.SERIAL: "DEVICE=TEXT",
    What.PHOTO: "NAME=FILE",
    What.NOTE: "NAME=TEXT",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What one command asks to be recorded, as it was typed.

    Attributes
    ----------
    entries : mapping of What to sequence of str
    taped : sequence of str
        ``NAME=LANDMARK:LENGTH,...`` with ``side:WORD`` among them.
    who, when, remark : str
        Empty where not given.
    corrects : int or None
        The line that the one entry stands in place of.
    withdraw : int or None
        The line that is taken back.
    """

    entries: Mapping[What, Sequence[str]] = field(default_factory=dict)
    taped: Sequence[str] = ()
    who: str = ""
    when: str = ""
    remark: str = ""
    corrects: int | None = None
    withdraw: int | None = None

    @property
    def anything(self) -> bool:
        """Something is asked to be written."""
        numbers = self.corrects is not None or self.withdraw is not None
        return (
            numbers or any(self.entries.values()) or bool(self.taped or self.who or self.when or self.remark)
        )


def tables(
    job: Job, asked: Asked, record: Record, numbers: Iterable[int], *, planned: Mapping[str, str] = _NO_PLAN
) -> tuple[Table, ...]:
    """The lines to be added for what is asked.

    Parameters
    ----------
    job : Job
    asked : Asked
    record : Record
        As it stands.
    numbers : iterable of int
        Lines of the file that a correction may name, those that were changed counted.
    planned : mapping of str to str
        The type that a plan gave each cable; it counts where the job leaves the type open.

    Raises
    ------
    JobError
        With every fault.
    """
    known, faults = Known.of(job), Collector(file="record")
    found: list[Table] = []
    for what, option in OPTIONS.items():
        found += [
            t for text in asked.entries.get(what, ()) if (t := _table(known, what, option, text, faults))
        ]
        if what is What.MOVED:
            found += [t for text in asked.taped if (t := _table(known, what, TAPED, text, faults))]
    _refuse_as_planned(job, found, record, planned, faults)
    if asked.withdraw is not None:
        found.append({"what": What.WITHDRAWN.value, "corrects": asked.withdraw})
    corrects = asked.corrects if asked.withdraw is None else asked.withdraw
    if corrects is not None:
        faults.findings += _correction(asked, corrects, record, tuple(numbers), len(found))
        found = [{**t, "corrects": corrects} for t in found]
    elif not found and not faults.errors:
        options = ", ".join((*OPTIONS.values(), TAPED))
        faults.add(
            "missing-key",
            f"Nothing is said to be recorded; give one of {options}, or --show.",
            allowed=options,
        )
    for option, text, most in (
        ("--who", asked.who, MOST_WORDS),
        ("--when", asked.when, MOST_WORDS),
        ("--why", asked.remark, MOST_TEXT),
    ):
        if len(text) > most:
            faults.add(
                "out-of-range",
                f"{option} has {len(text)} letters; up to {most} are kept.",
                table=option,
                allowed=f"up to {most} letters",
            )
    if any(f.severity is Severity.ERROR for f in faults.findings):
        raise JobError(tuple(faults.findings))
    said = {"who": asked.who.strip() or NOT_GIVEN, "when": asked.when.strip() or NOT_GIVEN}
    if asked.remark.strip():
        said["remark"] = asked.remark.strip()
    return tuple({**t, **said} for t in found)


def _refuse_as_planned(
    job: Job, found: list[Table], record: Record, planned: Mapping[str, str], faults: Collector
) -> None:
    """A cable is not swapped for what it is planned as."""
    types = dict(planned) | {c.name: c.type.name for c in job.cables if not c.type_assumed}
    for table in found:
        name = table["name"]
        if (table["what"], table["kind"]) != (What.SWAPPED, Kind.CABLE) or types.get(name) != table["for"]:
            continue
        before = [x.number for x in record.standing if x.fact.what is What.SWAPPED and x.fact.name == name]
        instead = f"; take line {before[-1]} back instead: --withdraw {before[-1]}" if before else ""
        faults.add(
            "not-allowed", f"{name} is planned as {table['for']} already{instead}.",
            table=OPTIONS[What.SWAPPED], found=table["for"], allowed="another type than the planned one",
        )  # fmt: skip


def _correction(
    asked: Asked, corrects: int, record: Record, numbers: tuple[int, ...], many: int
) -> list[Finding]:
    """What is wrong with the line that is to be corrected, or with what corrects it."""
    faults = Collector(file="record")
    option = "--corrects" if asked.withdraw is None else "--withdraw"
    by = {line.corrects: line.number for line in record.lines if line.corrects is not None}
    there = f"its lines are {numbers[0]} to {numbers[-1]}" if numbers else "it is empty"
    if corrects not in numbers:
        faults.add(
            "unknown-name",
            f"The record has no line {corrects}; {there}.",
            table=option,
            found=str(corrects),
            allowed=there,
        )
    elif corrects in by:
        faults.add(
            "not-allowed",
            f"Line {corrects} was corrected by line {by[corrects]}; name that one.",
            table=option,
            found=str(corrects),
            allowed=str(by[corrects]),
        )
    if many != 1 or (asked.withdraw is not None and asked.corrects is not None):
        faults.add(
            "not-allowed",
            f"{many} entries in place of line {corrects}; one entry corrects one line.",
            table=option,
            allowed="one entry",
        )
    return faults.findings


def _table(known: Known, what: What, option: str, text: str, faults: Collector) -> Table | None:
    """One entry as a line, read back by what reads the file; None after a fault."""
    name, equals, value = text.partition("=")
    name, value = name.strip(), value.strip()
    if what is What.NOTE and not equals:
        name, value, equals = WHOLE_JOB, text.strip(), "="
    if not equals or not name or not value:
        faults.add(
            "wrong-type",
            f"{shown(text)} can't be read; wanted is {_wanted(what, option)}.",
            table=option,
            found=text,
            allowed=_wanted(what, option),
        )
        return None
    name, value = _longest(known, what, text) or (name, value)
    kinds = known.kind_of(what, name)
    if len(kinds) > 1 and what not in {What.NOTE, What.PHOTO}:
        faults.add(
            "duplicate-name",
            f"{shown(name)} is a {' and a '.join(kinds)}; rename one in job.toml.",
            table=option,
            found=name,
        )
        return None
    kind = kinds[0] if kinds else next(iter(known.of_what(what)))
    errors = faults.errors
    table: Table = {"what": what.value, "kind": kind.value, "name": name}
    table |= _value(known, what, table, (option, value), faults)
    if faults.errors > errors:
        return None
    fields = known.fields(table, f"{option} {shown(text)}", faults)
    return table if read_fact(fields, known) is not None else None


def _longest(known: Known, what: What, text: str) -> tuple[str, str] | None:
    """Name and value where a name holds an equals sign itself."""
    for names in known.of_what(what).values():
        for name in sorted(names, key=len, reverse=True):
            if text.startswith(f"{name}="):
                return name, text[len(name) + 1 :].strip()
    return None


def _wanted(what: What, option: str) -> str:
    return "NAME=LANDMARK:LENGTH,LANDMARK:LENGTH,LANDMARK:LENGTH" if option == TAPED else _WANTED[what]


def _value(known: Known, what: What, table: Table, said: tuple[str, str], faults: Collector) -> Table:
    """The value of an entry as a line holds it; what can't be read is left for the reader to refuse."""
    option, value = said
    unit = known.job.length_unit
    match what:
        case What.CUT | What.LEFT_OVER:
            return {"length": with_unit(value, unit)}
        case What.MOVED:
            return {"at": _taped(value, unit) if option == TAPED else _coordinates(value, unit)}
        case What.JOINT:
            length, _, space = value.partition(",")
            return {"length": with_unit(length, unit)} | ({"space": space.strip()} if space.strip() else {})
        case What.STRING:
            return _string(known, table, value, option, faults)
        case What.SWAPPED:
            return {"for": value}
        case What.VOLTS:
            duty, slash, peak = value.rpartition("/")
            return ({"duty": _number(duty)} if slash else {}) | {"peak": _number(peak)}
        case What.POWER:
            forward, slash, reflected = value.partition("/")
            found: Table = {"forward": _number(forward)}
            return found | ({"reflected": _number(reflected)} if slash else {})
        case What.RESISTANCE:
            return {"milliohm": _number(value)}
        case What.PHOTO:
            return _photo(known.job.folder, value, option, faults)
        case _:
            return {"text": value}


def with_unit(text: str, unit: str) -> str:
    """A length as it is kept: a bare number gets the job's unit.

    Examples
    --------
    >>> with_unit("4300", "mm"), with_unit("14 ft 1 in", "mm")
    ('4300 mm', '14 ft 1 in')
    """
    written = text.strip()
    # by way of Decimal it keeps the digits that were typed
    return written if plain_number(written) is None else f"{Decimal(written):f} {unit}"


def _coordinates(value: str, unit: str) -> list[str]:
    inner = value[1:-1] if value.startswith("[") and value.endswith("]") else value
    return [with_unit(part, unit) for part in inner.split(",")]


def _taped(value: str, unit: str) -> Table:
    tape: dict[str, str] = {}
    side: dict[str, str] = {}
    for part in value.split(","):
        name, _, length = part.rpartition(":")
        if name.strip() == "side":
            side["side"] = length.strip()
        else:
            tape[name.strip()] = with_unit(length, unit)
    return {"tape": tape, **side}


def _string(known: Known, table: Table, value: str, option: str, faults: Collector) -> Table:
    """``FROM:TO:LENGTH``; a name may hold a colon itself."""
    ends, _, length = value.rpartition(":")
    parts = ends.split(":")
    cuts = [(":".join(parts[:k]).strip(), ":".join(parts[k:]).strip()) for k in range(1, len(parts))]
    if not cuts:
        faults.add(
            "wrong-type",
            f"{shown(value)} names no two places; wanted is {_WANTED[What.STRING]}.",
            table=option,
            found=value,
            allowed=_WANTED[What.STRING],
        )
        return {}
    places = places_of(known.job, str(table["name"]))
    first, second = max(cuts, key=lambda c: (c[0] in places) + (c[1] in places))
    return {"from": first, "to": second, "length": with_unit(length, known.job.length_unit)}


def _number(text: str) -> float | str:
    """A number, or the text for the reader to refuse."""
    number = plain_number(text)
    return text.strip() if number is None else number


def _photo(folder: Path, value: str, option: str, faults: Collector) -> Table:
    """The file as the job folder has it, and its digest."""
    home = folder.resolve()
    tried = [home / value, Path(value).absolute()]
    path = next((p for p in tried if _is_file(p)), None)
    if path is None or not path.resolve().is_relative_to(home):
        there = sorted(p.relative_to(home).as_posix() for p in _pictures(home))
        faults.add(
            "path-outside" if path is not None else "unknown-name",
            f"{shown(value)} lies outside the job folder; copy it into the folder first."
            if path is not None
            else f"There is no file {shown(value)} in the job folder.",
            table=option,
            found=value,
            allowed=listed(there) or f"a file in {folder}",
            nearest=nearest_name(value, there) if path is None else "",
        )
        return {}
    path = path.resolve()
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    return {"file": path.relative_to(home).as_posix(), "sha256": digest}


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):  # a name no file can have
        return False


def _pictures(home: Path) -> list[Path]:
    """Files that may be meant: those of the folder and of folders in it, not of its plan."""
    return [
        p
        for pattern in ("*", "*/*")
        for p in home.glob(pattern)
        if p.is_file() and p.parent.name != "plan" and not p.name.startswith(".")
    ]


def facts_of(job: Job, lines: Iterable[Table]) -> tuple[Fact, ...]:
    """The facts that lines tell, for print; those that tell none are left out."""
    known = Known.of(job)
    read = (read_fact(known.fields(table, "", Collector()), known) for table in lines)
    return tuple(fact for fact in read if fact is not None)


__all__ = ["OPTIONS", "TAPED", "Asked", "Kind", "facts_of", "tables", "with_unit"]
