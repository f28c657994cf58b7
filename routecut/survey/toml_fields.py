"""Typed reading of one TOML table: every fault becomes a finding, none stops the reading.

Stage      survey; below the readers of the single tables
Units      lengths come out in m, whatever unit the job is written in
Safe side  a value that can't be used is never replaced silently: the finding is an error
           and the caller leaves the entry out (`Fields.sound`)
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from enum import StrEnum
from typing import TypeVar

from routecut.errors import OutOfRangeError
from routecut.model.job import Vec3
from routecut.plain import shown
from routecut.survey.toml_table import LONGEST_NAME, MOST_ENTRIES, Table
from routecut.units import from_m, parse_length, to_m

Word = TypeVar("Word", bound=StrEnum)

FARTHEST_M = 100.0
"""Largest size of any length or coordinate: no vehicle reaches further."""


class Fields(Table):
    """A table read key by key, each value of the type that is wanted.

    A method that meets a fault reports it and returns the default, or a harmless value of
    the right type when there is none; `sound` then turns false.
    """

    # --- single values ---------------------------------------------------------------

    def text(self, key: str, default: str | None = None) -> str:
        """A text; required when there is no default."""
        value = self._take(key, required=default is None, wanted="a text")
        if value is None:
            return default or ""
        if not isinstance(value, str):
            self._wrong_type(key, value, "a text")
            return default or ""
        return value

    def name(self, key: str = "name") -> str:
        """A name: a text that is not empty, of one line, without blanks at its ends."""
        value = self.text(key)
        if key not in self.data or not isinstance(self.data[key], str):
            return ""
        if (
            not value.strip()
            or value != value.strip()
            or len(value) > LONGEST_NAME
            or not value.isprintable()
        ):
            self.fault(
                "not-allowed",
                key,
                f"{key} is {shown(value)}, which can't be used as a name.",
                found=value,
                allowed=f"1 to {LONGEST_NAME} printable characters, no blanks at the ends",
            )
            return ""
        return value

    def one_of(self, key: str, allowed: Sequence[str], default: str | None = None) -> str:
        """One of a few words; required when there is no default."""
        wanted = "one of " + ", ".join(allowed)
        value = self._take(key, required=default is None, wanted=wanted)
        fallback = default if default is not None else allowed[0]
        if value is None:
            return fallback
        if not isinstance(value, str):
            self._wrong_type(key, value, wanted)
            return fallback
        if value not in allowed:
            self._not_a_word(key, value, allowed)
            return fallback
        return value

    def word(self, key: str, kind: type[Word], default: Word | None = None) -> Word:
        """A word of an enumeration."""
        return kind(self.one_of(key, [w.value for w in kind], default.value if default is not None else None))

    def flag(self, key: str, default: bool = False) -> bool:
        """Either true or false."""
        value = self._take(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self._wrong_type(key, value, "true or false")
            return default
        return value

    def number(
        self,
        key: str,
        default: float | None = None,
        *,
        low: float = 0.0,
        high: float = math.inf,
        above: bool = False,
        what: str = "",
    ) -> float:
        """A finite number in [low, high], or in (low, high] when `above`.

        `what` is the unit, for messages only.
        """
        limits = f"{'above' if above else 'at least'} {low:g}" + (
            f", at most {high:g}" if high < math.inf else ""
        )
        wanted = f"a number{' in ' + what if what else ''} {limits}"
        value = self._take(key, required=default is None, wanted=wanted)
        fallback = default if default is not None else (low or 1.0)
        if value is None:
            return fallback
        number = _as_number(value)
        if number is None:
            self._wrong_type(key, value, wanted)
            return fallback
        if not math.isfinite(number) or number > high or number < low or (above and number == low):
            self._out_of_range(key, value, wanted)
            return fallback
        return number

    def optional_number(
        self, key: str, *, low: float = 0.0, high: float = math.inf, above: bool = False, what: str = ""
    ) -> float | None:
        """As `number`; None when the key is not given."""
        return self.number(key, low=low, high=high, above=above, what=what) if self.has(key) else None

    def optional_count(self, key: str) -> int | None:
        """A whole number, 0 or more; None when the key is not given."""
        value = self._take(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int):
            self._wrong_type(key, value, "a whole number, 0 or more")
            return None
        if not 0 <= value <= 1_000_000:
            self._out_of_range(key, value, "a whole number, 0 or more")
            return None
        return value

    def length(
        self,
        key: str,
        default_m: float | None = None,
        *,
        low_m: float = 0.0,
        high_m: float = FARTHEST_M,
        above: bool = False,
    ) -> float:
        """A length: a number in the job's unit, or a text with its own unit. [m]"""
        value = self._take(key, required=default_m is None, wanted=self._length_wanted(low_m, high_m, above))
        fallback = default_m if default_m is not None else (low_m or 1.0)
        if value is None:
            return fallback
        length_m = self.as_length(key, value, low_m=low_m, high_m=high_m, above=above)
        return fallback if length_m is None else length_m

    def optional_length(self, key: str, *, above: bool = True, high_m: float = FARTHEST_M) -> float | None:
        """As `length`; None when the key is not given. [m]"""
        return self.length(key, above=above, high_m=high_m) if self.has(key) else None

    def as_length(
        self,
        key: str,
        value: object,
        *,
        low_m: float = -FARTHEST_M,
        high_m: float = FARTHEST_M,
        above: bool = False,
    ) -> float | None:
        """A value taken as a length; None after a fault. [m]"""
        wanted = self._length_wanted(low_m, high_m, above)
        if isinstance(value, str):
            try:
                length_m = parse_length(value)
            except OutOfRangeError as error:
                self.fault("wrong-type", key, f"{key}: {error}.", found=value, allowed=wanted)
                return None
        else:
            number = _as_number(value)
            if number is None:
                self._wrong_type(key, value, wanted)
                return None
            if not math.isfinite(number):
                self._out_of_range(key, value, wanted)
                return None
            if not self.unit_known:  # how long it is can't be judged, on which side of nothing it is can
                if number < 0.0 <= low_m or (above and number == low_m == 0.0):
                    self._out_of_range(key, value, wanted)
                    return None
                return number
            length_m = to_m(number, self.unit)
        if not low_m <= length_m <= high_m or (above and length_m == low_m):
            self._out_of_range(key, value, wanted)
            return None
        return length_m

    # --- several values --------------------------------------------------------------

    def texts(self, key: str, default: Sequence[str] = (), allowed: Sequence[str] = ()) -> tuple[str, ...]:
        """A list of texts, each one of `allowed` when that is given, none twice."""
        value = self._take(key)
        if value is None:
            return tuple(default)
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self._wrong_type(key, value, "a list of texts")
            return tuple(default)
        if len(value) > MOST_ENTRIES:
            self._out_of_range(key, value, f"a list of up to {MOST_ENTRIES} texts")
            return tuple(default)
        for item in value:
            if allowed and item not in allowed:
                self._not_a_word(key, item, allowed)
        for item in sorted(item for item, times in Counter(value).items() if times > 1):
            self.fault("duplicate-name", key, f"{key} lists {shown(item)} more than once.", found=item)
        return tuple(value)

    def lengths(self, key: str) -> tuple[float, ...]:
        """A list of lengths above zero. [m]"""
        value = self._take(key)
        if value is None:
            return ()
        if not isinstance(value, list) or not value:
            self._wrong_type(key, value, f"a list of lengths in {self.unit}")
            return ()
        found = [self.as_length(key, item, low_m=0.0, above=True) for item in value]
        return tuple(item for item in found if item is not None)

    def point(self, key: str, default_m: Vec3 | None = None) -> Vec3:
        """Three lengths: a point or an offset, in ISO 4130 axes. [m]"""
        value = self._take(key, required=default_m is None, wanted=self._point_wanted())
        if value is None:
            return default_m or (0.0, 0.0, 0.0)
        return self.as_point(key, value) or default_m or (0.0, 0.0, 0.0)

    def as_point(self, key: str, value: object) -> Vec3 | None:
        """A value taken as a point; None after a fault. [m]"""
        if not isinstance(value, list) or len(value) != 3:
            self._wrong_type(key, value, self._point_wanted())
            return None
        x, y, z = (self.as_length(key, item) for item in value)
        if x is None or y is None or z is None:
            return None
        return (x, y, z)

    def as_place(self, key: str, value: object) -> Vec3 | None:
        """A value taken as a point read off the mesh: scaled with it. None after a fault. [m]"""
        point = self.as_point(key, value)
        return (
            None if point is None else (point[0] * self.scale, point[1] * self.scale, point[2] * self.scale)
        )

    def direction(self, key: str, *, required: bool = False) -> Vec3 | None:
        """A unit vector from three plain numbers; None when not given or at fault. [-]"""
        wanted = "three numbers, not all zero: a direction in the axes x rear, y right, z up"
        value = self._take(key, required=required, wanted=wanted)
        if value is None:
            return None
        parts = [_as_number(item) for item in value] if isinstance(value, list) else []
        if len(parts) != 3 or any(part is None for part in parts):
            self._wrong_type(key, value, wanted)
            return None
        x, y, z = (part or 0.0 for part in parts)
        size = math.hypot(x, y, z)
        if not math.isfinite(size) or size < 1e-9:
            self._out_of_range(key, value, wanted)
            return None
        return (x / size, y / size, z / size)

    # --- inside ----------------------------------------------------------------------

    def _length_wanted(self, low_m: float, high_m: float, above: bool) -> str:
        if not self.unit_known:
            return "a length" if low_m < 0.0 else "a length above 0" if above else "a length of 0 or more"
        low, high = (f"{from_m(limit, self.unit):.6g}" for limit in (low_m, high_m))
        return (
            f"a length in {self.unit} (or a text with a unit), {'above' if above else 'at least'} {low}, "
            f"at most {high}"
        )

    def _point_wanted(self) -> str:
        return f"[x, y, z] in {self.unit}, x rear, y right, z up"


def _as_number(value: object) -> float | None:
    """A TOML number as float; None for anything else (true and false are no numbers)."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        return float(value)
    except OverflowError:
        return math.inf
