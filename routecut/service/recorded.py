"""Joints that were made on the vehicle: how each is got at, by the trim its cable runs behind.

Stage      service; asks nothing of the mesh: the stretches behind trim were found on it when the cable was laid
Units      m along the run, as recorded
Safe side  a joint with trim on both sides of its place needs all of it off; a sealed space is not got into
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from routecut.model.job import Job
from routecut.model.plan import PlannedCable
from routecut.model.record import Fact, Record, What
from routecut.model.running import on_curve
from routecut.model.service import PlaceKind, Service, ServicePlace, Way
from routecut.routes.whereabouts import space_at
from routecut.service.graph import removal_of, with_places
from routecut.service.study import is_sealed, on_run, place_at

_NEAR_M: Final = 0.030
"""A joint this near to where trim begins has it in front of it: it is as long as a splice and its sleeve (common
practice, no source). [m]"""


def with_joints(
    service: Service, planned: Service, job: Job, cables: Sequence[PlannedCable], record: Record
) -> Service:
    """A study with the joints that lie there: the recorded ones of each cable that has any, else the planned.

    Parameters
    ----------
    service : Service
        As built, or the plan's.
    planned : Service
        The plan's.
    job : Job
    cables : sequence of PlannedCable
        As they lie there.
    record : Record
        As it stands.

    Returns
    -------
    Service
        The same one where no joint is recorded and none was before.
    """
    told = {c.cable.name: record.all_told(What.JOINT, c.cable.name) for c in cables}
    kept = [p for p in planned.places if p.kind is PlaceKind.JOINT and not any(told.get(c) for c in p.cables)]
    made = [
        replace(place, removal=removal_of(service, [place]))
        for c in cables
        for place in _made(job, c, told[c.cable.name])
    ]
    others = [p for p in service.places if p.kind is not PlaceKind.JOINT]
    places = (*others, *kept, *made)
    if places == (*others, *(p for p in service.places if p.kind is PlaceKind.JOINT)):
        return service
    return with_places(service, places, cables)


def _made(job: Job, planned: PlannedCable, joints: Sequence[Fact]) -> Iterator[ServicePlace]:
    route, name = planned.route, planned.cable.name
    if route is None:
        return
    for number, fact in enumerate(joints, start=1):
        at_m = on_curve(planned, min(fact.length_m or 0.0, route.length_m))
        point = on_run(planned, at_m)
        space = fact.space or space_at(job, route, at_m, point)
        off = {c.trim for c in planned.covered if c.from_m - _NEAR_M <= at_m <= c.to_m + _NEAR_M}
        more = f" {number}" if len(joints) > 1 else ""
        ways = () if is_sealed(job, space) else (Way(space=space, trims=tuple(sorted(off))),)
        yield place_at(PlaceKind.JOINT, f"joint{more} of {name}", space, point, cables=[name], ways=ways)
