"""The usual cautions of the trade, in our own words, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

DEFER: Final = "The vehicle maker's instructions, local codes and licensed practice come first."
"""The last sentence of every caution."""


class Topic(StrEnum):
    """What a caution is about."""

    DRILLING = "drilling"
    BLIND = "blind drilling"
    HOLE = "hole treatment"
    BATTERY = "battery"
    AIRBAG = "airbag"
    FUEL = "fuel"
    HIGH_VOLTAGE = "high voltage"
    HOT = "hot parts"
    MOVING = "moving parts"
    SHARP = "sharp edges"
    RF = "radio waves"
    CONTROLS = "driver's controls"


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution.

    Attributes
    ----------
    topic : Topic
    text : str
        What can happen and what to do, without `DEFER`.
    source : str
        Where the rule comes from, or that it is common practice without one.
    """

    topic: Topic
    text: str
    source: str


_PRACTICE: Final = "common practice, no source"

_ALL: Final[tuple[Caution, ...]] = (
    Caution(
        Topic.BATTERY,
        "Isolate the battery before work on wiring or metal; disconnect the negative side first and connect "
        "it last. Then wait before touching anything of the restraint system: it keeps a charge. Makers "
        "state different times, 60, 90 and 600 seconds have been seen: use the time stated for this "
        "vehicle, and the longest where you don't know. A radio's supply wire carries a fuse as near to "
        "the battery as possible.",
        "FCS 1362:2010 sec. 4.6; service notes of three vehicle makers for the waits; order of the "
        "terminals: common practice, no source",
    ),
    Caution(
        Topic.AIRBAG,
        "An airbag can injure when it goes off, and anything in its way is thrown. Nothing is clipped to, "
        "run over or hung in front of an airbag, its cover, its yellow wiring or its sensors. No test lamp "
        "or ohmmeter on its wiring. Work there only with the battery disconnected and the maker's waiting "
        "time over.",
        _PRACTICE,
    ),
    Caution(
        Topic.FUEL,
        "Fuel and its vapour ignite. No cable is fixed to a part of the fuel system or goes through a hole "
        "with a fuel pipe. No drill, no soldering iron, no flame near a tank, filler or pipe; know where "
        "they run on the other side of every sheet before you drill.",
        "FCS 1362:2010 sec. 4.3; drilling: common practice, no source",
    ),
    Caution(
        Topic.HIGH_VOLTAGE,
        "Orange cables carry a voltage that kills, in hybrids also with the engine off. Keep hands, tools "
        "and cables away from orange cables and the parts they lead to. Never open, move or clip to them. "
        "Only licensed people isolate a high-voltage system and prove it dead.",
        "orange cover: UN ECE R100, also FMVSS 305 and ISO 6469-3; rest: common practice, no source",
    ),
    Caution(
        Topic.HOT,
        "Exhaust, engine and heater parts burn skin and melt jackets. Let them cool before work; keep the "
        "clearance stated, also where the cable sags when warm.",
        _PRACTICE,
    ),
    Caution(
        Topic.MOVING,
        "Parts that move cut and catch: seats, steering, pedals, wheels, doors, wipers, fans that start by "
        "themselves. Ignition off and key out while hands are there. Move every such part through its whole "
        "travel by hand before the trim goes back, and look at the cable.",
        _PRACTICE,
    ),
    Caution(
        Topic.SHARP,
        "Sheet-metal edges cut hands at once and cables in time. Gloves; an edge guard or a grommet wherever "
        "a cable comes within 9.5 mm of an edge.",
        "FAA AC 43.13-1B par. 11-115 (3/8 in); gloves: common practice, no source",
    ),
    Caution(
        Topic.DRILLING,
        "A wrong hole can't be undone. Mark it from landmarks, measure it again from another one, look at "
        "both sides, then drill: pilot first, with a stop on the drill, eye protection, battery isolated. "
        "No hole in a brace, a pillar, a roll-over structure or the tread of a step.",
        "MPT 1362 has inspection before drilling and drilling precautions as sections of their own; "
        "steps: common practice, no source",
    ),
    Caution(
        Topic.BLIND,
        "What the drill meets is NOT all known here. Open the other side or look with a mirror or camera before "
        "you drill. If you can't see it, don't drill it.",
        "MPT 1362 names it as a section of its own; rule: common practice, no source",
    ),
    Caution(
        Topic.HOLE,
        "Clear away the chips, deburr both faces, prime, paint and seal the bare edge; then fit the grommet. "
        "No cable goes through bare metal.",
        "vehicle body-builder guides and repair books",
    ),
    Caution(
        Topic.RF,
        "A transmitting antenna can burn at a touch and heat the body at a distance. Nobody touches it or "
        "stands nearer than the radio's manual allows while it transmits; never transmit without an antenna "
        "or a dummy load. Check with the engine running that no vehicle function is disturbed.",
        "limits: 47 CFR 1.1310; distance: the radio maker's manual; rest: common practice, no source",
    ),
    Caution(
        Topic.CONTROLS,
        "Nothing fitted may hide the road, a lamp or a display, or stand in the way of a control, a belt, "
        "an airbag or the way out. Cables to the driver's place hang clear of pedals, wheel and lever. Try "
        "everything before the vehicle is handed over.",
        _PRACTICE,
    ),
)

CAUTIONS: Final[dict[Topic, Caution]] = {caution.topic: caution for caution in _ALL}
"""Every topic has its caution."""
