"""What a device and a port are, told from the words the job uses for them.

Stage      sizing
Safe side  what can't be told is positive and is fused
"""

from __future__ import annotations

import re
from typing import Final

from routecut.model.job import Cable, Device, Job, Polarity

_NEGATIVE: Final = frozenset(
    {"return", "negative", "neg", "minus", "-", "ground", "gnd", "earth", "chassis", "body", "0v"}
)
_POSITIVE: Final = frozenset({"positive", "pos", "plus", "+", "feed", "supply", "live", "red"})
_GROUND_DEVICE: Final = frozenset({"earth", "ground", "chassis", "body", "stud"})
_NOT_A_BATTERY: Final = frozenset(
    {"isolator", "switch", "monitor", "charger", "fuse", "sensor", "box", "breaker"}
)
_FUSED: Final = frozenset({"fuse", "fuses", "fused", "breaker", "breakers", "distribution"})
_COMMON: Final = _FUSED | {
    "block", "bus", "busbar", "isolator", "switch", "relay", "junction", "terminal", "terminals",
    "box", "panel", "splitter", "stud", "post",
}  # fmt: skip


def words(text: str) -> frozenset[str]:
    """The words of a name, small, with a lone sign as a word of its own."""
    return frozenset(re.findall(r"[a-z0-9]+|(?<!\S)[+-](?!\S)", text.lower()))


def is_battery(device: Device) -> bool:
    """A source of current: its kind says battery, or its name does and it has no kind."""
    said = words(device.kind or device.name)
    return "battery" in said and not said & _NOT_A_BATTERY


def is_ground(device: Device) -> bool:
    """A place where a return goes into the body of the vehicle."""
    return bool(words(device.kind or device.name) & _GROUND_DEVICE) and not is_battery(device)


def is_fused(device: Device) -> bool:
    """A distribution block, fuse box or breaker: what leaves it is fused in it."""
    return bool((words(device.kind) | words(device.name)) & _FUSED)


def is_common(device: Device) -> bool:
    """A device that only hands current on: what its lead is said to carry is what lies behind."""
    return bool((words(device.kind) | words(device.name)) & _COMMON)


def is_fuse_holder(device: Device) -> bool:
    """A fuse or a breaker in a lead of its own."""
    said = words(device.kind) | words(device.name)
    return bool(said & {"fuse", "breaker"}) and "distribution" not in said


def polarity_of(job: Job, cable: Cable) -> Polarity:
    """Which way a power cable belongs.

    What the job says; else the names of its ports; else a ground device at an end; else the
    colour in the name of its type; else positive.
    """
    if cable.polarity is not None:
        return cable.polarity
    ends = (cable.from_port, cable.to_port)
    said = words(job.port(ends[0]).name) | words(job.port(ends[1]).name)
    negative, positive = bool(said & _NEGATIVE), bool(said & _POSITIVE)
    if negative != positive:
        return Polarity.NEGATIVE if negative else Polarity.POSITIVE
    if any(is_ground(job.device_of(end)) for end in ends):
        return Polarity.NEGATIVE
    if not cable.type_assumed and "black" in words(cable.type.name):
        return Polarity.NEGATIVE
    return Polarity.POSITIVE
