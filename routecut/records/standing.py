"""The record of a job, read: which lines hold, which were corrected, which can't be used.

Stage      records, above journal and facts
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from routecut.errors import OutputError
from routecut.model.finding import Finding, Severity
from routecut.model.job import Job
from routecut.model.record import Fact, Record, RecordLine, What
from routecut.records.facts import Known, read_fact, said_by
from routecut.records.journal import RECORD_FILE, Journal, read_journal
from routecut.survey.faults import Collector

_EACH_STANDS: Final = frozenset({What.JOINT, What.PHOTO, What.NOTE})
"""Of these several lines about one thing hold side by side; of all others the last one."""


def read_record(job: Job, folder: Path | None = None) -> tuple[Record, tuple[Finding, ...]]:
    """The record of a job folder.

    Parameters
    ----------
    job : Job
    folder : Path, optional
        The job's own where left out.

    Returns
    -------
    Record
        Empty where there is none.
    tuple of Finding
        Torn and changed lines, lines about what the job does not have any more, photos that are
        gone or were changed.

    Raises
    ------
    OutputError
        The file is there and can't be read.
    """
    where = job.folder if folder is None else folder
    return record_of(job, read_journal(where), where)


def record_of(job: Job, journal: Journal, folder: Path) -> tuple[Record, tuple[Finding, ...]]:
    """The record in a journal that has been read; see `read_record`."""
    known, found, lines = Known.of(job), list(journal.findings), list[RecordLine]()
    for written in journal.lines:
        collector = Collector(file=RECORD_FILE)
        fact = read_fact(known.fields(written.table, f"line {written.number}", collector), known)
        found += [_out_of_use(f) for f in collector.findings]
        who, when, remark, corrects = said_by(written.table)
        if fact is not None:
            lines.append(
                RecordLine(
                    number=written.number, fact=fact, who=who, when=when, remark=remark, corrects=corrects
                )
            )
    every = judged(lines)
    corrected = {f"line {line.corrects}" for line in every if line.corrects is not None}
    findings = [_settled(f) if f.table in corrected else f for f in found]
    findings += _photos(every, folder)
    return Record(lines=every, digest=journal.last_digest), tuple(findings)


def judged(lines: Sequence[RecordLine]) -> tuple[RecordLine, ...]:
    """The lines with `stands` as it follows from all of them."""
    gone = {line.corrects for line in lines}
    last: dict[object, int] = {}
    for line in lines:
        if line.number not in gone:
            last[_about(line)] = line.number
    return tuple(
        replace(
            line,
            stands=line.number not in gone
            and line.fact.what is not What.WITHDRAWN
            and last[_about(line)] == line.number,
        )
        for line in lines
    )


def _about(line: RecordLine) -> object:
    fact = line.fact
    if fact.what in _EACH_STANDS:
        return line.number
    return (fact.what, fact.kind, fact.name, *sorted((fact.from_name, fact.to_name)))


def _out_of_use(finding: Finding) -> Finding:
    """A fault of a line that was accepted once: the job was changed since. It ends nothing."""
    if finding.severity is not Severity.ERROR:
        return finding
    return replace(
        finding,
        code="record-unused",
        severity=Severity.WARNING,
        message=f"{finding.message} The line is not used: the job has changed since, or it is of another job.",
    )


def _settled(finding: Finding) -> Finding:
    if finding.code not in {"record-changed", "record-unused"}:
        return finding
    return replace(
        finding, severity=Severity.NOTE, message=f"{finding.message} A later line stands in its place."
    )


def _photos(lines: Sequence[RecordLine], folder: Path) -> list[Finding]:
    """Photos that are not there, or not what they were."""
    found = []
    for line in lines:
        fact = line.fact
        if fact.what is not What.PHOTO or not line.stands:
            continue
        try:
            now = digest_of(folder, fact)
        except (OSError, OutputError, ValueError):  # ValueError: of a path that can't be one
            now = ""
        if now != fact.sha256:
            why = "has changed since it was recorded" if now else "is not there"
            found.append(
                Finding(
                    code="record-photo",
                    severity=Severity.WARNING,
                    where=f"{RECORD_FILE}, line {line.number}",
                    message=f"The photo {fact.file} {why}. Put it back, or record it again.",
                    file=RECORD_FILE,
                    table=f"line {line.number}",
                    found=fact.file,
                )
            )
    return found


def digest_of(folder: Path, fact: Fact) -> str:
    """SHA-256 of a photo as it is now.

    Raises
    ------
    OSError
        It can't be read.
    OutputError
        It lies outside the job folder.
    """
    try:
        path = (folder / fact.file).resolve()
    except RuntimeError as error:  # links that lead round in a circle
        raise FileNotFoundError(fact.file) from error
    if not path.is_relative_to(folder.resolve()):
        raise OutputError(f"{fact.file}: lies outside the job folder")
    if not path.is_file():  # a pipe of that name would be waited for
        raise FileNotFoundError(fact.file)
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
