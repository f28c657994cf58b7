"""The pattern "tractor": bonnet, glass cab in a roll-over frame, fenders, large rear wheels. All mm.

The roll-over frame is never drilled, ground or welded: nothing of it is offered for a hole.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import trimesh

from routecut.model.job import Access
from routecut.patterns.form import Form
from routecut.patterns.made import (
    Fitted,
    Made,
    SectionBox,
    a_box,
    a_space,
    a_trim,
    capsule,
    hole,
    keep_out,
    mark,
    obstacle,
    panel,
    stepped,
)
from routecut.patterns.measurements import Measurement, Point, Values
from routecut.patterns.road import HANDS, Parts
from routecut.patterns.road_asked import Clash
from routecut.patterns.road_inside import seat
from routecut.patterns.sheets import (
    Floats,
    box,
    disc,
    drum,
    flat,
    folded,
    join,
    pillow,
    spaced,
    surface,
    trim,
    tube,
)

ROOF = 190.0
"""Height of the hollow roof."""
BONNET_LOW = 820.0
BONNET_HALF = 390.0


def _one(  # noqa: PLR0917 - they read best in a row
    key: str,
    words: str,
    how: str,
    along: str,
    span: tuple[float, float, float],
    changes: str,
    line: Callable[[Values], tuple[Point, Point]],
    view: str = "side",
) -> Measurement:
    default, low, high = span
    return Measurement(
        key=key,
        words=words,
        how=how,
        default=default,
        low=low,
        high=high,
        along=along,
        changes=changes,
        line=line,
        view=view,
    )


MEASUREMENTS = (
    _one(
        "overall_length",
        "Overall length",
        "from the front of the bonnet to the ends of the rear lift arms, tape level",
        "x",
        (4200, 3300, 5600),
        "where the rear linkage ends",
        lambda v: ((0, 0, -200), (v["overall_length"], 0, -200)),
    ),
    _one(
        "front_overhang",
        "Front overhang",
        "from the front of the bonnet to the middle of the front wheel, tape level",
        "x",
        (700, 350, 1100),
        "where the front wheels are",
        lambda v: ((0, 0, 200), (v["front_overhang"], 0, 200)),
    ),
    _one(
        "wheelbase",
        "Wheelbase",
        "from the middle of the front wheel to the middle of the rear wheel, wheels straight",
        "x",
        (2450, 1900, 3100),
        "where the rear wheels and fenders are",
        lambda v: ((v["front_overhang"], 0, 200), (v["front_overhang"] + v["wheelbase"], 0, 200)),
    ),
    _one(
        "bonnet_length",
        "Bonnet length",
        "from the front of the bonnet to the front glass of the cab, tape level",
        "x",
        (1950, 1300, 2600),
        "how long the engine bay is; where the cab begins",
        lambda v: ((0, 0, v["bonnet_height"] + 120), (v["bonnet_length"], 0, v["bonnet_height"] + 120)),
    ),
    _one(
        "cab_length",
        "Cab length",
        "from the front glass to the rear glass at the height of the seat, tape level",
        "x",
        (1550, 1250, 1900),
        "how long the cab is",
        lambda v: (
            (v["bonnet_length"], 0, v["overall_height"] + 120),
            (v["bonnet_length"] + v["cab_length"], 0, v["overall_height"] + 120),
        ),
    ),
    _one(
        "cab_width",
        "Cab width",
        "across the cab outside, over the doors at the height of the seat",
        "y",
        (1600, 1250, 1900),
        "all distances across the cab",
        lambda v: (
            (0, -v["cab_width"] / 2, v["overall_height"] + 150),
            (0, v["cab_width"] / 2, v["overall_height"] + 150),
        ),
        "front",
    ),
    _one(
        "overall_width",
        "Overall width",
        "across the rear wheels, outside",
        "y",
        (2300, 1750, 2800),
        "where the rear wheels stand",
        lambda v: ((0, -v["overall_width"] / 2, -200), (0, v["overall_width"] / 2, -200)),
        "front",
    ),
    _one(
        "overall_height",
        "Overall height",
        "from the ground to the cab roof, without beacons and aerials, on level ground",
        "z",
        (2800, 2350, 3250),
        "how high the cab is",
        lambda v: (
            (v["bonnet_length"] + 0.75 * v["cab_length"], 0, 0),
            (v["bonnet_length"] + 0.75 * v["cab_length"], 0, v["overall_height"]),
        ),
    ),
    _one(
        "bonnet_height",
        "Bonnet height",
        "from the ground to the rear edge of the bonnet in the middle",
        "z",
        (1650, 1250, 2000),
        "how high engine bay and dash are",
        lambda v: ((v["bonnet_length"] - 80, 0, 0), (v["bonnet_length"] - 80, 0, v["bonnet_height"])),
    ),
    _one(
        "cab_floor",
        "Cab floor",
        "from the ground to the floor of the cab at its door",
        "z",
        (1050, 750, 1350),
        "how high the cab floor is",
        lambda v: ((v["bonnet_length"] + 350, 0, 0), (v["bonnet_length"] + 350, 0, v["cab_floor"])),
    ),
    _one(
        "front_tyre",
        "Front tyre",
        "height of the front tyre on its ground",
        "z",
        (1200, 700, 1500),
        "how big the front wheels are",
        lambda v: ((v["front_overhang"], 0, 0), (v["front_overhang"], 0, v["front_tyre"])),
    ),
    _one(
        "rear_tyre",
        "Rear tyre",
        "height of the rear tyre on its ground",
        "z",
        (1700, 1250, 2050),
        "how big rear wheels and fenders are",
        lambda v: (
            (v["front_overhang"] + v["wheelbase"], 0, 0),
            (v["front_overhang"] + v["wheelbase"], 0, v["rear_tyre"]),
        ),
    ),
)


def clashes(v: Values) -> list[Clash]:
    """What can't be true of a tractor with a cab."""
    found: list[Clash] = []

    def least(keys: tuple[str, ...], have: float, wanted: float, what: str) -> None:
        if have < wanted:
            found.append((keys, f"{what}: {have:.0f} mm is left, at least {wanted:.0f} mm is wanted"))

    end = v["bonnet_length"] + v["cab_length"]
    least(
        ("overall_height", "cab_floor"), v["overall_height"] - v["cab_floor"], 1450, "from cab floor to roof"
    )
    least(
        ("bonnet_height", "cab_floor"), v["bonnet_height"] - v["cab_floor"], 250, "from cab floor to bonnet"
    )
    least(("overall_length", "bonnet_length", "cab_length"), v["overall_length"] - end, 100, "behind the cab")
    least(
        ("overall_width", "cab_width"),
        v["overall_width"] - v["cab_width"],
        300,
        "beside the cab for the rear wheels",
    )
    rear = v["front_overhang"] + v["wheelbase"]
    least(
        ("front_overhang", "wheelbase", "bonnet_length"),
        rear - v["bonnet_length"],
        500,
        "from the cab's front to the rear wheel's middle",
    )
    least(
        ("overall_length", "front_overhang", "wheelbase"),
        v["overall_length"] - rear,
        250,
        "behind the rear wheel's middle",
    )
    least(
        ("wheelbase", "front_tyre", "rear_tyre"),
        v["wheelbase"] - (v["front_tyre"] + v["rear_tyre"]) / 2,
        150,
        "between the tyres",
    )
    return found


