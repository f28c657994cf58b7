"""Lengths as people write them, and back: the only conversion factors of the project.

Stage      the edges: job files in, documents out; inside everything is metres
Units      mm, cm, m, in, ft; one inch is 25.4 mm exactly
Source     international inch and foot, exact by definition (1959 agreement)
Safe side  printing can round up (what is cut) or down (what is available) on request;
           a length is never printed finer than a tape can be read
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Final, Literal

from routecut.errors import OutOfRangeError

M_PER_MM: Final = Fraction(1, 1000)
M_PER_CM: Final = Fraction(1, 100)
M_PER_IN: Final = Fraction(254, 10000)
M_PER_FT: Final = 12 * M_PER_IN

METRES_PER_UNIT: Final[dict[str, Fraction]] = {
    "mm": M_PER_MM,
    "cm": M_PER_CM,
    "m": Fraction(1),
    "in": M_PER_IN,
    "ft": M_PER_FT,
}
"""Every unit a length may be in, exact."""

UNIT_NAMES: Final = tuple(METRES_PER_UNIT)
METRIC: Final = frozenset(["mm", "cm", "m"])

Rounding = Literal["nearest", "up", "down"]

# The finest step a length is printed in: a tape is read to a millimetre or an eighth of an inch.
_STEP_M: Final[dict[str, Fraction]] = {
    "mm": M_PER_MM,
    "cm": M_PER_MM,
    "m": M_PER_MM,
    "in": M_PER_IN / 8,
    "ft": M_PER_IN / 8,
}

DECIMALS: Final[dict[str, int]] = {"mm": 0, "cm": 1, "m": 3, "in": 2, "ft": 3}
"""Decimals of a coordinate or a length as it is written into a job: about a millimetre."""

# A millionth of a millimetre: what floating point adds to a whole figure must not push
# it to the next step when rounding up.
_NOISE_M: Final = Fraction(1, 10**9)

_SPELLINGS: Final[dict[str, str]] = {
    "mm": "mm",
    "cm": "cm",
    "m": "m",
    "in": "in",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "\N{DOUBLE PRIME}": "in",
    "ft": "ft",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
    "\N{PRIME}": "ft",
}

_NUMBER = r"(?:\d+[ -]+\d+/\d+|\d+/\d+|\d+\.?\d*|\.\d+)"
_WORDS = "|".join(sorted((re.escape(word) for word in _SPELLINGS), key=len, reverse=True))
_TERM = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>{_WORDS})(?![A-Za-z])", re.ASCII)
_LONGEST_TEXT = 60
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)


def to_m(value: float, unit: str) -> float:
    """Metres of a value in a unit.

    Parameters
    ----------
    value : float
        Finite. [`unit`]
    unit : str
        One of `UNIT_NAMES`.

    Returns
    -------
    float
        Correctly rounded. [m]

    Raises
    ------
    OutOfRangeError
        The value is not finite or the unit is not known.

    Examples
    --------
    >>> to_m(2480, "mm"), to_m(1, "ft")
    (2.48, 0.3048)
    """
    if not math.isfinite(value):
        raise OutOfRangeError(f"value is {value}; a finite number is wanted")
    return float(Fraction(value) * _factor(unit))


def from_m(length_m: float, unit: str) -> float:
    """A length in a unit, unrounded; the inverse of `to_m`. [`unit`]

    Raises
    ------
    OutOfRangeError
        The length is not finite or the unit is not known.

    Examples
    --------
    >>> from_m(0.3048, "in")
    12.0
    """
    if not math.isfinite(length_m):
        raise OutOfRangeError(f"length_m is {length_m}; a finite number is wanted")
    return float(Fraction(length_m) / _factor(unit))


def plain_number(text: str) -> float | None:
    """A number as it is typed, without a unit; None for whatever is none.

    Digits are 0 to 9 and the decimal sign is a point: what other programs group or write otherwise could be read as
    another number than was meant.

    Examples
    --------
    >>> plain_number(" -2.5 "), plain_number("1e3"), plain_number("1_000"), plain_number("1e400")
    (-2.5, 1000.0, None, None)
    """
    written = text.strip()
    if len(written) > _LONGEST_TEXT or not _PLAIN.fullmatch(written):
        return None
    number = float(written)
    return number if math.isfinite(number) else None


def parse_length(text: str) -> float:
    """Metres of a length written with its unit.

    Parameters
    ----------
    text : str
        One or more numbers, each with its unit, from large to small: ``340 mm``,
        ``12 ft 3 in``, ``5' 4 1/2"``, ``-3/8 in``. A sign stands in front and holds for
        the whole.

    Returns
    -------
    float
        [m]

    Raises
    ------
    OutOfRangeError
        The text is not such a length; the message says what is wanted.

    Examples
    --------
    >>> parse_length("12 ft 3 in")
    3.7338
    >>> parse_length("340 mm")
    0.34
    """
    rest = text.strip()
    if len(rest) > _LONGEST_TEXT:
        raise OutOfRangeError(f"a text of {len(rest)} characters is no length")
    sign = -1 if rest.startswith(("-", "\N{MINUS SIGN}")) else 1
    rest = rest[1:] if rest[:1] in {"-", "+", "\N{MINUS SIGN}"} else rest
    total, last_factor, position = Fraction(0), None, 0
    while position < len(rest):
        term = _TERM.match(rest, position)
        if term is None:
            raise _not_a_length(text)
        factor = METRES_PER_UNIT[_SPELLINGS[term["unit"]]]
        if last_factor is not None and factor >= last_factor:
            raise _not_a_length(text)
        total += _fraction(term["number"], text) * factor
        last_factor, position = factor, term.end()
        while position < len(rest) and rest[position].isspace():
            position += 1
    if last_factor is None:
        raise _not_a_length(text)
    return float(sign * total)


def round_length(length_m: float, unit: str, rounding: Rounding = "nearest") -> Fraction:
    """A length rounded to the step it is printed in; exact. [m]

    Raises
    ------
    OutOfRangeError
        The length is not finite or the unit is not known.
    """
    if not math.isfinite(length_m):
        raise OutOfRangeError(f"length_m is {length_m}; a finite number is wanted")
    _factor(unit)
    step = _STEP_M[unit]
    steps = Fraction(length_m) / step
    noise = _NOISE_M / step
    if rounding == "up":
        return math.ceil(steps - noise) * step
    if rounding == "down":
        return math.floor(steps + noise) * step
    # half a step goes away from zero, as people round
    whole = math.floor(abs(steps) + Fraction(1, 2) + noise)
    return (whole if steps >= 0 else -whole) * step


def format_length(length_m: float, unit: str = "mm", rounding: Rounding = "nearest") -> str:
    """A length for a person to read, with its unit.

    Millimetres are whole; centimetres and metres carry as many decimals as make a
    millimetre; inches and feet go to an eighth of an inch.

    Parameters
    ----------
    length_m : float
        [m]
    unit : str
        One of `UNIT_NAMES`.
    rounding : {"nearest", "up", "down"}
        "up" for what is cut or ordered, "down" for what is free.

    Raises
    ------
    OutOfRangeError
        The length is not finite or the unit is not known.

    Examples
    --------
    >>> format_length(2.4804), format_length(2.4804, "m", "up")
    ('2480 mm', '2.481 m')
    >>> format_length(0.314, "in"), format_length(3.7338, "ft")
    ('12 3/8 in', '12 ft 3 in')
    """
    rounded = round_length(length_m, unit, rounding)
    sign = "-" if rounded < 0 else ""
    size = abs(rounded)
    if unit == "mm":
        return f"{sign}{int(size / M_PER_MM)} mm"
    if unit == "cm":
        return f"{sign}{float(size / M_PER_CM):.1f} cm"
    if unit == "m":
        return f"{sign}{float(size):.3f} m"
    eighths = int(size / _STEP_M["in"])
    if unit == "in":
        return f"{sign}{_inches(eighths)} in"
    feet, eighths = divmod(eighths, 12 * 8)
    if not feet:
        return f"{sign}{_inches(eighths)} in"
    return f"{sign}{feet} ft" if not eighths else f"{sign}{feet} ft {_inches(eighths)} in"


def _inches(eighths: int) -> str:
    whole, part = divmod(eighths, 8)
    if not part:
        return str(whole)
    fraction = Fraction(part, 8)
    written = f"{fraction.numerator}/{fraction.denominator}"
    return f"{whole} {written}" if whole else written


def _factor(unit: str) -> Fraction:
    try:
        return METRES_PER_UNIT[unit]
    except KeyError:
        raise OutOfRangeError(f"unit is {unit!r}; one of {', '.join(UNIT_NAMES)} is wanted") from None


def _fraction(written: str, text: str) -> Fraction:
    parts = re.split(r"[ -]+", written)
    try:
        return sum((Fraction(part) for part in parts), Fraction(0))
    except (ValueError, ZeroDivisionError):
        raise _not_a_length(text) from None


def _not_a_length(text: str) -> OutOfRangeError:
    return OutOfRangeError(
        f"{text!r} is not a length; wanted is a number with its unit, in digits 0 to 9, such as "
        '"340 mm" or "12 ft 3 in"'
    )
