"""The pattern "ambulance box": chassis cab, and behind it a module of its own on the frame. All mm."""

from __future__ import annotations

from dataclasses import replace

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
from routecut.patterns.measurements import Measurement, Values
from routecut.patterns.road import HANDS, Door, Parts, Road, back, fascia, skin, wheels
from routecut.patterns.road_asked import Clash, road_asked, road_clashes
from routecut.patterns.road_frame import DOUBLE, arches, bow, bulkhead, engine_bay, floor, posts, underbody
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
from routecut.patterns.sheets import (
    box,
    flat,
    inside_faces,
    join,
    pillow,
    round_hole,
    rounded,
    snap,
    tidy,
    trim,
)

GAP = 60.0
"""Between the rear wall of the cab and the front wall of the module."""

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
    return Road(
        width=v["cab_width"],
        height=v["cab_height"],
        nose_z=v["bonnet_height"] - 240,
        cowl_x=foot,
        cowl_z=v["bonnet_height"],
        header_x=foot + v["windscreen_top"],
        post_x=post,
        cab_end=end,
        roof_end=end - 130,
        tail=end + 8,
        tail_z=v["cab_height"] - 40,
        floor=v["cab_floor"],
        load_floor=v["load_floor"],
        front_axle=v["front_overhang"],
        rear_axle=v["front_overhang"] + v["wheelbase"],
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
        parts=_parts(v, r, battery, tank, filler),
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
                "stretcher way",
                a_box(((middle - 700, -300, r.load_floor), (tail - 20, 300, r.load_floor + 900))),
                "moving",
                20,
                note="The stretcher is loaded through the rear doors.",
            ),
            keep_out(
                "oxygen",
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
                (tail - 500, -half + 130, r.load_floor),
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


def _module(v: Values, r: Road) -> Parts:
    """The module: walls with doors and windows, roof, floor, linings, cabinets, stretcher."""
    first, tail = r.cab_end + GAP, v["overall_length"] - 90
    half, roof, low = v["overall_width"] / 2, v["overall_height"], r.load_floor - 60
    skirt = 430.0
    parts: Parts = {
        "module-roof": flat(2, roof, (first, -half), (tail, half), 85),
        "module-front": flat(0, first, (-half, low), (half, roof), 85),
        "module-floor": flat(2, r.load_floor, (first, -half), (tail, half), 85),
        "module-floor-frame": box((first, -half + 60, low), (tail, half - 60, r.load_floor), 95, "+z"),
    }
    opening = round_hole((0, 2), r.axle_rear, r.arch - 10)
    middle = 0.5 * (first + tail)
    for hand, sign in HANDS:
        wall = trim(flat(1, sign * half, (first, skirt), (tail, roof), 75), lambda p: -opening(p))
        pane = rounded((0, 2), (middle - 200, roof - 900), (middle + 700, roof - 420), 60)
        if sign > 0:
            pane = rounded((0, 2), (first + 380, roof - 950), (first + 890, roof - 420), 50)
        fields = [(f"glass-module-{hand}", pane)]
        if sign > 0:
            fields.append(
                ("module-door-side", rounded((0, 2), (first + 260, low + 20), (first + 1010, roof - 260), 60))
            )
        rest = wall
        for name, field in fields:
            rest = snap(rest, field)
            chosen = inside_faces(rest, field)
            parts[name] = tidy((rest[0], rest[1][chosen]))
            rest = tidy((rest[0], rest[1][~chosen]))
        parts[f"module-side-{hand}"] = rest
        z = (r.load_floor + 1150, roof - 120)
        parts[f"module-lining-{hand}"] = flat(
            1, sign * (half - 48), (first + 700 if sign < 0 else first + 1150, z[0]), (tail - 120, z[1]), 95
        )
    parts["module-lining-roof"] = flat(2, roof - 52, (first + 120, -half + 130), (tail - 130, half - 130), 90)
    for name, a, b in (("left", -half, 0.0), ("right", 0.0, half)):
        leaf = flat(0, tail, (a, low), (b, roof), 80)
        edge = sorted((a * 0.85, a * 0.15 if a else b * 0.15)) if a else [b * 0.15, b * 0.85]
        pane = rounded((1, 2), (edge[0], roof - 1150), (edge[1], roof - 450), 50)
        leaf = snap(leaf, pane)
        chosen = inside_faces(leaf, pane)
        parts[f"glass-module-rear-{name}"] = tidy((leaf[0], leaf[1][chosen]))
        parts[f"module-door-rear-{name}"] = tidy((leaf[0], leaf[1][~chosen]))
    parts["module-portal"] = join(
        *(
            flat(0, tail - 70, (a, r.load_floor), (b, roof), 80)
            for a, b in ((-half, -half + 90), (half - 90, half))
        )
    )
    bench = r.load_floor + 900
    parts["cabinet-front"] = join(
        flat(2, bench, (first, -half), (first + 560, -half + 720), 80),
        flat(1, -half + 720, (first, r.load_floor), (first + 560, bench), 80),
    )
    parts["cabinet-bench"] = box(
        (first + 900, half - 620, r.load_floor), (tail - 500, half - 60, r.load_floor + 430), 95, "-z"
    )
    parts["seat-attendant"] = seat(-230, 230, first + 330, r.load_floor, back=560)
    parts["stretcher"] = join(
        pillow((middle - 500, -280, r.load_floor + 480), (tail - 180, 280, r.load_floor + 600), 40, 95),
        box((middle - 350, -200, r.load_floor + 60), (tail - 350, 200, r.load_floor + 470), 110, "+z -z"),
    )
    parts["module-lamp-bar"] = box(
        (first + 20, -0.7 * half, roof), (first + 300, 0.7 * half, roof + 130), 95, "-z"
    )
    parts["bumper-rear"] = box((tail + 5, -half + 40, 430), (tail + 90, half - 40, 560), 95)
    return parts


def _parts(
    v: Values, r: Road, battery: tuple[float, float], tank: tuple[Point, Point], filler: tuple[Point, Point]
) -> Parts:
    end, tail = r.cab_end, v["overall_length"] - 90
    parts: Parts = {**skin(r), **fascia(r), **bulkhead(r), **arches(r, ("front",)), **_module(v, r)}
    parts |= wheels(r, twin=True)
    parts["cab-rear-wall"] = back(r, end, r.floor - 60, glass=None, doors=False)["back-panel"]
    parts["floor-cab"] = floor(r, (r.cowl_x, end), r.floor)
    parts |= posts(r, post_end=end, sill_end=end - 60)
    parts |= underbody(r, ((r.cowl_x + 10, end, r.floor), (end, tail - 60, r.load_floor - 60)))
    parts |= engine_bay(r, battery)
    parts |= cab_trim(r, post_end=end, roof=(r.header_x + 60, end - 90))
    parts |= dash(r) | machinery(r, battery=battery)
    parts |= running_gear(r, end=tail, tank=tank, filler=filler)
    parts["roof-bow-1"] = bow(r.form, end - 160, 0.72 * r.half)
    wide = 0.69 * r.half
    parts["seat-driver"] = seat(-wide, -0.19 * r.half, end - 900, r.floor)
    parts["seat-passenger"] = seat(0.19 * r.half, wide, end - 900, r.floor)
    return parts