def _form(v: Values) -> Form:
    """The outside of the bonnet."""
    high, n = v["bonnet_height"], v["bonnet_length"] - 40
    top = ((0, high - 330), (40, high - 210), (120, high - 130), (300, high - 80), (n, high))
    wide = ((0, 0.78 * BONNET_HALF), (60, 0.9 * BONNET_HALF), (250, BONNET_HALF), (n, BONNET_HALF))
    return Form(top, wide, ((0, 60), (300, 80), (n, 80)), crown_at=300, lean=0.0, tuck=0.0)


def make(v: Values) -> Made:
    """The tractor."""
    a, b = v["bonnet_length"], v["bonnet_length"] + v["cab_length"]
    floor, roof, w = v["cab_floor"], v["overall_height"], v["cab_width"] / 2
    high, length = v["bonnet_height"], v["overall_length"]
    rear = v["front_overhang"] + v["wheelbase"]
    liner = roof - ROOF
    console = floor + 430
    battery = (270.0, 0.0, BONNET_LOW + 230)
    half = v["overall_width"] / 2
    cab = [((a, -w, floor), (b, w, liner))]
    opening = (b - 190, w - 125, liner)
    antenna = (a + 0.45 * v["cab_length"], 0.0, roof)
    reach = (rear - v["rear_tyre"] / 2, rear + v["rear_tyre"] / 2)
    front = v["front_overhang"]
    return Made(
        parts=_parts(v, battery),
        surfaces=(
            *obstacle(
                "bonnet",
                "glass-*",
                "wheel-*",
                "axle-*",
                "engine-*",
                "radiator",
                "chassis-*",
                "seat-*",
                "steering-*",
                "pedals",
                "exhaust",
                "fuel-tank",
                "battery",
                "link-*",
                "step-*",
                note="They move, get hot, are glass or castings: nothing is clipped to them.",
            ),
            a_trim("dash-shell", 20, "Trim: cables run behind it."),
            panel(
                "frame-*",
                4.0,
                note="ROLL-OVER FRAME: never drilled, ground or welded. Cables are tied or taped to it, no more.",
            ),
            panel(
                "roof-shell",
                5,
                material="plastic",
                drill=True,
                note="The roof is plastic: no ground plane under an antenna.",
            ),
            panel("firewall", 2.0, drill=True),
            panel("console-*", 4, material="plastic"),
            panel("*", 2.0),
        ),
        spaces=(
            a_space(
                "engine bay",
                stepped(_form(v), (10, a), BONNET_LOW - 80, [high - 180, high - 90, high - 20]),
                (a - 130, 0.55 * BONNET_HALF, high - 190),
                "wet",
                "hot",
            ),
            a_space(
                "cab roof",
                [((a - 110, -w - 50, liner), (b + 110, w + 50, roof))],
                (a + 0.6 * v["cab_length"], 0, roof - 95),
                access=Access.TRIM,
                note="The hollow roof with fan and lamps, over the lining.",
            ),
            a_space("cab", cab, (a + 0.4 * v["cab_length"], -0.45 * w, floor + 1000)),
            a_space(
                "outside",
                [((-700, -half - 700, -60), (length + 700, half + 700, roof + 1200))],
                (0.5 * length, 0, roof + 500),
                "wet",
                "stones",
                note="Listed last: what no other space holds.",
            ),
        ),
        keep_outs=(
            keep_out(
                "exhaust stack",
                capsule((a - 260, 470, high - 350), (a - 260, 470, roof + 60), 60),
                "hot",
                150,
                note="Some stand at the A-post, some run below: look.",
            ),
            keep_out("engine", a_box(((560, -260, BONNET_LOW - 40), (a - 330, 260, high - 240))), "hot", 60),
            keep_out("fuel tank", a_box(((a - 80, -w + 20, 500), (a + 620, -330, floor - 90))), "fuel", 150),
            keep_out("fan and belts", a_box(((430, -260, BONNET_LOW), (560, 260, high - 260))), "moving", 75),
            keep_out(
                "shaft behind",
                capsule((b + 60, 0, 620), (length + 100, 0, 620), 120),
                "moving",
                100,
                note="The power take-off and what turns on it.",
            ),
            *(
                keep_out(
                    f"lift arm {hand}",
                    capsule((b - 60, s * 300, 560), (length, s * 420, 560), 80),
                    "moving",
                    75,
                    sweep=(0, 0, 500),
                )
                for hand, s in HANDS
            ),
            *(
                keep_out(
                    f"front wheel {hand}",
                    a_box(
                        (
                            (front - 0.62 * v["front_tyre"], min(s * 440, s * half), 0),
                            (front + 0.62 * v["front_tyre"], max(s * 440, s * half), v["front_tyre"]),
                        )
                    ),
                    "moving",
                    75,
                    note="With its steering, lock to lock." if s < 0 else "",
                )
                for hand, s in HANDS
            ),
            *(
                keep_out(
                    f"rear wheel {hand}",
                    a_box(
                        (
                            (reach[0], min(s * (w + 60), s * half), 0),
                            (reach[1], max(s * (w + 60), s * half), v["rear_tyre"]),
                        )
                    ),
                    "moving",
                    75,
                )
                for hand, s in HANDS
            ),
            keep_out(
                "steering column",
                capsule((a + 170, 0, floor + 250), (a + 470, 0, floor + 790), 45),
                "moving",
                40,
            ),
            keep_out("pedals", a_box(((a + 120, -330, floor), (a + 330, 330, floor + 220))), "moving", 30),
            keep_out(
                "sprung seat travel",
                a_box(((a + 0.5 * v["cab_length"] - 60, -260, floor + 60), (b - 160, 260, floor + 1150))),
                "moving",
                60,
                sweep=(0, 0, 120),
                note="It slides, turns and bounces.",
            ),
            *(
                keep_out(
                    f"door {hand}",
                    a_box(
                        (
                            (a + 90, min(s * (w - 20), s * (w + 60)), floor + 20),
                            (a + 0.6 * v["cab_length"], max(s * (w - 20), s * (w + 60)), liner - 80),
                        )
                    ),
                    "moving",
                    10,
                )
                for hand, s in HANDS
            ),
        ),
        pass_throughs=(
            hole(
                "firewall grommet",
                (a, -0.62 * BONNET_HALF, high - 190),
                (1, 0, 0),
                40,
                ("engine bay", "cab"),
                in_use=18,
                note="Behind the dash, where the loom comes in.",
            ),
            hole(
                "roof console opening",
                opening,
                (0, 0, 1),
                60,
                ("cab roof", "cab"),
                in_use=20,
                note="Down the inside of the rear post.",
            ),
            hole(
                "rear lead-in",
                (b, -0.6 * w, floor + 330),
                (1, 0, 0),
                50,
                ("cab", "outside"),
                in_use=15,
                note="The rubber boot for implement leads in the rear wall.",
            ),
            hole(
                "cab floor grommet", (b - 260, 0.5 * w, floor), (0, 0, 1), 30, ("cab", "outside"), in_use=12
            ),
        ),
        landmarks=(
            mark("bonnet rear edge", (a - 40, 0, float(_form(v).top(a - 40))), "in the middle"),
            mark("cab roof edge front left", (a + 60, -w - 60, roof - 95)),
            mark("cab roof edge front right", (a + 60, w + 60, roof - 95)),
            mark("cab roof edge rear left", (b - 60, -w - 60, roof - 95)),
            mark("console corner left", (a + 0.55 * v["cab_length"], -w + 260, console)),
            mark("console corner right", (a + 0.55 * v["cab_length"], w - 260, console)),
            mark("rear wall corner left", (b, -w + 40, floor + 30)),
            mark("rear wall corner right", (b, w - 40, floor + 30)),
        ),
        sections=(
            SectionBox(
                name="engine bay, length",
                along="x",
                box=((0, -500, 300), (a, 500, high + 60)),
                keys=("bonnet_length",),
            ),
            SectionBox(
                name="cab, length",
                along="x",
                box=((a, -w - 100, floor - 100), (b + 120, w + 100, roof + 60)),
                keys=("cab_length",),
            ),
            SectionBox(
                name="engine bay, height",
                along="z",
                box=((0, -500, 300), (a, 500, high + 60)),
                keys=("bonnet_height",),
            ),
            SectionBox(
                name="cab, height",
                along="z",
                box=((a, -w - 100, floor - 100), (b + 120, w + 100, roof + 60)),
                keys=("overall_height", "cab_floor"),
            ),
            SectionBox(
                name="cab, width",
                along="y",
                box=((a, -w - 100, floor - 100), (b + 120, w + 100, roof + 60)),
                keys=("cab_width",),
            ),
        ),
        devices=(
            Fitted(
                name="battery",
                equipment="battery",
                at=battery,
                space="engine bay",
                facing="left",
                note="Or beside the step. 12 V or two in series: measure before anything is connected.",
            ),
            Fitted(
                name="voice radio",
                equipment="mobile radio, front head",
                at=(a + 0.8 * v["cab_length"], w - 250, console + 5),
                space="cab",
                facing="rear",
                note="on the right console",
            ),
            Fitted(name="VHF antenna", equipment="antenna base, roof hole", at=antenna, space="cab roof"),
        ),
        cables=("power", "return", "coax"),
        tape_checks=(
            ("cab roof edge front left", "cab roof edge front right"),
            ("cab roof edge front left", "cab roof edge rear left"),
            ("rear wall corner left", "rear wall corner right"),
        ),
    )


