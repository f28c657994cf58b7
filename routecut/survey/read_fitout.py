"""Reads what is fitted: devices and their ports, cable types, cables, stock.

Stage      survey
Units      m, A, MHz, dB; drops in per cent as written
Source     bend radius of a type that gives none: 10 x diameter, the long-term figure of
           NASA-STD-8739.4 for coax and of US Army TM 1-1500-204-23-4 for wire
Safe side  a cable without a type is given the thickest and stiffest of its class
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Final

from routecut.model.finding import Severity
from routecut.model.job import (
    Cable,
    CableClass,
    CableType,
    Device,
    Load,
    MadeUp,
    Measured,
    Polarity,
    Port,
    Position,
    Signal,
    Stock,
    Surplus,
    Vec3,
    vec3,
)
from routecut.plain import nearest_name, shown
from routecut.survey.positions import Places, read_position
from routecut.survey.read_equipment import fill_in
from routecut.survey.toml_fields import Fields
from routecut.tables import cable_types

BEND_PER_DIAMETER: Final = 10.0
POINT_NUMBERS: Final = 2
MOST_MHZ: Final = 100_000.0

_NOWHERE: Final = (0.0, 0.0, 0.0)
_STAND_IN: Final = CableType(
    name="", cable_class=CableClass.CONTROL, diameter_m=0.001, min_bend_radius_m=0.001
)


def read_device(fields: Fields, places: Places) -> tuple[Device, list[Fields]]:
    """One ``[[device]]`` with its ports; the ports' tables are returned for later checks."""
    fill_in(fields)
    name = fields.name()
    position = read_position(fields, places)
    device = Device(
        name=name,
        position=position or Position(at_m=_NOWHERE),
        space=fields.name("space"),
        kind=fields.text("kind", ""),
        serviceable=fields.flag("serviceable"),
        pulls_out_m=fields.optional_length("pulls_out", above=False, high_m=10.0),
        equipment=fields.text("equipment", ""),
    )
    entries = fields.children("port", f"{fields.table}, [[device.port]]")
    ports = tuple(_port(entry, places, device) for entry in entries)
    fields.finish()
    return replace(device, ports=ports), entries


def _port(fields: Fields, places: Places, device: Device) -> Port:
    name = fields.name()
    offset: Vec3 | None = None
    if fields.has("at"):
        position = read_position(fields, places) or Position(at_m=_NOWHERE)
        if fields.has("offset"):
            fields.fault("not-allowed", "offset", "at and offset are both given; one of them is wanted.")
    else:
        offset = fields.point("offset", _NOWHERE)
        at_m = vec3(a + b for a, b in zip(device.position.at_m, offset, strict=True))
        # it goes where its device goes; a snap of the device moves its ports along
        position = replace(device.position, at_m=at_m, snap=fields.flag("snap"))
    port = Port(
        device=device.name,
        name=name,
        position=position,
        leaves=fields.direction("leaves"),
        service_loop_m=fields.length("service_loop", 0.0, high_m=10.0),
        termination=fields.text("termination", ""),
        length_used_by_termination_m=fields.length("length_used_by_termination", 0.0, high_m=1.0),
        connector_diameter_m=fields.length("connector_diameter", 0.0, high_m=0.5),
        made_up=fields.word("made_up", MadeUp, MadeUp.IN_VEHICLE),
        offset_m=offset,
        travel_m=fields.length("travel", 0.0, high_m=5.0),
    )
    fields.finish()
    return port


