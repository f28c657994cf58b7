"""The pattern "ambulance box": chassis cab, and behind it a module of its own on the frame. All mm."""

from __future__ import annotations

from dataclasses import replace

from routecut.patterns.ambulance_body import GAP, ambulance_parts
from routecut.patterns.made import (
    Fitted,
    Made,
    SectionBox,
    a_box,
    a_space,
    a_trim,
    hole,
    keep_out,
    mark,
    obstacle,
    panel,
)
from routecut.patterns.measurements import Clash, Measurement, Values
from routecut.patterns.road import Door, Road
from routecut.patterns.road_asked import road_asked, road_clashes
from routecut.patterns.road_frame import DOUBLE
from routecut.patterns.road_inside import Point
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

_CAB = road_asked(
    {
        "overall_length": (6200, 5300, 7600),
        "front_overhang": (950, 780, 1200),
        "wheelbase": (3600, 3000, 4500),
        "windscreen_foot": (1080, 750, 1500),
        "windscreen_top": (780, 500, 1150),
        "striker": (1230, 1050, 1500),
        "cab_length": (1560, 1350, 1900),
        "overall_width": (2200, 1950, 2550),
        "overall_height": (2900, 2450, 3250),
        "bonnet_height": (1240, 1050, 1450),
        "cab_floor": (600, 450, 780),
        "load_floor": (760, 600, 950),
    },
    cab_end="the rear wall of the cab, inside",
    behind="module floor",
)


def _module_words(one: Measurement) -> Measurement:
    if one.key == "overall_width":
        return replace(
            one,
            words="Module width",
            how="across the module, a straight board held upright against each side",
            changes="how wide the module is",
        )
    if one.key == "overall_height":
        return replace(
            one,
            words="Module height",
            how="from the ground to the roof of the module, without lamps and aerials, on level ground",
            changes="how high the module is",
        )
    return one


MEASUREMENTS = (
    *(_module_words(one) for one in _CAB),
    Measurement(
        key="cab_width",
        words="Cab width",
        how="across the cab behind its doors, without mirrors",
        default=1990,
        low=1780,
        high=2150,
        along="y",
        changes="all distances across in cab and engine bay",
        view="front",
        line=lambda v: ((0, -v["cab_width"] / 2, -280), (0, v["cab_width"] / 2, -280)),
    ),
    Measurement(
        key="cab_height",
        words="Cab height",
        how="from the ground to the roof of the cab in the middle",
        default=2280,
        low=1900,
        high=2700,
        along="z",
        changes="how high cab and windscreen are",
        line=lambda v: (
            (v["windscreen_foot"] + 0.8 * v["cab_length"], 0, 0),
            (v["windscreen_foot"] + 0.8 * v["cab_length"], 0, v["cab_height"]),
        ),
    ),
)


def clashes(v: Values) -> list[Clash]:
    """What can't be true of a chassis cab with a module."""
    found = road_clashes({**v, "overall_height": v["cab_height"]}, behind=2300, roof=550)
    renamed = [
        (tuple("cab_height" if k == "overall_height" else k for k in keys), what) for keys, what in found
    ]
    if v["overall_height"] - v["load_floor"] < 1500:
        renamed.append(
            (("overall_height", "load_floor"), "from module floor to module roof at least 1500 mm is wanted")
        )
    return renamed


def road(v: Values) -> Road:
    """The stations of its cab."""
    foot = v["windscreen_foot"]
    post, end = foot + v["striker"], foot + v["cab_length"]
    return replace(
        Road.of(
            {**v, "overall_width": v["cab_width"], "overall_height": v["cab_height"]},
            roof_end=end - 130,
            tail=end + 8,
            tail_z=v["cab_height"] - 40,
        ),
        tyre=355,
        screen_bow=25,
        corner=170,
        doors=(Door("front", foot + 210, post),),
    )


