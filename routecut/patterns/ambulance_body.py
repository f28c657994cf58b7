"""The body of an ambulance with a module of its own. All mm."""

from __future__ import annotations

from routecut.patterns.measurements import Values
from routecut.patterns.road import HANDS, Parts, Road, back, fascia, skin, wheels
from routecut.patterns.road_frame import arches, bow, bulkhead, engine_bay, floor, posts, underbody
from routecut.patterns.road_inside import Point, cab_trim, dash, machinery, running_gear, seat
from routecut.patterns.sheets import box, flat, join, pillow, round_hole, rounded, trim, with_panes

GAP = 60.0
"""Between the rear wall of the cab and the front wall of the module."""
CABLE_GAP = 60.0
"""Between the top of the front cabinet and the wall behind it."""


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
        fields = {f"glass-module-{hand}": pane}
        if sign > 0:
            door = rounded((0, 2), (first + 260, low + 20), (first + 1010, roof - 260), 60)
            fields["module-door-side"] = door
        parts |= with_panes(wall, fields, f"module-side-{hand}")
        z = (r.load_floor + 1150, roof - 120)
        parts[f"module-lining-{hand}"] = flat(
            1, sign * (half - 48), (first + 700 if sign < 0 else first + 1150, z[0]), (tail - 120, z[1]), 95
        )
    parts["module-lining-roof"] = flat(2, roof - 52, (first + 120, -half + 130), (tail - 130, half - 130), 90)
    for name, a, b in (("left", -half, 0.0), ("right", 0.0, half)):
        leaf = flat(0, tail, (a, low), (b, roof), 80)
        edge = sorted((a * 0.85, a * 0.15 if a else b * 0.15)) if a else [b * 0.15, b * 0.85]
        pane = rounded((1, 2), (edge[0], roof - 1150), (edge[1], roof - 450), 50)
        parts |= with_panes(leaf, {f"glass-module-rear-{name}": pane}, f"module-door-rear-{name}")
    parts["module-portal"] = join(
        *(
            flat(0, tail - 70, (a, r.load_floor), (b, roof), 80)
            for a, b in ((-half, -half + 90), (half - 90, half))
        )
    )
    bench = r.load_floor + 900
    parts["cabinet-front"] = join(
        # its top stops short of the wall: cables come up behind it
        flat(2, bench, (first + CABLE_GAP, -half), (first + 560, -half + 720), 80),
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


def ambulance_parts(
    v: Values, r: Road, battery: tuple[float, float], tank: tuple[Point, Point], filler: tuple[Point, Point]
) -> Parts:
    """All sheets of the ambulance by part."""
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
