r"""Conductors: areas and resistances of wire by gauge, by SAE size and by square millimetre.

Stage      sizing
Units      mm2, ohm/m, degrees C
Sources    gauge: ASTM B258 law, diameter 0.005 in x 92^((36 - n) / 39); copper: 1/58 ohm mm2/m
           at 20 degrees C (100 % IACS, IEC 60028); temperature: (234.5 + T) / 254.5, FAA AC
           43.13-1B par. 11-66d(4); the tables named in `routecut/tables/SOURCES.md`
Safe side  where sources differ, the smaller area and the larger resistance are used. Area is
           not gauge: a wire of SAE size has less copper than its AWG number says.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Final

from routecut.errors import OutOfRangeError
from routecut.model.job import CableType
from routecut.model.sizing import Conductor
from routecut.tables import how_known, read_rows

COPPER_OHM_MM2_PER_M: Final = 1.0 / 58.0
"""Annealed copper at 20 degrees C, exact by convention. [ohm mm2/m]"""

ZERO_RESISTANCE_C: Final = 234.5
"""Minus the temperature at which the straight line of copper's resistance meets zero. [degrees C]"""

MM2_PER_CMIL: Final = math.pi / 4.0 * 0.0254**2
"""Area of a circle of one mil. [mm2]"""

STRANDING: Final = 1.03
"""A stranded conductor over a solid one of the same copper: strands lie in a helix.

The stranded rows of NEC chapter 9 table 8 that were read (6 to 1/0 AWG) lie 1.7 to 2.7 % above
the solid law; rounded up.
"""

CLASS_5: Final = 1.16
"""Largest resistance IEC 60228 allows a class 5 conductor, over that of its nominal area.

The rows read lie at 1.10 to 1.16; used for sizes that the table lacks.
"""

_FT_PER_KM: Final = 1000.0 / 0.3048


def gauge_number(gauge: str) -> int:
    """AWG number of a gauge as written; 1/0 is 0, 2/0 is -1, and so on.

    Raises
    ------
    OutOfRangeError
        It is no gauge from 4/0 to 40.

    Examples
    --------
    >>> gauge_number("10"), gauge_number("2/0"), gauge_number("00")
    (10, -1, -1)
    """
    text = gauge.strip()
    if text.endswith("/0") and text[:-2] in {"1", "2", "3", "4"}:
        return 1 - int(text[:-2])
    if text and set(text) == {"0"} and len(text) <= 4:
        return 1 - len(text)
    if text.isdecimal() and len(text) <= 2 and 0 < int(text) <= 40:
        return int(text)
    raise OutOfRangeError(f"{gauge!r} is no wire gauge; wanted is 4/0 to 40")


def awg_area_mm2(gauge: str) -> float:
    """Copper area of a solid conductor of an AWG size. [mm2]

    Examples
    --------
    >>> awg_area_mm2("10")
    5.261
    """
    diameter_mm: float = 0.127 * 92.0 ** ((36 - gauge_number(gauge)) / 39.0)
    return float(math.pi / 4.0 * diameter_mm**2)


def resistance_ohm(r20_ohm_per_m: float, length_m: float, copper_c: float) -> float:
    """Resistance of a length of copper at a temperature. [ohm]

    Parameters
    ----------
    r20_ohm_per_m : float
        At 20 degrees C. [ohm/m]
    length_m : float
        [m]
    copper_c : float
        Above -234.5. [degrees C]

    Raises
    ------
    OutOfRangeError
        A value is not finite, or negative where it may not be.

    Examples
    --------
    >>> resistance_ohm(0.001, 10.0, 75.0)
    0.01216
    """
    if not (math.isfinite(r20_ohm_per_m) and r20_ohm_per_m >= 0.0):
        raise OutOfRangeError(f"r20_ohm_per_m is {r20_ohm_per_m}; 0 or more is wanted")
    if not (math.isfinite(length_m) and length_m >= 0.0):
        raise OutOfRangeError(f"length_m is {length_m}; 0 or more is wanted")
    if not (math.isfinite(copper_c) and copper_c > -ZERO_RESISTANCE_C):
        raise OutOfRangeError(f"copper_c is {copper_c}; more than -{ZERO_RESISTANCE_C} is wanted")
    return r20_ohm_per_m * length_m * (ZERO_RESISTANCE_C + copper_c) / (ZERO_RESISTANCE_C + 20.0)


