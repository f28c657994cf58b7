"""Readings held against what was to be expected of them: outside on either side is marked, with what it may mean.

Stage      records, beside deviations
Units      ohm, V, W, per cent
Source     ranges and meanings: common practice, no source; limits of bonds, volts lost and reflected power are
           those the plan was sized by
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

PRACTICE: Final = "common practice, no source"

MORE: Final = 1.25
LESS: Final = 0.8
"""Above so many times what is expected, or below, resistance and power are marked (common practice, no source)."""

_LOST_LESS: Final = (
    0.5  # of the volts expected to be lost: loads are told at their hardest, wire at its warmest
)
_NOISE_V: Final = 0.05  # what two meters may differ by


@dataclass(frozen=True, slots=True)
class Judged:
    """What is to be said of a reading; nothing where it is as expected."""

    why: str = ""

    @property
    def marked(self) -> bool:
        """It lies outside what was expected."""
        return bool(self.why)


AS_EXPECTED: Final = Judged()


def resistance(ohm: float, expected_ohm: float) -> Judged:
    """Of a lead, end to end and unplugged.

    Examples
    --------
    >>> resistance(0.0026, 0.0045).why.split(":")[0]
    'less than four fifths of what is expected'
    >>> resistance(0.0045, 0.0045).marked
    False
    """
    if ohm > MORE * expected_ohm:
        return Judged(
            "more than a quarter above what is expected: a bad crimp, corrosion or a joint; or the meter's own leads "
            f"were not taken off the reading; or the wire is thinner or longer than recorded ({PRACTICE})"
        )
    if ohm < LESS * expected_ohm:
        return Judged(
            "less than four fifths of what is expected: an end was still connected, so that the meter read another way "
            "beside it; or the meter does not resolve so little; or the wire is thicker or shorter than recorded. "
            f"Unplug both ends and measure again ({PRACTICE})"
        )
    return AS_EXPECTED


def bond(ohm: float, limit_ohm: float) -> Judged:
    """Of a bond with both its ends: there is no reading that is too good."""
    if ohm >= limit_ohm:
        return Judged(
            f"less than {limit_ohm * 1000:g} m\N{GREEK CAPITAL LETTER OMEGA} is wanted: bare and tighten both ends"
        )
    return AS_EXPECTED


def volts_there(volts: float, expected_v: float | None, battery_v: float | None) -> Judged:
    """At a device, with so much at the battery."""
    if expected_v is not None and volts < expected_v - _NOISE_V:
        return Judged(
            "lower than predicted: measure at the battery too; if that holds its volts, look at the ends, the fuse "
            f"and the return ({PRACTICE})"
        )
    if battery_v is not None and volts > battery_v + _NOISE_V:
        return Judged(
            f"more than the {battery_v:g} V that the battery was taken to have: the engine ran or a charger was on. "
            f"Measure at the battery as well and compare what is lost ({PRACTICE})"
        )
    return AS_EXPECTED


def volts_lost(volts: float, expected_v: float | None, most_v: float | None) -> Judged:
    """Over a lead with its fuse and ends."""
    if most_v is not None and volts > most_v:
        return Judged("more than is allowed")
    if expected_v is None or expected_v <= 0.0:
        return AS_EXPECTED
    if volts > MORE * expected_v + _NOISE_V:
        return Judged(
            "more than a quarter above what is expected: a bad crimp, a fuse holder, or more current than the load is "
            f"said to draw ({PRACTICE})"
        )
    if volts < _LOST_LESS * expected_v - _NOISE_V:
        return Judged(
            "less than half of what is expected: the load did not draw what it is said to, a radio that was not "
            f"transmitting; or one probe sat beside the lead ({PRACTICE})"
        )
    return AS_EXPECTED


def reflected(share_percent: float, most_percent: float | None) -> Judged:
    """Of the forward power, at the radio."""
    if most_percent is not None and share_percent > most_percent:
        return Judged("more than may be read: look at the antenna, its ground and the plugs")
    if share_percent <= 0.0:
        return Judged(
            "none at all: the meter is too coarse, it is not in the line, or a dummy load is on it; a wet or very long "
            f"cable hides a bad antenna as well ({PRACTICE})"
        )
    return AS_EXPECTED


def forward(watts: float, expected_w: float | None) -> Judged:
    """What the transmitter gives, at the radio."""
    if expected_w is None:
        return AS_EXPECTED
    if watts < LESS * expected_w:
        return Judged(
            "less than four fifths of what the job says the radio gives: its volts while transmitting, its power "
            f"setting, or a meter for another band ({PRACTICE})"
        )
    if watts > MORE * expected_w:
        return Judged(
            "more than a quarter above what the job says the radio gives: another setting or radio, or a meter for "
            f"another band; the cable was judged for less ({PRACTICE})"
        )
    return AS_EXPECTED
