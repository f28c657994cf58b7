r"""What a coax bears by its heat, worked out where no rating of it was read.

Stage      sizing
Units      W, m, mm, degrees C, MHz
Sources    free convection round a horizontal cylinder: S. W. Churchill and H. H. S. Chu, Int. J. Heat
           Mass Transfer 18 (1975) 1049-1053; radiation: Stefan and Boltzmann; dimensions:
           `routecut/tables/coax_geometry.csv`; what the materials stand and conduct, from memory
Safe side  all the loss is taken to arise in the inner conductor, at the highest of the tables and as warm as
           the insulation stands, where a standing wave of what the rules allow to come back is highest; half of
           the surface is taken to be covered; the air stands still. It may warn, and it approves of
           nothing: for that a data sheet is wanted
"""

from __future__ import annotations

import math
from functools import cache
from typing import Final

from scipy.optimize import brentq

from routecut.model.job import CableType
from routecut.sizing.conductors import ZERO_RESISTANCE_C
from routecut.tables import read_rows

STANDS_C: Final = 80.0
"""Polyethylene, solid and foamed (from memory). [degrees C]"""

FREE_SURFACE: Final = 0.5
"""Of a cable that lies on a panel or among others (common practice, no source)."""

# Thermal conductivities, from memory, on the low side. [W/(m K)]
_SOLID, _FOAM, _JACKET = 0.30, 0.10, 0.15
_SOLID_BELOW: Final = 0.7  # of the velocity factor

_STEFAN_BOLTZMANN: Final = 5.670374419e-8  # [W/(m2 K4)]
_EMISSIVITY: Final = 0.9  # of a jacket of plastic (from memory)
_GRAVITY: Final = 9.80665
_PRANDTL: Final = 0.71
_ZERO_C: Final = 273.15


def bears_watts(
    cable_type: CableType, *, db_per_100_m: float, air_c: float, reflected_percent: float
) -> float | None:
    r"""Power at which the inner conductor gets as warm as its insulation stands, sent on and on. [W]

    Parameters
    ----------
    cable_type : CableType
        One of the catalogue; of others the dimensions are not known.
    db_per_100_m : float
        At the frequency and 20 degrees C. [dB/100 m]
    air_c : float
        [degrees C]
    reflected_percent : float
        Of the forward power, at most.

    Returns
    -------
    float or None
        None where nothing is known of the inside of the type; 0 in air that is too hot.

    Notes
    -----
    With the resistance :math:`R` from the inner conductor to the surface, the surface gives off
    :math:`q(T_s) = (T - T_s) / R` per metre; :math:`q` over what the cable takes of each watt per metre,
    times :math:`(1 + |\Gamma|)^2` where a standing wave is highest, is the power.
    """
    inside = _inside(cable_type.name)
    if inside is None:
        return None
    if air_c >= STANDS_C:
        return 0.0
    resistance, diameter_m = inside

    def left_over(surface_c: float) -> float:
        given = FREE_SURFACE * given_off_w_per_m(diameter_m, surface_c, air_c)
        return given - (STANDS_C - surface_c) / resistance

    surface_c = brentq(left_over, air_c, STANDS_C, xtol=1e-9)
    given = (STANDS_C - surface_c) / resistance
    warmer = math.sqrt((ZERO_RESISTANCE_C + STANDS_C) / (ZERO_RESISTANCE_C + 20.0))
    taken = 1.0 - 10.0 ** (-db_per_100_m * warmer / 1000.0)
    highest = (1.0 + math.sqrt(reflected_percent / 100.0)) ** 2
    return float(given / (taken * highest))


def given_off_w_per_m(diameter_m: float, surface_c: float, air_c: float) -> float:
    """What a bare horizontal cylinder gives off in still air, by convection and radiation. [W/m]"""
    if surface_c <= air_c:
        return 0.0
    film_k = (surface_c + air_c) / 2.0 + _ZERO_C
    # dry air at 1 bar, within 1.5 % from 0 to 100 degrees C
    viscosity = 1.332e-5 * (film_k / _ZERO_C) ** 1.75  # kinematic [m2/s]
    conductivity = 0.0241 * (film_k / _ZERO_C) ** 0.86  # [W/(m K)]
    rayleigh = _GRAVITY / film_k * (surface_c - air_c) * diameter_m**3 * _PRANDTL / viscosity**2
    nusselt = (0.6 + 0.387 * rayleigh ** (1 / 6) / (1 + (0.559 / _PRANDTL) ** (9 / 16)) ** (8 / 27)) ** 2
    convected = nusselt * conductivity / diameter_m * (surface_c - air_c)
    radiated = _EMISSIVITY * _STEFAN_BOLTZMANN * ((surface_c + _ZERO_C) ** 4 - (air_c + _ZERO_C) ** 4)
    return float(math.pi * diameter_m * (convected + radiated))


@cache
def _inside(name: str) -> tuple[float, float] | None:
    """Thermal resistance from inner conductor to surface, and the outside diameter. [K m/W], [m]"""
    for row in read_rows("coax_geometry"):
        if row["cable_type"] == name:
            inner, dielectric, outer = (float(row[k]) for k in ("inner_mm", "dielectric_mm", "od_mm"))
            solid = float(row["velocity_factor"]) < _SOLID_BELOW
            layers = (
                math.log(dielectric / inner) / (_SOLID if solid else _FOAM),
                math.log(outer / dielectric) / _JACKET,
            )
            return sum(layers) / (2.0 * math.pi), outer / 1000.0
    return None
