"""How a fault in a file is said: quoted values, near names, and the list they go on.

Stage      survey; below everything that reads
Safe side  what is said stays short and is found quickly, also for a file of nothing but faults
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from routecut.model.finding import Finding, Severity
from routecut.plain import plain

MOST_FAULTS: Final = 500
"""Errors in one file after which the reading stops: nobody mends more in one go."""

_LISTED = 40
_LONGEST_PLACE = 300


class TooManyFaultsError(Exception):
    """The last straw has been reported; the rest of the file is not looked at."""


def _in_short(part: str) -> str:
    """A place as messages call it: one line, which no name can make look like two, nor fill a screen."""
    line = plain(part)
    return line if len(line) <= _LONGEST_PLACE else line[: _LONGEST_PLACE - 3] + "..."


def listed(names: Iterable[str]) -> str:
    """The names that would have been right, not more than can be read.

    Examples
    --------
    >>> listed(["cab", "load area"])
    'cab, load area'
    """
    every = list(names)
    more = f" and {len(every) - _LISTED} more" if len(every) > _LISTED else ""
    return ", ".join(every[:_LISTED]) + more


@dataclass
class Collector:
    """Gathers the findings of one file."""

    file: str = "job.toml"
    findings: list[Finding] = field(default_factory=list)
    _errors: int = 0

    @property
    def errors(self) -> int:
        """How many errors so far."""
        return self._errors

    def take(self, other: Collector) -> None:
        """Add what was found in another file that this one names."""
        self.findings += other.findings
        self._errors += other.errors

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
        about: str = "",
    ) -> None:
        """Add a finding about a place in the file.

        Raises
        ------
        TooManyFaultsError
            After `MOST_FAULTS` errors; the finding says so.
        """
        errors = self.errors + (severity is Severity.ERROR)
        if errors > MOST_FAULTS:
            message = f"There are more than {MOST_FAULTS} faults; the rest of {self.file} was not looked at."
            self._add("job-unreadable", message, severity=Severity.ERROR)
            raise TooManyFaultsError
        self._errors = errors
        self._add(
            code,
            message,
            severity=severity,
            table=table,
            key=key,
            found=found,
            allowed=allowed,
            nearest=nearest,
            about=about,
        )

    def _add(
        self,
        code: str,
        message: str,
        *,
        severity: Severity,
        table: str = "",
        key: str = "",
        found: str = "",
        allowed: str = "",
        nearest: str = "",
        about: str = "",
    ) -> None:
        if nearest:
            message = f"{message} The nearest known name is {nearest!r}."
        where = ", ".join(_in_short(part) for part in (self.file, table, key) if part)
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
                about=about,
            )
        )
