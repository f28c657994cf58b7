"""What is taken for a measurement that nobody took, and how far it may be off."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecut.errors import JobError, OutOfRangeError
from routecut.patterns import PATTERNS, pattern_named, read_given, taken_all
from routecut.patterns.measurements import SHARED, TAPE_MM, Measurement, resolve

VAN = PATTERNS["panel van"]
EVERY = pytest.mark.parametrize("pattern", PATTERNS.values(), ids=list(PATTERNS))


def one(key: str, default: float, along: str = "x") -> Measurement:
    return Measurement(
        key=key, words=key, how="", default=default, low=0.8 * default, high=1.25 * default, along=along, changes="",
        line=lambda v: ((0, 0, 0), (v[key], 0, 0)),
    )  # fmt: skip


THREE = (one("a", 1000.0), one("b", 2000.0), one("c", 3000.0, "z"))


def test_what_was_measured_is_taken_as_it_is() -> None:
    taken = resolve(THREE, {"a": 1100.0})
    assert (taken["a"].value, taken["a"].error, taken["a"].measured) == (1100.0, TAPE_MM, True)


def test_the_others_of_the_axis_are_scaled_part_of_the_way_and_known_better() -> None:
    """Alone: half of the way (half of the variance is shared), variance 3/4 of what it was."""
    free, after = resolve(THREE, {}), resolve(THREE, {"a": 1100.0})
    assert after["b"].value == pytest.approx(2000.0 * math.sqrt(1.1))
    assert after["b"].error / after["b"].value == pytest.approx(free["b"].error / 2000.0 * math.sqrt(0.75))
    assert not after["b"].measured
    assert (after["c"].value, after["c"].error) == (3000.0, free["c"].error)  # another axis says nothing


@given(st.integers(0, 10_000))
def test_the_errors_are_those_of_vehicles_drawn_as_the_model_says(seed: int) -> None:
    """Sizes drawn with a common and an own part: the guess is right on average, its spread as stated."""
    rng = np.random.default_rng(seed)
    kinds = [one(name, 1000.0) for name in "abcd"]
    s = kinds[0].spread
    draws = 4000
    common = rng.normal(size=draws) * math.sqrt(SHARED)
    own = rng.normal(size=(draws, 4)) * math.sqrt(1 - SHARED)
    logs = s * (common[:, None] + own)
    weight = 3 * SHARED + 1 - SHARED
    guess = SHARED / weight * logs[:, :3].sum(axis=1)  # what resolve computes, for all draws at once
    shown = resolve(kinds, {k.key: float(1000 * math.exp(logs[0, i])) for i, k in enumerate(kinds[:3])})["d"]
    inside = 800.0 < 1000.0 * math.exp(guess[0]) < 1250.0
    assert not inside or shown.value == pytest.approx(1000.0 * math.exp(guess[0]))
    stated = shown.error / shown.value
    assert (logs[:, 3] - guess).std() == pytest.approx(stated, rel=0.06)


def test_every_fault_of_the_settings_is_told_at_once() -> None:
    settings = ("whelbase=3300", "overall_width=5", "cab_floor=high", "load_floor", "bonnet_height=48 in",
                "bonnet_height=1200")  # fmt: skip
    with pytest.raises(JobError) as told:
        read_given(VAN, settings, "mm")
    found = {(f.code, f.key) for f in told.value.findings}
    assert found == {
        ("unknown-name", "whelbase"), ("out-of-range", "overall_width"), ("wrong-type", "cab_floor"),
        ("wrong-type", "load_floor"), ("duplicate-name", "bonnet_height"),
    }  # fmt: skip
    messages = "\n".join(str(f) for f in told.value.findings)
    assert "the nearest is 'wheelbase'" in messages
    assert "1700 mm to 2200 mm is" in messages


@pytest.mark.parametrize(
    ("text", "unit", "mm"), [("144.29", "in", 3665.0), ("12 ft", "mm", 3657.6), ("3.3", "m", 3300.0)]
)
def test_measurements_come_in_the_unit_of_the_job_or_with_their_own(text: str, unit: str, mm: float) -> None:
    assert read_given(VAN, (f"wheelbase={text}",), unit)["wheelbase"] == pytest.approx(mm, abs=0.05)


def test_measurements_that_contradict_each_other_are_told_with_what_to_measure() -> None:
    with pytest.raises(JobError, match=r"These can't all be true: .*wheelbase = 4400 mm.* Measure .*as well"):
        taken_all(VAN, {"overall_length": 4400.0, "wheelbase": 4400.0})


def test_an_unknown_pattern_is_told_with_the_nearest() -> None:
    with pytest.raises(OutOfRangeError, match="the nearest is 'panel van'; there is panel van"):
        pattern_named("pannel van")


@EVERY
def test_every_pattern_has_about_a_dozen_measurements_with_a_drawing_each(pattern) -> None:  # type: ignore[no-untyped-def]
    assert 10 <= len(pattern.measurements) <= 15
    values = {m.key: m.default for m in pattern.measurements}
    assert len(values) == len(pattern.measurements)
    assert pattern.clashes(values) == []
    for m in pattern.measurements:
        assert m.low < m.default < m.high
        start, end = m.line(values)
        axis = "xyz".index(m.along)
        assert abs(end[axis] - start[axis]) == pytest.approx(values[m.key], abs=1.0)
        assert sum(abs(a - b) > 0.5 for a, b in zip(start, end, strict=True)) == 1  # level or plumb