def read_cable_type(fields: Fields) -> CableType:
    """One ``[[cable_type]]``."""
    name = fields.name()
    cable_class = fields.word("class", CableClass)
    diameter = fields.length("diameter", high_m=0.2, above=True)
    # a cable can't be bent to less than its own radius, measured to its middle
    bend = fields.length("min_bend_radius", BEND_PER_DIAMETER * diameter, high_m=5.0)
    if fields.sound and bend < diameter / 2:
        fields.fault(
            "out-of-range",
            "min_bend_radius",
            "min_bend_radius is less than half the diameter.",
            found=fields.data["min_bend_radius"],
            allowed="half the diameter or more, to the middle of the cable",
        )
    cable_type = CableType(
        name=name,
        cable_class=cable_class,
        diameter_m=diameter,
        min_bend_radius_m=bend,
        max_length_m=fields.optional_length("max_length"),
        description=fields.text("description", ""),
        source=fields.text("source", "the job"),
        conductor_mm2=fields.optional_number(
            "conductor_mm2", high=1000.0, above=True, what="mm\N{SUPERSCRIPT TWO}"
        ),
        attenuation=_points(fields, "attenuation", "dB per 100 m", rising=True),
        power_rating=_points(fields, "power_rating", "W", rising=False),
        velocity_factor=fields.optional_number(
            "velocity_factor", high=1.0, above=True, what="of the speed of light"
        ),
    )
    if cable_type.conductor_mm2 is None and name in cable_types():
        # another jacket or colour of a catalogue wire: the copper is the same
        cable_type = replace(cable_type, conductor=cable_types()[name].conductor)
    fields.finish()
    return cable_type


def _points(fields: Fields, key: str, unit: str, *, rising: bool) -> tuple[tuple[float, float], ...]:
    """Points over frequency as in a data sheet: ``[[150, 9.9], ..]``, MHz and the unit."""
    if not fields.has(key):
        return ()
    points: list[tuple[float, float]] = []
    given = fields.data[key]
    way = "rise" if rising else "fall"
    wanted = f"a list of [MHz, {unit}], both above 0, that {way}s with frequency"
    if not isinstance(given, list):
        given = [given]
    for entry in given:
        numbers = entry if isinstance(entry, list) and len(entry) == POINT_NUMBERS else []
        good = [float(n) for n in numbers if isinstance(n, int | float) and not isinstance(n, bool)]
        if len(good) != POINT_NUMBERS or not all(0.0 < n < MOST_MHZ for n in good):
            fields.fault(
                "out-of-range", key, f"{key} holds {shown(entry)}.", found=entry, allowed=wanted,
            )  # fmt: skip
            return ()
        points.append((good[0], good[1]))
    points.sort()
    steps = [(b[0] - a[0], (b[1] - a[1]) * (1.0 if rising else -1.0)) for a, b in pairwise(points)]
    if any(over <= 0.0 or change <= 0.0 for over, change in steps):
        fields.fault(
            "out-of-range", key, f"{key} does not {way} with frequency.", found=given, allowed=wanted,
        )  # fmt: skip
        return ()
    return tuple(points)


def thickest_of(cable_class: CableClass, types: Mapping[str, CableType]) -> CableType | None:
    """The thickest type of a class, with the widest bend radius of any in it.

    A route found for it holds for every other type of the class. None when the class is
    empty.
    """
    members = [t for t in types.values() if t.cable_class is cable_class]
    if not members:
        return None
    thickest = max(members, key=lambda t: (t.diameter_m, t.min_bend_radius_m, t.name))
    stiffest_m = max(t.min_bend_radius_m for t in members)
    return replace(thickest, min_bend_radius_m=stiffest_m)


def read_cable(fields: Fields, own_types: Mapping[str, CableType | None]) -> Cable:
    """One ``[[cable]]``; its type is looked up in the job first, then in the catalogue."""
    name = fields.name()
    from_port, to_port = fields.name("from"), fields.name("to")
    if from_port and from_port == to_port:
        fields.fault("not-allowed", "to", "from and to are the same port.", found=to_port)
    cable_type, assumed = _type_of(fields, own_types)
    cable = Cable(
        name=name,
        from_port=from_port,
        to_port=to_port,
        cable_class=cable_type.cable_class,
        type=cable_type,
        type_assumed=assumed,
        load=_load(fields),
        signal=_signal(fields),
        through=fields.texts("through"),
        avoid=fields.texts("avoid"),
        ready_made=fields.flag("ready_made"),
        measured=_measured(fields),
        surplus=fields.word("surplus", Surplus, Surplus.TRIM) if fields.has("surplus") else None,
        polarity=fields.word("polarity", Polarity, Polarity.POSITIVE) if fields.has("polarity") else None,
        sheathed=fields.flag("sheathed"),
    )
    fields.finish()
    return cable


