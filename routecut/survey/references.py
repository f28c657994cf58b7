"""Do the names in a job mean something: every reference is looked up, every name is single.

Stage      survey, after all tables are read
Safe side  names are compared exactly; a near miss is suggested, never taken. Entries that
           are at fault themselves still count as named, so that one slip is one finding.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from routecut.model.finding import Severity
from routecut.model.job import (
    ANY,
    Cable,
    CableType,
    Device,
    Hinge,
    KeepOut,
    Landmark,
    NoiseSource,
    Opening,
    PassThrough,
    Space,
    Stock,
    SurfaceRule,
    TapeCheck,
)
from routecut.plain import nearest_name, shown
from routecut.survey.faults import listed
from routecut.survey.toml_fields import Fields
from routecut.tables import cable_types


@dataclass
class Entries:
    """Every entry of the job's arrays with the table it was read from."""

    surfaces: list[tuple[SurfaceRule, Fields]] = field(default_factory=list)
    spaces: list[tuple[Space, Fields]] = field(default_factory=list)
    keep_outs: list[tuple[KeepOut, Fields]] = field(default_factory=list)
    noise_sources: list[tuple[NoiseSource, Fields]] = field(default_factory=list)
    hinges: list[tuple[Hinge, Fields]] = field(default_factory=list)
    landmarks: list[tuple[Landmark, Fields]] = field(default_factory=list)
    openings: list[tuple[Opening, Fields]] = field(default_factory=list)
    pass_throughs: list[tuple[PassThrough, Fields]] = field(default_factory=list)
    devices: list[tuple[Device, Fields]] = field(default_factory=list)
    ports: list[tuple[str, str, Fields]] = field(default_factory=list)
    """Device name, port name, table."""
    cable_types: list[tuple[CableType, Fields]] = field(default_factory=list)
    cables: list[tuple[Cable, Fields]] = field(default_factory=list)
    stock: list[tuple[Stock, Fields]] = field(default_factory=list)


def check_references(entries: Entries, vehicle: Fields | None, tape_checks: Iterable[TapeCheck]) -> None:
    """Report every duplicate and every name that nothing defines."""
    _check_single(entries)
    spaces = [space.name for space, _ in entries.spaces]
    holes = {hole.name: hole for hole, _ in entries.pass_throughs}
    ports = [f"{device}.{port}" for device, port, _ in entries.ports if device and port]
    for space, table in entries.spaces:
        for name in space.open_to:
            _known(table, "open_to", name, spaces, "[[space]]")
        if space.name and space.name in space.open_to:
            table.fault("not-allowed", "open_to", "A space can't be open to itself.", found=space.name)
    _check_seeds(entries.spaces)
    for hole, table in entries.pass_throughs:
        for name in hole.joins:
            _known(table, "joins", name, spaces, "[[space]]")
    for device, table in entries.devices:
        _known(table, "space", device.space, spaces, "[[space]]")
    for cable, table in entries.cables:
        _check_cable(cable, table, holes, ports)
    types = [*(cable_type.name for cable_type, _ in entries.cable_types), *cable_types()]
    for stock, table in entries.stock:
        _known(table, "type", stock.type, types, "cable type")
    checks = tuple(tape_checks)
    if vehicle is not None and checks:
        landmarks = [landmark.name for landmark, _ in entries.landmarks]
        tables = vehicle.children("tape_check", "[[vehicle.tape_check]]")
        for check, table in zip(checks, tables, strict=True):
            if check.of:
                continue
            _known(table, "from", check.from_landmark, landmarks, "[[landmark]]")
            _known(table, "to", check.to_landmark, landmarks, "[[landmark]]")


