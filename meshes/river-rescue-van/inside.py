"""Inside and underneath: trim, dash, seats, controls, machinery and the radio boxes. All mm."""

from __future__ import annotations

import form
import numpy as np
import trimesh
from outside import Parts
from structure import FRAME, HANDS, along_side

from routecut.patterns.sheets import box, flat, folded, join, pillow, tube

STEERING = ((1440.0, -420.0, 800.0), (1960.0, -420.0, 1160.0))
EXHAUST = ((900.0, 330.0, 460.0), (1200.0, 430.0, 300.0), (1500.0, 600.0, 270.0), (4200.0, 600.0, 270.0),
           (4450.0, 560.0, 270.0), (5200.0, 560.0, 270.0), (6150.0, 700.0, 270.0))  # fmt: skip
FILLER = ((3700.0, -320.0, 420.0), (4230.0, -945.0, 860.0))
ORANGE = ((1380.0, -560.0, 430.0), (3870.0, -560.0, 430.0), (3950.0, -340.0, 420.0))


def trim_parts() -> Parts:
    """What comes off for service: linings 45 to 60 mm off their panels, with open edges."""
    parts: Parts = {}
    for hand, sign in HANDS:
        parts[f"kick-trim-{hand}"] = along_side(sign, (1480, 1660), (720, 1020), FRAME + 47)
        low, high = sorted((sign * 955.0, sign * 857.0))
        cover = flat(2, 697, (1680, low), (2600, high))
        parts[f"sill-trim-{hand}"] = join(cover, flat(1, sign * 857, (1680, 600), (2600, 697)))
        parts[f"b-post-trim-{hand}"] = along_side(sign, (2620, 2770), (740, 2200), FRAME + 47)
        # the right side wall is lined behind the sliding door only
        lower, upper = ((2900, 4320), (2900, 5900)) if sign < 0 else ((5200, 5900), (4240, 5900))
        parts[f"side-lining-lower-{hand}"] = along_side(sign, lower, (700, 930), 62)
        parts[f"side-lining-upper-{hand}"] = along_side(sign, upper, (1180, 2260), 62, 80)
    return parts


def dash() -> Parts:
    """Dash shell, open below; the steel beam behind it with its stays; heater box; controls."""
    shell = [(1395, 1222), (1700, 1240), (1785, 1205), (1812, 1090), (1775, 940), (1690, 850)]
    parts: Parts = {"dash-trim": folded(shell, -890, 890, 75)}
    parts["dash-beam"] = tube([(1620, -972, 1080), (1620, 972, 1080)], 35, 10, 75)
    for hand, sign in HANDS:
        parts[f"dash-stay-{hand}"] = flat(1, sign * 120, (1560, form.FLOOR_CAB), (1680, 1050), 60)
        parts[f"dash-bracket-{hand}"] = flat(1, sign * 682, (form.BULKHEAD[1], 1010), (1590, 1120), 60)
    parts["heater-box"] = pillow((1395, -200, 740), (1530, 200, 1150), 25)
    parts["steering-column"] = tube(STEERING, 30)
    wheel = trimesh.creation.torus(major_radius=190, minor_radius=16, major_sections=32, minor_sections=8)
    lean = trimesh.transformations.rotation_matrix(np.radians(-58), [0, 1, 0])
    lean[:3, 3] = STEERING[1]
    wheel.apply_transform(lean)
    parts["steering-wheel"] = (np.asarray(wheel.vertices, float), np.asarray(wheel.faces, np.int64))
    pedals = [box((1560, y - 35, 640), (1580, y + 35, 730), 60) for y in (-480.0, -360.0)]
    arms = [tube([(1470, y, 900), (1570, y, 700)], 10, 6) for y in (-480.0, -360.0)]
    parts["pedals"] = join(*pedals, *arms)
    return parts


def seats() -> Parts:
    """Driver's seat and a double seat for the crew, each on its base."""
    parts: Parts = {}
    for name, low, high in (("driver", -680.0, -190.0), ("crew", 0.0, 800.0)):
        parts[f"seat-base-{name}"] = box((1980, low + 30, form.FLOOR_CAB), (2420, high - 30, 800), 75, "-z")
        cushion = pillow((1920, low, 800), (2460, high, 930), 45, 80)
        back = pillow((2370, low, 900), (2530, high, 1560), 55, 80)
        lean = 0.18 * (back[0][:, 2] - 900)
        leaned = back[0] + np.column_stack([lean, np.zeros((len(lean), 2))])
        middle = (low + high) / 2
        head = pillow((2515, middle - 130, 1590), (2600, middle + 130, 1760), 35)
        parts[f"seat-{name}"] = join(cushion, (leaned, back[1]), head)
    return parts


def machinery() -> Parts:
    """Engine, radiator, battery, exhaust, tank and filler, traction pack and its orange line."""
    block = pillow((560, -330, 420), (1150, 330, 990), 60, 75)
    cover = pillow((620, -220, 960), (1090, 220, 1030), 30, 75)
    parts: Parts = {
        "engine-block": join(block, cover),
        "radiator": box((440, -335, 425), (490, 335, 855), 75),
        "battery": box((560, 400, 620), (840, 590, 810), 70),
        "coolant-bottle": pillow((900, -600, 760), (1010, -470, 930), 30),
        "exhaust": tube(EXHAUST, 32, 8, 140),
        "silencer": pillow((4500, 460, 190), (5100, 660, 350), 60, 80),
        "fuel-tank": pillow((2960, -330, 270), (3760, 330, 470), 50, 80),
        "fuel-filler": tube(FILLER, 30),
        "traction-pack": pillow((3850, -340, 290), (4340, 340, 480), 20, 80),
        "orange-line": tube(ORANGE, 14, 8),
    }
    return parts


UNITS = {
    "unit-voice-radio": ((3670, -760, 1004), (3830, -440, 1058)),
    "unit-distribution": ((3200, -640, 1004), (3260, -450, 1055)),
    "unit-hailer": ((2847, -600, 1300), (2905, -300, 1520)),
    "unit-modem": ((2847, 0, 1300), (2890, 200, 1410)),
}


def units() -> Parts:
    """The boxes of the fit-out that a cable can't go through."""
    return {name: box(low, high, 75) for name, (low, high) in UNITS.items()}


def everything() -> Parts:
    """All of it by name."""
    parts: Parts = {}
    for make in (trim_parts, dash, seats, machinery, units):
        parts.update(make())
    return parts
