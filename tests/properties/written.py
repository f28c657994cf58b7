"""Job folders written another way that mean the same: other units, another order."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

from routecut.units import to_m

_LENGTHS: Final = frozenset(
    {
        *("box", "seed", "at", "radius", "clearance", "diameter", "stand_off", "bridge", "min_bend_radius"),
        *("hole_cost", "depth"),
    }
)
_ENDS: Final = frozenset({"from", "to"})
"""Points of a capsule; of a cable they are names."""


def rewrite(folder: Path, change: Callable[[dict[str, Any]], None]) -> None:
    """Read a job, change it, write it again."""
    file = folder / "job.toml"
    data = tomllib.loads(file.read_text(encoding="utf-8"))
    change(data)
    file.write_text(toml(data), encoding="utf-8")


def in_unit(folder: Path, unit: str) -> None:
    """Job and mesh in another unit; they are in metres."""
    factor = 1.0 / to_m(1.0, unit)

    def scaled(value: Any) -> Any:
        if isinstance(value, list):
            return [scaled(item) for item in value]
        return value * factor if isinstance(value, int | float) else value

    def visit(table: Any) -> None:
        if isinstance(table, list):
            for item in table:
                visit(item)
        if isinstance(table, dict):
            for key, value in table.items():
                point = key in _ENDS and not isinstance(value, str)
                if key in _LENGTHS or point:
                    table[key] = scaled(value)
                else:
                    visit(value)

    def change(data: dict[str, Any]) -> None:
        visit(data)
        data["length_unit"] = data["vehicle"]["mesh_unit"] = unit

    rewrite(folder, change)
    mesh = folder / "body.obj"

    def corner(found: re.Match[str]) -> str:
        return "v " + " ".join(repr(float(word) * factor) for word in found[1].split())

    mesh.write_text(re.sub(r"(?m)^v (.*)$", corner, mesh.read_text(encoding="utf-8")), encoding="utf-8")


def reordered(folder: Path) -> None:
    """Every list of tables the other way round, but spaces and surfaces: of those the first counts."""

    def change(data: dict[str, Any]) -> None:
        for key, value in list(data.items()):
            if isinstance(value, list) and key not in {"space", "surface"}:
                data[key] = value[::-1]
        for key in sorted(data, reverse=True):
            data[key] = data.pop(key)

    rewrite(folder, change)


def parts_renamed(folder: Path) -> None:
    """Every part of the mesh by a name that sorts the other way round."""
    mesh = folder / "body.obj"
    lines = mesh.read_text(encoding="utf-8").splitlines()
    names = [line for line in lines if line.startswith("o ")]
    other = {name: f"o {len(names) - k:02d} {name[2:]}" for k, name in enumerate(sorted(names))}
    mesh.write_text("\n".join(other.get(line, line) for line in lines) + "\n", encoding="utf-8")


def renamed(folder: Path) -> None:
    """Devices, cables, cable types and keep-outs by names that sort the other way round; those of holes stay."""

    def change(data: dict[str, Any]) -> None:
        for key in ("device", "cable", "cable_type", "keep_out"):
            tables = data.get(key, [])
            names = sorted(table["name"] for table in tables)
            other = {name: f"{len(names) - k:02d} {name}" for k, name in enumerate(names)}
            for table in tables:
                table["name"] = other[table["name"]]
            for cable in data["cable"]:
                if key == "cable_type":
                    cable["type"] = other[cable["type"]]
                for end in _ENDS if key == "device" else ():
                    device, port = cable[end].split(".")
                    cable[end] = f"{other[device]}.{port}"

    rewrite(folder, change)


# --- writing TOML ---------------------------------------------------------------------------


def toml(data: Mapping[str, Any]) -> str:
    """A job as TOML: what stands by itself first, tables after it."""
    lines = [f"{key} = {_value(value)}" for key, value in data.items() if not _is_table(value)]
    for key, value in data.items():
        if isinstance(value, dict):
            lines += [f"[{key}]", *(f"{k} = {_value(v)}" for k, v in value.items())]
        elif _is_table(value):
            for item in value:
                lines += [f"[[{key}]]", *(f"{k} = {_value(v)}" for k, v in item.items())]
    return "\n".join(lines) + "\n"


def _is_table(value: Any) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and bool(value) and isinstance(value[0], dict))


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else repr(value)
