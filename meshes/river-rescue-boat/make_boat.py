"""Makes `body.glb`, the body of an invented river rescue boat, from nothing but figures.

Run ``python make_boat.py`` in any folder: the file is written beside this script. The same
figures give the same bytes. Coordinates in the file are metres in ISO 4130 axes: X rearward
(0 is the stem), Y to starboard (0 is the middle), Z up (0 is the lowest point of the keel).
Hull, decks and wheelhouse are those of the pattern "small boat"; shelf, battery locker, grab rail
and the boxes of the fit-out are made here.
"""

from __future__ import annotations

from pathlib import Path

from routecut.patterns.boat_body import Hull, boat_parts
from routecut.patterns.files import write_body
from routecut.patterns.road import Parts
from routecut.patterns.sheets import box, flat, tube

BOAT = {
    "hull_length": 7000.0,
    "beam": 2500.0,
    "transom_width": 2200.0,
    "gunwale_height": 1250.0,
    "bow_height": 1600.0,
    "wheelhouse_front": 2300.0,
    "wheelhouse_length": 2000.0,
    "wheelhouse_width": 1850.0,
    "sole_height": 560.0,
    "headroom": 2050.0,
    "window_sill": 1050.0,
    "cockpit_sole": 620.0,
}
"""What a tape says. [mm]"""

BATTERY = (4600.0, -760.0, 860.0)
"""Middle of the battery's top, in its locker. [mm]"""

UNITS = {
    "unit-voice-radio": ((2480, -725, 1008), (2650, -555, 1060)),
    "unit-distribution": ((2515, -390, 1008), (2600, -250, 1050)),
    "unit-marine-radio": ((2560, -500, 1620), (2690, -340, 1700)),
}
"""Boxes of the fit-out that a cable can't go through: low and high corner. [mm]"""


def parts() -> Parts:
    """Every part of the boat by name. [mm]"""
    made = boat_parts(BOAT, Hull(BOAT), BATTERY)
    made["equipment-shelf"] = flat(2, 1000, (2380, -885), (2720, -80), 75)
    made["locker"] = box((4380, -940, 620), (4820, -590, 960), 75, "-z")
    made["grab-rail-left"] = tube([(2900, -850, 2400), (4100, -850, 2400)], 16, 8)
    return made | {name: box(low, high, 75) for name, (low, high) in UNITS.items()}


def main() -> None:
    """Writes the file and says what is in it."""
    print(write_body(Path(__file__).with_name("body.glb"), parts()))


if __name__ == "__main__":
    main()