def _parts(v: Values, battery: Point) -> Parts:
    a, b = v["bonnet_length"], v["bonnet_length"] + v["cab_length"]
    floor, roof, w = v["cab_floor"], v["overall_height"], v["cab_width"] / 2
    high, form = v["bonnet_height"], _form(v)
    rear, liner, console = v["front_overhang"] + v["wheelbase"], roof - ROOF, floor + 430
    spans = [np.linspace(0, 0.24, 7), np.linspace(0.24, 0.36, 6)[1:], np.linspace(0.36, 1, 13)[1:]]
    half = np.concatenate(spans)
    stations = np.unique(np.r_[spaced(0, 120, 30), spaced(120, a - 40, 85)])
    skin = surface(
        stations, np.concatenate([-half[:0:-1], half]), lambda x, s: form.section(x, s, BONNET_LOW)
    )
    nose = trim(flat(0, 0, (-BONNET_HALF, BONNET_LOW), (BONNET_HALF, high), 55), form.within(-3, 1.0))
    parts: Parts = {"bonnet": join(skin, nose)}
    wall_top = high - 30
    parts["firewall"] = flat(0, a, (-w + 60, floor), (w - 60, wall_top), 70)
    for hand, s in HANDS:
        parts[f"side-plate-{hand}"] = flat(
            1, s * (BONNET_HALF - 35), (140, BONNET_LOW - 90), (a, high - 260), 75
        )
    parts["bonnet-floor"] = flat(2, BONNET_LOW + 38, (140, -BONNET_HALF + 60), (470, BONNET_HALF - 60), 80)
    parts["radiator"] = box((480, -290, BONNET_LOW), (540, 290, high - 290), 85)
    parts["engine-block"] = pillow((580, -230, 620), (a - 340, 230, high - 260), 60, 90)
    parts["battery"] = box((battery[0] - 90, -140, battery[2] - 190), (battery[0] + 90, 140, battery[2]), 75)
    parts["chassis-frame"] = box((200, -230, 520), (rear + 250, 230, 800), 110)
    parts["axle-front"] = tube(
        [
            (v["front_overhang"], -0.42 * v["overall_width"], v["front_tyre"] / 2),
            (v["front_overhang"], 0.42 * v["overall_width"], v["front_tyre"] / 2),
        ],
        85,
        10,
        160,
    )
    parts["axle-rear"] = tube(
        [
            (rear, -0.45 * v["overall_width"], v["rear_tyre"] / 2),
            (rear, 0.45 * v["overall_width"], v["rear_tyre"] / 2),
        ],
        130,
        12,
        180,
    )
    parts["exhaust"] = tube(
        [(a - 260, 380, high - 350), (a - 260, 470, high - 340), (a - 260, 470, roof + 60)], 45, 10, 150
    )
    parts["fuel-tank"] = pillow((a - 80, -w + 20, 500), (a + 620, -330, floor - 90), 60, 95)
    parts |= _cab(v, a, b) | _wheels(v, rear)
    parts["link-arms"] = join(
        *(tube([(b - 60, s * 300, 560), (v["overall_length"], s * 420, 560)], 40, 8, 150) for s in (-1, 1))
    )
    parts["link-top"] = tube([(b + 20, 0, 900), (v["overall_length"] - 60, 0, 860)], 30, 8, 150)
    parts["step-left"] = join(
        *(flat(2, z, (a + 120, -w - 160), (a + 420, -w + 60), 90) for z in (450.0, 0.5 * (450 + floor)))
    )
    parts["cab-floor"] = flat(2, floor, (a, -w + 20), (b, w - 20), 80)
    parts["cab-rear-wall"] = flat(0, b, (-w + 20, floor), (w - 20, floor + 520), 75)
    front_of = a + 0.55 * v["cab_length"]
    for hand, s in HANDS:
        low, high_y = sorted((s * (w - 20), s * (w - 260)))
        parts[f"console-{hand}"] = join(
            flat(2, console, (front_of, low), (b, high_y), 75),
            flat(1, s * (w - 260), (front_of, floor), (b, console), 75),
            flat(0, front_of, (low, floor), (high_y, console), 75),
        )
        parts[f"side-wall-{hand}"] = flat(1, s * (w - 20), (front_of, floor), (b, console + 90), 75)
    parts["console-post-right"] = flat(1, w - 85, (b - 270, console - 60), (b - 20, liner), 70)
    parts["roof-shell"] = pillow((a - 120, -w - 60, liner), (b + 120, w + 60, roof), 75, 80)
    return parts


