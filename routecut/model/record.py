"""The as-built record: what was really cut, moved, swapped and measured, line by line.

Stage      read by `routecut.records`, carried by the plan, printed by documents
Units      m, V, W, ohm
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from routecut.model.vehicle import Position

NOT_GIVEN = "not given"
"""Stands for who or when where nobody said."""

WHOLE_JOB = "job"
"""Name and kind of what is about the job as a whole."""


class What(StrEnum):
    """What a line of the record tells."""

    CUT = "cut"
    LEFT_OVER = "left over"
    MOVED = "moved"
    JOINT = "joint"
    STRING = "string"
    SWAPPED = "swapped"
    VOLTS = "volts"
    POWER = "power"
    RESISTANCE = "resistance"
    SERIAL = "serial"
    PHOTO = "photo"
    NOTE = "note"
    WITHDRAWN = "withdrawn"


class Kind(StrEnum):
    """What kind of thing a line is about."""

    CABLE = "cable"
    DEVICE = "device"
    HOLE = "pass-through"
    SPACE = "space"
    JOB = "job"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One thing as it was really done; which fields hold something goes by `what`.

    Attributes
    ----------
    length_m : float or None
        Cut; left over (below 0: so much too short); where a joint lies along the run from the
        `from` end; a stretch measured with a string. [m]
    position : Position or None
        Where a device or a hole really is.
    space : str
        Of a joint; may be empty.
    from_name, to_name : str
        Ends of a stretch measured with a string.
    fitted : str
        Swapped: the cable type, or what was fitted in place of a device.
    duty, peak : float or None
        Volts at the terminals of a device, or lost over a cable. [V]
    forward, reflected : float or None
        Of a coax cable, at the radio. [W]
    ohm : float or None
        End to end; of a bond with both its ends. [ohm]
    text : str
        A serial number, a note.
    file, sha256 : str
        A photo, by its path in the job folder and the digest of its bytes.
    """

    what: What
    kind: Kind
    name: str
    length_m: float | None = None
    position: Position | None = None
    space: str = ""
    from_name: str = ""
    to_name: str = ""
    fitted: str = ""
    duty: float | None = None
    peak: float | None = None
    forward: float | None = None
    reflected: float | None = None
    ohm: float | None = None
    text: str = ""
    file: str = ""
    sha256: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordLine:
    """A line of the record.

    Attributes
    ----------
    number : int
        From 1; how a correction names it.
    who, when : str
        As given by the user.
    remark : str
        What the user added to it.
    corrects : int or None
        The line it stands in place of.
    stands : bool
        Neither corrected, nor withdrawn, nor overtaken by a later line about the same thing.
    """

    number: int
    fact: Fact
    who: str = NOT_GIVEN
    when: str = NOT_GIVEN
    remark: str = ""
    corrects: int | None = None
    stands: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The record of a job as far as it can be used; `digest` is that of its last line."""

    lines: tuple[RecordLine, ...] = ()
    digest: str = ""

    @property
    def standing(self) -> tuple[RecordLine, ...]:
        """The lines that hold."""
        return tuple(line for line in self.lines if line.stands)

    def told(self, what: What, name: str) -> Fact | None:
        """What stands of one kind about one thing; the last of several."""
        found = [x.fact for x in self.standing if x.fact.what is what and x.fact.name == name]
        return found[-1] if found else None

    def all_told(self, what: What, name: str) -> tuple[Fact, ...]:
        """As `told`, every one."""
        return tuple(x.fact for x in self.standing if x.fact.what is what and x.fact.name == name)

    def used_m(self, cable: str) -> float | None:
        """What a cable took of its cut: without what was left over, with what was missing; None without a cut. [m]"""
        cut, over = self.told(What.CUT, cable), self.told(What.LEFT_OVER, cable)
        if cut is None or cut.length_m is None:
            return None
        return cut.length_m - (0.0 if over is None or over.length_m is None else over.length_m)

    def lies_m(self, cable: str) -> float | None:
        """How long a cable is that lies in the vehicle; None without a cut. [m]

        What was left over is off it. One that ended short is as long as it was cut: what was missing is not there.
        """
        cut, used_m = self.told(What.CUT, cable), self.used_m(cable)
        return None if cut is None or cut.length_m is None or used_m is None else min(cut.length_m, used_m)

    def short_m(self, cable: str) -> float:
        """By how much a cable ended short; 0 where it did not, or nobody said. [m]"""
        over = self.told(What.LEFT_OVER, cable)
        return 0.0 if over is None or over.length_m is None else max(-over.length_m, 0.0)


NO_RECORD: Final = Record()
"""Nothing was recorded."""
