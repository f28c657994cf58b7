"""What is left of the spare at an end of a cable that ended short.

Stage      model
Units      m
Safe side  nobody records at which end length was missing: each end counts as the one
"""

from __future__ import annotations

import math
from typing import Final

from routecut.model.service import Spare

ROUNDING_M: Final = 1e-6
"""Lengths that differ by less are the same: 20 mm less 10 mm are one of 10 mm, though floats fall short of it. [m]"""


def again_left(again: int, each_m: float, short_m: float) -> int:
    """How often an end can be made again, where its cable ended short.

    Nobody records at which end the length was missing, so each end counts as the one.

    Parameters
    ----------
    again : int
        How often, as planned.
    each_m, short_m : float
        Used up by one; missing by the record, 0 where nothing is. [m]

    Examples
    --------
    >>> again_left(2, 0.010, 0.010), again_left(2, 0.010, 0.011), again_left(3, 0.010, 0.020)
    (1, 0, 1)
    """
    if short_m <= 0.0:
        return again
    return max(math.floor((again * each_m - short_m + ROUNDING_M) / each_m), 0) if each_m > 0.0 else 0


def loop_left(spare: Spare, short_m: float) -> float:
    """What is left of the loop at an end, once what was kept for new ends is gone too. [m]"""
    kept_m = 0.0 if spare.ready_made else spare.again * spare.each_m
    return max(spare.loop_m - max(short_m - kept_m, 0.0), 0.0)
