"""Why a cable goes the way it does: the nearest other way, in short words."""

from __future__ import annotations

from typing import Final

from routecut.documents.figures import Lengths
from routecut.model.company import COMPANY, HOLE_COST, SEPARATION
from routecut.model.plan import Plan, PlannedCable

_LENGTH: Final = "length"

_DEARER: Final = {
    "free air": "more free air",
    "noise": "beside a noise source",
    "exposure": "wet, hot or stony for longer",
    "trim": "more trim to take off",
    HOLE_COST: "a hole to drill",
    SEPARATION: "beside cables of another kind",
    COMPANY: "away from its own kind",
}
_CHEAPER: Final = {
    "free air": "less free air",
    "noise": "less beside a noise source",
    "exposure": "dry for longer",
    "trim": "less trim to take off",
    HOLE_COST: "one hole less to drill",
    SEPARATION: "further from cables of another kind",
    COMPANY: "with its own kind for longer",
}
"""By cause: what the other way costs more for, or less."""

_WORTH_M: Final = 0.05
"""Causes that make less of a difference are not told."""


def why_way(plan: Plan, planned: PlannedCable) -> str:
    """One sentence; empty for a cable without a route."""
    if planned.route is None:
        return ""
    lengths = Lengths(plan.job.length_unit)
    other = plan.others.get(planned.cable.name)
    if other is None:
        return "no other way was found"
    longer = other.length_m - other.taken_m
    taken = tuple(p.name for p in planned.route.passages)
    where = f"through {' and '.join(other.holes)}" if other.holes != taken else "another way round"
    size = f"about {lengths.text(abs(longer))} {'longer' if longer >= 0 else 'shorter'}"
    reasons = [
        (_DEARER if more > 0 else _CHEAPER)[cause]
        for cause, more in other.more_m.items()
        if cause != _LENGTH and cause in _DEARER and abs(more) >= _WORTH_M
    ]
    return f"the next best, {where}, is {', '.join([size, *reasons])}"