def _cab(v: Values, a: float, b: float) -> Parts:
    """Roll-over frame, glass, dash, steering, seat."""
    floor, w, high = v["cab_floor"], v["cab_width"] / 2, v["bonnet_height"]
    top = v["overall_height"] - ROOF
    parts: Parts = {}
    middle = a + 0.6 * v["cab_length"]
    for hand, s in HANDS:
        low, high_y = sorted((s * (w - 75), s * w))
        for name, x in (("front", a), ("middle", middle), ("rear", b - 75)):
            parts[f"frame-post-{name}-{hand}"] = box((x, low, floor), (x + 75, high_y, top), 80, "-z +z")
        parts[f"frame-rail-{hand}"] = box((a + 75, low, top - 80), (b - 75, high_y, top), 85, "-x +x")
        sill = floor + 40
        parts[f"glass-door-{hand}"] = flat(1, s * (w - 10), (a + 80, sill), (middle - 5, top - 85), 120)
        parts[f"glass-side-{hand}"] = flat(
            1, s * (w - 10), (middle + 80, floor + 530), (b - 80, top - 85), 120
        )
    for name, x in (("front", a), ("rear", b - 75)):
        parts[f"frame-beam-{name}"] = box((x, -w + 75, top - 80), (x + 75, w - 75, top), 85, "-y +y")
    parts["glass-front"] = flat(0, a + 20, (-w + 80, high - 25), (w - 80, top - 85), 120)
    parts["glass-rear"] = flat(0, b - 15, (-w + 80, floor + 530), (w - 80, top - 85), 120)
    dash = [(a + 60, high - 60), (a + 330, high - 60), (a + 400, high - 130), (a + 370, high - 330)]
    parts["dash-shell"] = folded(dash, -330, 330, 80)
    parts["steering-column"] = tube([(a + 170, 0, floor + 250), (a + 470, 0, floor + 790)], 35, 8)
    wheel = trimesh.creation.torus(major_radius=205, minor_radius=16, major_sections=28, minor_sections=8)
    lean = trimesh.transformations.rotation_matrix(np.radians(-28), [0, 1, 0])
    lean[:3, 3] = (a + 475, 0, floor + 800)
    wheel.apply_transform(lean)
    parts["steering-wheel"] = (np.asarray(wheel.vertices, float), np.asarray(wheel.faces, np.int64))
    parts["pedals"] = join(
        *(box((a + 220, y - 35, floor + 60), (a + 240, y + 35, floor + 170), 80) for y in (-230, 150, 250))
    )
    start = a + 0.5 * v["cab_length"]
    parts["seat-driver"] = seat(-245, 245, start, floor + 60, back=520)
    return parts


