"""How a fault is looked for years later: live tests in the order in which they cost least, and what each tells.

Stage      made by `routecut.service`; read by documents
Units      V
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Symptom(StrEnum):
    """What somebody sees or hears."""

    POWER = "no power"
    SOUND = "no sound"


class Probe(StrEnum):
    """How a test is made."""

    SOURCE = "volts of the battery"
    DEVICE = "volts at the device"
    FUSE = "volts on both sides of a fuse"
    VOLTS = "volts at a terminal"
    RETURN = "volts lost in the return"
    PAIR = "a pair and its speaker"
    SPEAKER = "a speaker alone"
    CORES = "cores of a cable"


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveTest:
    """One test at one place.

    Attributes
    ----------
    probe : Probe
    place : str
        Key of the place of the service study.
    about : str
        The cable, or the device, that is tested.
    drop_v, peak_drop_v : float or None
        Volts expected to be lost up to here at duty and at peak, of a return those lost in it. [V]
    own_return : bool
        The loss has the return in it that lies beside the lead: measured to that, not to the battery.
    good, bad : tuple of str
        What the fault is in where the reading is as expected, and where not: cables, fuses, devices.
    """

    probe: Probe
    place: str
    about: str
    drop_v: float | None = None
    peak_drop_v: float | None = None
    own_return: bool = False
    good: tuple[str, ...] = ()
    bad: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultSearch:
    """The tests for one device and one symptom.

    Attributes
    ----------
    device : str
    symptom : Symptom
    through : str
        The device whose supply lead feeds it, where it has none; of no sound, what drives the speaker.
    way : tuple of str
        From the source on: devices, leads, fuses, one after the other.
    back : tuple of str
        The return leads from the device on.
    cables : tuple of str
        All that are tested.
    tests : tuple of LiveTest
        The quickest to get at first; those that no hand gets to are left out.
    shut : tuple of str
        Keys of places that no hand gets to.
    """

    device: str
    symptom: Symptom
    through: str = ""
    way: tuple[str, ...] = ()
    back: tuple[str, ...] = ()
    cables: tuple[str, ...] = ()
    tests: tuple[LiveTest, ...] = ()
    shut: tuple[str, ...] = ()
