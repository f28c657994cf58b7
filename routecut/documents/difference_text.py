"""A row of a table of differences in words and figures, the same on paper, on screen and for programs.

Stage      documents
Units      m, mm of diameters, V, W, dB, ohm, per cent in; lengths out in the job's unit
"""

from __future__ import annotations

import math
from typing import Any, Final

from routecut.documents.figures import MINUS, Lengths, millimetres
from routecut.documents.record_text import place_text
from routecut.documents.rounding import rounded
from routecut.model.as_built import Difference
from routecut.model.job import Job, Position
from routecut.units import Rounding

Value = float | str | tuple[float, float, float] | None

OMEGA: Final = "\N{GREEK CAPITAL LETTER OMEGA}"


def sides(row: Difference, job: Job) -> tuple[str, str]:
    """Both sides of a row, planned and as built; empty for none."""
    before, after = (_value(value, row, job) for value in (row.before, row.after))
    if row.planned is not None and (own := _value(row.planned, row, job)) != before:
        before = f"{own}; as built {before} expected"
    return before, after


def _value(value: Value, row: Difference, job: Job) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        return place_text(Position(at_m=value), job)
    return _figure(value, row.unit, job, "up" if row.up else "nearest")


def _figure(value: float, unit: str, job: Job, rounding: Rounding = "nearest") -> str:
    match unit:
        case "m":
            text = Lengths(job.length_unit).text(abs(value), rounding)
        case "ohm":
            text = f"{abs(value) * 1000.0:.3g} m{OMEGA}"
        case "V":
            text = f"{abs(value):.2f} V"
        case "dB":
            text = f"{abs(value):.2f} dB"
        case "A":
            text = f"{abs(value):.3g} A"
        case "W":
            text = f"{abs(value):.4g} W"
        case "mm":
            text = millimetres(abs(value) / 1000.0)
        case "%":
            text = f"{abs(value):.1f} %"
        case _:
            text = f"{abs(value):g}"
    return f"{MINUS}{text}" if value < 0 else text


def change_text(row: Difference, job: Job) -> str:
    """The second less the first, with its sign, or how far apart two places are; empty where that says nothing."""
    before, after = row.before, row.after
    if isinstance(before, tuple) and isinstance(after, tuple):
        return f"{_figure(math.dist(before, after), 'm', job)} away"
    if not isinstance(before, int | float) or not isinstance(after, int | float):
        return ""
    text = _figure(after - before, row.unit, job)
    return text if after < before else f"+{text}" if after > before else text


def row_json(row: Difference) -> dict[str, Any]:
    """A row for programs."""
    return {
        "about": row.about,
        "what": row.what,
        "before": _bare(row.before),
        "after": _bare(row.after),
        "unit": "m" if isinstance(row.before or row.after, tuple) else row.unit,
        "marked": row.marked,
        "why": row.why,
    } | ({} if row.planned is None else {"planned": rounded(row.planned)})


def _bare(value: Value) -> Any:
    if isinstance(value, tuple):
        return [rounded(v) for v in value]
    return value if value is None or isinstance(value, str) else rounded(value)