def make(v: Values) -> Made:
    """The ambulance."""
    r = road(v)
    end, length = r.cab_end, v["overall_length"]
    first, tail, half, roof = end + GAP, length - 90, v["overall_width"] / 2, v["overall_height"]
    battery = (r.cowl_x - 430, r.arch_inner - 140)
    tank = ((end + 160, -310.0, 280.0), (end + 960, 310.0, r.load_floor - 240))
    filler: tuple[Point, Point] = (
        (end + 850, -300, r.load_floor - 280),
        (end + 1150, -half + 60, r.load_floor - 60),
    )
    floors = ((r.cowl_x, end, r.floor), (end, tail, r.load_floor - 60))
    conduit_z = max(r.floor, r.load_floor) + 330
    bench = r.load_floor + 900
    middle = 0.5 * (first + tail)
    return Made(
        parts=ambulance_parts(v, r, battery, tank, filler),
        surfaces=surfaces(
            *obstacle("stretcher", "module-door-*"),
            panel("cab-rear-wall", 0.8, drill=True),
            panel("module-roof", 2.0, material="aluminium", drill=True),
            panel("module-*", 2.0, material="aluminium"),
            panel("cabinet*", 15, material="plywood"),
            trims=(a_trim("module-lining-*", 25, "Linings of the module: cables run behind them."),),
        ),
        spaces=(
            engine_space(r),
            under_space(r, floors),
            a_space(
                "cab",
                cab_boxes(r, (r.cowl_x + DOUBLE, end), r.floor),
                (r.cowl_x + 0.55 * (end - r.cowl_x), -60, r.cowl_z + 0.25 * (r.height - r.cowl_z)),
            ),
            a_space(
                "module",
                [((first, -half, r.load_floor), (tail, half, roof))],
                (middle, 250, r.load_floor + 1250),
            ),
            outside_space(length, half, roof),
        ),
        keep_outs=(
            *usual_keep_outs(r, end=tail, tank=tank, filler=filler),
            seat_travel("driver seat", -0.69 * r.half, -0.19 * r.half, end - 900, r.floor),
            keep_out(
                "stretcher path",
                a_box(((middle - 700, -300, r.load_floor), (tail - 20, 300, r.load_floor + 900))),
                "moving",
                20,
                note="The stretcher is loaded through the rear doors.",
            ),
            keep_out(
                "oxygen bottles",
                a_box(
                    (
                        (first + 60, half - 420, r.load_floor + 40),
                        (first + 420, half - 120, r.load_floor + 950),
                    )
                ),
                "other",
                150,
                note="Bottles and lines: keep wiring and sparks away; mind what the maker says.",
            ),
        ),
        pass_throughs=(
            *bulkhead_grommets(r),
            hole(
                "cab to module conduit left",
                (end + GAP / 2, -0.62 * r.half, conduit_z),
                (1, 0, 0),
                40,
                ("cab", "module"),
                depth=120,
                in_use=18,
                note="Through both walls and the gap between them; often in a rubber boot.",
            ),
            hole(
                "cab to module conduit right",
                (end + GAP / 2, 0.62 * r.half, conduit_z),
                (1, 0, 0),
                30,
                ("cab", "module"),
                depth=120,
            ),
            hole(
                "cab floor grommet",
                (end - 330, 0.28 * r.half, r.floor),
                (0, 0, 1),
                25,
                ("cab", "underbody"),
                in_use=14,
            ),
            hole(
                "module floor gland",
                (tail - 500, -half + 130, r.load_floor - 30),  # between the two sheets of the floor
                (0, 0, 1),
                25,
                ("module", "underbody"),
                depth=80,
            ),
            hole(
                "module roof gland",
                (middle + 500, -0.45 * half, roof),
                (0, 0, 1),
                16,
                ("outside", "module"),
                depth=5,
                candidate=True,
                classes=("coax",),
                note="For antennas whose cable starts outside.",
            ),
        ),
        landmarks=(
            *usual_landmarks(r),
            mark("module corner front left", (first, -half, roof), "upper front corner, outside"),
            mark("module corner front right", (first, half, roof)),
            mark("module corner rear left", (tail, -half, roof)),
            mark("module step", (tail - 20, 0, r.load_floor), "edge of the floor at the rear doors"),
        ),
        sections=tuple(_sections(v, r)),
        devices=(
            Fitted(
                name="battery",
                equipment="battery",
                at=battery_post(r, battery),
                space="engine bay",
                note="The module may have one of its own: ask which feeds the radio.",
            ),
            Fitted(
                name="voice radio",
                equipment="mobile radio, remote head",
                at=(first + 260, -half + 330, bench),
                space="module",
                facing="front",
                note="in the front cabinet",
            ),
            Fitted(
                name="VHF antenna", equipment="antenna base, roof hole", at=(middle, 0, roof), space="module"
            ),
        ),
        cables=("power", "return", "coax"),
        tape_checks=(
            ("left striker", "right striker"),
            ("module corner front left", "module corner front right"),
            ("module corner front left", "module corner rear left"),
        ),
    )


def _sections(v: Values, r: Road) -> list[SectionBox]:
    """As of a road vehicle, but cab and module have widths and heights of their own."""
    length, end = v["overall_length"], r.cab_end
    chain = ("overall_length", "windscreen_foot", "cab_length")
    found = []
    for section in road_sections(r, length, [("module", end, length, r.load_floor - 60, chain)]):
        low, high = section.box
        half, roof = v["overall_width"] / 2 + 100, v["overall_height"] + 100
        if section.name.startswith("module"):
            found.append(replace(section, box=((low[0], -half, low[2]), (high[0], half, roof))))
        elif section.name == "cab, height":
            found.append(replace(section, keys=("cab_height", "cab_floor")))
        elif section.name == "width":
            box_ = (low, (end, high[1], high[2]))
            found.append(replace(section, name="cab, width", box=box_, keys=("cab_width",)))
        else:
            found.append(section)
    last = found[-1]
    wide = v["overall_width"] / 2
    behind = ((end, -wide, 0.0), (length, wide, v["overall_height"] + 100))
    return [*found, replace(last, name="module, width", box=behind, keys=("overall_width",))]
