r"""Tape measurements of a pattern: what is asked for, what is taken for the others, and how wrong that may be.

Stage      patterns
Units      mm
Sources    none: defaults, ranges and the split of their spread are judgement (see `resolve`)
Safe side  a value that was not measured is never said to be as good as a tape
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

TAPE_MM: Final = 5.0
"""One sigma of a distance taken with a tape along a vehicle (common practice, no source). [mm]"""

SIGMAS_IN_RANGE: Final = 2.0
"""The plausible range is taken to reach so many standard deviations each way (judgement)."""

SHARED: Final = 0.5
"""Share of the variance of sizes that all sizes along one axis have in common (judgement)."""

Point = tuple[float, float, float]
Values = Mapping[str, float]
Line = Callable[[Values], tuple[Point, Point]]
Range = tuple[float, float, float]
"""Default, least, most. [mm]"""

Clash = tuple[tuple[str, ...], str]
"""Keys that contradict each other, and how."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One distance to take on the vehicle.

    Attributes
    ----------
    key : str
        How `--set` calls it.
    words : str
        What it is.
    how : str
        What to measure from and to, in trade words.
    default, low, high : float
        The pattern's own value and the plausible range. [mm]
    along : str
        The axis: x, y or z.
    changes : str
        What of the vehicle changes with it.
    line : callable
        Both ends of the tape in the vehicle, from all values. [mm]
    view : str
        From where it is drawn: side, front or rear.
    """

    key: str
    words: str
    how: str
    default: float
    low: float
    high: float
    along: str
    changes: str
    line: Line
    view: str = "side"

    @property
    def spread(self) -> float:
        """Standard deviation of the logarithm of the size, from the plausible range. [-]"""
        return math.log(self.high / self.low) / (2.0 * SIGMAS_IN_RANGE)


def asked(  # noqa: PLR0917 - they read best in a row
    key: str, words: str, how: str, along: str, span: Range, changes: str, line: Line, view: str = "side"
) -> Measurement:
    """A measurement, written in a row; see `Measurement`."""
    default, low, high = span
    return Measurement(
        key=key,
        words=words,
        how=how,
        default=default,
        low=low,
        high=high,
        along=along,
        changes=changes,
        line=line,
        view=view,
    )


def least(keys: tuple[str, ...], have: float, wanted: float, what: str) -> list[Clash]:
    """The clash of measurements that leave less than is wanted of something; none where they leave enough. [mm]"""
    if have >= wanted:
        return []
    return [(keys, f"{what}: {have:.0f} mm is left, at least {wanted:.0f} mm is wanted")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What is used for a measurement. [mm]

    `scaled_by` is what the default was multiplied by; 1 for one that was measured or left as it is.
    """

    measurement: Measurement
    value: float
    error: float
    measured: bool
    scaled_by: float = 1.0


def resolve(measurements: Sequence[Measurement], given: Values) -> dict[str, Taken]:
    r"""The value and the one-sigma error of every measurement, those not taken scaled by those that were.

    Parameters
    ----------
    measurements : sequence of Measurement
    given : mapping of str to float
        What was measured, by key. [mm]

    Notes
    -----
    The logarithm of a size over its default is taken as the sum of a part that all sizes along
    one axis share and a part of its own, with variances :math:`c s^2` and :math:`(1 - c) s^2`,
    s from the plausible range and c = `SHARED`. With n others measured on the axis, ratios
    :math:`r_i` in units of their own s, the shared part is estimated as
    :math:`\hat g = \frac{c}{n c + 1 - c} \sum r_i` with the variance
    :math:`c (1 - c) / (n c + 1 - c)` left, so the default is multiplied by
    :math:`e^{s \hat g}` and the error is :math:`s \sqrt{c (1 - c) / (n c + 1 - c) + 1 - c}` of it.
    """
    taken: dict[str, Taken] = {}
    for one in measurements:
        if one.key in given:
            value = given[one.key]
            taken[one.key] = Taken(measurement=one, value=value, error=TAPE_MM, measured=True)
    for one in measurements:
        if one.key in taken:
            continue
        others = [m for m in measurements if m.key in given and m.along == one.along]
        ratios = [math.log(given[m.key] / m.default) / m.spread for m in others]
        weight = len(ratios) * SHARED + 1.0 - SHARED
        guess = SHARED / weight * math.fsum(ratios)
        factor = math.exp(one.spread * guess)
        value = min(max(one.default * factor, one.low), one.high)
        left = SHARED * (1.0 - SHARED) / weight + 1.0 - SHARED
        taken[one.key] = Taken(
            measurement=one,
            value=value,
            error=one.spread * math.sqrt(left) * value,
            measured=False,
            scaled_by=value / one.default,
        )
    return {one.key: taken[one.key] for one in measurements}
