"""Lengths in and out: exact factors, round trips, and the direction of rounding."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecut.errors import OutOfRangeError
from routecut.units import UNIT_NAMES, format_length, from_m, parse_length, round_length, to_m

LENGTHS = st.floats(min_value=-50.0, max_value=50.0, allow_nan=False)
UNITS = st.sampled_from(UNIT_NAMES)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        # one inch is 25.4 mm exactly, one foot 304.8 mm: by definition, so no tolerance
        ("12 ft 3 in", 3.7338),
        ("340 mm", 0.34),
        ("5' 4 1/2\"", 1.6383),
        ("3-1/2 in", 0.0889),
        ("-3/8 in", -0.009525),
        ("2.5m", 2.5),
        ("1 m 20 cm", 1.2),
        (" 7 inches ", 0.1778),
    ],
)
def test_a_text_is_read_exactly(text: str, metres: float) -> None:
    assert parse_length(text) == metres


@pytest.mark.parametrize(
    "text",
    ["12", "12,5 mm", "3 in 1 ft", "1/0 in", "", "mm", "1e3 mm", "3 inx", "4 mm 3", "nan m", "1 mm 1 mm"],
)
def test_what_is_no_length_is_refused_by_name(text: str) -> None:
    with pytest.raises(OutOfRangeError, match=f"^{re.escape(repr(text))} is not a length"):
        parse_length(text)


def test_unknown_unit_and_infinite_value_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="unit is 'yd'"):
        to_m(1.0, "yd")
    with pytest.raises(OutOfRangeError, match="value is inf"):
        to_m(float("inf"), "mm")
    with pytest.raises(OutOfRangeError, match="length_m is nan"):
        format_length(float("nan"))


@given(LENGTHS, UNITS)
def test_conversion_round_trip(length: float, unit: str) -> None:
    assert to_m(from_m(length, unit), unit) == pytest.approx(length, rel=1e-15, abs=1e-300)


@given(LENGTHS, UNITS)
def test_what_is_printed_reads_back_within_half_a_step(length: float, unit: str) -> None:
    half_step = 0.0005 if unit in {"mm", "cm", "m"} else 0.0254 / 16
    assert abs(parse_length(format_length(length, unit)) - length) <= half_step + 1e-8


@given(LENGTHS, UNITS)
def test_up_is_never_short_and_down_never_long(length: float, unit: str) -> None:
    step = 0.001 if unit in {"mm", "cm", "m"} else 0.0254 / 8
    up, down = (float(round_length(length, unit, way)) for way in ("up", "down"))
    assert down - 1e-8 <= length <= up + 1e-8
    assert up - down <= step + 1e-12
    # a length that sits on a step stays there, whatever floating point made of it
    assert round_length(up, unit, "up") == round_length(up, unit, "down")


@given(LENGTHS)
def test_no_length_is_printed_to_a_tenth_of_a_millimetre(length: float) -> None:
    assert re.fullmatch(r"-?\d+ mm", format_length(length, "mm"))
    assert re.fullmatch(r"-?\d+\.\d cm", format_length(length, "cm"))
    assert re.fullmatch(r"-?\d+\.\d{3} m", format_length(length, "m"))


def test_inches_print_as_fractions() -> None:
    assert format_length(0.0254 * 12.375, "in") == "12 3/8 in"
    assert format_length(0.0254 / 2, "in") == "1/2 in"
    assert format_length(0.3048 * 8, "ft") == "8 ft"
    assert format_length(0.3048 * 8 + 0.0254 * 1.625, "ft") == "8 ft 1 5/8 in"
    assert format_length(-0.0254, "ft") == "-1 in"
