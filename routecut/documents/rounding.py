"""Figures for programs: rounded here and nowhere else, so that one figure is the same in every file."""

from __future__ import annotations

import math
from typing import Final

DECIMALS: Final = 4
"""Of metres a tenth of a millimetre."""


def rounded(value: float | None, decimals: int = DECIMALS) -> float | None:
    """Rounded; None for what is not known or not finite. Never a negative zero.

    Examples
    --------
    >>> rounded(1.23456), str(rounded(-0.00001)), rounded(float("inf")), rounded(None)
    (1.2346, '0.0', None, None)
    """
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), decimals) + 0.0
