"""A made-up van, twenty cables and a plan put together by hand: nothing here was computed by the engine."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt

from routecut.model.body import Body
from routecut.model.company import Beside, Bought, Bundle, Member, OtherWay
from routecut.model.finding import Finding, Severity
from routecut.model.job import (
    Access,
    Box,
    Cable,
    CableClass,
    CableType,
    Capsule,
    Device,
    Exposure,
    Hinge,
    HoleState,
    Job,
    KeepOut,
    Landmark,
    Load,
    MadeUp,
    PartShape,
    PassThrough,
    Port,
    Position,
    Reason,
    Signal,
    Space,
    Sphere,
    Stock,
    SurfaceKind,
    SurfaceRule,
    Vec3,
    Vehicle,
)
from routecut.model.plan import (
    Covered,
    CutLength,
    HingeCrossing,
    Lead,
    LeadJoint,
    OrderLine,
    Passage,
    Plan,
    PlannedCable,
    PlannedHole,
    Route,
    Stretch,
    SumLine,
    Verification,
)

IDENTITY = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))

# name, class, type, diameter [m], least bend radius [m]
TYPES = {
    t.name: t
    for t in (
        CableType(
            name="wire-10awg-red", cable_class=CableClass.POWER, diameter_m=0.0042, min_bend_radius_m=0.021
        ),
        CableType(
            name="wire-10awg-black", cable_class=CableClass.POWER, diameter_m=0.0042, min_bend_radius_m=0.021
        ),
        CableType(name="braid-16", cable_class=CableClass.BOND, diameter_m=0.008, min_bend_radius_m=0.04),
        CableType(name="coax-5", cable_class=CableClass.COAX, diameter_m=0.005, min_bend_radius_m=0.025),
        CableType(name="control-8", cable_class=CableClass.CONTROL, diameter_m=0.006, min_bend_radius_m=0.03),
        CableType(name="speaker-2", cable_class=CableClass.AUDIO, diameter_m=0.0055, min_bend_radius_m=0.022),
        CableType(name="data-4", cable_class=CableClass.DATA, diameter_m=0.0062, min_bend_radius_m=0.03),
    )
}

# device: kind, space, position [m]
DEVICES: dict[str, tuple[str, str, Vec3]] = {
    "battery": ("battery", "engine bay", (0.55, -0.55, 0.80)),
    "fuse box": ("fuse holder", "engine bay", (0.85, -0.60, 0.85)),
    "voice radio": ("transceiver", "load area", (3.60, 0.75, 0.90)),
    "data radio": ("transceiver", "load area", (3.60, 0.75, 1.15)),
    "hailer": ("amplifier", "load area", (3.30, -0.80, 0.75)),
    "head": ("control head", "cab", (1.35, 0.05, 1.15)),
    "hand set": ("microphone", "cab", (1.40, 0.20, 0.95)),
    "cab speaker": ("speaker", "cab", (1.90, -0.70, 1.70)),
    "rear speaker": ("speaker", "rear door", (4.95, -0.60, 1.30)),
    "terminal": ("data terminal", "cab", (1.35, 0.45, 1.15)),
    "antenna front": ("antenna", "outside", (2.20, 0.00, 2.02)),
    "antenna rear": ("antenna", "outside", (3.80, 0.00, 2.02)),
}

# cable: class, type, from, to, device ports and the points between, passages by (name, segment)
Row = tuple[str, str, str, str, list[Vec3], list[str]]
LEFT_FLOOR: list[Vec3] = [(1.60, -0.78, 0.45), (2.90, -0.78, 0.45)]
RIGHT_FLOOR: list[Vec3] = [(1.60, 0.78, 0.45), (2.90, 0.78, 0.45)]
BULKHEAD_LEFT: Vec3 = (1.0, -0.50, 0.60)
BULKHEAD_RIGHT: Vec3 = (1.0, 0.50, 0.60)
PARTITION_LEFT: Vec3 = (2.4, -0.78, 0.45)
PARTITION_RIGHT: Vec3 = (2.4, 0.78, 0.45)
ROOF_FRONT: Vec3 = (2.20, 0.0, 2.0)
ROOF_REAR: Vec3 = (3.80, 0.0, 2.0)
DOOR_BOOT: Vec3 = (4.90, -0.75, 1.20)

HOLES: dict[str, tuple[Vec3, Vec3, float, HoleState, tuple[str, str]]] = {
    "bulkhead grommet left": (BULKHEAD_LEFT, (1, 0, 0), 0.030, HoleState.EXISTING, ("engine bay", "cab")),
    "bulkhead plug right": (BULKHEAD_RIGHT, (1, 0, 0), 0.022, HoleState.EXISTING, ("engine bay", "cab")),
    "partition left": (PARTITION_LEFT, (1, 0, 0), 0.028, HoleState.EXISTING, ("cab", "load area")),
    "partition right": (PARTITION_RIGHT, (1, 0, 0), 0.028, HoleState.FOUND, ("cab", "load area")),
    "roof front": (ROOF_FRONT, (0, 0, 1), 0.019, HoleState.CANDIDATE, ("cab", "outside")),
    "roof rear": (ROOF_REAR, (0, 0, 1), 0.019, HoleState.CANDIDATE, ("load area", "outside")),
    "rear door boot": (DOOR_BOOT, (1, 0, 0), 0.020, HoleState.EXISTING, ("load area", "rear door")),
    "floor drain": ((3.0, 0.2, 0.4), (0, 0, 1), 0.025, HoleState.EXISTING, ("load area", "underbody")),
}

ROWS: dict[str, Row] = {
    "P1": ("power", "wire-10awg-red", "fuse box", "voice radio",
           [BULKHEAD_LEFT, *LEFT_FLOOR[:1], PARTITION_LEFT, (3.3, -0.78, 0.45), (3.6, 0.0, 0.45)],
           ["bulkhead grommet left", "partition left"]),
    "P2": ("power", "wire-10awg-black", "fuse box", "voice radio",
           [BULKHEAD_LEFT, (1.6, -0.77, 0.46), PARTITION_LEFT, (3.32, -0.77, 0.45), (3.58, 0.0, 0.45)],
           ["bulkhead grommet left", "partition left"]),
    "P3": ("power", "wire-10awg-red", "battery", "fuse box", [(0.7, -0.62, 0.7)], []),
    "P4": ("power", "wire-10awg-red", "fuse box", "data radio",
           [BULKHEAD_LEFT, (1.6, -0.76, 0.47), PARTITION_LEFT, (3.35, -0.76, 0.46), (3.57, 0.1, 0.46)],
           ["bulkhead grommet left", "partition left"]),
    "P5": ("power", "wire-10awg-red", "fuse box", "hailer",
           [BULKHEAD_LEFT, (1.6, -0.75, 0.48), PARTITION_LEFT, (3.2, -0.79, 0.5)],
           ["bulkhead grommet left", "partition left"]),
    "P6": ("power", "wire-10awg-black", "fuse box", "hailer",
           [BULKHEAD_LEFT, (1.6, -0.74, 0.49), PARTITION_LEFT, (3.2, -0.78, 0.52)],
           ["bulkhead grommet left", "partition left"]),
    "B1": ("bond", "braid-16", "voice radio", "data radio", [(3.5, 0.8, 1.0)], []),
    "A1": ("coax", "coax-5", "antenna front", "voice radio",
           [ROOF_FRONT, (2.2, 0.7, 1.95), (2.35, 0.78, 1.2), PARTITION_RIGHT, (3.4, 0.79, 0.5)],
           ["roof front", "partition right"]),
    "A2": ("coax", "coax-5", "antenna rear", "data radio", [ROOF_REAR, (3.8, 0.7, 1.9)], ["roof rear"]),
    "C1": ("control", "control-8", "head", "voice radio",
           [(1.3, 0.6, 0.7), *RIGHT_FLOOR[:1], PARTITION_RIGHT, (3.3, 0.78, 0.5)], ["partition right"]),
    "C2": ("control", "control-8", "head", "hailer",
           [(1.3, -0.4, 0.6), (1.6, -0.73, 0.5), PARTITION_LEFT, (3.1, -0.77, 0.5)], ["partition left"]),
    "C10": ("control", "control-8", "head", "hand set", [(1.38, 0.1, 1.0)], []),
    "S1": ("audio", "speaker-2", "voice radio", "cab speaker",
           [(3.3, 0.79, 0.55), PARTITION_RIGHT, (2.3, 0.7, 1.9), (2.1, -0.7, 1.9)], ["partition right"]),
    "S2": ("audio", "speaker-2", "hailer", "rear speaker",
           [(3.6, -0.8, 0.6), (4.8, -0.8, 0.9), DOOR_BOOT], ["rear door boot"]),
    "S3": ("audio", "speaker-2", "hand set", "cab speaker", [(1.3, -0.5, 1.0), (1.6, -0.76, 1.5)], []),
    "D1": ("data", "data-4", "terminal", "data radio",
           [(1.3, 0.7, 0.7), (1.6, 0.79, 0.5), PARTITION_RIGHT, (3.2, 0.8, 0.6)], ["partition right"]),
    "D2": ("data", "data-4", "terminal", "head", [(1.3, 0.3, 1.05)], []),
    "D3": ("data", "data-4", "data radio", "hailer", [(3.5, 0.6, 0.5), (3.4, -0.6, 0.5)], []),
    "D4": ("data", "data-4", "terminal", "voice radio",
           [(1.3, 0.72, 0.72), (1.6, 0.77, 0.52), PARTITION_RIGHT, (3.25, 0.79, 0.62)], ["partition right"]),
    "D5": ("data", "data-4", "terminal", "fuse box", [BULKHEAD_RIGHT], []),
}  # fmt: skip

READY_MADE = {"C1", "C2", "D1"}
UNROUTABLE = "D5"

KEEP_OUTS = (
    KeepOut(name="exhaust", shape=Capsule(from_m=(0.6, 0.3, 0.2), to_m=(4.6, 0.3, 0.2), radius_m=0.04),
            clearance_m=0.15, reason=Reason.HOT),
    KeepOut(name="fuel tank", shape=Box(low_m=(2.5, -0.5, 0.1), high_m=(3.2, 0.1, 0.33)), clearance_m=0.15,
            reason=Reason.FUEL),
    KeepOut(name="curtain airbag", clearance_m=0.05,
            shape=Capsule(from_m=(1.3, 0.75, 1.75), to_m=(2.3, 0.75, 1.85), radius_m=0.05),
            reason=Reason.AIRBAG),
    KeepOut(name="driver airbag", shape=Sphere(at_m=(1.55, -0.35, 1.1), radius_m=0.2), reason=Reason.AIRBAG),
    KeepOut(name="driver seat", shape=Box(low_m=(1.6, -0.6, 0.5), high_m=(2.1, -0.1, 0.9)),
            sweep_m=(-0.18, 0.0, 0.0), reason=Reason.MOVING),
    KeepOut(name="orange line", shape=Capsule(from_m=(1.0, -0.3, 0.2), to_m=(4.4, -0.3, 0.2), radius_m=0.02),
            clearance_m=0.1, reason=Reason.HIGH_VOLTAGE),
    KeepOut(name="wheels", shape=PartShape(part="wheel*"), reason=Reason.MOVING),
)  # fmt: skip


def job() -> Job:
    """The job: twelve devices, twenty cables, eight pass-throughs, seven keep-outs."""
    return Job(
        folder=Path("river-van"),
        title="River rescue van 3: voice, data and hailer",
        length_unit="mm",
        vehicle=Vehicle(
            mesh="body.glb",
            mesh_unit="m",
            axes=IDENTITY,
            axes_text="+x rear, +y right, +z up",
            scan_error=0.005,
            point_error_m=0.004,
        ),
        surfaces=(SurfaceRule(part="*", kind=SurfaceKind.PANEL, material="steel", thickness_m=0.0008),),
        spaces=_spaces(),
        keep_outs=KEEP_OUTS,
        hinges=(Hinge(name="rear door hinge", line_m=((4.9, -0.85, 0.4), (4.9, -0.85, 1.9))),),
        landmarks=(Landmark(name="left striker", position=Position(at_m=(2.0, -0.85, 0.9))),),
        pass_throughs=tuple(_pass_through(name) for name in HOLES),
        devices=_devices(),
        cables=tuple(_cable(name) for name in ROWS),
        cable_types=tuple(TYPES.values()),
        stock=(Stock(type="control-8", lengths_m=(3.0, 5.0)), Stock(type="wire-10awg-red", reel_m=15.0)),
    )


def _spaces() -> tuple[Space, ...]:
    def space(name: str, low: Vec3, high: Vec3, access: Access, *exposure: Exposure) -> Space:
        seed = tuple((a + b) / 2 for a, b in zip(low, high, strict=True))
        box = Box(low_m=low, high_m=high)
        return Space(
            name=name,
            boxes=(box,),
            seed_m=(seed[0], seed[1], seed[2]),
            access=access,
            exposure=exposure or (Exposure.DRY,),
        )

    return (
        space("engine bay", (0.3, -0.8, 0.4), (1.0, 0.8, 1.1), Access.OPEN, Exposure.WET, Exposure.HOT),
        space("cab", (1.0, -0.85, 0.4), (2.4, 0.85, 2.0), Access.OPEN),
        space("load area", (2.4, -0.85, 0.4), (4.9, 0.85, 2.0), Access.OPEN),
        space("rear door", (4.9, -0.85, 0.4), (5.0, 0.0, 2.0), Access.TRIM, Exposure.WET),
        space("underbody", (0.0, -0.9, 0.0), (5.0, 0.9, 0.4), Access.OPEN, Exposure.WET, Exposure.STONES),
        space("outside", (-1.0, -2.0, -0.5), (6.0, 2.0, 3.0), Access.OPEN, Exposure.WET),
    )


def _pass_through(name: str) -> PassThrough:
    at, axis, diameter, state, joins = HOLES[name]
    return PassThrough(
        name=name,
        position=Position(at_m=at),
        axis=axis,
        diameter_m=diameter,
        state=state,
        joins=joins,
        in_use_m=0.012 if name == "bulkhead grommet left" else 0.0,
    )


def _devices() -> tuple[Device, ...]:
    found = []
    for name, (kind, space, at) in DEVICES.items():
        ends = [c for c, row in ROWS.items() if name in row[2:4]]
        ports = tuple(
            Port(
                device=name,
                name=cable.lower(),
                position=Position(at_m=(at[0], at[1] + 0.02 * k, at[2])),
                service_loop_m=0.3 if kind == "transceiver" else 0.0,
                termination="ring M6" if ROWS[cable][0] == "power" else "plug",
                length_used_by_termination_m=0.01,
                connector_diameter_m=0.0145,
                made_up=MadeUp.BENCH if ROWS[cable][0] == "coax" else MadeUp.IN_VEHICLE,
            )
            for k, cable in enumerate(ends)
        )
        found.append(
            Device(
                name=name,
                kind=kind,
                space=space,
                position=Position(at_m=at),
                ports=ports,
                serviceable=kind == "transceiver",
            )
        )
    return tuple(found)


def _cable(name: str) -> Cable:
    cable_class, type_name, start, end, _, _ = ROWS[name]
    return Cable(
        name=name,
        from_port=f"{start}.{name.lower()}",
        to_port=f"{end}.{name.lower()}",
        cable_class=CableClass(cable_class),
        type=TYPES[type_name],
        type_assumed=name == "P4",
        load=Load(amps=12.0) if cable_class == "power" else None,
        signal=Signal(mhz=155.0) if cable_class == "coax" else None,
        ready_made=name in READY_MADE,
    )


def plan() -> Plan:
    """A plan with one cable without a route and one that does not hold."""
    of_job = job()
    cables = tuple(_planned(of_job, name) for name in ROWS)
    return Plan(
        version="0.1.0",
        job=of_job,
        cables=cables,
        holes=tuple(_hole(name, cables) for name in HOLES),
        order=(
            OrderLine(what="wire-10awg-red", quantity=13.4501, unit="m", for_cables=("P1", "P3", "P4", "P5"),
                      why="1 reel of 15000 mm, every cut in one piece"),
            OrderLine(what="control-8 lead 5000 mm", quantity=2.0, unit="piece", for_cables=("C1", "C2"),
                      why="shortest in stock that reaches"),
            OrderLine(what="grommet 19 mm hole", quantity=1.0, unit="piece", for_cables=("A1",),
                      why="hole roof front"),
        ),
        findings=(
            Finding(code="no-route", severity=Severity.ERROR, where="cable D5",
                    message="cab can't be left towards engine bay: bulkhead plug right is for power only."),
            Finding(code="beside-foreign", severity=Severity.WARNING, where="cable S1",
                    message="Runs alongside P1 for 410 mm; cross it or move it 100 mm away."),
            Finding(code="untagged-gap", severity=Severity.WARNING, where="pass-through partition right",
                    message="Found in the mesh; nobody has confirmed it."),
            Finding(code="type-assumed", severity=Severity.NOTE, where="cable P4",
                    message="No type given: routed as wire-10awg-red."),
        ),
        body_digest="ab" * 32,
        bundles=BUNDLES,
        beside=BESIDE,
        others=OTHERS,
        bought=Bought(rounds=3, length_before_m=41.0, length_after_m=42.2, shared_before_m=6.1, shared_after_m=14.3,
                      beside_before_m=5.2, beside_after_m=0.4, total_before_m=52.0, total_after_m=48.5),
    )  # fmt: skip


BUNDLES = (
    Bundle(name="bundle 1", length_m=1.204, diameter_m=0.00841, bend_radius_m=0.0231, from_at_m=PARTITION_LEFT,
           to_at_m=(3.3, -0.78, 0.45),
           members=(Member(cable="P1", from_m=1.702, to_m=2.906, place_m=(-0.0021, 0.0)),
                    Member(cable="P2", from_m=1.61, to_m=2.79, place_m=(0.0021, 0.0)))),
    Bundle(name="bundle 2", length_m=0.55, diameter_m=0.0134, bend_radius_m=0.0336, from_at_m=PARTITION_RIGHT,
           to_at_m=(3.2, 0.8, 0.6),
           members=(Member(cable="D1", from_m=0.9, to_m=1.45, place_m=(-0.0036, 0.0)),
                    Member(cable="C1", from_m=1.45, to_m=0.9, place_m=(0.0036, 0.002)))),
)  # fmt: skip
BESIDE = (
    Beside(cable="S1", other="A1", from_m=0.31, to_m=0.72, least_m=0.0119, wanted_m=0.0508, at_m=(3.3, 0.79, 0.55)),
    Beside(cable="A1", other="ignition", from_m=1.0, to_m=1.3, least_m=0.06, wanted_m=0.1, at_m=(2.2, 0.7, 1.9),
           noise=True),
)  # fmt: skip
OTHERS = {
    "P1": OtherWay(holes=("bulkhead plug right", "partition left"), length_m=5.52, taken_m=4.6,
                   more_m={"length": 0.92, "exposure": 0.3, "hole": 2.0, "company": 0.01}),
    "C10": OtherWay(holes=(), length_m=0.71, taken_m=0.5, more_m={"length": 0.21, "trim": -0.2}),
}  # fmt: skip


def _planned(of_job: Job, name: str) -> PlannedCable:
    cable = next(c for c in of_job.cables if c.name == name)
    if name == UNROUTABLE:
        return PlannedCable(cable=cable)
    route = _route(of_job, cable)
    return PlannedCable(
        cable=cable,
        route=route,
        cut=_cut(route.length_m),
        lead=_lead(name, route.length_m) if cable.ready_made else None,
        verified=_verified(name, route),
        covered=_covered(name, route.length_m),
    )


def _covered(name: str, long: float) -> tuple[Covered, ...]:
    """Behind the sill trim all along the sill; P1 comes behind another panel as well."""
    more = (Covered(trim="kick trim, left", from_m=0.1 * long, to_m=0.2 * long),) if name == "P1" else ()
    return (*more, Covered(trim="sill trim, left", from_m=0.3 * long, to_m=0.62 * long, minutes=3.0))


def _route(of_job: Job, cable: Cable) -> Route:
    *_, between, holes = ROWS[cable.name]
    start, end = (of_job.port(p).position.at_m for p in (cable.from_port, cable.to_port))
    corners = np.array([start, *between, end], dtype=float)
    points = _dense(corners)
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    running = np.concatenate([[0.0], np.cumsum(steps)])
    length = float(running[-1])
    passages, spaces = [], [of_job.device_of(cable.from_port).space]
    for hole in holes:
        at, _, _, _, joins = HOLES[hole]
        near = float(running[np.argmin(np.linalg.norm(points - np.array(at), axis=1))])
        beyond = joins[1] if spaces[-1] == joins[0] else joins[0]
        passages.append(Passage(name=hole, at_route_m=near, from_space=spaces[-1], to_space=beyond))
        spaces.append(beyond)
    parts = tuple(
        (part, length * a, length * b)
        for part, a, b in (("kick panel", 0.02, 0.3), ("sill left", 0.3, 0.62), ("floor rear", 0.7, 0.97))
    )
    return Route(
        points_m=points,
        length_m=length,
        spaces=tuple(spaces),
        bend_radius_m=cable.type.min_bend_radius_m,
        passages=tuple(passages),
        hinges=(HingeCrossing(name="rear door hinge", at_route_m=length * 0.8),)
        if cable.name == "S2"
        else (),
        measured=(
            (Stretch(from_name=cable.from_port, to_name=holes[0], computed_m=0.9, measured_m=0.95),)
            if cable.name == "P5"
            else ()
        ),
        parts=parts,
    )


def _dense(corners: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Points every 50 mm or closer along straight pieces."""
    pieces = [corners[:1]]
    for a, b in pairwise(corners):
        n = max(1, math.ceil(float(np.linalg.norm(b - a)) / 0.05))
        pieces.append(a + (b - a) * np.linspace(0, 1, n + 1)[1:, None])
    return np.concatenate(pieces)


