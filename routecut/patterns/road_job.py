"""What every road vehicle's job says: surfaces, engine bay, keep-outs, landmarks, grommets. All mm."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from routecut.model.job import KeepOut, Landmark, PartShape, PassThrough, Space, SurfaceRule
from routecut.patterns.made import (
    Corners,
    Noted,
    SectionBox,
    a_box,
    a_space,
    a_trim,
    capsule,
    hole,
    keep_out,
    levels,
    mark,
    obstacle,
    panel,
    sphere,
    stepped,
)
from routecut.patterns.road import NOSE, Road, pillar_x
from routecut.patterns.road_frame import DOUBLE, FRAME, battery_low
from routecut.patterns.road_inside import Point, dash_face, engine_x, exhaust_line, steering

SPRINGS = 25.0
"""What a rear wheel is taken to spring up: at 50 mm of clearance no cable has room between tyre and arch, and one
inside the arch keeps clear. Its travel on the road is more (judgement). [mm]"""

BESIDE_SILL = 70.0
"""Left free for cables on the floor beside a sill (judgement). [mm]"""


def surfaces(
    *more: Noted[SurfaceRule], trims: Sequence[Noted[SurfaceRule]] = ()
) -> tuple[Noted[SurfaceRule], ...]:
    """What the parts are; `more` comes before the rule for all the rest."""
    return (
        *obstacle(
            "door-*", "bonnet", "rear-door-*", "tailgate*", note="They move: nothing is clipped to them."
        ),
        *obstacle(
            "glass-*",
            "grille",
            "bumper-*",
            "mirror-*",
            "front-fascia",
            "undertray",
            "wheel-front-*",
            "wheel-rear-*",
            "axle-*",
            "steering-*",
            "pedals",
            "seat-*",
            "heater-box",
            "engine-block",
            "radiator",
            "brake-servo",
            "battery",
            "exhaust",
            "silencer",
            "fuel-*",
            note="Glass, plastic, machinery, and what nothing is fixed to.",
        ),
        a_trim(
            "sill-trim-*", 3, "Trim: cables run behind it; the minutes are what it takes to come off later."
        ),
        a_trim("kick-trim-*", 4),
        a_trim("b-post-trim-*", 8),
        a_trim("dash-trim", 60),
        a_trim("headlining", 25),
        *trims,
        panel(
            "bulkhead-*", 1.0, drill=True, note="Sheet metal. Where a new hole may be proposed it says so."
        ),
        panel("floor-*", 0.9, drill=True),
        panel("roof-skin", 0.8, drill=True),
        panel("wheel-arch-*", 0.8, note="Wheel arches: clipped to from inside only; never drilled."),
        *more,
        panel("*", 0.8),
    )


def engine_space(r: Road) -> Noted[Space]:
    """The engine bay, stepped with the bonnet."""
    rise = r.cowl_z - r.nose_z
    tops = [
        r.nose_z - 90,
        r.nose_z - 20,
        *(r.nose_z + share * rise for share in (0.25, 0.5, 0.75)),
        r.cowl_z - 20,
    ]
    boxes = stepped(r.form, (NOSE + 5, r.cowl_x), 345, tops, widest=r.arch_inner)
    _, rear = engine_x(r)
    return a_space("engine bay", boxes, ((rear + r.cowl_x) / 2, 0.35 * r.half, r.nose_z - 120), "wet", "hot")


def under_space(r: Road, floors: Sequence[tuple[float, float, float]]) -> Noted[Space]:
    """The underbody, with the insides of the wheel arches."""
    half = r.half - 20
    boxes: list[Corners] = [((a, -half, 120), (b, half, z)) for a, b, z in floors]
    for axle, z in (
        (r.rear_axle, min(r.arch + r.tyre - 30, r.load_floor + 100)),
        (r.front_axle, min(r.floor, r.arch + r.tyre - 30)),
    ):
        start = floors[-1][0] if axle == r.rear_axle else floors[0][0]
        first, last = max(axle - 0.8 * r.arch, start), axle + 0.8 * r.arch
        if last - first > 150:
            for a, b in itertools.pairwise(_slices(first, last, axle)):
                out = max(abs(a - axle), abs(b - axle))
                top = min(z, r.tyre + (r.arch**2 - out**2) ** 0.5 - 15)
                boxes.append(((a, -half, 300), (b, -r.arch_inner - 15, top)))
                boxes.append(((a, r.arch_inner + 15, 300), (b, half, top)))
    seed = (floors[0][0] + 700, 0.12 * r.half, floors[0][2] - 190)
    return a_space("underbody", boxes, seed, "wet", "stones")


def _slices(first: float, last: float, axle: float) -> list[float]:
    """Stations between which a wheel arch is boxed in, its middle flat: what lies over its shoulders is inside."""
    reach = 0.45 * (last - axle)
    between = [axle - reach, axle + reach]
    return [first, *(x for x in between if first + 40 < x < last - 40), last]


def outside_space(length: float, half: float, height: float) -> Noted[Space]:
    """All the rest."""
    box = ((-600, -half - 700, -60), (length + 700, half + 700, height + 900))
    seed = (length / 2, 0, height + 600)
    return a_space("outside", [box], seed, "wet", note="Listed last: what no other space holds.")


def cab_boxes(r: Road, x: tuple[float, float], floor: float) -> list[Corners]:
    """Boxes of a cab or a load area under the roof."""
    roof = min(float(r.form.top(x[1] - 5)), r.height)
    return stepped(r.form, x, floor, levels(floor, r.cowl_z + 10, roof))


def usual_keep_outs(
    r: Road, *, end: float, tank: tuple[Point, Point], filler: tuple[Point, Point], side: float = 0.55
) -> list[Noted[KeepOut]]:
    """Hot, fuel, airbag, moving and high-voltage places of a road vehicle, each to be checked."""
    line = exhaust_line(r, end, side)
    x0, x1 = engine_x(r)
    y = side * r.half
    wheel = steering(r)[1]
    found = [
        keep_out(
            f"exhaust {n}",
            capsule(a, b, 40),
            "hot",
            150,
            note="Look which side the exhaust runs on and where it ends; mend or mirror these."
            if n == 1
            else "",
        )
        for n, (a, b) in enumerate(itertools.pairwise(line), start=1)
    ]
    found += [
        keep_out(
            "silencer",
            capsule((r.rear_axle - 1150, y, line[-1][2]), (r.rear_axle - 560, y, line[-1][2]), 105),
            "hot",
            150,
        ),
        keep_out("engine", a_box(((x0, -310, 420), (x1, 310, r.nose_z + 10))), "hot", 50),
        keep_out("fuel tank", a_box(tank), "fuel", 150, note="None in a vehicle without combustion engine."),
        keep_out("fuel filler", capsule(*filler, 30), "fuel", 150),
        keep_out(
            "orange cable",
            capsule(
                (r.cowl_x + 60, -0.3 * r.half, r.floor - 130),
                (r.rear_axle - 450, -0.3 * r.half, r.floor - 130),
                20,
            ),
            "high-voltage",
            100,
            note="Electric and hybrid vehicles only: take it out if there is none.",
        ),
        keep_out(
            "driver airbag",
            sphere(wheel, 210),
            "airbag",
            50,
            note="Left-hand drive: mirror driver and passenger otherwise.",
        ),
        keep_out(
            "passenger airbag",
            a_box(
                ((r.cowl_x + 310, 0.36 * r.half, r.cowl_z - 80), (dash_face(r), 0.8 * r.half, r.cowl_z + 25))
            ),
            "airbag",
            40,
        ),
        keep_out("steering column", capsule(*steering(r), 40), "moving", 40),
        keep_out(
            "pedals",
            a_box(
                (
                    (r.cowl_x + DOUBLE, -0.54 * r.half, r.floor),
                    (r.cowl_x + 310, -0.3 * r.half, r.floor + 350),
                )
            ),
            "moving",
            30,
            note="With their rods, from the bulkhead on: nothing is laid behind or under them.",
        ),
        keep_out(
            "floor under foot",
            a_box(under_foot(r, r.cowl_x + 280, r.post_x - 120)),
            "other",
            0,
            note="Nothing is laid where people step: run along the sills instead.",
            confirmed=True,
        ),
        keep_out(
            "wiper linkage",
            capsule(
                (r.cowl_x - 70, -0.5 * r.half, r.cowl_z - 85),
                (r.cowl_x - 70, 0.5 * r.half, r.cowl_z - 85),
                25,
            ),
            "moving",
            30,
        ),
    ]
    for hand, sign in (("left", -1), ("right", 1)):
        z = r.height - 215
        a = pillar_x(r, z - 40) + 170
        wide = float(r.form.half_width(a, z)) - 75
        found.append(
            keep_out(
                f"curtain airbag {hand}",
                capsule((a, sign * wide, z - 30), (r.post_x + 40, sign * wide, z + 10), 40),
                "airbag",
                30,
            )
        )
    for hand, sign in (("left", -1), ("right", 1)):
        low, high = sorted((sign * (r.arch_inner + 65), sign * (r.half - 20)))
        box = ((r.front_axle - r.tyre, low, 0), (r.front_axle + r.tyre, high, 1.75 * r.tyre))
        found.append(keep_out(f"front wheel {hand}", a_box(box), "moving", 50))
    # a box round a rear wheel would reach through its arch and close the way from the sill over the arch; what it
    # springs up keeps cables off the wheel's side of the arch
    found += [
        keep_out(
            f"rear wheel {hand}", PartShape(part=f"wheel-rear-{hand}"), "moving", 50, sweep=(0, 0, SPRINGS)
        )
        for hand in ("left", "right")
    ]
    return found


def under_foot(r: Road, front: float, rear: float) -> Corners:
    """Where people step, up to a cable's width from the sills. [mm]"""
    wide = float(r.form.side(r.post_x, r.floor)) - FRAME - BESIDE_SILL
    return (front, -wide, r.floor), (rear, wide, r.floor + 130)