def _check_cable(cable: Cable, table: Fields, holes: dict[str, PassThrough], ports: list[str]) -> None:
    _known(table, "from", cable.from_port, ports, "port (device.port)")
    _known(table, "to", cable.to_port, ports, "port (device.port)")
    for key, names in (("through", cable.through), ("avoid", cable.avoid)):
        for name in names:
            _known(table, key, name, holes, "[[pass_through]]")
    for name in sorted(set(cable.through) & set(cable.avoid)):
        table.fault("not-allowed", "avoid", f"{name!r} is in through and in avoid.", found=name)
    if table.sound:
        for name in cable.through:
            classes = holes[name].classes
            if ANY not in classes and cable.cable_class not in classes:
                table.fault(
                    "not-allowed",
                    "through",
                    f"{name!r} does not take cables of class {cable.cable_class}.",
                    found=name,
                    allowed=f"a pass-through whose classes name {cable.cable_class} or *",
                )
    places = [*ports, *holes]
    stretches = table.children("measured", f"{table.table}, measured") if cable.measured else []
    for stretch, entry in zip(cable.measured, stretches, strict=True):
        _known(entry, "from", stretch.from_name, places, "port or pass-through")
        _known(entry, "to", stretch.to_name, places, "port or pass-through")


def _check_single(entries: Entries) -> None:
    listed: list[tuple[str, list[tuple[str, Fields]]]] = [
        ("[[space]]", [(e.name, t) for e, t in entries.spaces]),
        ("[[keep_out]]", [(e.name, t) for e, t in entries.keep_outs]),
        ("[[noise_source]]", [(e.name, t) for e, t in entries.noise_sources]),
        ("[[hinge]]", [(e.name, t) for e, t in entries.hinges]),
        ("[[landmark]]", [(e.name, t) for e, t in entries.landmarks]),
        ("[[opening]]", [(e.name, t) for e, t in entries.openings]),
        ("[[pass_through]]", [(e.name, t) for e, t in entries.pass_throughs]),
        ("[[device]]", [(e.name, t) for e, t in entries.devices]),
        ("[[cable_type]]", [(e.name, t) for e, t in entries.cable_types]),
        ("[[cable]]", [(e.name, t) for e, t in entries.cables]),
    ]
    for label, named in listed:
        _single(label, named)
    # two devices of one name are reported as such, not once more for each port
    by_table: dict[int, list[tuple[str, Fields]]] = {}
    for _, port, table in entries.ports:
        by_table.setdefault(id(table.parent), []).append((port, table))
    for named in by_table.values():
        _single("[[device.port]] of this device", named)
    full: dict[str, str] = {}
    for device, port, table in entries.ports:
        name = f"{device}.{port}"
        if device and port and full.setdefault(name, device) != device:
            table.fault(
                "duplicate-name",
                "name",
                f"The port {name!r} can also be read as one of the device {full[name]!r}; rename one.",
                found=name,
            )


def _single(label: str, named: list[tuple[str, Fields]]) -> None:
    seen: set[str] = set()
    for name, table in named:
        if name and name in seen:
            table.fault(
                "duplicate-name",
                "name",
                f"There is already a {label} called {name!r}.",
                found=name,
                allowed="a name that is used once",
            )
        seen.add(name)


def _known(table: Fields, key: str, name: str, known: Iterable[str], what: str) -> None:
    names = [k for k in known if k]
    if not name or name in names:
        return
    table.fault(
        "unknown-name",
        key,
        f"{key} is {shown(name)}; no {what} has that name.",
        found=name,
        allowed=listed(names) or "none is defined",
        nearest=nearest_name(name, names),
    )


def _check_seeds(spaces: list[tuple[Space, Fields]]) -> None:
    """A seed belongs to the first space that holds it; say so when that is another one."""
    for number, (space, table) in enumerate(spaces):
        if not table.sound:
            continue
        for other, _ in spaces[:number]:
            if other.holds(space.seed_m):
                table.fault(
                    "wrong-space",
                    "seed",
                    f"The seed of {space.name!r} lies in {other.name!r}, which is listed first; give "
                    f"{space.name!r} a seed that only it holds.",
                    severity=Severity.WARNING,
                    found=table.data.get("seed", "the middle of the first box"),
                    allowed=f"a point in {space.name!r}, outside {other.name!r}",
                )
                break
