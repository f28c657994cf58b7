"""The pattern "four-door pickup": bonnet, crew cab with a closed rear wall, open load bed with a tailgate. All mm."""

from __future__ import annotations

from dataclasses import replace

from routecut.patterns.made import Fitted, Made, a_box, a_space, a_trim, hole, keep_out, mark, panel
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
from routecut.patterns.sheets import Sheet, box, flat, join, round_hole, trim

MEASUREMENTS = road_asked(
    {
        "overall_length": (5300, 4900, 5900),
        "front_overhang": (920, 780, 1080),
        "wheelbase": (3150, 2900, 3700),
        "windscreen_foot": (1330, 1100, 1600),
        "windscreen_top": (680, 500, 900),
        "striker": (1130, 950, 1300),
        "cab_length": (2120, 1850, 2400),
        "overall_width": (1860, 1700, 2080),
        "overall_height": (1800, 1680, 2000),
        "bonnet_height": (1180, 1020, 1350),
        "cab_floor": (540, 420, 680),
        "load_floor": (820, 680, 980),
    },
    cab_end="the rear wall of the cab, inside, behind the rear seat",
    behind="load bed floor",
)


def clashes(v: Values) -> list[Clash]:
    """What can't be true of a four-door pickup."""
    return road_clashes(v, behind=1250, roof=400)


def road(v: Values) -> Road:
    """The stations of its front and its cab."""
    foot = v["windscreen_foot"]
    post, end = foot + v["striker"], foot + v["cab_length"]
    return replace(
        Road.of(v, roof_end=end - 200, tail=end + DOUBLE + 10, tail_z=v["overall_height"] - 65, nose=190),
        tyre=375,
        lean=0.3,
        corner=125,
        screen_bow=18,
        doors=(Door("front", foot + 210, post), Door("rear", post + 25, end - 110)),
    )