def rear_foot_room(r: Road, seat: float) -> Noted[KeepOut]:
    """Between the front seats and a rear seat that begins at a station."""
    box = a_box(under_foot(r, r.post_x - 120, seat))
    return keep_out("rear floor under foot", box, "other", 0, confirmed=True)


def seat_travel(name: str, low: float, high: float, front: float, floor: float) -> Noted[KeepOut]:
    """A seat that slides: it and what it sweeps forward."""
    box = ((front, low, floor + 240), (front + 700, high, floor + 950))
    return keep_out(f"{name} travel", a_box(box), "moving", 20, sweep=(-180, 0, 0))


def usual_landmarks(r: Road) -> list[Noted[Landmark]]:
    """Points that are easy to find and to hook a tape on."""
    form = r.form
    z = 0.5 * (r.cowl_z + r.floor)
    wide = float(form.half_width(r.post_x, z))
    back = r.tail if r.tail - r.roof_end < 350 else r.roof_end
    found = [
        mark("left striker", (r.post_x, -wide, z), "of the front door, the middle of its bolt"),
        mark("right striker", (r.post_x, wide, z)),
        mark(
            "windscreen foot",
            (r.cowl_x, 0, float(form.top(r.cowl_x))),
            "lower edge of the glass, in the middle",
        ),
        mark("windscreen top", (r.header_x, 0, float(form.top(r.header_x))), "upper edge, in the middle"),
        mark("roof rear edge", (back, 0, float(form.top(back))), "in the middle"),
        mark("bonnet catch", (NOSE + 190, 0, r.nose_z - 45)),
    ]
    w = 0.89 * r.half
    for hand, sign in (("left", -1), ("right", 1)):
        found.append(mark(f"dash corner {hand}", (r.cowl_x + 370, sign * w, r.cowl_z + 22)))
    return found


