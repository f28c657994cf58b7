"""The one place where an error becomes a message, for people or for programs."""

from __future__ import annotations

import json
from dataclasses import dataclass

from routecut.cli.exits import ExitCode
from routecut.cli.printing import as_parts, count, data, note, print_findings
from routecut.errors import JobError, OutOfRangeError, RoutecutError


@dataclass
class _Answer:
    """Who reads what the command says; one command a process, so one of these is enough."""

    in_json: bool = False


_answer = _Answer()


def answer_in_json(wanted: bool) -> bool:
    """Note whether ``--json`` was given, so that an error answers in the same way."""
    _answer.in_json = wanted
    return wanted


def report(error: RoutecutError | OSError) -> ExitCode:
    """Say what went wrong: JSON alone on stdout when ``--json`` was given, else text on stderr."""
    findings = error.findings if isinstance(error, JobError) else ()
    code = ExitCode.BAD_INPUT if isinstance(error, JobError | OutOfRangeError) else ExitCode.NOT_AS_ASKED
    if isinstance(error, JobError):
        errors = sum(f.severity == "error" for f in findings)
        message = f"the job can't be used: {count(errors, 'error')}"
    elif isinstance(error, OSError):
        message = f"{error.filename or 'file'}: {error.strerror or error}"
    else:
        message = str(error)
    if _answer.in_json:
        data(json.dumps({"error": message, "findings": as_parts(findings)}, indent=1))
    elif findings:
        print_findings(findings)
    else:
        note(f"error: {message}")
    return code
