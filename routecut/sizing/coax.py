r"""Coax: loss at the working frequency over the length really cut, and what to read at the radio.

Stage      sizing
Units      MHz, dB, m, W
Sources    points of attenuation: `routecut/tables/coax_attenuation.csv`; law
           A = k1 sqrt(f) + k2 f (loss in the metal, loss in the dielectric), fitted here with
           neither below 0
Safe side  limits are judged with the highest of the tables read
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from scipy.optimize import nnls

from routecut.errors import OutOfRangeError
from routecut.model.job import CableType
from routecut.tables import read_rows

SPEED_OF_LIGHT_M_PER_S: Final = 299_792_458.0

_FT_PER_100_M: Final = 100.0 / 0.3048
_PER_100_M: Final = {"dB/100m": 1.0, "dB/100ft": _FT_PER_100_M / 100.0}

Point = tuple[float, float]
"""Frequency and loss: MHz, dB/100 m."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """A = k1 sqrt(f) + k2 f, f in MHz, A in dB/100 m, and where it was fitted.

    `residual` is the largest relative distance of a point from it.
    """

    k1: float
    k2: float
    low_mhz: float
    high_mhz: float
    residual: float

    def db_per_100_m(self, mhz: float) -> float:
        """Attenuation. [dB/100 m]"""
        return self.k1 * math.sqrt(mhz) + self.k2 * mhz


@dataclass(frozen=True, slots=True, kw_only=True)
class Attenuation:
    """What the tables say of a cable type: all points together, and source by source."""

    law: Law
    by_source: tuple[Law, ...]

    def band(self, mhz: float) -> tuple[float, float]:
        """Lowest and highest of the sources that reach the frequency. [dB/100 m]

        Each source counts with how far its own points lie from its law, so every point lies inside.
        """
        near = [law for law in self.by_source if _reaches(law, mhz)] or list(self.by_source)
        middle = self.law.db_per_100_m(mhz)
        low = min(law.db_per_100_m(mhz) / (1.0 + law.residual) for law in near)
        high = max(law.db_per_100_m(mhz) / (1.0 - law.residual) for law in near)
        return min(low, middle), max(high, middle)

    def inside(self, mhz: float) -> bool:
        """The frequency lies within the points read."""
        return self.law.low_mhz <= mhz <= self.law.high_mhz


def _reaches(law: Law, mhz: float) -> bool:
    return law.low_mhz <= mhz <= law.high_mhz


def fit(points: Sequence[Point]) -> Law:
    """Fit the law to points, by their relative distance.

    Parameters
    ----------
    points : sequence of (MHz, dB/100 m)
        All above 0; one is enough for a law of the metal alone.

    Raises
    ------
    OutOfRangeError
        There is no point, or one is not above 0.

    Examples
    --------
    >>> law = fit([(100.0, 10.1), (400.0, 20.4)])
    >>> law.k1, law.k2
    (1.0, 0.001)
    """
    if not points or any(not (f > 0.0 and a > 0.0 and math.isfinite(f * a)) for f, a in points):
        raise OutOfRangeError("a law of attenuation wants points of frequency and loss, all above 0")
    f = np.array([p[0] for p in points])
    a = np.array([p[1] for p in points])
    (k1, k2), _ = nnls(np.column_stack([np.sqrt(f) / a, f / a]), np.ones(len(f)))
    fitted = k1 * np.sqrt(f) + k2 * f
    return Law(
        k1=float(k1),
        k2=float(k2),
        low_mhz=float(f.min()),
        high_mhz=float(f.max()),
        residual=float(np.abs(fitted / a - 1.0).max()),
    )


def attenuation_of(cable_type: CableType) -> Attenuation | None:
    """What is known of a coax type, or None: the job's own points come first."""
    if cable_type.attenuation:
        law = fit(cable_type.attenuation)
        return Attenuation(law=law, by_source=(law,))
    return _catalogue(cable_type.name)


@cache
def _catalogue(name: str) -> Attenuation | None:
    by_source: dict[str, list[Point]] = {}
    for row in read_rows("coax_attenuation"):
        if row["cable_type"] == name:
            point = float(row["mhz"]), float(row["printed"]) * _PER_100_M[row["printed_unit"]]
            by_source.setdefault(row["source"], []).append(point)
    if not by_source:
        return None
    return Attenuation(
        law=fit([p for points in by_source.values() for p in points]),
        by_source=tuple(fit(points) for points in by_source.values() if len(points) > 1),
    )


def velocity_factor(cable_type: CableType) -> float | None:
    """Speed in a cable over that of light, or None: the job's own figure comes first. [-]"""
    return cable_type.velocity_factor or _catalogue_factor(cable_type.name)


@cache
def _catalogue_factor(name: str) -> float | None:
    for row in read_rows("coax_geometry"):
        if row["cable_type"] == name:
            return float(row["velocity_factor"])
    return None


def rating_watts(cable_type: CableType, mhz: float) -> float | None:
    """Power a data sheet allows at a frequency, or None where it does not reach so far. [W]

    Between two points that of the higher frequency counts, below the first one that of the first.
    """
    return next((watts for f, watts in cable_type.power_rating if f >= mhz * (1.0 - 1e-9)), None)


def share_left(loss_db: float) -> float:
    """Part of the power that is left after a loss. [-]

    Examples
    --------
    >>> share_left(3.0)
    0.501
    """
    return float(10.0 ** (-loss_db / 10.0))


def half_wave_m(mhz: float, factor: float) -> float:
    """Physical length of half a wave in a cable. [m]

    Examples
    --------
    >>> half_wave_m(155.0, 0.66)
    0.638
    """
    if not (mhz > 0.0 and 0.0 < factor <= 1.0):
        raise OutOfRangeError(f"mhz is {mhz} and the velocity factor {factor}; above 0, at most 1 is wanted")
    return SPEED_OF_LIGHT_M_PER_S * factor / (mhz * 1e6) / 2.0


def reflected_at_radio(share_at_antenna: float, loss_db: float) -> float:
    """Reflected over forward power at the radio, for what the antenna throws back. [-]

    The cable takes its loss twice, on the way there and back, and so makes an antenna look
    better than it is.

    Examples
    --------
    >>> reflected_at_radio(1.0, 1.5)
    0.501
    """
    return share_at_antenna * share_left(2.0 * loss_db)
