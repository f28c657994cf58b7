"""A level plate, and a wall with two holes between two rooms of one floor, for cables laid together."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np

from routecut.model.job import Cable, CableClass, CableType, Device, HoleState, Port, Position, Vec3
from routecut.roadmap.build import Roadmap, build_roadmap
from routecut.routes.company import Company
from routecut.routes.harness import Harness
from tests.drilling.scenes import PANEL, body_of, hole, job_of, plate, space

Laid = tuple[Cable, Device, Device]

SEPARATION_M = 0.05


def cable(
    name: str, kind: CableClass, start: Vec3, end: Vec3, diameter: float = 0.006
) -> tuple[Cable, Device, Device]:
    def device(side: str, at: Vec3) -> Device:
        return Device(
            name=f"{name} {side}",
            position=Position(at_m=at),
            space="front" if at[0] < 1.0 else "rear",
            ports=(Port(device=f"{name} {side}", name="p", position=Position(at_m=at)),),
        )

    made = CableType(name=kind.value, cable_class=kind, diameter_m=diameter, min_bend_radius_m=0.025)
    return (
        Cable(name=name, from_port=f"{name} a.p", to_port=f"{name} b.p", cable_class=kind, type=made),
        device("a", start),
        device("b", end),
    )


HOLES = tuple(
    hole(
        name,
        (1.0, y, 0.1),
        state=HoleState.EXISTING,
        diameter=0.024,
        joins=("front", "rear"),
        axis=(1.0, 0.0, 0.0),
    )
    for name, y in (("left", 0.2), ("right", 0.6))
)


@functools.cache
def roadmap(wall: bool) -> Roadmap:
    floor = plate(0.0, (0.0, 0.0), (2.0, 0.8))
    upright = np.array(
        [[[1, 0, 0], [1, 0.8, 0], [1, 0.8, 0.3]], [[1, 0, 0], [1, 0.8, 0.3], [1, 0, 0.3]]], dtype=float
    )
    parts = {"floor": (floor, PANEL), "wall": (upright, PANEL)} if wall else {"floor": (floor, PANEL)}
    rooms = (
        space("front", (0.0, 0.0, 0.0), (1.0, 0.8, 0.29)),
        space("rear", (1.0, 0.0, 0.0), (2.0, 0.8, 0.29)),
    )
    open_rooms = (space("front", (0.0, 0.0, 0.0), (1.0, 0.8, 0.29), open_to=("rear",)), rooms[1])
    job = job_of(spaces=rooms if wall else open_rooms, pass_throughs=HOLES if wall else ())
    return build_roadmap(job, body_of(parts))


def roadmap_of(cables: list[Laid], *, wall: bool = False) -> Roadmap:
    """The plate, or the two rooms, with cables."""
    base = roadmap(wall)
    devices = tuple(d for _, *both in cables for d in both)
    return replace(base, job=replace(base.job, cables=tuple(c for c, _, _ in cables), devices=devices))


def harness_of(cables: list[Laid], *, wall: bool = False) -> Harness:
    found = Harness.of(roadmap_of(cables, wall=wall))
    found.company = Company(found.roadmap, SEPARATION_M)
    return found


def lanes(one: CableClass, other: CableClass, apart: float = 0.08) -> list[Laid]:
    """Two cables along the plate, side by side from end to end."""
    return [
        cable("C1", one, (0.1, 0.4, 0.012), (1.9, 0.4, 0.012)),
        cable("C2", other, (0.1, 0.4 + apart, 0.012), (1.9, 0.4 + apart, 0.012)),
    ]
