"""How a fault in a file is said: quoted values, near names, and the list they go on.

Stage      survey; below everything that reads
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field

from routecut.model.finding import Finding, Severity

_SHOWN = 60


def shown(value: object) -> str:
    """A found value as it is quoted in a message, cut short."""
    text = repr(value) if not isinstance(value, bool) else str(value).lower()
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


def nearest_name(found: str, known: Iterable[str]) -> str:
    """The known name most like the found one; empty when none is near.

    Examples
    --------
    >>> nearest_name("battery.postive", ["battery.positive", "battery.negative"])
    'battery.positive'
    """
    near = difflib.get_close_matches(found, sorted(set(known)), n=1, cutoff=0.6)
    if near:
        return near[0]
    folded = {name.casefold(): name for name in sorted(set(known), reverse=True)}
    return folded.get(found.casefold(), "")


@dataclass
class Collector:
    """Gathers the findings of one file."""

    file: str = "job.toml"
    findings: list[Finding] = field(default_factory=list)

    @property
    def errors(self) -> int:
        """How many errors so far."""
        return sum(f.severity is Severity.ERROR for f in self.findings)

    def add(
        self,
        code: str,
        message: str,
        *,
        severity: Severity = Severity.ERROR,
        table: str = "",
        key: str = "",
        found: str = "",
        allowed: str = "",
        nearest: str = "",
    ) -> None:
        """Add a finding about a place in the file."""
        if nearest:
            message = f"{message} The nearest known name is {nearest!r}."
        where = ", ".join(part for part in (self.file, table, key) if part)
        self.findings.append(
            Finding(
                code=code,
                severity=severity,
                where=where,
                message=message,
                file=self.file,
                table=table,
                key=key,
                found=found,
                allowed=allowed,
                nearest=nearest,
            )
        )
