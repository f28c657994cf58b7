"""The outer form of the van: its figures, as functions of the family that all bodies here share. All mm."""

from __future__ import annotations

import numpy as np

from routecut.patterns.form import Form
from routecut.patterns.form import in_arch as arches
from routecut.patterns.sheets import Field, Floats

NOSE, TAIL = 240.0, 6180.0
SKIRT = 330.0
FLOOR_CAB, FLOOR_LOAD = 560.0, 640.0
BULKHEAD = (1330.0, 1365.0)
PARTITION = (2800.0, 2835.0)
CAVITY = (2480.0, 3300.0)
FRONT_AXLE, REAR_AXLE = (1150.0, 350.0), (4750.0, 350.0)
TYRE, ARCH, ARCH_INNER = 350.0, 430.0, 680.0

_TOP = (
    (240, 790), (262, 850), (320, 915), (450, 975), (700, 1045), (1000, 1115), (1200, 1165), (1330, 1210),
    (1380, 1280), (1550, 1540), (1750, 1846), (1920, 2100), (2010, 2215), (2100, 2310), (2220, 2415),
    (2340, 2500), (2450, 2547), (2550, 2563), (2700, 2570), (5850, 2570),
    (6000, 2562), (6100, 2540), (6180, 2490),
)  # fmt: skip
_WIDTH = (
    (240, 770), (280, 830), (350, 885), (480, 930), (700, 960), (1000, 980), (1500, 990), (5800, 990),
    (6050, 980), (6180, 955),
)  # fmt: skip
_CORNER = (
    (240, 90), (600, 110), (1200, 110), (1400, 130), (2000, 170), (2400, 190), (6000, 190), (6180, 170),
)  # fmt: skip
VAN = Form(_TOP, _WIDTH, _CORNER)
top, crown, corner = VAN.top, VAN.crown, VAN.corner
side, half_width, height, within = VAN.side, VAN.half_width, VAN.height, VAN.within


def in_arch(axle: tuple[float, float], radius: float = ARCH) -> Field:
    """A field that is positive inside the wheel arches of an axle."""
    return arches(axle, radius, ARCH_INNER)


def roof_inner(y: Floats | float) -> Floats:
    """Height of the inner roof sheet. [mm]"""
    return np.asarray(2516.0 - crown(y), float)