def make(v: Values) -> Made:
    """The pickup."""
    r = road(v)
    end, length = r.cab_end, v["overall_length"]
    tail = length - 80
    battery = (r.cowl_x - 430, r.arch_inner - 140)
    tank = ((end + 160, -430.0, 330.0), (end + 860, -60.0, r.load_floor - 170))
    filler: tuple[Point, Point] = (
        (end + 500, -400, r.load_floor - 190),
        (r.rear_axle - r.arch - 90, -r.half + 55, r.load_floor + 130),
    )
    wide = 0.86 * r.half
    bed = ((end + 75, -r.half, r.load_floor), (tail, r.half, r.load_floor + 700))
    floors = ((r.cowl_x, end + DOUBLE, r.floor), (end + DOUBLE, tail, r.load_floor))
    front = r.post_x - 640
    return Made(
        parts=_parts(r, tail, battery, tank, filler),
        surfaces=surfaces(
            panel("cab-rear-*", 0.8, drill=True),
            panel(
                "bed-*",
                1.0,
                note="The load bed gets stones and loads: look twice before anything is clipped in it.",
            ),
            trims=(a_trim("c-post-trim-*", 8), a_trim("cab-rear-lining", 10)),
        ),
        spaces=(
            engine_space(r),
            under_space(r, floors),
            a_space(
                "cab",
                cab_boxes(r, (r.cowl_x + DOUBLE, end), r.floor),
                (r.cowl_x + 0.42 * (end - r.cowl_x), -40, r.cowl_z + 0.4 * (r.height - r.cowl_z)),
            ),
            a_space(
                "load bed",
                [bed],
                (0.5 * (end + tail), 0, r.load_floor + 350),
                "wet",
                "stones",
                open_to=("outside",),
            ),
            outside_space(length, r.half, r.height),
        ),
        keep_outs=(
            *usual_keep_outs(r, end=tail, tank=tank, filler=filler),
            rear_foot_room(r, end - 800),
            seat_travel("driver seat", -0.75 * r.half, -0.18 * r.half, front, r.floor),
            seat_travel("passenger seat", 0.18 * r.half, 0.75 * r.half, front, r.floor),
            keep_out(
                "load in the bed",
                a_box(((end + 250, -wide + 150, r.load_floor), (tail - 60, wide - 150, r.load_floor + 600))),
                "moving",
                0,
                note="What is thrown in and pulled out.",
            ),
        ),
        pass_throughs=(
            *bulkhead_grommets(r),
            hole(
                "cab floor grommet",
                (end - 330, 0.52 * r.half, r.floor),
                (0, 0, 1),
                25,
                ("cab", "underbody"),
                in_use=12,
                note="The loom to the rear lamps often leaves here.",
            ),
            hole(
                "cab rear wall vent",
                (end + DOUBLE / 2, 0.62 * r.half, max(r.load_floor - 100, r.floor + 70)),
                (1, 0, 0),
                40,
                ("cab", "underbody"),
                depth=60,
                note="The air vent flap in the rear wall, behind the seat, below the floor of the bed.",
            ),
            hole(
                "cab rear wall new hole",
                (end + DOUBLE, -0.66 * r.half, r.cowl_z + 120),
                (1, 0, 0),
                25,
                ("cab", "load bed"),
                candidate=True,
                note="Beside the rear window, above the bed; would have to be drilled.",
            ),
        ),
        landmarks=(
            *usual_landmarks(r),
            mark("bed front corner left", (end + 75, -wide, r.load_floor), "inside, on the floor"),
            mark("bed rear edge", (tail - 45, 0, r.load_floor), "of the bed floor, in the middle"),
        ),
        sections=tuple(
            road_sections(
                r,
                length,
                [
                    (
                        "load bed",
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
                note="Some have two: take the one the maker allows.",
            ),
            Fitted(
                name="voice radio",
                equipment="mobile radio, remote head",
                at=(end - 150, -0.35 * r.half, r.floor + 5),
                space="cab",
                facing="left",
                note="behind the rear seat",
            ),
            Fitted(
                name="VHF antenna",
                equipment="antenna base, roof hole",
                at=(r.header_x + 300, 0, float(r.form.top(r.header_x + 300))),
                space="cab",
            ),
        ),
        cables=("power", "return", "coax"),
        tape_checks=(
            ("left striker", "right striker"),
            ("windscreen top", "roof rear edge"),
            ("left striker", "bed rear edge"),
        ),
    )


def _bed(r: Road, tail: float) -> Parts:
    """Load bed: floor, double side walls with rails, front wall, wheel boxes, tailgate."""
    end, rail = r.cab_end, r.cowl_z + 20
    half, inner, first = r.half - 12, 0.86 * r.half, r.cab_end + 75
    parts: Parts = {
        "bed-floor": flat(2, r.load_floor, (first, -inner), (tail - 45, inner), 90),
        "bed-front": flat(0, first, (-inner, r.load_floor), (inner, rail), 90),
        "tailgate": join(
            flat(0, tail, (-inner, r.load_floor - 90), (inner, rail), 90),
            flat(0, tail - 45, (-inner, r.load_floor), (inner, rail), 90),
        ),
    }
    opening = round_hole((0, 2), r.axle_rear, r.arch - 20)

    def outer(sign: float) -> Sheet:
        return trim(flat(1, sign * half, (end + 60, 470), (tail, rail), 70), lambda p: -opening(p))

    for hand, sign in HANDS:
        low, high = sorted((sign * half, sign * inner))
        closing = flat(0, tail, (low, r.load_floor - 90), (high, rail), 90)
        front = flat(0, end + 60, (low, 470), (high, rail), 90)
        parts[f"bed-side-{hand}"] = join(outer(sign), closing, front)
        parts[f"bed-wall-{hand}"] = flat(1, sign * inner, (first, r.load_floor), (tail - 45, rail), 90)
        parts[f"bed-rail-{hand}"] = flat(2, rail, (end + 60, low), (tail, high), 90)
        near, far = sorted((sign * inner, sign * r.arch_inner))
        parts[f"bed-wheel-box-{hand}"] = box(
            (r.rear_axle - r.arch, near, r.load_floor),
            (r.rear_axle + r.arch, far, max(r.load_floor + 120, r.arch + r.tyre)),
            85,
            "-z",
        )
    return parts


def _parts(
    r: Road, tail: float, battery: tuple[float, float], tank: tuple[Point, Point], filler: tuple[Point, Point]
) -> Parts:
    form, end = r.form, r.cab_end
    parts: Parts = {
        **skin(r),
        **fascia(r),
        **wheels(r),
        **bulkhead(r),
        **arches(r, ("front",)),
        **_bed(r, tail),
    }
    window = (0.55 * r.half, r.cowl_z + 70, r.height - 190)
    closed = back(r, end + DOUBLE, r.floor - 130, glass=window, doors=False)
    parts["cab-rear-outer"], parts["glass-back"] = closed["back-panel"], closed["glass-back"]
    parts["cab-rear-inner"] = cross_wall(r, end, r.floor - 2, high=r.cowl_z + 45)
    parts["cab-rear-lining"] = flat(0, end - 60, (-0.7 * r.half, r.floor + 420), (0.7 * r.half, r.cowl_z), 80)
    parts["bumper-rear"] = rear_bumper(tail, r.half)
    parts["floor-cab"] = floor(r, (r.cowl_x, end + DOUBLE), r.floor)
    parts |= posts(r, post_end=r.post_x + 190, sill_end=end)
    parts |= underbody(r, ((r.cowl_x + 10, end, r.floor), (end, tail - 60, r.load_floor)))
    parts |= engine_bay(r, battery)
    parts |= cab_trim(r, post_end=r.post_x + 190, roof=(r.header_x + 60, end - 150), sill_end=end - 150)
    parts |= dash(r) | machinery(r, battery=battery)
    parts |= running_gear(r, end=tail, tank=tank, filler=filler)
    for hand, sign in HANDS:
        parts[f"c-post-{hand}"] = rib(
            form, sign, (end - 90, end), (r.floor, r.height - 190), depth=60, slope=(0.6, 0)
        )
        parts[f"c-post-trim-{hand}"] = along_side(
            form, sign, (end - 130, end - 30), (r.floor + 450, r.height - 250), inset=105
        )
    for number, x in enumerate((r.post_x + 40, end - 190), start=1):
        parts[f"roof-bow-{number}"] = bow(form, x, 0.66 * r.half)
    front, wide = r.post_x - 640, 0.75 * r.half
    parts["seat-driver"] = seat(-wide, -0.18 * r.half, front, r.floor, back=560)
    parts["seat-passenger"] = seat(0.18 * r.half, wide, front, r.floor, back=560)
    parts["seat-rear"] = seat(-0.78 * r.half, 0.78 * r.half, end - 860, r.floor, back=470)
    return parts
