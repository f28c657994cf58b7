"""Where labels go: names near what they name, none upon another.

Units      pixels, x to the right and y down
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from routecut.scene.palette import Colour

Point = tuple[float, float]

_REACHES: Final = (0.0, 26.0, 40.0, 58.0, 80.0, 105.0, 135.0, 170.0, 215.0, 270.0, 340.0)
_TURNS: Final = 16
_GAP: Final = 3.0


@dataclass(frozen=True, slots=True)
class Wish:
    """A label that wants a place.

    Attributes
    ----------
    text : str
    anchors : sequence of Point
        Where what it names can be pointed at, the best first.
    on_top : bool
        It may lie on its anchor (a name on a line) rather than beside it.
    """

    text: str
    size: tuple[float, float]
    anchors: tuple[Point, ...]
    colour: Colour
    filled: bool
    on_top: bool
    reach: float = math.inf
    """Furthest from its anchor; rather no label than one further off."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A label and the place it got: its corner, and the anchor it points at."""

    wish: Wish
    left: float
    top: float
    anchor: Point

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        width, height = self.wish.size
        return (self.left, self.top, self.left + width, self.top + height)


def place(wishes: Sequence[Wish], area: tuple[float, float], taken: Sequence[Point] = ()) -> list[Spot]:
    """A place for each label, in the order of the wishes; those without room are left out.

    Parameters
    ----------
    wishes : sequence of Wish
    area : (float, float)
        Width and height of the picture.
    taken : sequence of Point
        Points that no label should cover, unless it is its own anchor.

    Returns
    -------
    list of Spot
        No two overlap, all lie inside the area.
    """
    spots: list[Spot] = []
    for wish in wishes:
        spot = next((s for s in _candidates(wish) if _free(s, spots, area, taken)), None)
        if spot is not None:
            spots.append(spot)
    return spots


def _candidates(wish: Wish) -> Iterator[Spot]:
    """Every anchor at a short reach before any anchor at a long one."""
    width, height = wish.size
    for reach in _REACHES:
        if (reach == 0.0 and not wish.on_top) or reach > wish.reach:
            continue
        for anchor in wish.anchors:
            for turn in range(_TURNS if reach else 1):
                angle = 2.0 * math.pi * (turn + 0.5) / _TURNS
                # an ellipse: labels are wider than high
                x = anchor[0] + math.cos(angle) * (reach + width / 2.0 if reach else 0.0)
                y = anchor[1] + math.sin(angle) * (reach + height / 2.0 if reach else 0.0)
                yield Spot(wish, x - width / 2.0, y - height / 2.0, anchor)


def _free(spot: Spot, spots: Sequence[Spot], area: tuple[float, float], taken: Sequence[Point]) -> bool:
    left, top, right, bottom = spot.box
    if left < _GAP or top < _GAP or right > area[0] - _GAP or bottom > area[1] - _GAP:
        return False
    if any(left < x < right and top < y < bottom for x, y in taken if (x, y) != spot.anchor):
        return False
    return not any(overlap(spot.box, other.box, _GAP) for other in spots)


def overlap(
    a: tuple[float, float, float, float], b: tuple[float, float, float, float], gap: float = 0.0
) -> bool:
    """Two boxes share a point, or come nearer than the gap.

    Examples
    --------
    >>> overlap((0, 0, 2, 2), (1, 1, 3, 3)), overlap((0, 0, 2, 2), (3, 0, 4, 1))
    (True, False)
    """
    return a[0] < b[2] + gap and b[0] < a[2] + gap and a[1] < b[3] + gap and b[1] < a[3] + gap
