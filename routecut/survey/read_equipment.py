"""A device that names its equipment: the catalogue's entries with the job's own keys over them.

Stage      survey, before a device is read
Safe side  what the job writes itself always counts; a name that is not known is an error
"""

from __future__ import annotations

from typing import Any

from routecut.plain import nearest_name
from routecut.survey.toml_fields import Fields
from routecut.tables.equipment import FACINGS, equipment


def fill_in(fields: Fields) -> None:
    """Put the keys of the equipment that a ``[[device]]`` names under those it writes itself."""
    name = fields.text("equipment", "")
    facing = fields.one_of("facing", tuple(FACINGS), "rear") if fields.has("facing") else ""
    if not name:
        if facing:
            fields.fault(
                "not-allowed", "facing", "facing turns equipment of the catalogue; this device names none.",
                found=facing, allowed="only beside equipment",
            )  # fmt: skip
        return
    known = equipment()
    if name not in known:
        fields.fault(
            "unknown-name",
            "equipment",
            f"There is no equipment {name!r} in the catalogue; routecut catalogue lists it.",
            found=name,
            allowed=", ".join(known),
            nearest=nearest_name(name, known),
        )
        return
    if not fields.sound:
        return
    kind = known[name]
    own = dict(fields.data)
    given = own.get("port", [])
    if not isinstance(given, list) or not all(isinstance(port, dict) for port in given):
        return  # said where ports are read
    fields.data = {
        "kind": kind.kind,
        "serviceable": kind.serviceable,
        **own,
        "port": _merged(kind.turned(facing), given),
    }


def _merged(ports: list[dict[str, Any]], given: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The catalogue's ports in their order, the job's keys over those of the same name, then the job's others."""
    own: dict[object, list[dict[str, Any]]] = {}
    for port in given:
        own.setdefault(_hashable(port.get("name")), []).append(port)
    merged = []
    for port in ports:
        mine = own.get(port["name"])
        over = mine.pop(0) if mine else {}
        base = {k: v for k, v in port.items() if not (k == "offset" and "at" in over)}
        merged.append({**base, **over})
    left = [id(port) for ports_left in own.values() for port in ports_left]
    return merged + [port for port in given if id(port) in left]


def _hashable(name: object) -> object:
    return name if isinstance(name, str) else None
