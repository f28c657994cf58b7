"""Makes `body.glb`, the body of an invented tractor for the slipway, from nothing but figures.

Run ``python make_tractor.py`` in any folder: the file is written beside this script. The same
figures give the same bytes. Coordinates in the file are metres in ISO 4130 axes: X rearward
(0 is the front of the bonnet), Y to the right (0 is the middle), Z up (0 is the ground).
Bonnet, roll-over frame, cab and wheels are those of the pattern "tractor"; a cover before the
left rear post and the boxes of the fit-out are made here.
"""

from __future__ import annotations

from pathlib import Path

from routecut.patterns.files import write_body
from routecut.patterns.road import Parts
from routecut.patterns.sheets import box, flat
from routecut.patterns.tractor_body import tractor_parts

TRACTOR = {
    "overall_length": 4200.0,
    "front_overhang": 700.0,
    "wheelbase": 2450.0,
    "bonnet_length": 1950.0,
    "cab_length": 1550.0,
    "cab_width": 1600.0,
    "overall_width": 2300.0,
    "overall_height": 2800.0,
    "bonnet_height": 1650.0,
    "cab_floor": 1050.0,
    "front_tyre": 1200.0,
    "rear_tyre": 1700.0,
}
"""What a tape says. [mm]"""

BATTERY = (270.0, 0.0, 1050.0)
"""Middle of the top of the two batteries, in series in one box. [mm]"""

UNITS = {
    "unit-voice-radio": ((3205, -715, 1488), (3375, -575, 1540)),
    "unit-distribution": ((2995, -690, 1488), (3125, -610, 1530)),
    "unit-hailer": ((3005, 590, 1488), (3175, 705, 1550)),
}
"""Boxes of the fit-out that a cable can't go through: low and high corner. [mm]"""


def parts() -> Parts:
    """Every part of the tractor by name. [mm]"""
    made = tractor_parts(TRACTOR, BATTERY)
    made["post-cover-left"] = flat(0, 3420, (-790, 1480), (-560, 2610), 75)
    return made | {name: box(low, high, 75) for name, (low, high) in UNITS.items()}


def main() -> None:
    """Writes the file and says what is in it."""
    print(write_body(Path(__file__).with_name("body.glb"), parts()))


if __name__ == "__main__":
    main()
