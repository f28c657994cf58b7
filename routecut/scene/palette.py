"""Colours and patterns of the pictures: never colour alone, always with a pattern and a name.

The classes differ in lightness as well as in hue, so that they stay apart for eyes that
do not tell red from green and in grey. A cable whose type names the colour of its insulation is drawn
in that colour; the pattern still tells its class.
"""

from __future__ import annotations

import re
from typing import Final

from routecut.model.job import CableClass, CableType, Reason

Colour = tuple[int, int, int]

CLASS_COLOUR: Final[dict[CableClass, Colour]] = {
    CableClass.POWER: (176, 40, 28),
    CableClass.BOND: (28, 31, 34),
    CableClass.COAX: (30, 125, 205),
    CableClass.CONTROL: (158, 148, 0),  # not orange: that is a high-voltage line in a vehicle
    CableClass.AUDIO: (110, 40, 135),
    CableClass.DATA: (0, 150, 110),
}

CLASS_DASHES: Final[dict[CableClass, tuple[float, float]]] = {
    CableClass.POWER: (1.0, 0.0),
    CableClass.BOND: (0.25, 0.45),
    CableClass.COAX: (2.4, 0.5),
    CableClass.CONTROL: (1.1, 0.5),
    CableClass.AUDIO: (0.5, 0.5),
    CableClass.DATA: (1.7, 0.9),
}
"""Drawn and left out, as shares of `DASH_M`; nothing left out is a solid line."""

DASH_M: Final = 0.045

REASON_TINT: Final[dict[Reason, Colour]] = {
    Reason.HOT: (205, 120, 95),
    Reason.MOVING: (150, 150, 165),
    Reason.FUEL: (185, 165, 80),
    Reason.AIRBAG: (195, 140, 180),
    Reason.HIGH_VOLTAGE: (240, 165, 90),
    Reason.SHARP: (120, 130, 130),
    Reason.OTHER: (170, 175, 175),
}

REASON_MARK: Final[dict[Reason, str]] = {
    Reason.HOT: "hot",
    Reason.MOVING: "moving",
    Reason.FUEL: "fuel",
    Reason.AIRBAG: "airbag",
    Reason.HIGH_VOLTAGE: "high voltage",
    Reason.SHARP: "sharp",
    Reason.OTHER: "keep out",
}
"""The word on a keep-out: a tint alone is lost in grey, and a letter is taken for the name of a cable."""

INSULATION: Final[dict[str, Colour]] = {
    "red": CLASS_COLOUR[CableClass.POWER],
    "black": (28, 31, 34),
    "blue": (25, 75, 190),
    "green": (0, 120, 60),
    "yellow": (222, 186, 0),
    "white": (244, 244, 240),
    "brown": (112, 66, 32),
    "grey": (128, 133, 137),
    "violet": CLASS_COLOUR[CableClass.AUDIO],
    "pink": (224, 128, 158),
}
"""Colours of insulation as types name them. Orange is left out: in a vehicle that is a high-voltage line."""

_SAME_COLOUR: Final = {"gray": "grey", "purple": "violet"}

INK: Final[Colour] = (21, 25, 28)
PAPER: Final[Colour] = (255, 255, 255)
BODY: Final[Colour] = (150, 165, 175)
EDGE: Final[Colour] = (120, 132, 140)
HOLE: Final[Colour] = (40, 60, 70)
DRILL: Final[Colour] = (200, 0, 90)
DEVICE: Final[Colour] = (70, 80, 88)


def insulation(cable_type: CableType) -> str:
    """The colour of the insulation where the name of a type says it; empty where it says none, or several.

    Examples
    --------
    >>> from types import SimpleNamespace as N
    >>> insulation(N(name="wire-10awg-black")), insulation(N(name="coax-240")), insulation(N(name="pair red/black"))
    ('black', '', '')
    """
    words = [_SAME_COLOUR.get(w, w) for w in re.split(r"[^a-z]+", cable_type.name.lower())]
    named = {word for word in words if word in INSULATION}
    return named.pop() if len(named) == 1 else ""


def cable_colour(cable_class: CableClass, cable_type: CableType) -> Colour:
    """What a cable is drawn in: its own insulation where that is known, else the colour of its class."""
    return INSULATION.get(insulation(cable_type), CLASS_COLOUR[cable_class])


def ink_on(ground: Colour) -> Colour:
    """Black or white, whichever stands out more from a ground.

    Examples
    --------
    >>> ink_on((214, 132, 0)) == INK, ink_on((28, 31, 34)) == PAPER
    (True, True)
    """
    # relative luminance with a plain power of 2.2 for sRGB; the two contrasts meet at about 0.18
    linear = [(channel / 255) ** 2.2 for channel in ground]
    return INK if 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] > 0.22 else PAPER


def fraction(colour: Colour) -> tuple[float, float, float]:
    """The colour in shares of one, as the renderer wants it.

    Examples
    --------
    >>> fraction((255, 0, 51))
    (1.0, 0.0, 0.2)
    """
    return (colour[0] / 255, colour[1] / 255, colour[2] / 255)
