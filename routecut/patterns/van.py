"""The pattern "panel van": bonnet, cab with a partition, load area with rear doors. All mm."""

from __future__ import annotations

from dataclasses import replace

from routecut.patterns.made import Fitted, Made, Noted, a_space, a_trim, hole, levels, mark, panel, stepped
from routecut.patterns.measurements import Clash, Values
from routecut.patterns.road import HANDS, Door, Parts, Road, back, fascia, rear_bumper, skin, wheels
from routecut.patterns.road_asked import road_asked, road_clashes
from routecut.patterns.road_frame import (
    DOUBLE,
    FRAME,
    along_side,
    arches,
    bow,
    bulkhead,
    cross_wall,
    engine_bay,
    floor,
    posts,
    under_roof,
    underbody,
)
from routecut.patterns.road_inside import Point, cab_trim, dash, machinery, running_gear, seat
from routecut.patterns.road_job import (
    battery_post,
    bulkhead_grommets,
    cab_boxes,
    engine_space,
    outside_space,
    road_sections,
    seat_travel,
    surfaces,
    under_space,
    usual_keep_outs,
    usual_landmarks,
)
from routecut.patterns.sheets import flat, join

MEASUREMENTS = road_asked(
    {
        "overall_length": (5400, 4300, 7400),
        "front_overhang": (900, 700, 1150),
        "wheelbase": (3300, 2600, 4500),
        "windscreen_foot": (1080, 750, 1500),
        "windscreen_top": (800, 500, 1150),
        "striker": (1250, 1050, 1500),
        "cab_length": (1470, 1250, 1900),
        "overall_width": (1960, 1700, 2200),
        "overall_height": (2450, 1750, 2900),
        "bonnet_height": (1200, 980, 1400),
        "cab_floor": (560, 380, 700),
        "load_floor": (600, 450, 780),
    },
    cab_end="the front of the partition behind the seats",
    behind="load floor",
)


def clashes(v: Values) -> list[Clash]:
    """What can't be true of a panel van."""
    return road_clashes(v, behind=1200, roof=550)


def road(v: Values) -> Road:
    """Its stations."""
    foot, tail = v["windscreen_foot"], v["overall_length"] - 80
    post = foot + v["striker"]
    doors = [Door("front", foot + 210, post)]
    if tail - foot - v["cab_length"] > 1900:
        first = foot + v["cab_length"] + 110
        doors.append(
            Door(
                "slide",
                first,
                first + min(1250.0, v["front_overhang"] + v["wheelbase"] - first - 450),
                ("right",),
            )
        )
    return replace(
        Road.of(v, roof_end=tail - 240, tail=tail, tail_z=v["overall_height"] - 70),
        screen_bow=25,
        doors=tuple(doors),
    )


def make(v: Values) -> Made:
    """The van."""
    r = road(v)
    form, end = r.form, r.cab_end
    battery = (r.cowl_x - 430, r.arch_inner - 140)
    length = v["overall_length"]
    tank = ((end + 160, -310.0, 265.0), (end + 960, 310.0, r.load_floor - 170))
    filler: tuple[Point, Point] = (
        (end + 880, -300, r.load_floor - 190),
        (end + 1250, -float(form.side(end + 1250, 880)) + 45, r.load_floor + 240),
    )
    parts = _parts(r, battery, tank, filler)
    return Made(
        parts=parts,
        surfaces=surfaces(
            panel("partition-*", 0.8, drill=True),
            panel("radio-shelf*", 3.0, material="aluminium"),
            trims=(
                a_trim("load-roof-lining", 20),
                a_trim("side-lining-*", 12),
                a_trim("rear-door-lining-*", 6),
            ),
        ),
        spaces=_spaces(r, length),
        keep_outs=(
            *usual_keep_outs(r, end=r.tail, tank=tank, filler=filler),
            seat_travel("driver seat", -0.69 * r.half, -0.19 * r.half, end - 880, r.floor),
        ),
        pass_throughs=(*bulkhead_grommets(r), *_holes(r)),
        landmarks=(
            *usual_landmarks(r),
            mark("partition bolt left", (end + DOUBLE, -0.6 * r.half, r.load_floor + 80)),
            mark("partition bolt right", (end + DOUBLE, 0.6 * r.half, r.load_floor + 80)),
            mark("rear step", (r.tail - 60, 0, r.load_floor), "edge of the load floor, in the middle"),
        ),
        sections=tuple(
            road_sections(
                r,
                length,
                [
                    (
                        "load area",
                        end,
                        length,
                        r.load_floor - 60,
                        ("overall_length", "windscreen_foot", "cab_length"),
                    )
                ],
            )
        ),
        devices=_devices(r, battery),
        cables=("power", "return", "coax"),
        tape_checks=(
            ("left striker", "right striker"),
            ("windscreen top", "roof rear edge"),
            ("left striker", "rear step"),
        ),
    )


