"""How much room is left in a hole.

Stage      service
Units      m; shares of the area
Source     the fill rule of `routecut.routes.harness.fill`
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from routecut.model.one_more import HoleRoom
from routecut.model.plan import PlannedCable, PlannedHole
from routecut.routes.harness import fill

_STEP_M: Final = 0.0001


def hole_room(
    holes: Sequence[PlannedHole], cables: Sequence[PlannedCable], name: str, diameter_m: float = 0.0
) -> HoleRoom:
    """How full a hole is with its cables, with one more of `diameter_m`, and the thickest that still goes in.

    Raises
    ------
    KeyError
        There is no such hole.
    """
    hole = next((h for h in holes if h.pass_through.name == name), None)
    if hole is None:
        raise KeyError(name)
    thick = {c.cable.name: c.cable.type.diameter_m for c in cables}
    inside = [thick[c] for c in hole.cables if c in thick]

    def with_more(d_m: float) -> tuple[float, float]:
        return fill(hole.pass_through, [*inside, d_m])

    low, high = (
        0,
        round(hole.pass_through.diameter_m / _STEP_M),
    )  # in steps: what fits is monotone in the diameter
    while low < high:
        middle = (low + high + 1) // 2
        filled, most = with_more(middle * _STEP_M)
        low, high = (middle, high) if filled <= most else (low, middle - 1)
    filled, most = fill(hole.pass_through, inside)
    _, most_with = with_more(diameter_m or low * _STEP_M)  # goes by how many cables there are then
    more = with_more(diameter_m)[0] if diameter_m > 0.0 else filled
    return HoleRoom(
        hole=name, filled=filled, most=most, with_one_more=more, most_with=most_with, largest_m=low * _STEP_M
    )


def rooms_of(holes: Sequence[PlannedHole], cables: Sequence[PlannedCable]) -> dict[str, tuple[HoleRoom, ...]]:
    """By cable: the holes it goes through in their order, each with what one more of its kind makes of it."""
    there = {h.pass_through.name for h in holes}
    return {
        c.cable.name: tuple(
            hole_room(holes, cables, p.name, c.cable.type.diameter_m)
            for p in c.route.passages
            if p.name in there
        )
        for c in cables
        if c.route is not None and c.route.passages
    }
