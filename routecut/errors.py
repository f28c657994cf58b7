"""The errors a caller may have to tell apart.

Findings (`routecut.model.finding`) describe faults in a job, all at once. These
exceptions end an operation: bad input carries its findings along.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routecut.model.finding import Finding


class RoutecutError(Exception):
    """Root of all errors that routecut raises for a reason a user can act on."""


class JobError(RoutecutError):
    """The job can't be used as it stands.

    Parameters
    ----------
    findings : sequence of Finding
        Every fault found, not only the first.
    """

    def __init__(self, findings: Sequence[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(str(f) for f in self.findings))


class OutOfRangeError(RoutecutError):
    """An argument lies outside what the function is valid for; the message names it."""


class OutputError(RoutecutError):
    """A result could not be written; what was there before is untouched."""
