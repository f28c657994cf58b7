"""The pattern "estate car": bonnet, four doors, two rows of seats, boot under a raked tailgate. All mm."""

from __future__ import annotations

from dataclasses import replace

from routecut.patterns.made import Fitted, Made, a_space, a_trim, hole, mark, panel
from routecut.patterns.measurements import Clash, Values
from routecut.patterns.road import HANDS, Door, Parts, Road, back, fascia, rear_bumper, skin, wheels
from routecut.patterns.road_asked import road_asked, road_clashes
from routecut.patterns.road_frame import (
    DOUBLE,
    along_side,
    arches,
    bow,
    bulkhead,
    cross_wall,
    engine_bay,
    floor,
    posts,
    rib,
    underbody,
)
from routecut.patterns.road_inside import Point, cab_trim, dash, machinery, running_gear, seat
from routecut.patterns.road_job import (
    battery_post,
    bulkhead_grommets,
    cab_boxes,
    engine_space,
    outside_space,
    rear_foot_room,
    road_sections,
    seat_travel,
    surfaces,
    under_space,
    usual_keep_outs,
    usual_landmarks,
)

MEASUREMENTS = road_asked(
    {
        "overall_length": (4700, 4000, 5100),
        "front_overhang": (900, 750, 1050),
        "wheelbase": (2750, 2400, 3050),
        "windscreen_foot": (1280, 1000, 1550),
        "windscreen_top": (720, 500, 950),
        "striker": (1180, 1000, 1400),
        "cab_length": (2280, 1950, 2600),
        "overall_width": (1830, 1650, 1980),
        "overall_height": (1490, 1380, 1720),
        "bonnet_height": (990, 850, 1120),
        "cab_floor": (340, 260, 430),
        "load_floor": (600, 480, 720),
    },
    cab_end="the back of the rear seat",
    behind="boot floor",
)
EXHAUST_SIDE = -0.25


def clashes(v: Values) -> list[Clash]:
    """What can't be true of an estate car."""
    return road_clashes(v, behind=750, roof=330)


def road(v: Values) -> Road:
    """Its stations."""
    foot, tail = v["windscreen_foot"], v["overall_length"] - 80
    post = foot + v["striker"]
    rear_axle = v["front_overhang"] + v["wheelbase"]
    second = min(post + 960.0, rear_axle - 60)
    doors = (Door("front", foot + 210, post), Door("rear", post + 25, second))
    return replace(
        Road.of(v, roof_end=tail - 560, tail=tail, tail_z=v["bonnet_height"] + 20),
        tyre=320,
        lean=0.35,
        corner=120,
        screen_bow=22,
        doors=doors,
        rear_glass=True,
        panes=((second + 70, tail - 260, tail - 480),),
    )


def make(v: Values) -> Made:
    """The estate car."""
    r = road(v)
    end, length = r.cab_end, v["overall_length"]
    battery = (r.cowl_x - 430, r.arch_inner - 140)
    tank = ((end - 620, -20.0, r.floor - 150), (end - 120, 480.0, r.floor - 25))
    side = float(r.form.side(r.rear_axle - 250, 700))
    filler: tuple[Point, Point] = (
        (end - 200, 400, r.floor - 60),
        (r.rear_axle + 120, side - 45, r.load_floor + 150),
    )
    cabin = [
        *cab_boxes(r, (r.cowl_x + DOUBLE, end), r.floor),
        *cab_boxes(r, (end - 100, r.roof_end + 40), r.load_floor),
        *_boot_boxes(r),
    ]
    floors = ((r.cowl_x, end, r.floor), (end, r.tail, r.load_floor))
    front = r.post_x - 660
    return Made(
        parts=_parts(r, battery, tank, filler),
        surfaces=surfaces(
            panel("seat-pan", 0.9),
            trims=(a_trim("c-post-trim-*", 8), a_trim("boot-lining-*", 12)),
        ),
        spaces=(
            engine_space(r),
            under_space(r, floors),
            a_space(
                "cabin",
                cabin,
                (r.cowl_x + 900, -20, r.cowl_z + 0.45 * (r.height - r.cowl_z)),
                note="Seats and boot are one space: no panel is between them.",
            ),
            outside_space(length, r.half, r.height),
        ),
        keep_outs=(
            *usual_keep_outs(r, end=r.tail, tank=tank, filler=filler, side=EXHAUST_SIDE),
            rear_foot_room(r, end - 640),
            seat_travel("driver seat", -0.75 * r.half, -0.18 * r.half, front, r.floor),
            seat_travel("passenger seat", 0.18 * r.half, 0.75 * r.half, front, r.floor),
        ),
        pass_throughs=(
            *bulkhead_grommets(r, "cabin"),
            hole(
                "boot floor grommet",
                (r.tail - 330, -0.6 * r.half, r.load_floor),
                (0, 0, 1),
                25,
                ("cabin", "underbody"),
                note="Often a rubber bung beside the spare wheel well.",
            ),
        ),
        landmarks=(
            *usual_landmarks(r),
            mark("boot edge", (r.tail - 60, 0, r.load_floor), "edge of the boot floor, in the middle"),
            mark(
                "rear seat corner left",
                (end, -0.6 * r.half, r.load_floor),
                "where seat pan and boot floor meet",
            ),
        ),
        sections=tuple(
            road_sections(
                r,
                length,
                [
                    (
                        "boot",
                        end,
                        length,
                        r.load_floor - 60,
                        ("overall_length", "windscreen_foot", "cab_length"),
                    )
                ],
            )
        ),
        devices=(
            Fitted(
                name="battery",
                equipment="battery",
                at=battery_post(r, battery),
                space="engine bay",
                note="Look where it really is: under the bonnet, in the boot, under a seat.",
            ),
            Fitted(
                name="voice radio",
                equipment="mobile radio, remote head",
                at=(end + 330, -0.42 * r.half, r.load_floor + 5),
                space="cabin",
                facing="front",
            ),
            Fitted(
                name="VHF antenna",
                equipment="antenna base, roof hole",
                at=(r.header_x + 650, 0, float(r.form.top(r.header_x + 650))),
                space="cabin",
            ),
        ),
        cables=("power", "return", "coax"),
        tape_checks=(
            ("left striker", "right striker"),
            ("windscreen top", "roof rear edge"),
            ("left striker", "boot edge"),
        ),
    )