def bulkhead_grommets(r: Road, into: str = "cab") -> list[Noted[PassThrough]]:
    """The usual ways from the engine bay into the cab."""
    x = r.cowl_x + DOUBLE / 2
    y, z = r.arch_inner - 19, r.cowl_z - 150
    joins = ("engine bay", into)
    return [
        hole(
            "bulkhead grommet left",
            (x, -y, z),
            (1, 0, 0),
            30,
            joins,
            depth=45,
            in_use=12,
            note="Most vehicles have one beside the bonnet catch wire; find it from below the dash.",
        ),
        hole("bulkhead grommet right", (x, y, z), (1, 0, 0), 25, joins, depth=45),
        hole(
            "bulkhead new hole",
            (x, 0.42 * r.half, z - 60),
            (1, 0, 0),
            20,
            joins,
            depth=45,
            candidate=True,
            note="Would have to be drilled; through both sheets.",
        ),
    ]


def battery_post(r: Road, battery: tuple[float, float]) -> Point:
    """The middle of the battery's top."""
    return battery[0], battery[1], battery_low(r) + 190


Behind = tuple[str, float, float, float, tuple[str, ...]]


def road_sections(r: Road, length: float, behind: Sequence[Behind]) -> list[SectionBox]:
    """Where the errors of the measurements show: engine bay, cab, and what lies `behind` it.

    `behind` has name, from x, to x, floor and the keys that end it.
    """
    half = r.half + 100
    boxes = [
        ("engine bay", 0.0, r.cowl_x, 300.0, ("windscreen_foot",)),
        ("cab", r.cowl_x, r.cab_end, r.floor - 60, ("cab_length",)),
        *behind,
    ]
    found: list[SectionBox] = []
    for name, a, b, low, lengthwise in boxes:
        tall = r.cowl_z if name == "engine bay" else r.height + 100
        upright: tuple[str, ...] = ("overall_height", "cab_floor" if name == "cab" else "load_floor")
        if name == "engine bay":
            upright = ("bonnet_height",)
        box = ((a, -half, low), (b, half, tall))
        found.append(SectionBox(name=f"{name}, length", along="x", box=box, keys=lengthwise))
        found.append(SectionBox(name=f"{name}, height", along="z", box=box, keys=upright))
    whole = ((0, -half, 0), (length, half, r.height + 100))
    found.append(SectionBox(name="width", along="y", box=whole, keys=("overall_width",)))
    return found