def _wheels(v: Values, rear: float) -> Parts:
    """Wheels with their rims, and fenders over the rear ones."""
    parts: Parts = {}
    half, w = v["overall_width"] / 2, v["cab_width"] / 2
    for name, x, tyre, broad in (
        ("front", v["front_overhang"], v["front_tyre"], 380.0),
        ("rear", rear, v["rear_tyre"], min(520.0, half - w + 180)),
    ):
        for hand, s in HANDS:
            outer = s * (half if name == "rear" else half - 110)
            low = min(outer, outer - s * broad)
            tread = drum(1, (x, low, tyre / 2), broad, tyre / 2, 130)
            rim = disc(1, (x, outer + s * 12, tyre / 2), 0.55 * tyre / 2, 2)
            parts[f"wheel-{name}-{hand}"] = join(tread, rim)
    radius = v["rear_tyre"] / 2 + 70
    for hand, s in HANDS:

        def place(u: Floats, t: Floats, s: float = s) -> list[Floats | float]:
            return [
                rear - radius * np.cos(u),
                s * (w + t * (half - 40 - w)),
                v["rear_tyre"] / 2 + radius * np.sin(u),
            ]

        parts[f"fender-{hand}"] = surface(np.linspace(0.25, 2.6, 18), np.linspace(0, 1, 6), place)
    return parts
