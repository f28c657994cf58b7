"""The tolerances of the judge, each with its reason.

Units      m
Safe side  a tolerance covers what the form of the result can't show (chords instead of
           arcs, boxes instead of spaces); none of them is a licence to come nearer
"""

from __future__ import annotations

import math
from typing import Final

from routecut.units import Rounding, format_length

SAMPLE_STEP_M: Final = 0.005
"""The curve is judged at its own points and at least this densely between them."""

TOUCH_M: Final = 1e-9
"""A segment this near a triangle meets it: hits on an edge or a corner are never lost."""

SAME_CROSSING_M: Final = 0.001
"""Faces met within this running length are one sheet: its neighbouring triangles."""

END_M: Final = 0.001
"""How far a route may begin or end from its port: the accuracy of a drawn point."""

CHORD_M: Final = 0.001
"""The curve is handed over as chords this near the true arc (see `Route.points_m`)."""

CLEARANCE_SLACK_M: Final = 0.0005
"""What a chord may dip into a clearance: a chord of 15 mm on a 60 mm arc dips 0.5 mm."""

TUBE_SLACK_M: Final = 0.001
"""How far the jacket may overlap the rim of a passage: chords again."""

LEAST_TUBE_M: Final = 0.002
"""Least radius of a passage tube round its axis, so that a cable as thick as its hole
may still be led along the axis; whether it fits is judged as fill."""

TUBE_END_M: Final = 0.005
"""How far a passage reaches beyond its depth at either end: sheet thickness, a pressed
rim and a curved sheet lie in it."""

END_CLEAR_M: Final = 0.030
"""Least run at either end that is not asked for clearance to sheets: a connector sits on
metal. Crossings are judged there like everywhere."""

SUPPORT_FACTOR: Final = 1.25
SUPPORT_SLACK_M: Final = 0.001
"""A cable is clipped where its middle is within 1.25 stand-offs and 1 mm of a panel: a
clip's tail takes up that much, and a rounded bend lifts that much off a corner."""

SPAN_BENDS: Final = 4.0
SPAN_STAND_OFFS: Final = 3.0
"""A clip can't sit in a bend: in a square corner the bend leaves both panels over a
quarter turn (1.6 radii) and a square turn into a hole over more, so a span of 4 bend
radii, or of 3 stand-offs where those are more, is allowed even where bridges are
forbidden."""

BEND_PART: Final = 0.97
"""Least measured radius as part of the radius asked for: the rest is reading a radius
off chords."""

SPACE_SLACK_M: Final = 0.060
"""Boxes of spaces are inexact by up to this much."""

PASSAGE_PLACE_M: Final = 0.002
"""How far along its axis the curve may be from the middle of a hole at the running
length stated for it."""

LENGTH_M: Final = 0.001
"""How far a stated length may be from the arc length measured again."""

FILL_ONE: Final = 0.53
FILL_TWO: Final = 0.31
FILL_MORE: Final = 0.40
"""Part of the hole's area that one, two, and three or more cables may fill: NEC
chapter 9 table 1 (National Electrical Code, a rule for conduit, used here as practice
for a hole)."""

MOST_FINDINGS: Final = 10
"""Places reported of one kind for one cable; a last line says how many more there are."""


def mm(length_m: float, rounding: Rounding = "nearest") -> str:
    """A length in whole millimetres, the unit of every tolerance here.

    "down" for a distance found too small and "up" for one found too large, so that what
    is found never prints like what is allowed.

    >>> mm(0.0034), mm(0.4501, "up")
    ('3 mm', '451 mm')
    """
    return format_length(length_m, "mm", rounding)


def fill_limit(cables: int) -> float:
    """Part of a hole's area that so many cables may fill. [-]

    Source: NEC chapter 9 table 1.

    >>> fill_limit(2)
    0.31
    """
    return {1: FILL_ONE, 2: FILL_TWO}.get(cables, FILL_MORE)


def bend_window_m(radius_m: float) -> float:
    """Length of the legs over which a radius is read off the curve. [m]

    The longest chord of a circle of that radius that stays within `CHORD_M` of it: any
    shorter and a right curve of long chords would be called kinked, any longer and a
    kink would be read as a bend. A kink that a true bend of this radius would follow to
    within one to two times `CHORD_M` is not told apart from that bend.
    """
    radius_m = max(radius_m, CHORD_M)
    return 2.0 * math.sqrt(2.0 * radius_m * CHORD_M - CHORD_M**2)
