"""Findings: what was noticed about a job, its mesh or its plan, each with a code.

A finding never stops anything by itself; the stage that collects them decides. Codes
are stable: documents, tests and other programs refer to them. Every code is listed in
`CODES` with its meaning, and `docs/findings.md` is made from that list.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from routecut.model.codes import CODES


class Severity(StrEnum):
    """How much a finding matters."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing noticed, said so that it can be acted on.

    Attributes
    ----------
    code : str
        A key of `routecut.model.codes.CODES`.
    severity : Severity
    where : str
        What it is about, in the user's own names: ``job.toml, [[cable]] "P1", from`` or
        ``cable P1 at bulkhead grommet left``.
    message : str
        One sentence or two: what was found, what is allowed, the next step.
    about : str
        What tells it from other findings of its code where several are told as one: ``hot``,
        ``25 mm, cab to underbody``; empty where the sentence says all.
    file, table, key, found, allowed, nearest : str
        The same in parts, for programs; empty where a part does not apply.
    """

    code: str
    severity: Severity
    where: str
    message: str
    file: str = ""
    table: str = ""
    key: str = ""
    found: str = ""
    allowed: str = ""
    nearest: str = ""
    about: str = ""

    def __post_init__(self) -> None:
        if self.code not in CODES:
            raise ValueError(f"finding code {self.code!r} is not in routecut.model.codes.CODES")

    def __str__(self) -> str:
        return f"{self.severity}: {self.where}: {self.message} [{self.code}]"


def cable_finding(code: str, severity: Severity, cable: str, message: str, **parts: str) -> Finding:
    """A finding about a cable of the job, by name; `parts` are `found` and `allowed`."""
    return Finding(
        code=code,
        severity=severity,
        where=f"cable {cable}",
        message=message,
        table="cable",
        key=cable,
        **parts,
    )
