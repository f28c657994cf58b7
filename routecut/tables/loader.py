"""The one loader of the shipped tables.

Stage      below the survey; reads package data, nothing else
Units      figures stay as printed in the files; `cable_types` converts to m
Sources    `SOURCES.md`
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType

from routecut.errors import OutOfRangeError
from routecut.model.job import CableClass, CableType
from routecut.units import to_m


def how_known(provenance: str) -> str:
    """How far a printed figure can be trusted, in words; `SOURCES.md` says what each means.

    Examples
    --------
    >>> how_known("published-read"), how_known("the job")
    ('read there', 'the job')
    """
    return {"published-read": "read there", "from-memory": "from memory"}.get(provenance, provenance)


@cache
def read_rows(name: str) -> tuple[Mapping[str, str], ...]:
    """The rows of a shipped table, as text, in the order of the file.

    Parameters
    ----------
    name : str
        Name of the file without ``.csv``.

    Returns
    -------
    tuple of read-only mappings
        Column name to the text of the cell.

    Raises
    ------
    OutOfRangeError
        There is no such table, or a row has more or fewer cells than the heading.

    Examples
    --------
    >>> read_rows("cable_types")[0]["class"]
    'power'
    """
    file = resources.files(__package__ or "routecut.tables").joinpath(f"{name}.csv")
    if not file.is_file():
        raise OutOfRangeError(f"there is no table {name!r}")
    heading, *lines = csv.reader(file.read_text(encoding="utf-8").splitlines())
    rows = []
    for line in lines:
        if len(line) != len(heading):
            raise OutOfRangeError(f"table {name!r}: a row does not fit the heading: {line}")
        rows.append(MappingProxyType(dict(zip(heading, line, strict=True))))
    return tuple(rows)


@cache
def cable_types() -> Mapping[str, CableType]:
    """The generic catalogue of cable types, by name, in the order of the file.

    Returns
    -------
    read-only mapping of str to CableType
        Diameters and radii in m; `source` ends with how it is known in brackets.

    Examples
    --------
    >>> cable_types()["wire-10awg-red"].diameter_m
    0.0048
    """
    found: dict[str, CableType] = {}
    for row in read_rows("cable_types"):
        longest = row["max_length_mm"]
        found[row["name"]] = CableType(
            name=row["name"],
            cable_class=CableClass(row["class"]),
            diameter_m=to_m(float(row["diameter_mm"]), "mm"),
            min_bend_radius_m=to_m(float(row["min_bend_radius_mm"]), "mm"),
            max_length_m=to_m(float(longest), "mm") if longest else None,
            description=row["description"],
            conductor=row["conductor"],
            source=f"{row['source']} ({how_known(row['provenance'])})",
        )
    return MappingProxyType(found)