def conductor_of(cable_type: CableType, *, insulation_c: float) -> Conductor | None:
    """The conductor of a wire, or None when nothing is known of it.

    Parameters
    ----------
    cable_type : CableType
        From the catalogue, or the job's own with its copper area.
    insulation_c : float
        What the insulation of a wire stands whose sheet doesn't say. [degrees C]
    """
    if cable_type.conductor_mm2 is not None:
        area = cable_type.conductor_mm2
        return Conductor(
            name=f"{area:g} mm\N{SUPERSCRIPT TWO}",
            area_mm2=area,
            r20_ohm_per_m=CLASS_5 * COPPER_OHM_MM2_PER_M / area,
            insulation_c=insulation_c,
            source=f"area set by this job; class 5 of IEC 60228: {CLASS_5:g} x solid copper",
        )
    if not cable_type.conductor:
        return None
    standard, _, size = cable_type.conductor.rpartition(" ")
    if standard == "SAE":
        return sae_conductor(size, insulation_c=insulation_c)
    if standard == "thin-wall":
        return thin_wall_conductor(size)
    raise OutOfRangeError(f"{cable_type.name}: there is no conductor {cable_type.conductor!r}")


def sae_conductor(gauge: str, *, insulation_c: float) -> Conductor:
    """Vehicle wire of an SAE size: less copper than the AWG size of the same number.

    Raises
    ------
    OutOfRangeError
        The table has no such size.
    """
    row = _row("wire_sae", "gauge", gauge)
    # Minima are from memory: they may make an area smaller than what was read, never larger.
    areas = [float(row["sae_min_area_cmil_from_memory"]) * MM2_PER_CMIL, awg_area_mm2(gauge)]
    if row["strand_area_cmil"]:
        areas.append(float(row["strand_area_cmil"]) * MM2_PER_CMIL)
    area = min(areas)
    candidates = [STRANDING * COPPER_OHM_MM2_PER_M / area]
    printed = _optional_row("wire_stranded_75c", "gauge", gauge)
    if printed is not None:
        at_75 = float(printed["r75_ohm_per_kft"]) * _FT_PER_KM / 1e6
        candidates.append(at_75 / resistance_ohm(1.0, 1.0, 75.0))
    return Conductor(
        name=f"{gauge} AWG (SAE)",
        area_mm2=area,
        r20_ohm_per_m=max(candidates),
        insulation_c=insulation_c,
        source=f"{row['source']} ({how_known(row['provenance'])}); {STRANDING:g} x solid copper",
    )


def thin_wall_conductor(size: str) -> Conductor:
    """Thin-wall vehicle wire by square millimetre.

    Raises
    ------
    OutOfRangeError
        The table has no such size.
    """
    row = _row("wire_thin_wall", "area_mm2", size)
    nominal = float(size)
    printed = _optional_row("wire_iec60228", "area_mm2", size)
    r20 = (
        float(printed["class5_plain_ohm_per_km"]) / 1000.0
        if printed is not None
        else CLASS_5 * COPPER_OHM_MM2_PER_M / nominal
    )
    return Conductor(
        name=f"{size} mm\N{SUPERSCRIPT TWO}",
        # the copper that resistance stands for: what carries current, not what is on the label
        area_mm2=min(nominal, STRANDING * COPPER_OHM_MM2_PER_M / r20),
        r20_ohm_per_m=r20,
        insulation_c=105.0,
        rated_a=float(row["nominal_amps"]),
        source=f"{row['source']} ({how_known(row['provenance'])}); IEC 60228 class 5",
    )


def tinned_r20_ohm_per_m(gauge: str) -> float:
    """Largest resistance of tinned aircraft wire at 20 degrees C, as printed. [ohm/m]

    Source: FAA AC 43.13-1B CHG1 Table 11-9.
    """
    return float(_row("wire_tinned", "gauge", gauge)["rmax20_ohm_per_kft"]) * _FT_PER_KM / 1e6


def true_area_of_outside_mm(sold_as_mm: float) -> float | None:
    """Copper of vehicle cable that is sold by an outside size, not by its area. [mm2]

    Returns
    -------
    float or None
        None for a size that the list read does not have.
    """
    for row in read_rows("wire_sold_by_outside_mm"):
        if float(row["sold_as_mm"]) == sold_as_mm:
            return float(row["true_area_mm2"])
    return None


@cache
def _index(table: str, key: str) -> Mapping[str, Mapping[str, str]]:
    return {row[key]: row for row in read_rows(table)}


def _optional_row(table: str, key: str, value: str) -> Mapping[str, str] | None:
    return _index(table, key).get(value)


def _row(table: str, key: str, value: str) -> Mapping[str, str]:
    found = _optional_row(table, key, value)
    if found is None:
        known = ", ".join(_index(table, key))
        raise OutOfRangeError(f"{value!r} is no size of {table}; known are {known}")
    return found