def _type_of(fields: Fields, own_types: Mapping[str, CableType | None]) -> tuple[CableType, bool]:
    cable_class = fields.word("class", CableClass, CableClass.CONTROL) if fields.has("class") else None
    if not fields.has("type"):
        if cable_class is None:
            fields.require("type", "the name of a cable type, or a class so that one can be chosen")
            return _STAND_IN, False
        known = {**cable_types(), **{n: t for n, t in own_types.items() if t is not None}}
        stand_in = thickest_of(cable_class, known) if fields.sound else None
        if stand_in is None:
            return _STAND_IN, False
        fields.fault(
            "type-assumed",
            "type",
            f"No type is given; {stand_in.name}, the thickest of class {cable_class}, stands in.",
            severity=Severity.NOTE,
        )
        return stand_in, True
    wanted = fields.name("type")
    if wanted in own_types:
        found = own_types[wanted]
        if found is None:  # the type's own fault is reported where it is defined
            fields.spoil()
    else:
        found = cable_types().get(wanted)
        if found is None and wanted:
            names = [*own_types, *cable_types()]
            fields.fault(
                "unknown-name",
                "type",
                f"No cable type is called {wanted!r}, in the job or in the catalogue.",
                found=wanted,
                allowed="a [[cable_type]] of the job or a catalogue entry",
                nearest=nearest_name(wanted, names),
            )
    if found is None:
        return _STAND_IN, False
    if (
        cable_class is not None
        and "class" in fields.data
        and cable_class is not found.cable_class
        and fields.sound
    ):
        fields.fault(
            "not-allowed",
            "class",
            f"class is {cable_class.value!r}, but {wanted!r} is of class {found.cable_class.value!r}.",
            found=cable_class.value,
            allowed=found.cable_class.value,
        )
    return found, False


def _load(fields: Fields) -> Load | None:
    inner = fields.child("load")
    if inner is None:
        return None
    amps = inner.number("amps", high=2000.0, above=True, what="A")
    load = Load(
        amps=amps,
        peak_amps=inner.number("peak_amps", 0.0, high=5000.0, what="A"),
        max_drop_percent=inner.optional_number("max_drop_percent", high=50.0, above=True, what="per cent"),
        fuse_amps=inner.optional_number("fuse_amps", high=2000.0, above=True, what="A"),
    )
    if inner.sound and 0 < load.peak_amps < load.amps:
        inner.fault(
            "out-of-range", "peak_amps", "peak_amps is less than amps.", found=load.peak_amps,
            allowed=f"at least {shown(amps)}, or left out",
        )  # fmt: skip
    inner.finish()
    return load


def _signal(fields: Fields) -> Signal | None:
    inner = fields.child("signal")
    if inner is None:
        return None
    signal = Signal(
        mhz=inner.number("mhz", high=100_000.0, above=True, what="MHz"),
        max_loss_db=inner.optional_number("max_loss_db", high=100.0, above=True, what="dB"),
        watts=inner.optional_number("watts", high=10_000.0, above=True, what="W"),
        half_wave=inner.flag("half_wave"),
    )
    inner.finish()
    return signal


def _measured(fields: Fields) -> tuple[Measured, ...]:
    found = []
    for entry in fields.children("measured", f"{fields.table}, measured"):
        stretch = Measured(
            from_name=entry.name("from"),
            to_name=entry.name("to"),
            length_m=entry.length("length", above=True),
        )
        if stretch.from_name and stretch.from_name == stretch.to_name:
            entry.fault("not-allowed", "to", "from and to are the same place.", found=stretch.to_name)
        entry.finish()
        found.append(stretch)
    return tuple(found)


def read_stock(fields: Fields) -> Stock:
    """One ``[[stock]]``."""
    given = [key for key in ("lengths", "reel") if fields.has(key)]
    if not given:
        fields.require("lengths", "lengths of ready-made leads, or reel")
    elif len(given) == 2:
        fields.fault("not-allowed", "reel", "lengths and reel are both given; one of them is wanted.")
    stock = Stock(
        type=fields.name("type"),
        lengths_m=tuple(sorted(fields.lengths("lengths"))),
        reel_m=fields.optional_length("reel", high_m=10_000.0),
        price=fields.optional_number("price", high=1e9),
        quantity=fields.optional_count("quantity"),
    )
    fields.finish()
    return stock