def _cut(route_m: float) -> CutLength:
    lines = [
        SumLine(what="route", length_m=route_m, why="along the surfaces, from port to port"),
        SumLine(what="lay", length_m=0.03 * route_m, why="3 % of the route (shop practice)"),
        SumLine(
            what="re-terminations", length_m=0.04, why="2 x 10 mm at each end (FAA AC 43.13-1B par. 11-118)"
        ),
        SumLine(what="uncertainty", length_m=0.0137, why="long enough with a probability of 95 %"),
    ]
    needed = math.fsum(line.length_m for line in lines)
    total = math.ceil(needed / 0.05) * 0.05
    rounding = SumLine(what="rounding up", length_m=total - needed, why="to the next 50 mm (shop practice)")
    return CutLength(length_m=total, probability=0.95, lines=(*lines, rounding))


def _lead(name: str, route_m: float) -> Lead:
    if name == "D1":
        joint = LeadJoint(at_route_m=3.0, space="load area", access="open")
        return Lead(lengths_m=(3.0, 3.0), surplus_m=6.0 - route_m, joints=(joint,))
    return Lead(lengths_m=(5.0,), surplus_m=5.0 - route_m)


def _verified(name: str, route: Route) -> Verification:
    bad = Finding(
        code="verify-span",
        severity=Severity.ERROR,
        where="cable S3",
        message="Hangs free for 520 mm of 450 mm.",
    )
    clear = {
        "exhaust": 0.61,
        "fuel tank": 0.82,
        "curtain airbag": 0.9,
        "driver seat": 0.7,
        "orange line": 0.55,
    }
    if name in {"A1", "S1"}:
        clear["curtain airbag"] = 0.112
    return Verification(
        ok=name != "S3",
        crossings=0,
        least_clearance_m=clear,
        least_sheet_m=0.011,
        longest_span_m=0.52 if name == "S3" else 0.31,
        least_bend_radius_m=math.inf if name == "B1" else route.bend_radius_m * 1.2,
        length_m=route.length_m,
        findings=(bad,) if name == "S3" else (),
    )


