"""The outer form of the van as functions: how wide and how high it is at every station.

A section square to the vehicle's length is a side that leans in a little towards the top, a
rounded corner, and a top with a slight crown. The top line runs over bonnet, scuttle,
windscreen and roof, so one family of sections carries the whole outside. All mm.
"""

from __future__ import annotations

import numpy as np
from sheets import Field, Floats

NOSE, TAIL = 240.0, 6180.0
SKIRT = 330.0
FLOOR_CAB, FLOOR_LOAD = 560.0, 640.0
BULKHEAD = (1330.0, 1365.0)
PARTITION = (2800.0, 2835.0)
CAVITY = (2480.0, 3300.0)
FRONT_AXLE, REAR_AXLE = (1150.0, 350.0), (4750.0, 350.0)
TYRE, ARCH, ARCH_INNER = 350.0, 430.0, 680.0

_TOP = np.array(
    [
        (240, 790), (262, 850), (320, 915), (450, 975), (700, 1045), (1000, 1115), (1200, 1165), (1330, 1210),
        (1380, 1280), (1550, 1540), (1750, 1846), (1920, 2100), (2010, 2215), (2100, 2310), (2220, 2415),
        (2340, 2500), (2450, 2547), (2550, 2563), (2700, 2570), (5850, 2570),
        (6000, 2562), (6100, 2540), (6180, 2490),
    ],
    float,
)  # fmt: skip
_WIDTH = np.array(
    [(240, 770), (280, 830), (350, 885), (480, 930), (700, 960), (1000, 980), (1500, 990), (5800, 990),
     (6050, 980), (6180, 955)], float,
)  # fmt: skip
_CORNER = np.array(
    [(240, 90), (600, 110), (1200, 110), (1400, 130), (2000, 170), (2400, 190), (6000, 190),
     (6180, 170)], float,
)  # fmt: skip
_CROWN_MM, _CROWN_AT = 20.0, 750.0


def _smooth(table: Floats, x: Floats) -> Floats:
    """Cubic through the points of a table without overshoot (harmonic-mean slopes)."""
    xs, ys = table[:, 0], table[:, 1]
    width, slope = np.diff(xs), np.diff(ys) / np.diff(xs)
    same = slope[:-1] * slope[1:] > 0
    weight_a, weight_b = 2 * width[1:] + width[:-1], width[1:] + 2 * width[:-1]
    safe_a, safe_b = np.where(same, slope[:-1], 1.0), np.where(same, slope[1:], 1.0)
    inner = np.where(same, (weight_a + weight_b) / (weight_a / safe_a + weight_b / safe_b), 0.0)
    tangent = np.concatenate([[slope[0]], inner, [slope[-1]]])
    x = np.clip(np.asarray(x, float), xs[0], xs[-1])
    k = np.clip(np.searchsorted(xs, x, side="right") - 1, 0, len(width) - 1)
    t = (x - xs[k]) / width[k]
    a, b = (1 + 2 * t) * (1 - t) ** 2, t * t * (3 - 2 * t)
    c, d = t * (1 - t) ** 2, t * t * (t - 1)
    return np.asarray(a * ys[k] + b * ys[k + 1] + width[k] * (c * tangent[k] + d * tangent[k + 1]), float)


def top(x: Floats | float) -> Floats:
    """Height of the outside on the centre line. [mm]"""
    return _smooth(_TOP, np.asarray(x, float))


def crown(y: Floats | float) -> Floats:
    """How much lower the roof is beside the centre line. [mm]"""
    return np.asarray(_CROWN_MM * (np.asarray(y, float) / _CROWN_AT) ** 2, float)


def side(x: Floats | float, z: Floats | float) -> Floats:
    """Half width of the side wall at a height, corner not counted. [mm]"""
    height = np.asarray(z, float)
    lean = 0.07 * (np.maximum(height - 1000.0, 0) / 1500.0) ** 2
    tuck = 0.03 * (np.maximum(650.0 - height, 0) / 320.0) ** 2
    return np.asarray(_smooth(_WIDTH, np.asarray(x, float)) * (1 - lean - tuck), float)


def corner(x: Floats | float) -> tuple[Floats, Floats, Floats, Floats]:
    """The rounded corner of the section: middle (y, z) and its half axes in y and z. [mm]"""
    radius = _smooth(_CORNER, np.asarray(x, float))
    z_mid = top(x) - radius - 10.0
    width = side(x, z_mid)
    y_mid = width - radius
    return y_mid, z_mid, width - y_mid, top(x) - crown(y_mid) - z_mid


def half_width(x: Floats | float, z: Floats | float) -> Floats:
    """Half width of the outside at a height, 0 above the top. [mm]"""
    y_mid, z_mid, a, b = corner(x)
    height = np.asarray(z, float)
    up = np.clip((height - z_mid) / b, 0, 1)
    round_part = y_mid + a * np.sqrt(1 - up**2)
    flat_part = _CROWN_AT * np.sqrt(np.maximum(top(x) - height, 0) / _CROWN_MM)
    upper = np.where(height > z_mid + b, flat_part, round_part)
    return np.asarray(np.where(height <= z_mid, side(x, height), upper), float)


def height(x: Floats | float, y: Floats | float) -> Floats:
    """Height of the outside at a place, skirt height outside the side wall. [mm]"""
    y_mid, z_mid, a, b = corner(x)
    across = np.abs(np.asarray(y, float))
    round_part = z_mid + b * np.sqrt(np.maximum(1 - ((across - y_mid) / a) ** 2, 0))
    return np.asarray(np.where(across <= y_mid, top(x) - crown(across), round_part), float)


def within(inset: float = 0.0, at_x: float | None = None) -> Field:
    """A field that is positive inside the outer form, `inset` mm further in."""

    def field(points: Floats) -> Floats:
        x = points[:, 0] if at_x is None else np.full(len(points), at_x)
        across, up = np.abs(points[:, 1]), points[:, 2]
        y_mid, z_mid, a, b = corner(x)
        beside = side(x, up) - across
        below = top(x) - crown(across) - up
        out_y, out_z = (across - y_mid) / a, (up - z_mid) / b
        at_corner = (1 - np.hypot(np.maximum(out_y, 0), np.maximum(out_z, 0))) * np.minimum(a, b)
        outside_y, outside_z = out_y > 0, out_z > 0
        value = np.where(outside_y & outside_z, at_corner, np.minimum(beside, below))
        return np.asarray(value - inset, float)

    return field


def in_arch(axle: tuple[float, float], radius: float = ARCH) -> Field:
    """A field that is positive inside the wheel arches of an axle."""

    def field(points: Floats) -> Floats:
        out = np.hypot(points[:, 0] - axle[0], points[:, 2] - axle[1])
        return np.asarray(np.minimum(radius - out, np.abs(points[:, 1]) - ARCH_INNER), float)

    return field


def roof_inner(y: Floats | float) -> Floats:
    """Height of the inner roof sheet. [mm]"""
    return np.asarray(2516.0 - crown(y), float)
