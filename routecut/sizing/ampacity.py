r"""Ampacity: what a conductor may carry where it runs, and how warm it gets.

Stage      sizing
Units      A, mm2, degrees C
Sources    33 CFR 183.425 Table 5 (single conductors, 30 degrees C); NEC 2014 Table
           310.15(B)(3)(a) and 33 CFR 183.425 note 2 for bundles; for hot spaces the square-root
           law sqrt((insulation - air) / (insulation - 30)), which the printed engine-space
           column follows within 0.75 A, and never more than the printed factor
Safe side  between two rows the straight line is taken, which lies below the curve; above the
           last row nothing is allowed more than the last row
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Final

from routecut.errors import OutOfRangeError
from routecut.model.sizing import Ampacity, Conductor
from routecut.sizing.conductors import awg_area_mm2
from routecut.tables import read_rows

TABLE_AIR_C: Final = 30.0
"""Air the ampacity table is drawn for. [degrees C]"""

HOT_SPACE_C: Final = 50.0
"""Air the printed engine-space factors are drawn for. [degrees C]"""

INSULATION_CLASSES_C: Final = (60, 75, 80, 90, 105, 125, 200)
"""Columns of the table. [degrees C]"""


def table_a(area_mm2: float, insulation_c: float) -> float:
    """What a single conductor in free air of 30 degrees C may carry. [A]

    Parameters
    ----------
    area_mm2 : float
        Copper. [mm2]
    insulation_c : float
        The column is the highest one that is not above it. [degrees C]

    Raises
    ------
    OutOfRangeError
        The area is not above 0, or the insulation stands less than the lowest column.

    Examples
    --------
    >>> table_a(awg_area_mm2("10"), 80.0)
    50.0
    """
    if not (math.isfinite(area_mm2) and area_mm2 > 0.0):
        raise OutOfRangeError(f"area_mm2 is {area_mm2}; more than 0 is wanted")
    points = _column(_class_of(insulation_c))
    smallest_area, smallest_a = points[0]
    if area_mm2 <= smallest_area:
        return smallest_a * area_mm2 / smallest_area
    for (low_area, low_a), (high_area, high_a) in pairwise(points):
        if area_mm2 <= high_area * (1.0 + 1e-9):
            return low_a + (high_a - low_a) * (area_mm2 - low_area) / (high_area - low_area)
    return points[-1][1]


def _class_of(insulation_c: float) -> int:
    fitting = [c for c in INSULATION_CLASSES_C if c <= insulation_c]
    if not fitting:
        raise OutOfRangeError(
            f"insulation_c is {insulation_c}; {INSULATION_CLASSES_C[0]} degrees C or more is wanted"
        )
    return fitting[-1]


@cache
def _column(insulation_c: int) -> tuple[tuple[float, float], ...]:
    return tuple(
        (awg_area_mm2(row["gauge"]), float(row[f"a{insulation_c}C"])) for row in read_rows("ampacity")
    )


def heat_factor(insulation_c: float, air_c: float) -> float:
    """What is left of the table where the air is warmer; never more than 1.

    Raises
    ------
    OutOfRangeError
        The air is as hot as the insulation stands, or hotter.

    Examples
    --------
    >>> heat_factor(105.0, 50.0)
    0.85
    """
    if not air_c < insulation_c:
        raise OutOfRangeError(
            f"air of {air_c:g} degrees C is too hot for an insulation that stands {insulation_c:g}"
        )
    if air_c <= TABLE_AIR_C:
        return 1.0
    law = math.sqrt((insulation_c - air_c) / (insulation_c - TABLE_AIR_C))
    if air_c < HOT_SPACE_C:
        return law
    printed = [
        float(row["factor"])
        for row in read_rows("engine_space_factors")
        if float(row["insulation_c"]) == insulation_c
    ]
    return min(law, *printed) if printed else law


def bundle_factor(conductors: int, *, sharper: bool = False) -> float:
    """What is left of the table for conductors that carry current side by side.

    Parameters
    ----------
    conductors : int
        That carry current, its own included.
    sharper : bool
        The factors for bundles of 33 CFR 183.425 as well, where they are lower.

    Examples
    --------
    >>> bundle_factor(2), bundle_factor(5), bundle_factor(5, sharper=True)
    (1.0, 0.8, 0.6)
    """
    if conductors < 1:
        raise OutOfRangeError(f"conductors is {conductors}; 1 or more is wanted")
    factors = [1.0]
    for row in read_rows("bundle_factors"):
        if row["rule"] == "bundle" and not sharper:
            continue
        high = float(row["to_conductors"]) if row["to_conductors"] else math.inf
        if float(row["from_conductors"]) <= conductors <= high:
            factors.append(float(row["factor"]))
    return min(factors)


def ampacity(conductor: Conductor, *, air_c: float, conductors: int, sharper: bool = False) -> Ampacity:
    """What a conductor may carry in the hottest air it passes and the largest bundle it runs in.

    Parameters
    ----------
    conductor : Conductor
    air_c : float
        [degrees C]
    conductors : int
        That carry current side by side, its own included.
    sharper : bool
        See `bundle_factor`.
    """
    single = table_a(conductor.area_mm2, conductor.insulation_c)
    if conductor.rated_a is not None:
        single = min(single, conductor.rated_a)
    return Ampacity(
        table_a=single,
        heat_factor=heat_factor(conductor.insulation_c, air_c),
        bundle_factor=bundle_factor(conductors, sharper=sharper),
        conductors=conductors,
        air_c=air_c,
    )


def copper_c(conductor: Conductor, allowed: Ampacity, current_a: float) -> float:
    r"""How warm the copper gets, carrying a current for long. [degrees C]

    Notes
    -----
    The rise goes with the square of the current and reaches what the insulation stands at the
    ampacity: :math:`T = T_{air} + (T_{ins} - T_{air}) (I / I_{allowed})^2`, and no more than
    that: beyond it the cable is refused.
    """
    share = min(current_a / allowed.allowed_a, 1.0)
    return allowed.air_c + (conductor.insulation_c - allowed.air_c) * share**2
