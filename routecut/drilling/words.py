"""Directions and places in the vehicle, in words.

Units      m in, the job's unit out
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from routecut.units import format_length

_WORDS: Final = (("front", "rear"), ("left", "right"), ("down", "up"))


def towards(direction: Sequence[float]) -> str:
    """The word for the nearest of the six directions of the vehicle.

    Examples
    --------
    >>> towards((0.9, 0.1, 0.3)), towards((0, 0, -1))
    ('rear', 'down')
    """
    axis = int(np.abs(np.asarray(direction)).argmax())
    return _WORDS[axis][int(direction[axis] > 0)]


def place(at_m: Sequence[float], unit: str) -> str:
    """A point by its coordinates, with its unit."""
    return ", ".join(f"{name} {format_length(float(v), unit)}" for name, v in zip("XYZ", at_m, strict=True))
