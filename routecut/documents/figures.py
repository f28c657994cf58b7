"""Lengths as documents print them: formatted once, here, so that every document agrees.

Stage      documents; nothing here computes a length, it only writes one down
Units      m in; the job's unit out, whole millimetres or eighths of an inch
Safe side  what is cut or ordered is rounded up, what is free is rounded down; both from the tenth of a millimetre
           that `plan.json` holds, so that a plan read back prints what the plan printed that was made
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from routecut.documents.rounding import DECIMALS
from routecut.units import METRES_PER_UNIT, METRIC, Rounding, format_length, round_length

MINUS: Final = "\N{MINUS SIGN}"

# Upper end of the range [m] and what a cut may be longer [m]; above the last: a share.
_BANDS: Final[tuple[tuple[float, float], ...]] = ((0.3, 0.025), (1.5, 0.050), (3.0, 0.100), (7.5, 0.150))
_BAND_ABOVE: Final = 0.05
BAND_SOURCE: Final = (
    "never short; what a cut may be longer follows the length tolerances of IPC/WHMA-A-620, "
    "as a cable maker republishes them; cut to half waves, a fiftieth of one (common practice, no source)"
)
_BAND_HALF_WAVE: Final = 0.02


_BEFORE_UNIT: Final = re.compile(
    r"(?<=\d) (?=(?:mm\u00b2|mm|cm|m|in|ft|m\u03a9|\u03a9|V|A|W|dB|MHz|%|\u00b0C|C)(?!\w))"
)


def unbroken(text: str) -> str:
    r"""A text whose figures stay on a line with their units.

    Examples
    --------
    >>> unbroken("0.4 V lost of 12 V in 3 cables").replace("\N{NO-BREAK SPACE}", "_")
    '0.4_V lost of 12_V in 3 cables'
    """
    return _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", text)


def signed(value: float, decimals: int) -> str:
    """A difference with its sign; of nothing it is plus, never a negative zero.

    Examples
    --------
    >>> signed(-0.004, 2) == "+0.00", signed(-0.006, 2) == "-0.01"
    (True, True)
    """
    return f"{round(value, decimals) + 0.0:+.{decimals}f}"


@dataclass(frozen=True, slots=True)
class Lengths:
    """Writes lengths in the unit of a job.

    Parameters
    ----------
    unit : str
        One of `routecut.units.UNIT_NAMES`.
    """

    unit: str

    @property
    def column_unit(self) -> str:
        """The unit of a bare number in a column: feet would need a fraction, so inches."""
        return "in" if self.unit == "ft" else self.unit

    @property
    def metric(self) -> bool:
        """A length in this unit shows its metres by moving the point."""
        return self.unit in METRIC

    def text(self, length_m: float, rounding: Rounding = "nearest") -> str:
        """A length with its unit.

        Examples
        --------
        >>> Lengths("mm").text(3.45), Lengths("in").text(0.314)
        ('3450 mm', '12 3/8 in')
        """
        return format_length(held(length_m), self.unit, rounding)

    def up(self, length_m: float) -> str:
        """A length to cut or to order: never printed shorter than it is."""
        return self.text(length_m, "up")

    def both(self, length_m: float, rounding: Rounding = "nearest") -> str:
        """A length in the unit of the job, and behind it in the other system: for tapes of either kind.

        Examples
        --------
        >>> Lengths("mm").both(0.456), Lengths("in").both(0.314)
        ('456 mm (18 in)', '12 3/8 in (314 mm)')
        """
        return f"{self.text(length_m, rounding)} ({self.other(length_m, rounding)})"

    def other(self, length_m: float, rounding: Rounding = "nearest") -> str:
        """A length in the system the job does not use: inches for metres, millimetres for inches."""
        return format_length(held(length_m), "in" if self.metric else "mm", rounding)

    def free(self, length_m: float) -> str:
        """A free distance: never printed longer than it is."""
        return self.text(length_m, "down")

    def number(self, length_m: float, rounding: Rounding = "nearest") -> str:
        """A bare number in `column_unit`, for columns whose header carries the unit.

        Examples
        --------
        >>> Lengths("mm").number(3.45), Lengths("ft").number(0.3112), Lengths("m").number(3.45)
        ('3450', '12.25', '3.450')
        """
        unit = self.column_unit
        value = round_length(held(length_m), unit, rounding) / METRES_PER_UNIT[unit]
        if unit == "in":
            return f"{float(value):.3f}".rstrip("0").rstrip(".")
        return f"{float(value):.{ {'mm': 0, 'cm': 1, 'm': 3}[unit] }f}"

    def sum_texts(self, lines_m: Sequence[float], total_m: float) -> list[str]:
        """The lines of a sum, each rounded so that what is printed adds up to the total.

        Each line is the difference of two rounded running totals; the last takes up what
        rounding the total up adds. The first line reads as `text` would write it.

        Examples
        --------
        >>> Lengths("mm").sum_texts([1.0004, 0.0004, 0.0004], 1.0012)
        ['1000 mm', '1 mm', '1 mm']
        """
        return [self.text(float(piece)) for piece in self.pieces_m(lines_m, total_m)]

    def pieces_m(self, lines_m: Sequence[float], total_m: float) -> list[Fraction]:
        """The lines of a sum as `sum_texts` writes them, to be added up further. [m]"""
        before, running, pieces = Fraction(0), 0.0, []
        for number, line in enumerate(lines_m, start=1):
            running += line
            last = number == len(lines_m)
            now = (
                round_length(held(total_m), self.unit, "up")
                if last
                else round_length(held(running), self.unit)
            )
            pieces.append(now - before)
            before = now
        return pieces

    def band(self, cut_m: float, half_wave_m: float | None = None) -> str:
        """What a cut may differ: nothing less, so much more (`BAND_SOURCE`).

        `half_wave_m` is half a wave in a cable that is cut to a whole number of them: a band as wide as that of
        other cables would undo the trim.

        Examples
        --------
        >>> print(Lengths("mm").band(3.45))
        −0 / +150 mm
        """
        more = next((band for top, band in _BANDS if cut_m <= top), _BAND_ABOVE * cut_m)
        if half_wave_m is not None:
            more = min(more, _BAND_HALF_WAVE * half_wave_m)
        return f"{MINUS}0 / +{self.free(more)}"


def held(length_m: float) -> float:
    """A length as `plan.json` holds it: what is printed comes from this figure, read back or not. [m]

    Examples
    --------
    >>> held(1.23747), Lengths("mm").text(1.23747), Lengths("mm").text(1.2375)
    (1.2375, '1238 mm', '1238 mm')
    """
    return round(float(length_m), DECIMALS)


def metres(length_m: float, rounding: Rounding = "nearest") -> str:
    """A bare number of metres to the millimetre.

    Examples
    --------
    >>> metres(3.4501, "up")
    '3.451'
    """
    return f"{float(round_length(held(length_m), 'm', rounding)):.3f}"


def share(fraction: float) -> str:
    """A fraction as a percentage.

    Examples
    --------
    >>> share(0.95)
    '95 %'
    """
    return f"{fraction * 100:.4g} %"


def millimetres(diameter_m: float) -> str:
    """A diameter: in millimetres in every job, as drills and data sheets have it.

    Examples
    --------
    >>> millimetres(0.0145), millimetres(0.019)
    ('14.5 mm', '19 mm')
    """
    return f"{round(diameter_m * 1000.0, 1):g} mm"


def count(number: int, thing: str, things: str = "") -> str:
    """A number of things, in the singular where it is one.

    Examples
    --------
    >>> count(1, "hole"), count(2, "hole"), count(0, "joint")
    ('1 hole', '2 holes', '0 joints')
    """
    return f"{number} {thing if number == 1 else things or thing + 's'}"