def _boot_boxes(r: Road) -> list[tuple[tuple[float, float, float], tuple[float, float, float]]]:
    """Boxes of the boot, stepped with the raked tailgate."""
    boxes = []
    for share in (0.0, 0.25, 0.5, 0.75):
        x = r.roof_end + 40 + share * (r.tail - r.roof_end - 40)
        last = min(x + 0.25 * (r.tail - r.roof_end), r.tail - 2)
        top = float(r.form.top(last)) - 4
        half = float(r.form.half_width((x + last) / 2, 0.5 * (r.load_floor + top)))
        boxes.append(((r.roof_end - 100, -half, r.load_floor), (last, half, top)))
    return boxes


def _parts(
    r: Road, battery: tuple[float, float], tank: tuple[Point, Point], filler: tuple[Point, Point]
) -> Parts:
    form, end, tail = r.form, r.cab_end, r.tail
    parts: Parts = {**skin(r), **fascia(r), **wheels(r), **bulkhead(r), **arches(r)}
    closed = back(r, tail, 330, glass=None, doors=False)
    parts["tailgate"] = closed["back-panel"]
    parts["bumper-rear"] = rear_bumper(tail, r.half)
    parts["floor-cabin"] = floor(r, (r.cowl_x, end), r.floor)
    parts["floor-boot"] = floor(r, (end, tail), r.load_floor)
    parts["seat-pan"] = cross_wall(r, end, r.floor - 2, high=r.load_floor)
    door_end = r.doors[1].rear
    sill_end = min(
        end - 30, r.rear_axle - r.arch - 15
    )  # it ends at the wheel arch, over which one gets to the boot
    parts |= posts(r, post_end=r.post_x + 190, sill_end=sill_end)
    parts |= underbody(r, ((r.cowl_x + 10, end, r.floor), (end, tail - 120, r.load_floor)))
    parts |= engine_bay(r, battery)
    parts |= cab_trim(
        r, post_end=r.post_x + 190, roof=(r.header_x + 60, r.roof_end - 60), sill_end=sill_end - 30
    )
    parts |= dash(r) | machinery(r, battery=battery)
    parts |= running_gear(r, end=tail, tank=tank, filler=filler, side=EXHAUST_SIDE)
    high = r.height - 175
    for hand, sign in HANDS:
        parts[f"c-post-{hand}"] = rib(
            form,
            sign,
            (door_end + 60, door_end + 160),
            (r.load_floor + 180, high),
            depth=55,
            slope=(0.6, 0.6),
        )
        parts[f"c-post-trim-{hand}"] = along_side(
            form, sign, (door_end + 40, door_end + 190), (r.cowl_z + 40, high - 60), inset=95
        )
        parts[f"boot-lining-{hand}"] = along_side(
            form, sign, (door_end + 250, tail - 190), (r.load_floor + 330, r.cowl_z - 20), inset=60
        )
    for number, x in enumerate((r.post_x + 60, door_end + 60, r.roof_end - 80), start=1):
        parts[f"roof-bow-{number}"] = bow(form, x, 0.66 * r.half)
    front, wide = r.post_x - 660, 0.75 * r.half
    parts["seat-driver"] = seat(-wide, -0.18 * r.half, front, r.floor, back=520)
    parts["seat-passenger"] = seat(0.18 * r.half, wide, front, r.floor, back=520)
    parts["seat-rear"] = seat(-0.78 * r.half, 0.78 * r.half, end - 700, r.floor, back=460)
    return parts