def _parts(
    r: Road, battery: tuple[float, float], tank: tuple[Point, Point], filler: tuple[Point, Point]
) -> Parts:
    form, end, tail = r.form, r.cab_end, r.tail
    parts: Parts = {**skin(r), **fascia(r), **wheels(r), **bulkhead(r), **arches(r)}
    parts |= back(r, tail, 330, glass=(0.8 * r.half, r.cowl_z + 200, r.height - 420), doors=True)
    parts["bumper-rear"] = rear_bumper(tail, r.half)
    for hand, sign in HANDS:
        low, high = sorted((sign * 90.0, sign * 0.8 * r.half))
        parts[f"rear-door-lining-{hand}"] = flat(
            0, tail - 50, (low, r.load_floor + 160), (high, r.cowl_z + 130), 80
        )
    parts["floor-cab"] = floor(r, (r.cowl_x, end), r.floor)
    parts["floor-load"] = floor(r, (end, tail), r.load_floor)
    low = min(r.floor, r.load_floor) - 2
    parts["partition-front-sheet"] = cross_wall(r, end, low)
    parts["partition-rear-sheet"] = cross_wall(r, end + DOUBLE, low)
    load = tail - end
    ribs = tuple(end + load * share for share in (0.33, 0.5, 0.68, 0.86))
    parts |= posts(r, post_end=end, ribs=ribs)
    parts |= underbody(r, ((r.cowl_x + 10, end, r.floor), (end, tail - 120, r.load_floor)))
    parts |= engine_bay(r, battery)
    parts |= cab_trim(r, post_end=end, roof=(r.header_x + 60, end - 90))
    parts |= dash(r) | machinery(r, battery=battery)
    parts |= running_gear(r, end=tail, tank=tank, filler=filler)
    for number, x in enumerate(ribs, start=1):
        parts[f"roof-bow-{number}"] = bow(form, x + 60, 0.76 * r.half)
    parts["load-roof-lining"] = under_roof(form, (ribs[0] - 60, tail - 190), 0.72 * r.half, 66)
    for hand, sign in HANDS:
        first = end + 65 if sign < 0 else end + 1500
        if first < tail - 600:
            z = (r.load_floor + 600, r.height - 340)
            parts[f"side-lining-{hand}"] = along_side(form, sign, (first, tail - 280), z, inset=62, step=90)
    inner = 0.93 * float(form.side(end + 500, r.load_floor + 360))
    top = r.load_floor + 360
    parts["radio-shelf"] = flat(2, top, (end + 45, -inner), (end + 1050, -0.43 * r.half))
    parts["radio-shelf-ends"] = join(
        *(flat(0, x, (-inner, r.load_floor), (-0.43 * r.half, top)) for x in (end + 400, end + 1000))
    )
    wide = 0.69 * r.half
    parts["seat-driver"] = seat(-wide, -0.19 * r.half, end - 880, r.floor)
    parts["seat-crew"] = seat(0.0, 0.82 * r.half, end - 880, r.floor)
    return parts


def _spaces(r: Road, length: float) -> tuple[Noted, ...]:  # type: ignore[type-arg]
    end, tail = r.cab_end, r.tail
    cab = cab_boxes(r, (r.cowl_x + DOUBLE, end), r.floor)
    up = r.height - r.load_floor
    load = stepped(
        r.form, (end + DOUBLE, tail - 2), r.load_floor, levels(r.load_floor, r.cowl_z + 10, r.height)
    )
    floors = ((r.cowl_x, end, r.floor), (end, tail, r.load_floor))
    return (
        engine_space(r),
        under_space(r, floors),
        a_space(
            "cab",
            cab,
            (r.cowl_x + 0.55 * (end - r.cowl_x), -60, r.cowl_z + 0.25 * (r.height - r.cowl_z)),
            note="Boxes stepped with the windscreen; they overlap on purpose.",
        ),
        a_space("load area", load, (end + 0.55 * (tail - end), 0, r.load_floor + 0.55 * up)),
        outside_space(length, r.half, r.height),
    )


def _holes(r: Road) -> list[Noted]:  # type: ignore[type-arg]
    end = r.cab_end
    x, z = end + DOUBLE / 2, 0.5 * (r.cowl_z + r.floor) + 120
    y = float(r.form.half_width(end, z)) - FRAME - 45
    roof_x = end + 0.42 * (r.tail - end)
    joins = ("cab", "load area")
    return [
        hole(
            "partition conduit left",
            (x, -y, z),
            (1, 0, 0),
            34,
            joins,
            depth=45,
            note="Beside the B-post, where the loom to the rear runs; some partitions have none.",
        ),
        hole("partition conduit right", (x, y, z), (1, 0, 0), 34, joins, depth=45, in_use=10),
        hole(
            "cab floor grommet",
            (end - 330, 0.28 * r.half, r.floor),
            (0, 0, 1),
            25,
            ("cab", "underbody"),
            in_use=14,
            note="Parking brake or heater lines often pass the floor behind the seats.",
        ),
        hole(
            "load floor grommet",
            (r.tail - 500, -float(r.form.side(r.tail - 500, r.load_floor)) + 30, r.load_floor),
            (0, 0, 1),
            25,
            ("load area", "underbody"),
        ),
        hole(
            "roof gland",
            (roof_x, -0.4 * r.half, float(r.form.height(roof_x, 0.4 * r.half))),
            (0, 0, 1),
            16,
            ("outside", "load area"),
            candidate=True,
            classes=("coax",),
            note="For antennas whose cable starts outside.",
        ),
    ]


def _devices(r: Road, battery: tuple[float, float]) -> tuple[Fitted, ...]:
    end = r.cab_end
    x = end + 0.5 * (r.tail - end)
    return (
        Fitted(
            name="battery",
            equipment="battery",
            at=battery_post(r, battery),
            space="engine bay",
            note="Look where it really is: under the bonnet, under a seat, in the floor.",
        ),
        Fitted(
            name="voice radio",
            equipment="mobile radio, remote head",
            at=(end + 700, -0.62 * r.half, r.load_floor + 360),
            space="load area",
            facing="front",
        ),
        Fitted(
            name="VHF antenna",
            equipment="antenna base, roof hole",
            at=(x, 0, float(r.form.top(x))),
            space="load area",
        ),
    )
