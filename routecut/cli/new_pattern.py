"""``routecut new --pattern``: asks for measurements, or takes them, and says what they made."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

import typer

from routecut.cli.new import NewJob
from routecut.cli.printing import data, note, result

if TYPE_CHECKING:
    from routecut.patterns import Pattern
    from routecut.patterns.measurements import Taken


def list_patterns(name: str | None, unit: str, *, as_json: bool) -> None:
    """Print the patterns, or what one of them is measured by."""
    from routecut.patterns import PATTERNS, pattern_named
    from routecut.patterns.known import in_unit

    if name is None:
        if as_json:
            data(json.dumps([{"name": p.name, "what": p.what} for p in PATTERNS.values()], indent=1))
            return
        wide = max(map(len, PATTERNS))
        for one in PATTERNS.values():
            result(f"{one.name:<{wide}}  {one.what}")
        result('what to measure: routecut new --list --pattern "NAME"')
        return
    pattern = pattern_named(name)
    if as_json:
        data(
            json.dumps(
                [
                    {
                        "key": m.key,
                        "words": m.words,
                        "how": m.how,
                        "along": m.along,
                        "changes": m.changes,
                        "default": float(in_unit(m.default, unit)),
                        "least": float(in_unit(m.low, unit)),
                        "most": float(in_unit(m.high, unit)),
                        "unit": unit,
                    }
                    for m in pattern.measurements
                ],
                indent=1,
            )
        )
        return
    result(
        f"{pattern.name}: {pattern.what}. Lengths in {unit}; measure.html of a new job has a drawing of each."
    )
    for m in pattern.measurements:
        span = f"{in_unit(m.low, unit)} to {in_unit(m.high, unit)}"
        result(f"  {m.key:<18}{in_unit(m.default, unit):>9}   ({span})  {m.how}")


def from_pattern(
    name: str, settings: Sequence[str], unit: str, title: str, *, example: bool = False
) -> NewJob:
    """The files of a job made from a pattern.

    Parameters
    ----------
    settings : sequence of str
        Each ``KEY=LENGTH``; without any, each is asked for where somebody sits at a terminal.
    example : bool
        With a small fit-out to change, in place of one that is commented out.

    Raises
    ------
    OutOfRangeError
        There is no such pattern.
    JobError
        Measurements at fault, all at once.
    """
    from routecut.patterns import job_files, pattern_named, read_given, taken_all
    from routecut.patterns.files import is_made_here

    pattern = pattern_named(name)
    given = read_given(pattern, tuple(settings), unit)
    if not settings and sys.stdin.isatty() and sys.stderr.isatty():
        given = _ask(pattern, unit)
    taken = taken_all(pattern, given)
    return NewJob(
        files=job_files(pattern, taken, title=title, unit=unit, example=example),
        said=(*_told(pattern, taken, unit), "what to measure, drawn: measure.html"),
        parts={
            "pattern": name,
            "unit": unit,
            "measurements": [
                {
                    "key": key,
                    "value_m": round(one.value / 1000, 4),
                    "error_m": round(one.error / 1000, 4),
                    "measured": one.measured,
                }
                for key, one in taken.items()
            ],
        },
        keep=lambda file, old: not is_made_here(file, old),
    )


def _ask(pattern: Pattern, unit: str) -> dict[str, float]:
    """Ask for each measurement; enter leaves it out, and the value offered is what it is scaled to by now."""
    from routecut.model.finding import Finding
    from routecut.patterns.known import in_unit, read_value
    from routecut.patterns.measurements import resolve

    note(
        f"{pattern.name}: {len(pattern.measurements)} measurements in {unit}. Enter leaves one out: it is then scaled."
    )
    given: dict[str, float] = {}
    for number, one in enumerate(pattern.measurements, start=1):
        now = in_unit(resolve(pattern.measurements, given)[one.key].value, unit)
        note(f"{number}. {one.words}: {one.how}. It changes {one.changes}.")
        while True:
            text = typer.prompt(
                f"   {one.key} [not measured: {now}]", default="", show_default=False, err=True
            )
            if not text.strip():
                break
            value = read_value(pattern, one.key, text.strip(), unit)
            if not isinstance(value, Finding):
                given[one.key] = value
                break
            note(f"   {value.message}")
    return given


def _told(pattern: Pattern, taken: dict[str, Taken], unit: str) -> list[str]:
    """What every measurement came to and what it changed."""
    from routecut.patterns.job_text import how_known
    from routecut.patterns.known import in_unit

    lines = [f"{pattern.name}, lengths in {unit}:"]
    for key, one in taken.items():
        lines.append(f"  {key:<18}{in_unit(one.value, unit):>9}   {how_known(one, unit)}")
        if one.measured:
            lines.append(f"  {'':<27}   changes {one.measurement.changes}")
    left = [key for key, one in taken.items() if not one.measured]
    if left:
        lines.append(f"not measured, so every cut gets longer: {', '.join(left)}")
    return lines
