"""Reads TOML files of the user's: whole, as large and as deep as they may be, or a fault that says why not.

Stage      survey; knows nothing of what is in them
Safe side  what the TOML reader would take minutes or all memory for is refused before it sees it
"""

from __future__ import annotations

import math
import re
import tomllib
from pathlib import Path
from typing import Any, Final, Self

from routecut.survey.faults import Collector
from routecut.survey.read_vehicle import path_inside

JOB_FILE: Final = "job.toml"
LARGEST_JOB_BYTES: Final = 5_000_000
"""A job file larger than this is refused unread."""

# The TOML reader takes time with the square of the dots in a key.
_DEEP_KEY = re.compile(rb"[\s\[]*(?:[^.\s=#]+[ \t]*\.[ \t]*){64}")

_MOST_DIGITS: Final = 300
_LONG_NUMBER = re.compile(rb"(?<![0-9A-Za-z_])(?:0[xob][0-9A-Fa-f_]{301}|[0-9][0-9_]{300})")


class _Beyond(float):
    """A figure larger than a float holds; quoted as it was written, not as infinity."""

    _text: str

    def __new__(cls, text: str) -> Self:
        made = super().__new__(cls, text)
        made._text = text
        return made

    def __repr__(self) -> str:
        return self._text


def read_bytes(file: Path, collector: Collector, *, most: int = LARGEST_JOB_BYTES) -> bytes | None:
    """A TOML file of the user's as it is; None, and a fault, when it can't be had or is longer than `most`."""
    try:
        if file.name == JOB_FILE and not path_inside(file.parent, file.name):
            collector.add("path-outside", f"{JOB_FILE} is a link that leaves the job folder.")
            return None
        if not file.is_file():
            why = f"{file.name} is no file." if file.exists() else f"There is no {file.name} here."
            _unreadable(file, why, collector)
            return None
        with file.open("rb") as stream:
            raw = stream.read(most + 1)
    except (OSError, ValueError) as error:
        why = str(getattr(error, "strerror", None) or error)
        _unreadable(file, f"{file.name} can't be read: {why}.", collector)
        return None
    if len(raw) > most:
        size = f"{most // 1_000_000} MB" if most >= 1_000_000 else f"{most // 1000} kB"
        _unreadable(file, f"{file.name} is larger than {size}; it was not read.", collector)
        return None
    return raw


def toml_from(raw: bytes, file: Path, collector: Collector) -> dict[str, Any] | None:
    """What a TOML file says; None, and a fault, when it says nothing that can be read."""
    if any(_DEEP_KEY.match(line) for line in raw.splitlines()):
        _unreadable(file, f"{file.name} is nested too deeply.", collector)
        return None
    if long := _LONG_NUMBER.search(raw):
        line = raw[: long.start()].count(b"\n") + 1
        _unreadable(
            file, f"{file.name} holds a number of more than {_MOST_DIGITS} digits, line {line}.", collector
        )
        return None
    try:
        return tomllib.loads(raw.decode("utf-8-sig"), parse_float=_figure)
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        why = f"{file.name} is not UTF-8 text: byte {error.start + 1}, line {line}. Save it as UTF-8."
    except RecursionError:
        why = f"{file.name} is nested too deeply."
    except ValueError as error:  # TOMLDecodeError among them, with line and column
        why = f"{file.name} is not valid TOML: {error}."
    _unreadable(file, why, collector)
    return None


def _figure(text: str) -> float:
    number = float(text)
    return _Beyond(text) if math.isinf(number) and text.lstrip("+-") != "inf" else number


def _unreadable(file: Path, why: str, collector: Collector) -> None:
    allowed = f"a folder with a {JOB_FILE}" if file.name == JOB_FILE else "a TOML file with entries of a job"
    beside = "" if str(file) == file.name else f" ({file})"
    collector.add("job-unreadable", why + beside, allowed=allowed)