def _hole(name: str, cables: tuple[PlannedCable, ...]) -> PlannedHole:
    at, axis, _, state, joins = HOLES[name]
    users = tuple(
        c.cable.name for c in cables if c.route is not None and name in [p.name for p in c.route.passages]
    )
    return PlannedHole(
        pass_through=_pass_through(name),
        state=state,
        drill=state is HoleState.CANDIDATE and bool(users),
        at_m=at,
        axis=axis,
        cables=users,
        behind_m={joins[0]: 0.23, joins[1]: None if name == "roof rear" else 1.0},
        refused=None,
        why="no other way out of the cab" if name == "roof front" else "",
    )


def body() -> Body:
    """A box-shaped van: floor, roof, sides, bulkhead, partition, bonnet, wheels, (n, 3)."""
    plates: dict[str, tuple[Vec3, Vec3, Vec3]] = {
        "floor": ((0.3, -0.85, 0.4), (4.6, 0, 0), (0, 1.7, 0)),
        "roof": ((1.3, -0.8, 2.0), (3.6, 0, 0), (0, 1.6, 0)),
        "side left": ((1.0, -0.85, 0.4), (3.9, 0, 0), (0, 0.05, 1.6)),
        "side right": ((1.0, 0.85, 0.4), (3.9, 0, 0), (0, -0.05, 1.6)),
        "bulkhead": ((1.0, -0.85, 0.4), (0, 1.7, 0), (0, 0, 0.75)),
        "windscreen": ((1.0, -0.83, 1.15), (0, 1.66, 0), (0.3, 0, 0.85)),
        "partition": ((2.4, -0.85, 0.4), (0, 1.7, 0), (0, 0, 1.6)),
        "rear door": ((4.9, -0.85, 0.4), (0, 1.7, 0), (0, 0, 1.6)),
        "bonnet": ((0.3, -0.8, 0.95), (0.7, 0, 0.2), (0, 1.6, 0)),
        "front": ((0.3, -0.8, 0.4), (0, 1.6, 0), (0, 0, 0.55)),
        "wing left": ((0.3, -0.82, 0.4), (0.7, 0, 0), (0, 0, 0.6)),
        "wing right": ((0.3, 0.82, 0.4), (0.7, 0, 0), (0, 0, 0.6)),
        "wheel front left": ((0.5, -0.9, 0.0), (0.6, 0, 0), (0, 0, 0.6)),
        "wheel rear left": ((3.9, -0.9, 0.0), (0.6, 0, 0), (0, 0, 0.6)),
    }
    triangles = np.concatenate([_plate(*p) for p in plates.values()])
    faces_each = len(triangles) // len(plates)
    return Body(
        vertices_m=triangles.reshape(-1, 3),
        faces=np.arange(3 * len(triangles)).reshape(-1, 3),
        face_part=np.repeat(np.arange(len(plates)), faces_each),
        parts=tuple(plates),
        rules=tuple(SurfaceRule(part=p, kind=SurfaceKind.PANEL) for p in plates),
        digest="ab" * 32,
    )


