"""How commands speak: results on stdout, all else on stderr, progress on a terminal only."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterable
from types import TracebackType
from typing import TYPE_CHECKING, TextIO

from routecut.plain import plain

if TYPE_CHECKING:
    from rich.status import Status

    from routecut.model.finding import Finding


def _write(stream: TextIO, text: str) -> None:
    """Write and flush; a reader that went away (``| head``) is no error."""
    try:
        stream.write(text + "\n")
        stream.flush()
    except BrokenPipeError:
        # Python flushes once more at exit and would complain: let that go nowhere.
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, stream.fileno())
        os.close(quiet)


def _safe(text: str) -> str:
    """Text of several lines that can't act on the terminal: names come from files others may have written."""
    return "\n".join(plain(line) for line in text.split("\n"))


def result(text: str) -> None:
    """Print a result to stdout."""
    _write(sys.stdout, _safe(text))


def data(text: str) -> None:
    """Print JSON to stdout, to the letter: JSON has its own way with control characters."""
    _write(sys.stdout, text.rstrip("\n"))


def note(text: str) -> None:
    """Print anything that is not the result to stderr."""
    _write(sys.stderr, _safe(text))


def grouped(findings: Iterable[Finding]) -> list[str]:
    """Findings as lines, worst first under a heading each; what says the same of several things is one line."""
    from routecut.documents.alike import counted, together
    from routecut.model.finding import Severity

    everything = list(findings)
    lines: list[str] = []
    for severity in Severity:
        group = [f for f in everything if f.severity is severity]
        if group:
            lines.append(counted(group, severity.value))
            lines.extend(f"  {f.where}: {f.message} [{f.code}]" for f in together(group))
    return lines


def print_findings(findings: Iterable[Finding]) -> None:
    """Print findings to stderr, grouped by severity."""
    for line in grouped(findings):
        note(line)


def as_parts(findings: Iterable[Finding]) -> list[dict[str, str]]:
    """Findings for programs: each in parts, all parts always there."""
    from dataclasses import asdict

    return [asdict(f) for f in findings]


def count(number: int, noun: str, many: str = "") -> str:
    """``1 error``, ``2 errors``; `many` where it is not the noun with an s."""
    return f"{number} {noun if number == 1 else many or noun + 's'}"


class Progress:
    """Named stages of long work on stderr; silent when that is not a terminal.

    Use as a context manager; call with the name of the stage that begins.
    """

    def __init__(self) -> None:
        self._status: Status | None = None
        self._stage = ""
        self._since = 0.0

    def __enter__(self) -> Progress:
        if sys.stderr.isatty():
            from rich.console import Console

            self._status = Console(stderr=True, markup=False, highlight=False, emoji=False).status("")
            self._status.start()
        return self

    def __call__(self, stage: str) -> None:
        """Begin a stage; the one before is done."""
        if self._status is None:
            return
        self._finish_stage()
        self._stage, self._since = plain(stage), time.monotonic()
        from rich.text import Text

        self._status.update(Text(self._stage))

    def _finish_stage(self) -> None:
        if self._status is not None and self._stage:
            self._status.console.print(f"  {self._stage}  {time.monotonic() - self._since:.1f} s")
            self._stage = ""

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._status is not None:
            if kind is None:
                self._finish_stage()
            self._status.stop()
