"""Bonding straps: short, wide, and of low resistance with both ends.

Stage      sizing
Units      m, mm2, ohm
Sources    FAA AC 43.13-1B par. 11-188f (less than 2.5 mohm to structure) and par. 11-189 (as
           short as practicable); flat braid 3/4 in wide has 20 800 circular mils and is at most
           6 in long: avionics installation guidance, read in excerpt
"""

from __future__ import annotations

from typing import Final

from routecut.sizing.conductors import CLASS_5, COPPER_OHM_MM2_PER_M, MM2_PER_CMIL

BRAID_MM2_PER_MM: Final = 20_800 * MM2_PER_CMIL / (0.75 * 25.4)
"""Copper of a flat braid for each millimetre of its width. [mm2/mm]"""


def braid_area_mm2(width_m: float) -> float:
    """Copper of a flat braid of a width. [mm2]

    Examples
    --------
    >>> braid_area_mm2(0.01905)
    10.54
    """
    return BRAID_MM2_PER_MM * width_m * 1000.0


def bond_resistance_ohm(length_m: float, area_mm2: float, joint_ohm: float) -> float:
    """A strap with a joint at each end, at 20 degrees C; its strands lie crosswise. [ohm]"""
    return CLASS_5 * COPPER_OHM_MM2_PER_M / area_mm2 * length_m + 2.0 * joint_ohm