def _plate(at: Vec3, along: Vec3, across: Vec3, cells: int = 8) -> npt.NDArray[np.float64]:
    corner, u, v = (np.array(a, dtype=float) for a in (at, along, across))
    t = np.linspace(0, 1, cells + 1)
    grid = corner + t[:, None, None] * u + t[None, :, None] * v
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    return np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)


def renamed(found: Plan, mark: str) -> Plan:
    """The same plan with `mark` put into every name and every free text of the user's."""

    def port(p: Port) -> Port:
        return replace(p, device=p.device + mark, name=p.name + mark, termination=p.termination + mark)

    def cable(c: Cable) -> Cable:
        start, end = (".".join(part + mark for part in p.split(".", 1)) for p in (c.from_port, c.to_port))
        kind = replace(c.type, name=c.type.name + mark)
        return replace(c, name=c.name + mark, from_port=start, to_port=end, type=kind)

    def hole(p: PassThrough) -> PassThrough:
        return replace(p, name=p.name + mark, joins=(p.joins[0] + mark, p.joins[1] + mark))

    def finding(f: Finding) -> Finding:
        return replace(f, where=f.where + mark, message=f.message + mark)

    j = found.job
    of_job = replace(
        j,
        title=j.title + mark,
        vehicle=replace(j.vehicle, mesh=j.vehicle.mesh + mark),
        spaces=tuple(replace(s, name=s.name + mark) for s in j.spaces),
        keep_outs=tuple(replace(k, name=k.name + mark) for k in j.keep_outs),
        hinges=tuple(replace(h, name=h.name + mark) for h in j.hinges),
        pass_throughs=tuple(hole(p) for p in j.pass_throughs),
        devices=tuple(
            replace(
                d,
                name=d.name + mark,
                kind=d.kind + mark,
                space=d.space + mark,
                ports=tuple(port(p) for p in d.ports),
            )
            for d in j.devices
        ),
        cables=tuple(cable(c) for c in j.cables),
        rules=replace(j.rules, profile=j.rules.profile + mark, limits=(("limit" + mark, 1.0),)),
    )

    def route(r: Route) -> Route:
        return replace(
            r,
            spaces=tuple(s + mark for s in r.spaces),
            passages=tuple(
                replace(p, name=p.name + mark, from_space=p.from_space + mark, to_space=p.to_space + mark)
                for p in r.passages
            ),
            hinges=tuple(replace(h, name=h.name + mark) for h in r.hinges),
            measured=tuple(
                replace(s, from_name=s.from_name + mark, to_name=s.to_name + mark) for s in r.measured
            ),
            parts=tuple((part + mark, a, b) for part, a, b in r.parts),
        )

    def cut(c: CutLength) -> CutLength:
        return replace(c, lines=tuple(replace(s, what=s.what + mark, why=s.why + mark) for s in c.lines))

    def lead(found_lead: Lead) -> Lead:
        return replace(found_lead, joints=tuple(replace(j, space=j.space + mark) for j in found_lead.joints))

    def verified(v: Verification) -> Verification:
        return replace(
            v,
            least_clearance_m={k + mark: d for k, d in v.least_clearance_m.items()},
            findings=tuple(finding(f) for f in v.findings),
        )

    return replace(
        found,
        version=found.version + mark,
        job=of_job,
        cables=tuple(
            PlannedCable(
                cable=cable(c.cable),
                route=None if c.route is None else route(c.route),
                cut=None if c.cut is None else cut(c.cut),
                lead=None if c.lead is None else lead(c.lead),
                verified=None if c.verified is None else verified(c.verified),
                covered=tuple(replace(t, trim=t.trim + mark) for t in c.covered),
            )
            for c in found.cables
        ),
        holes=tuple(
            replace(
                h,
                pass_through=hole(h.pass_through),
                cables=tuple(c + mark for c in h.cables),
                behind_m={k + mark: d for k, d in h.behind_m.items()},
                why=h.why + mark,
                refused="taken" + mark,
            )
            for h in found.holes
        ),
        order=tuple(
            replace(
                o,
                what=o.what + mark,
                why=o.why + mark,
                unit=o.unit if o.unit == "piece" else o.unit + mark,
                for_cables=tuple(c + mark for c in o.for_cables),
            )
            for o in found.order
        ),
        findings=tuple(finding(f) for f in found.findings),
        body_digest=found.body_digest + mark,
        bundles=tuple(
            replace(b, members=tuple(replace(m, cable=m.cable + mark) for m in b.members))
            for b in found.bundles
        ),
        beside=tuple(replace(b, cable=b.cable + mark, other=b.other + mark) for b in found.beside),
        others={
            name + mark: replace(other, holes=tuple(h + mark for h in other.holes))
            for name, other in found.others.items()
        },
    )
