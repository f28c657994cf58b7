"""Inside a road vehicle's cab and under it: trim, dash, seats, controls, machinery. All mm."""

from __future__ import annotations

import numpy as np
import trimesh

from routecut.patterns.road import HANDS, NOSE, Parts, Road
from routecut.patterns.road_frame import DOUBLE, FRAME, along_side, battery_low, under_roof
from routecut.patterns.sheets import Sheet, box, flat, folded, join, pillow, tube

Point = tuple[float, float, float]


def dash_face(r: Road) -> float:
    """How far to the rear the dash reaches. [mm]"""
    return r.cowl_x + 480.0


def steering(r: Road) -> tuple[Point, Point]:
    """The steering column, from the bulkhead to the middle of the wheel."""
    y = -0.42 * r.half
    return (r.cowl_x + 110, y, r.cowl_z - 380), (r.cowl_x + 610, y, r.cowl_z - 40)


def cab_trim(r: Road, *, post_end: float, roof: tuple[float, float], sill_end: float | None = None) -> Parts:
    """What comes off for service: linings about 45 mm off their panels, with open edges."""
    parts: Parts = {}
    form = r.form
    first, last = r.cowl_x + 210, sill_end or r.post_x + 40
    inner = float(form.side(r.post_x, r.floor)) - FRAME
    for hand, sign in HANDS:
        kick = ((first - 140, first + 50), (r.floor + 160, r.floor + 420))
        parts[f"kick-trim-{hand}"] = along_side(form, sign, *kick, inset=FRAME + 47)
        low, high = sorted((sign * (inner + 50), sign * (inner - 48)))
        cover = flat(2, r.floor + 137, (first + 70, low), (last, high))
        face = flat(1, sign * (inner - 48), (first + 70, r.floor + 40), (last, r.floor + 137))
        parts[f"sill-trim-{hand}"] = join(cover, face)
        parts[f"b-post-trim-{hand}"] = along_side(
            form, sign, (r.post_x + 60, post_end - 30), (r.floor + 180, r.height - 330), inset=FRAME + 47
        )
    parts["headlining"] = under_roof(form, roof, 0.68 * r.half, 58)
    return parts


def dash(r: Road) -> Parts:
    """Dash shell, open below; the steel beam behind it with its stays; heater box; controls."""
    x, z, w = r.cowl_x, r.cowl_z, 0.89 * r.half
    shell = [
        (x + 70, z + 8),
        (x + 370, z + 22),
        (x + 455, z - 12),
        (x + 482, z - 125),
        (x + 445, z - 270),
        (x + 360, z - 350),
    ]
    parts: Parts = {"dash-trim": folded(shell, -w, w, 80)}
    beam_w = 0.95 * r.half
    parts["dash-beam"] = tube([(x + 290, -beam_w, z - 130), (x + 290, beam_w, z - 130)], 33, 10, 80)
    for hand, sign in HANDS:
        parts[f"dash-stay-{hand}"] = flat(1, sign * 120, (x + 230, r.floor), (x + 350, z - 160), 65)
        at = sign * (r.arch_inner + 2)
        parts[f"dash-bracket-{hand}"] = flat(1, at, (x + DOUBLE, z - 200), (x + 260, z - 90), 65)
    # on the bulkhead: nothing is pulled through behind it
    parts["heater-box"] = pillow((x + DOUBLE + 2, -200, z - 470), (x + 200, 200, z - 60), 25, 70)
    parts["steering-column"] = tube(steering(r), 30)
    wheel = trimesh.creation.torus(major_radius=188, minor_radius=16, major_sections=28, minor_sections=8)
    lean = trimesh.transformations.rotation_matrix(np.radians(-58), [0, 1, 0])
    lean[:3, 3] = steering(r)[1]
    wheel.apply_transform(lean)
    parts["steering-wheel"] = (np.asarray(wheel.vertices, float), np.asarray(wheel.faces, np.int64))
    y = -0.42 * r.half
    parts["pedals"] = join(
        *(
            box((x + 215, y + dy - 32, r.floor + 70), (x + 235, y + dy + 32, r.floor + 155), 70)
            for dy in (-60, 60)
        ),
        *(
            tube([(x + 130, y + dy, r.floor + 330), (x + 222, y + dy, r.floor + 130)], 10, 6)
            for dy in (-60, 60)
        ),
    )
    return parts


def seat(low: float, high: float, front: float, floor: float, *, back: float = 640.0) -> Sheet:
    """A seat with base, cushion, leaning back and head rest; `front` is where its cushion begins."""
    base = box((front + 60, low + 40, floor), (front + 420, high - 40, floor + 240), 85, "-z")
    cushion = pillow((front, low, floor + 240), (front + 500, high, floor + 370), 45, 85)
    rest = pillow((front + 420, low, floor + 340), (front + 560, high, floor + 340 + back), 50, 85)
    leaned = rest[0].copy()
    leaned[:, 0] += 0.2 * (rest[0][:, 2] - floor - 340)
    heads = []
    count = 3 if high - low > 1000 else 2 if high - low > 650 else 1
    for k in range(count):
        middle = low + (k + 0.5) * (high - low) / count
        x = front + 455 + 0.2 * back
        heads.append(
            pillow((x, middle - 120, floor + 365 + back), (x + 85, middle + 120, floor + 530 + back), 35, 80)
        )
    return join(base, cushion, (leaned, rest[1]), *heads)


def machinery(r: Road, *, battery: tuple[float, float]) -> Parts:
    """Engine, radiator and battery."""
    x0, x1 = engine_x(r)
    top = r.nose_z - 15
    block = pillow((x0, -310, 420), (x1, 310, top - 60), 60, 80)
    cover = pillow((x0 + 50, -210, top - 90), (x1 - 60, 210, top), 30, 80)
    low = battery_low(r)
    bx, by = battery
    return {
        "engine-block": join(block, cover),
        "radiator": box((NOSE + 200, -350, 420), (NOSE + 245, 350, r.nose_z - 100), 80),
        "battery": box((bx - 140, by - 90, low), (bx + 140, by + 90, low + 190), 75),
    }


def engine_x(r: Road) -> tuple[float, float]:
    """Front and rear of the engine."""
    return NOSE + 270, r.cowl_x - 190


def exhaust_line(r: Road, end: float, side: float = 0.55) -> list[Point]:
    """The exhaust from the engine to the tail; `side` is where it lies, in half widths, right is above 0."""
    y = side * r.half
    z = min(265.0, r.floor - 110)
    _, rear = engine_x(r)
    return [
        (rear - 60, 0.3 * y, 430),
        (r.cowl_x + 60, 0.75 * y, 300),
        (r.cowl_x + 350, y, z),
        (r.rear_axle - 500, y, z),
        (end - 60, 1.05 * y, z),
    ]


def running_gear(
    r: Road, *, end: float, tank: tuple[Point, Point], filler: tuple[Point, Point], side: float = 0.55
) -> Parts:
    """Exhaust with silencer, tank and filler; `tank` is a box, `filler` a line."""
    line = exhaust_line(r, end, side)
    y = side * r.half
    return {
        "exhaust": tube(line, 32, 8, 160),
        "silencer": pillow(
            (r.rear_axle - 1150, y - 100, line[-1][2] - 70),
            (r.rear_axle - 560, y + 100, line[-1][2] + 75),
            60,
            85,
        ),
        "fuel-tank": pillow(*tank, 50, 85),
        "fuel-filler": tube(filler, 30, 8),
    }
