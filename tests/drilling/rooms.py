"""Two rooms with a wall between, and cables that have to get through it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from routecut.model.body import Body, Floats
from routecut.model.job import (
    Cable,
    CableClass,
    CableType,
    Device,
    Drilling,
    HoleState,
    Job,
    KeepOut,
    MadeUp,
    PassThrough,
    Port,
    Position,
    Routing,
    SurfaceRule,
    Vec3,
)
from tests.drilling.scenes import PANEL, body_of, box, job_of, space

ROOMS = (
    space("front", (0.0, 0.0, 0.0), (1.0, 0.8, 0.6)),
    space("rear", (1.0, 0.0, 0.0), (2.0, 0.8, 0.6)),
)
LANDMARKS = {
    "bolt low": (0.98, 0.05, 0.02),
    "bolt high": (0.98, 0.75, 0.55),
    "bolt far": (0.98, 0.05, 0.55),
    "stud": (1.02, 0.75, 0.05),
    "stud high": (1.02, 0.05, 0.55),
}


def wall(x: float = 1.0, step: float = 0.1) -> Floats:
    """The wall across, of small squares."""
    found = []
    for y in np.arange(0, 0.8 - 1e-9, step):
        for z in np.arange(0, 0.6 - 1e-9, step):
            a, b = [x, y, z], [x, y + step, z]
            c, d = [x, y + step, z + step], [x, y, z + step]
            found += [[a, b, c], [a, c, d]]
    return np.array(found)


def rooms(more: Mapping[str, tuple[Floats, SurfaceRule]] | None = None, *, drill: bool = True) -> Body:
    """A closed box of two rooms; `more` are parts beside."""
    shell = SurfaceRule(part="shell", kind=PANEL.kind)
    parting = PANEL if drill else shell
    return body_of(
        {
            "shell": (box((0.0, 0.0, 0.0), (2.0, 0.8, 0.6)), shell),
            "wall": (wall(), parting),
            **(more or {}),
        }
    )


def device(name: str, at: Vec3, room: str, *, made: MadeUp = MadeUp.IN_VEHICLE, plug: float = 0.0) -> Device:
    """A device with one port, 20 mm off the floor."""
    port = Port(device=name, name="p", position=Position(at_m=at), made_up=made, connector_diameter_m=plug)
    return Device(name=name, position=Position(at_m=at), space=room, ports=(port,))


def cable(
    name: str,
    start: str,
    end: str,
    *,
    cable_class: CableClass = CableClass.DATA,
    diameter: float = 0.006,
    through: tuple[str, ...] = (),
) -> Cable:
    """A thin, soft cable."""
    return Cable(
        name=name,
        from_port=f"{start}.p",
        to_port=f"{end}.p",
        cable_class=cable_class,
        through=through,
        type=CableType(
            name=f"soft {cable_class}",
            cable_class=cable_class,
            diameter_m=diameter,
            min_bend_radius_m=0.01,
        ),
    )


def opening(
    name: str, y: float, z: float, *, diameter: float = 0.02, state: HoleState = HoleState.CANDIDATE
) -> PassThrough:
    """A hole in the wall."""
    return PassThrough(
        name=name,
        position=Position(at_m=(1.0, y, z)),
        axis=(1.0, 0.0, 0.0),
        diameter_m=diameter,
        state=state,
        joins=("front", "rear"),
    )


def job(
    devices: Sequence[Device],
    cables: Sequence[Cable],
    holes: Sequence[PassThrough] = (),
    *,
    keep_outs: Sequence[KeepOut] = (),
    drilling: Drilling | None = None,
    landmarks: Mapping[str, Vec3] | None = None,
) -> Job:
    """The job of two rooms."""
    return job_of(
        spaces=ROOMS,
        landmarks=LANDMARKS if landmarks is None else landmarks,
        keep_outs=keep_outs,
        pass_throughs=holes,
        devices=tuple(devices),
        cables=tuple(cables),
        drilling=drilling or Drilling(),
        routing=Routing(node_spacing_m=0.06, bridge_m=0.3),
    )
