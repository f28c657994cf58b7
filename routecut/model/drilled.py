"""Whether a planned hole is there by now, as the record tells it.

Stage      model; asked by documents and preview alike
"""

from __future__ import annotations

from routecut.model.plan import Plan, PlannedHole
from routecut.model.record import NO_RECORD, Kind, What


def was_drilled(plan: Plan, hole: PlannedHole) -> bool:
    """Whether the record has the place of a planned hole, or what was left of a cable once it was pulled through."""
    record = NO_RECORD if plan.as_built is None else plan.as_built.record
    name = hole.pass_through.name
    place = record.told(What.MOVED, name)
    pulled = any(record.told(What.LEFT_OVER, cable) is not None for cable in hole.cables)
    return pulled or (place is not None and place.kind is Kind.HOLE)


def to_drill(plan: Plan, hole: PlannedHole) -> bool:
    """Whether a hole still has to be made: planned so, and not drilled by the record."""
    return hole.drill and not was_drilled(plan, hole)
