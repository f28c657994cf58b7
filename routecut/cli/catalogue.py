"""``routecut catalogue``: the generic equipment and cable types that a job can name."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated, Any

import typer

from routecut.cli.arguments import JsonOption
from routecut.cli.printing import data, result
from routecut.errors import OutOfRangeError
from routecut.plain import nearest_name

if TYPE_CHECKING:
    from routecut.model.job import CableType
    from routecut.tables import Equipment


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(catalogue)


def catalogue(
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="What to explain; all is listed without.", show_default=False),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """List the generic equipment and cable types, or explain one of them.

    A job names equipment instead of repeating its ports: [[device]] equipment = "battery".

    Example: routecut catalogue "mobile radio, remote head"
    """
    from routecut.plain import shown
    from routecut.tables import cable_types, equipment

    if name is None:
        _list(equipment().values(), cable_types().values(), as_json=as_json)
    elif name in equipment():
        one = equipment()[name]
        _say(_equipment_parts(one), _explained(one), as_json=as_json)
    elif name in cable_types():
        kind = cable_types()[name]
        _say(_type_parts(kind), _type_lines(kind), as_json=as_json)
    else:
        near = nearest_name(name, [*equipment(), *cable_types()])
        hint = f"; the nearest is {near!r}" if near else ""
        raise OutOfRangeError(
            f"there is no {shown(name)} in the catalogue{hint}; routecut catalogue lists everything"
        )


def _say(parts: dict[str, Any], lines: list[str], *, as_json: bool) -> None:
    if as_json:
        data(json.dumps(parts, indent=1))
    else:
        for line in lines:
            result(line)


def _list(things: Any, types: Any, *, as_json: bool) -> None:
    things, types = list(things), list(types)
    if as_json:
        parts = {
            "equipment": [_equipment_parts(e) for e in things],
            "cable_types": [_type_parts(t) for t in types],
        }
        data(json.dumps(parts, indent=1))
        return
    result(
        "Generic kinds; sizes and plugs are of the usual size, not of a product: measure yours, and write it over."
    )
    result("")
    result('EQUIPMENT: [[device]] equipment = "..."')
    wide = max(len(e.name) for e in things)
    for e in things:
        result(f"  {e.name:<{wide}}  {e.what}")
    result("")
    result('CABLE TYPES: [[cable]] type = "..."')
    wide = max(len(t.name) for t in types)
    for t in types:
        size = f"{t.diameter_m * 1000:g} mm"
        result(f"  {t.name:<{wide}}  {t.cable_class.value:<8}{size:>9}  {t.description}")
    result("")
    result("routecut catalogue NAME explains one of them")


def _equipment_parts(one: Equipment) -> dict[str, Any]:
    return {
        "name": one.name,
        "kind": one.kind,
        "what": one.what,
        "faces": one.faces,
        "size_mm": list(one.size_mm),
        "serviceable": one.serviceable,
        "ports": [dict(port) for port in one.ports],
        "provenance": one.provenance,
    }


def _explained(one: Equipment) -> list[str]:
    from routecut.tables.equipment import FACINGS

    x, y, z = one.size_mm
    lines = [
        f"{one.name}: {one.what}.",
        f"  kind {one.kind}; about {x:g} x {y:g} x {z:g} mm; its connectors face {one.faces}",
        f"  serviceable = {str(one.serviceable).lower()}, where the job says nothing"
        + (": a plan warns where it can't be got at or taken out" if one.serviceable else ""),
        "  figures: "
        + ("invented, of the usual size; measure yours" if one.provenance == "invented" else one.provenance),
        "",
        f"  {'port':<14}{'offset mm':<16}{'loop mm':>8}  {'end':<24}{'uses mm':>8}{'plug mm':>8}  made up",
    ]
    for port in one.ports:
        offset = ", ".join(f"{v:g}" for v in port["offset"])
        lines.append(
            f"  {port['name']:<14}{offset:<16}{port.get('service_loop', 0):>8}  {port.get('termination', '-'):<24}"
            f"{port.get('length_used_by_termination', '-'):>8}{port.get('connector_diameter', '-'):>8}  "
            f"{port.get('made_up', 'in vehicle')}"
        )
    first, faces = one.ports[0]["name"], f'facing = "{one.faces}"'
    lines += [
        "",
        "in a job:",
        "  [[device]]",
        f'  name = "my {one.kind}"',
        f'  equipment = "{one.name}"',
        "  at = [1800, 0, 900]          # where it sits",
        '  space = "cab"                # the space it stands in, by its name in the job',
        f"  {faces:<29}# which way its connectors face: {', '.join(FACINGS)}",
        "  [[device.port]]              # only to change something: your keys go over the catalogue's",
        f'  name = "{first}"',
        "  service_loop = 200",
    ]
    return lines


def _type_parts(kind: CableType) -> dict[str, Any]:
    return {
        "name": kind.name,
        "class": kind.cable_class.value,
        "diameter_mm": round(kind.diameter_m * 1000, 3),
        "min_bend_radius_mm": round(kind.min_bend_radius_m * 1000, 3),
        "max_length_mm": None if kind.max_length_m is None else round(kind.max_length_m * 1000, 3),
        "description": kind.description,
        "source": kind.source,
    }


def _type_lines(kind: CableType) -> list[str]:
    lines = [
        f"{kind.name}: {kind.description}.",
        f"  class {kind.cable_class.value}; {kind.diameter_m * 1000:g} mm over the jacket",
        f"  tightest bend {kind.min_bend_radius_m * 1000:g} mm, to the middle of the cable",
    ]
    if kind.max_length_m is not None:
        lines.append(f"  no longer than {kind.max_length_m * 1000:g} mm")
    lines += [f"  source: {kind.source}", "", "in a job:", "  [[cable]]", f'  type = "{kind.name}"']
    return lines
