"""What is to be said of a reading that lies outside what was expected, wherever the reading is shown.

Stage      documents; tells what `routecut.records.readings` judged
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from routecut.model.as_built import FORWARD, REFLECTED, RESISTANCE, VOLTS, Difference
from routecut.model.record import Kind, What

_ROWS: Final[Mapping[What, tuple[str, ...]]] = {
    What.VOLTS: (VOLTS,),
    What.RESISTANCE: (RESISTANCE,),
    What.POWER: (FORWARD, REFLECTED),
}
"""How the rows of each kind of reading begin."""


def reading_marks(rows: Iterable[Difference], what: What, kind: Kind, name: str) -> list[str]:
    """The marks of one reading; none where it is as expected."""
    return [
        f"NOT AS EXPECTED, {row.what}: {row.why}"
        for row in rows
        if row.marked and row.about == f"{kind} {name}" and row.what.startswith(_ROWS[what])
    ]
