"""Small jobs with straight cables of a known length: nothing here comes from the engine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np

from routecut.model.finding import Finding
from routecut.model.job import (
    Access,
    Box,
    Cable,
    CableClass,
    CableType,
    Device,
    Exposure,
    Job,
    Load,
    Polarity,
    Port,
    Position,
    Rules,
    Signal,
    Space,
    Stock,
    Vehicle,
)
from routecut.model.plan import Route
from routecut.model.sizing import Sizing
from routecut.sizing import size_job
from routecut.survey.read_fitout import thickest_of
from routecut.tables import cable_types

ROOM = Box(low_m=(-50.0, -50.0, -50.0), high_m=(50.0, 50.0, 50.0))


def device(name: str, *ports: str, kind: str = "", space: str = "cab", used_m: float = 0.010) -> Device:
    """A device at the origin with its ports."""
    at = Position(at_m=(0.0, 0.0, 0.0))
    return Device(
        name=name,
        position=at,
        space=space,
        kind=kind,
        ports=tuple(
            Port(device=name, name=port, position=at, length_used_by_termination_m=used_m) for port in ports
        ),
    )


def power(
    name: str,
    start: str,
    end: str,
    amps: float | None,
    *,
    peak: float = 0.0,
    type_name: str = "",
    drop: float | None = None,
    polarity: Polarity | None = None,
) -> Cable:
    """A power cable; without a type its size is open."""
    known = cable_types()
    stand_in = thickest_of(CableClass.POWER, known)
    assert stand_in is not None
    return Cable(
        name=name,
        from_port=start,
        to_port=end,
        cable_class=CableClass.POWER,
        type=known[type_name] if type_name else stand_in,
        type_assumed=not type_name,
        load=None if amps is None else Load(amps=amps, peak_amps=peak, max_drop_percent=drop),
        polarity=polarity,
    )


def coax(
    name: str,
    type_name: str,
    mhz: float,
    *,
    most: float | None = None,
    watts: float | None = None,
    own: CableType | None = None,
) -> Cable:
    """A coax cable between the radio and the antenna of `job`."""
    return Cable(
        name=name,
        from_port="radio.antenna",
        to_port="antenna.feed",
        cable_class=CableClass.COAX,
        type=own or cable_types()[type_name],
        signal=Signal(mhz=mhz, max_loss_db=most, watts=watts),
    )


def job(
    *cables: Cable,
    devices: Iterable[Device] = (),
    limits: Iterable[tuple[str, float]] = (),
    profile: str = "common practice",
    stock: Iterable[Stock] = (),
    types: Iterable[CableType] = (),
    access: Access = Access.OPEN,
) -> Job:
    """A job with a battery, a block, two radios and an antenna, and what is given besides."""
    return Job(
        folder=Path(),
        title="",
        length_unit="mm",
        vehicle=Vehicle(mesh="", mesh_unit="m", axes=((1, 0, 0), (0, 1, 0), (0, 0, 1)), axes_text=""),
        spaces=(
            Space(
                name="engine bay",
                boxes=(ROOM,),
                seed_m=(0.0, 0.0, 0.0),
                exposure=(Exposure.HOT,),
                access=access,
            ),
            Space(name="cab", boxes=(ROOM,), seed_m=(0.0, 0.0, 0.0)),
        ),
        devices=(
            device("battery", "positive", "negative", kind="battery", space="engine bay"),
            device("block", "feed", "out 1", "out 2", "return", "return 1", kind="distribution block"),
            device("radio", "power", "return", "antenna", "sense", "out", kind="transceiver"),
            device("second radio", "power", "return", kind="transceiver"),
            device("stud", "lug", kind="earth stud"),
            device("antenna", "feed", "bond", kind="antenna"),
            *devices,
        ),
        cables=cables,
        cable_types=tuple(types),
        stock=tuple(stock),
        rules=Rules(profile=profile, limits=tuple(limits)),
    )


def straight(length_m: float, *, beside_m: float = 0.0, spaces: tuple[str, ...] = ("cab",)) -> Route:
    """A straight way, a distance to the side of the X axis."""
    points = np.array([[0.0, beside_m, 0.0], [length_m, beside_m, 0.0]])
    return Route(points_m=points, length_m=length_m, spaces=spaces, bend_radius_m=0.05)


def sized(
    made: Job,
    lengths_m: Mapping[str, float],
    *,
    routes: Mapping[str, Route] | None = None,
    joints: Mapping[str, int] | None = None,
) -> tuple[Sizing, dict[str, CableType], list[Finding]]:
    """Size a job whose cables run far apart, unless routes are given."""
    apart = {name: straight(length, beside_m=float(k)) for k, (name, length) in enumerate(lengths_m.items())}
    return size_job(job=made, lengths_m=lengths_m, routes={**apart, **(routes or {})}, joints=joints)


def codes(findings: Iterable[Finding]) -> list[str]:
    """Codes of the findings, in order."""
    return [finding.code for finding in findings]
