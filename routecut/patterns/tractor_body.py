"""The body of a tractor: bonnet, roll-over frame, cab, wheels. All mm."""

from __future__ import annotations

import numpy as np
import trimesh

from routecut.patterns.form import Form
from routecut.patterns.measurements import Point, Values
from routecut.patterns.road import HANDS, Parts
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
WHEEL_OFF = 60.0
"""Between the side of the cab and the inner side of a rear wheel."""
CABLE_GAP = 60.0
"""Between the top of a console and the wall beside it."""
FOOT = 90.0
"""Height of the opening at the foot of a console's front."""
BONNET_LOW = 820.0
BONNET_HALF = 390.0


def tractor_form(v: Values) -> Form:
    """The outside of the bonnet."""
    high, n = v["bonnet_height"], v["bonnet_length"] - 40
    top = ((0, high - 330), (40, high - 210), (120, high - 130), (300, high - 80), (n, high))
    wide = ((0, 0.78 * BONNET_HALF), (60, 0.9 * BONNET_HALF), (250, BONNET_HALF), (n, BONNET_HALF))
    return Form(top, wide, ((0, 60), (300, 80), (n, 80)), crown_at=300, lean=0.0, tuck=0.0)


def tractor_parts(v: Values, battery: Point) -> Parts:
    """All sheets of the tractor by part; the battery by the middle of its top."""
    a, b = v["bonnet_length"], v["bonnet_length"] + v["cab_length"]
    floor, roof, w = v["cab_floor"], v["overall_height"], v["cab_width"] / 2
    high, form = v["bonnet_height"], tractor_form(v)
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
        # cables go in at its foot and come up beside the wall
        low, high_y = sorted((s * (w - 20), s * (w - 260)))
        edges = sorted((s * (w - 20 - CABLE_GAP), s * (w - 260)))
        parts[f"console-{hand}"] = join(
            flat(2, console, (front_of, edges[0]), (b, edges[1]), 75),
            flat(1, s * (w - 260), (front_of, floor), (b, console), 75),
            flat(0, front_of, (low, floor + FOOT), (high_y, console), 75),
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
        ("rear", rear, v["rear_tyre"], min(520.0, half - w - WHEEL_OFF)),
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
