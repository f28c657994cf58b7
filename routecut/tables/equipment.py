"""Generic equipment by name: ports, leaves, loops, ends, as a job would write them.

Stage      tables
Units      mm, as in the file; `turned` gives lengths as texts with their unit, so that they
           mean the same in a job of any unit
Sources    `SOURCES.md`: invented figures of the usual size, marked so
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, Final

from routecut.errors import OutOfRangeError

FACINGS: Final[Mapping[str, tuple[int, int, int]]] = MappingProxyType(
    {
        "front": (-1, 0, 0),
        "rear": (1, 0, 0),
        "left": (0, -1, 0),
        "right": (0, 1, 0),
        "up": (0, 0, 1),
        "down": (0, 0, -1),
    }
)
"""Which way the connectors of a device may face, in vehicle axes."""

_TURN: Final[Mapping[str, tuple[tuple[int, int, int], ...]]] = MappingProxyType(
    {
        # rows: what x, y and z become of a thing that faced the rear
        "rear": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
        "front": ((-1, 0, 0), (0, -1, 0), (0, 0, 1)),
        "left": ((0, 1, 0), (-1, 0, 0), (0, 0, 1)),
        "right": ((0, -1, 0), (1, 0, 0), (0, 0, 1)),
        "up": ((0, 0, -1), (0, 1, 0), (1, 0, 0)),
        "down": ((0, 0, 1), (0, 1, 0), (-1, 0, 0)),
    }
)
_LENGTHS: Final = ("service_loop", "length_used_by_termination", "connector_diameter")


@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment:
    """A kind of device.

    Attributes
    ----------
    faces : str
        Which way its connectors face as its ports are given: a key of `FACINGS`.
    size_mm : tuple of float
        Length, width and height as fitted that way; for people only. [mm]
    ports : tuple of mapping
        Keys of ``[[device.port]]``; lengths in mm.
    provenance : str
        What the figures rest on.
    """

    name: str
    kind: str
    what: str
    faces: str
    size_mm: tuple[float, float, float]
    serviceable: bool
    ports: tuple[Mapping[str, Any], ...]
    provenance: str

    def turned(self, facing: str = "") -> list[dict[str, Any]]:
        """The ports with the connectors facing another way, as a job of any unit writes them.

        Parameters
        ----------
        facing : str
            A key of `FACINGS`; empty for the way the table has it.

        Raises
        ------
        OutOfRangeError
            There is no such way to face.
        """
        if facing and facing not in FACINGS:
            raise OutOfRangeError(f"facing is {facing!r}; allowed is one of {', '.join(FACINGS)}")
        back, to = _TURN[self.faces], _TURN[facing or self.faces]

        def turn(vector: list[float]) -> list[float]:
            # the transpose undoes a turn
            plain = [sum(back[k][i] * vector[k] for k in range(3)) for i in range(3)]
            return [sum(to[i][k] * plain[k] for k in range(3)) for i in range(3)]

        ports = []
        for port in self.ports:
            entry = dict(port)
            entry["offset"] = [f"{v:g} mm" for v in turn(port["offset"])]
            entry["leaves"] = turn(port["leaves"])
            entry |= {key: f"{port[key]:g} mm" for key in _LENGTHS if key in port}
            ports.append(entry)
        return ports


@cache
def equipment() -> Mapping[str, Equipment]:
    """The generic equipment, by name, in the order of the file.

    Examples
    --------
    >>> [port["name"] for port in equipment()["battery"].ports]
    ['positive', 'negative']
    """
    file = resources.files(__package__ or "routecut.tables").joinpath("equipment.toml")
    found = {}
    for row in tomllib.loads(file.read_text(encoding="utf-8"))["equipment"]:
        x, y, z = row["size"]
        found[row["name"]] = Equipment(
            name=row["name"],
            kind=row["kind"],
            what=row["what"],
            faces=row["faces"],
            size_mm=(x, y, z),
            serviceable=row["serviceable"],
            ports=tuple(MappingProxyType(port) for port in row["port"]),
            provenance=row["provenance"],
        )
    return MappingProxyType(found)
