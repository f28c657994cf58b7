"""Protection: the fuse a lead needs.

Stage      sizing
Units      A, m
Sources    125 % of the load: a fire apparatus specification; room over the peak: common
           practice, no source; never above ampacity: FCS 1362:2010
           sec. 4.6.2.1 (cable capacity above fuse rating), 33 CFR 183.455(c) as ceiling of 150 %,
           which is not made use of; series: `routecut/tables/fuses.csv`
Safe side  the next rating up the series; where it is above the ampacity the conductor grows,
           not the fuse
"""

from __future__ import annotations

import math
from functools import cache
from typing import Final

from routecut.errors import OutOfRangeError
from routecut.tables import read_rows

# Which kind is wanted first; mini blades and fusible links are the vehicle maker's, not the fitter's.
_SERIES: Final = ("regular blade", "maxi blade", "bolt-down strip (midi)", "bolt-down large (mega)")


@cache
def ratings() -> tuple[tuple[float, str, str], ...]:
    """Every rating that can be had: A, series, provenance; rising, the preferred series first."""
    found: dict[float, tuple[int, str, str]] = {}
    for row in read_rows("fuses"):
        if row["series"] in _SERIES:
            rank = _SERIES.index(row["series"])
            rating = float(row["rating_a"])
            if rating not in found or rank < found[rating][0]:
                found[rating] = (rank, row["series"], row["provenance"])
    return tuple((rating, found[rating][1], found[rating][2]) for rating in sorted(found))


def least_rating_a(amps: float, peak_amps: float, load_percent: float, peak_percent: float = 100.0) -> float:
    """What a fuse must be rated at least: a share over the duty load, and one over the peak. [A]

    Examples
    --------
    >>> least_rating_a(12.0, 20.0, 125.0), least_rating_a(10.0, 0.0, 125.0)
    (20.0, 12.5)
    >>> least_rating_a(2.0, 4.0, 125.0, 110.0)
    4.4
    """
    if not (amps >= 0.0 and peak_amps >= 0.0 and math.isfinite(amps + peak_amps)):
        raise OutOfRangeError(f"amps {amps} and peak_amps {peak_amps} must be finite, 0 or more")
    return max(amps * load_percent / 100.0, peak_amps * peak_percent / 100.0)


def rating_asked_for(fuse_a: float) -> tuple[float, str, str]:
    """The fuse a job asks for: A, series, provenance; of a size no series has, as it stands.

    Examples
    --------
    >>> rating_asked_for(15.0)[1], rating_asked_for(6.0)[1]
    ('regular blade', 'of the maker of the load')
    """
    known = next((r for r in ratings() if abs(r[0] - fuse_a) < 1e-9), None)
    return known or (fuse_a, "of the maker of the load", "the job")


def next_rating(least_a: float) -> tuple[float, str, str] | None:
    """The next rating up the series: A, series, provenance; None when nothing is large enough.

    Examples
    --------
    >>> next_rating(12.5)[:2]
    (15.0, 'regular blade')
    >>> next_rating(20.0)[0]
    20.0
    """
    return next((r for r in ratings() if r[0] >= least_a * (1.0 - 1e-9)), None)
