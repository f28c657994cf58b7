"""Differences of two jobs, or of plan and as-built, as a table.

Stage      documents
Units      m, V, ohm, per cent in; lengths out in the unit of the first job
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from routecut.documents.difference_text import change_text, row_json, sides
from routecut.documents.figures import count
from routecut.model.as_built import Difference
from routecut.model.job import Job

_NONE = "-"


def compare_text(rows: Sequence[Difference], heads: tuple[str, str], job: Job) -> str:
    """A table for a terminal, one line for each row."""
    if not rows:
        return "no difference"
    lines: list[tuple[str, ...]] = [("about", "what", *heads, "difference", "")]
    lines += [
        (
            row.about,
            row.what,
            *(side or _NONE for side in sides(row, job)),
            change_text(row, job),
            row.why,
        )
        for row in rows
    ]
    wide = [max(len(line[k]) for line in lines) for k in range(5)]
    lines.insert(1, (*("-" * w for w in wide), ""))
    table = ["  ".join([*(f"{line[k]:<{wide[k]}}" for k in range(5)), line[5]]).rstrip() for line in lines]
    marked = sum(row.marked for row in rows)
    return "\n".join([*table, "", count(marked, "difference")])


def compare_json(rows: Sequence[Difference], heads: tuple[str, str]) -> str:
    """The rows for programs."""
    return json.dumps(
        {"before": heads[0], "after": heads[1], "rows": [row_json(row) for row in rows]},
        ensure_ascii=False,
        allow_nan=False,
        indent=1,
    )
