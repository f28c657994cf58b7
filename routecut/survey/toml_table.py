"""One TOML table: which of its keys are known, where it stands, and what is wrong with it.

Stage      survey; below the typed reading
Safe side  a key that nobody asks for is an error, so that a slip can't be passed over
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Self

from routecut.model.finding import Severity
from routecut.plain import nearest_name, shown
from routecut.survey.faults import Collector

LONGEST_NAME = 120
MOST_ENTRIES = 2000
"""Of one kind of table, and of one list."""


class Table:
    """One table of the job: what is known of its keys, its place, its faults.

    Every key asked for is noted as known, so that `finish` can name the others; `sound`
    turns false with the first fault in it or in a table inside it.

    Parameters
    ----------
    data : mapping
        The table as the TOML reader gave it.
    table : str
        How messages call it: ``[routing]`` or ``[[cable]] "P1"``.
    collector : Collector
    unit : str
        The job's `length_unit`.
    parent : Table, optional
        The table this one stands in; it is not sound when this one is not.

    Attributes
    ----------
    scale : float
        What points given by coordinates are multiplied by (`Vehicle.mesh_scale`). [-]
    unit_known : bool
        False when the job's own unit is at fault: lengths then have no range.
    """

    def __init__(
        self,
        data: Mapping[str, Any],
        table: str,
        collector: Collector,
        unit: str,
        parent: Table | None = None,
    ) -> None:
        self.data = data
        self.table = table
        self.collector = collector
        self.unit = unit
        self.parent = parent
        self.scale: float = parent.scale if parent is not None else 1.0
        self.unit_known: bool = parent.unit_known if parent is not None else True
        self.sound = True
        self._known: list[str] = []
        self._missing: dict[str, str] = {}

    def spoil(self) -> None:
        """Mark the entry as unusable without a finding: its fault is reported elsewhere."""
        self.sound = False
        if self.parent is not None:
            self.parent.spoil()

    def has(self, key: str) -> bool:
        """Whether the key is given."""
        self._note(key)
        return key in self.data

    def fault(
        self,
        code: str,
        key: str,
        message: str,
        *,
        found: object = None,
        allowed: str = "",
        nearest: str = "",
        severity: Severity = Severity.ERROR,
    ) -> None:
        """Report a fault of one key of this table."""
        if severity is Severity.ERROR:
            self.spoil()
        self.collector.add(
            code,
            message,
            severity=severity,
            table=self.table,
            key=key,
            found="" if found is None else shown(found),
            allowed=allowed,
            nearest=nearest,
        )

    def finish(self) -> None:
        """Report every key that nobody asked for, and every required one that is not there.

        A required key written wrongly is one fault, not two.
        """
        free = [key for key in self._known if key not in self.data]
        for key in self.data:
            if key in self._known:
                continue
            near = nearest_name(key, free) or nearest_name(key, self._known)
            also = f" {near} is missing." if self._missing.pop(near, None) is not None else ""
            self.fault(
                "unknown-key",
                key,
                f"There is no key {shown(key)} in {self.table or 'the file'}.{also}",
                found=key,
                allowed=", ".join(sorted(self._known)),
                nearest=near,
            )
        for key, wanted in self._missing.items():
            self.fault("missing-key", key, f"{key} is missing; wanted is {wanted}.", allowed=wanted)
        self._missing.clear()

    # --- tables in tables ------------------------------------------------------------

    def child(self, key: str, table: str | None = None) -> Self | None:
        """The table under a key; None when not given or at fault."""
        value = self._take(key)
        if value is None:
            return None
        if not isinstance(value, dict):
            self._wrong_type(key, value, "a table")
            return None
        return type(self)(value, table or f"{self.table}, {key}", self.collector, self.unit, self)

    def children(self, key: str, label: str) -> list[Self]:
        """The tables of an array of tables, each labelled with its name or its number."""
        value = self._take(key)
        if value is None:
            return []
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            hint = f"[[{key}]] in double brackets" if isinstance(value, dict) else "a list of tables"
            self._wrong_type(key, value, hint)
            return []
        if len(value) > MOST_ENTRIES:
            self.fault(
                "out-of-range",
                key,
                f"There are {len(value)} {label}; {MOST_ENTRIES} can be read.",
                found=len(value),
                allowed=f"up to {MOST_ENTRIES}",
            )
            return []
        return [
            type(self)(item, f"{label} {_called(item, number)}", self.collector, self.unit, self)
            for number, item in enumerate(value, start=1)
        ]

    # --- for readers that look at a value themselves --------------------------------

    def sub(self, data: Mapping[str, Any], key: str) -> Self:
        """A table found inside the value of a key."""
        return type(self)(data, f"{self.table}, {key}", self.collector, self.unit, self)

    def require(self, key: str, wanted: str) -> None:
        """Note that a required key is missing; `finish` reports it."""
        self._take(key, required=True, wanted=wanted)

    def take(self, key: str) -> Any:
        """The raw value of a key, noted as known; None when not given."""
        return self._take(key)

    # --- inside ----------------------------------------------------------------------

    def _note(self, key: str) -> None:
        if key not in self._known:
            self._known.append(key)

    def _take(self, key: str, *, required: bool = False, wanted: str = "") -> Any:
        self._note(key)
        if key in self.data:
            return self.data[key]
        if required:
            self.spoil()
            self._missing[key] = wanted
        return None

    def _wrong_type(self, key: str, value: object, wanted: str) -> None:
        self.fault(
            "wrong-type", key, f"{key} is {shown(value)}; wanted is {wanted}.", found=value, allowed=wanted
        )

    def _out_of_range(self, key: str, value: object, wanted: str) -> None:
        self.fault(
            "out-of-range", key, f"{key} is {shown(value)}; wanted is {wanted}.", found=value, allowed=wanted
        )

    def _not_a_word(self, key: str, value: str, allowed: Sequence[str]) -> None:
        self.fault(
            "not-allowed",
            key,
            f"{key} is {shown(value)}; allowed is one of {', '.join(allowed)}.",
            found=value,
            allowed=", ".join(allowed),
            nearest=nearest_name(value, allowed),
        )


def _called(item: Mapping[str, Any], number: int) -> str:
    for key in ("name", "part", "type"):
        if isinstance(item.get(key), str):
            return f'"{item[key][:LONGEST_NAME]}"'
    return f"number {number}"
