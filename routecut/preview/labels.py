"""Where labels go: names near what they name, none upon another.

Units      pixels, x to the right and y down
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from routecut.model.body import Floats
from routecut.scene.palette import Colour

Point = tuple[float, float]
Flags = npt.NDArray[np.bool_]

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
    points = np.array(taken, dtype=np.float64).reshape(-1, 2)
    boxes = np.empty((len(wishes), 4))  # of the spots, as far as there are any
    for wish in wishes:
        for at, anchors in _candidates(wish):
            free = _inside(at, wish, area) & _clear(at, wish, boxes[: len(spots)])
            free &= ~_covers(at, wish, points, anchors)
            if free.any():
                first = int(np.argmax(free))
                left, top = at[first].tolist()
                spot = Spot(wish, left, top, (float(anchors[first][0]), float(anchors[first][1])))
                boxes[len(spots)] = spot.box
                spots.append(spot)
                break
    return spots


_ROUND: Final = np.array(
    [(math.cos(a), math.sin(a)) for a in (2.0 * math.pi * (turn + 0.5) / _TURNS for turn in range(_TURNS))]
)


def _candidates(wish: Wish) -> Iterator[tuple[Floats, Floats]]:
    """Corners to try and the anchors they belong to, a reach at a time: every anchor at a short one first.

    All of a reach at once: of 500 cables most labels find no room, and one by one that took minutes.
    """
    size = np.array(wish.size)
    anchors = np.array(wish.anchors, dtype=np.float64).reshape(-1, 2)
    for reach in _REACHES:
        if (reach == 0.0 and not wish.on_top) or reach > wish.reach:
            continue
        if reach == 0.0:
            yield anchors - size / 2.0, anchors
            continue
        # an ellipse: labels are wider than high
        middles = anchors[:, None, :] + _ROUND[None, :, :] * (reach + size / 2.0)
        yield middles.reshape(-1, 2) - size / 2.0, np.repeat(anchors, _TURNS, axis=0)


def _inside(at: Floats, wish: Wish, area: tuple[float, float]) -> Flags:
    """Which corners leave a label inside the area. (n,)"""
    inside: Flags = ((at >= _GAP) & (at + np.array(wish.size) <= np.array(area) - _GAP)).all(axis=1)
    return inside


def _clear(at: Floats, wish: Wish, boxes: Floats) -> Flags:
    """Which corners leave a label clear of other labels, (m, 4). (n,)"""
    left, top, right, bottom = _edges(at, wish)
    x0, y0, x1, y1 = boxes.T
    upon = (left < x1 + _GAP) & (x0 < right + _GAP) & (top < y1 + _GAP) & (y0 < bottom + _GAP)
    clear: Flags = ~upon.any(axis=1)
    return clear


def _covers(at: Floats, wish: Wish, points: Floats, anchors: Floats) -> Flags:
    """Which corners leave a label upon a point, (m, 2), that is not its own anchor. (n,)"""
    left, top, right, bottom = _edges(at, wish)
    x, y = points.T
    own = (anchors[:, :1] == x) & (anchors[:, 1:] == y)
    covers: Flags = ((left < x) & (x < right) & (top < y) & (y < bottom) & ~own).any(axis=1)
    return covers


def _edges(at: Floats, wish: Wish) -> tuple[Floats, Floats, Floats, Floats]:
    """Left, top, right and bottom of a label at each corner, in columns."""
    high = at + np.array(wish.size)
    return at[:, :1], at[:, 1:], high[:, :1], high[:, 1:]
