"""Verdicts that still hold: what was judged before need not be judged again."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from routecut.model.body import Body
from routecut.model.job import Cable, Job
from routecut.model.plan import Route, Verification


class Verdicts:
    """Verdicts on the routes of one body, for as long as nothing they rest on changes.

    One holds only for the same curve of the same cable in a job that is the same in all but
    other cables and devices that are not at its ends.
    """

    def __init__(self) -> None:
        self._body: Body | None = None
        self._known: dict[str, tuple[Job, Cable, Route, Verification]] = {}

    def on(self, job: Job, body: Body, cable: Cable, route: Route) -> Verification | None:
        """What was judged of a route by itself; None when that is not known, or does not hold any more."""
        known = self._known.get(cable.name) if self._body is body else None
        if known is None or known[:2] != (_about(job, cable), cable) or not _same_route(known[2], route):
            return None
        return known[3]

    def keep(self, job: Job, body: Body, cable: Cable, route: Route, verified: Verification) -> None:
        """Remember a verdict; those on another body are forgotten."""
        if self._body is not body:
            self._body, self._known = body, {}
        self._known[cable.name] = (_about(job, cable), cable, route, verified)


def _about(job: Job, cable: Cable) -> Job:
    """The job without other cables and without devices that are not at the cable's ends."""
    ends = {job.device_of(port).name for port in (cable.from_port, cable.to_port)}
    return replace(job, cables=(), devices=tuple(d for d in job.devices if d.name in ends))


def _same_route(one: Route, other: Route) -> bool:
    same_curve = np.array_equal(one.points_m, other.points_m)
    return same_curve and all(
        getattr(one, f.name) == getattr(other, f.name) for f in fields(one) if f.name != "points_m"
    )
