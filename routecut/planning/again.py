"""A plan that is kept, to be asked "what if": answered by laying anew only the cables it touches.

Stage      planning
Units      m
Safe side  every answer is a whole plan, sized and checked on the full mesh like the first one. What is
           used again is filed by what it depends on (`routecut.roadmap.memory`), so that an answer is
           the plan that the changed job would get from scratch, to the last digits of arithmetic
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from routecut.geometry.keep_out import KeepOutField
from routecut.model.job import Job
from routecut.model.plan import Plan, Route
from routecut.planning.chart_cache import ready_roadmap
from routecut.planning.holes import Opened
from routecut.planning.stages import plan_survey
from routecut.roadmap.build import Roadmap
from routecut.survey import Survey
from routecut.verify import Verdicts

_TOUCHED_M = 0.3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Answer:
    """The plan of a changed job.

    Attributes
    ----------
    plan : Plan
    relaid : dict of str to str
        Cables whose route is another than before, and why.
    """

    plan: Plan
    relaid: dict[str, str]


@dataclass(frozen=True, slots=True, eq=False)
class KeptPlan:
    """A plan with all that was worked out for it."""

    surveyed: Survey
    roadmap: Roadmap
    plan: Plan
    verdicts: Verdicts

    @classmethod
    def make(cls, surveyed: Survey, *, progress: Callable[[str], None] | None = None) -> KeptPlan:
        """Plan a surveyed job and keep what it was planned with."""
        roadmap = ready_roadmap(surveyed.job, surveyed.body, progress)
        verdicts = Verdicts()
        plan, _ = plan_survey(surveyed, progress=progress, roadmap=roadmap, verdicts=verdicts)
        return cls(surveyed, roadmap, plan, verdicts)

    def what_if(
        self,
        changed: Survey,
        *,
        opened: Opened | None = None,
        progress: Callable[[str], None] | None = None,
    ) -> Answer:
        """The plan of a changed job: devices, holes, keep-outs or cables are others.

        Parameters
        ----------
        changed : Survey
            Of the same mesh; with other spaces or routing figures the roadmap is built anew.
        opened : Opened, optional
            The choice of holes where it is made already.
        progress : callable, optional
            Told the name of each stage as it begins.
        """
        if not _same_body(self.surveyed, changed):
            plan, _ = plan_survey(changed, progress=progress, opened=opened)
            return Answer(plan=plan, relaid=_relaid(self.plan, plan, changed))
        # The same triangles, the same body: what was judged on it holds.
        changed = replace(changed, body=self.surveyed.body)
        plan, _ = plan_survey(
            changed, progress=progress, roadmap=self.roadmap, opened=opened, verdicts=self.verdicts
        )
        return Answer(plan=plan, relaid=_relaid(self.plan, plan, changed))


def _same_body(one: Survey, other: Survey) -> bool:
    a, b = one.body, other.body
    return a is b or (
        a.rules == b.rules
        and a.parts == b.parts
        and np.array_equal(a.vertices_m, b.vertices_m)
        and np.array_equal(a.faces, b.faces)
        and np.array_equal(a.face_part, b.face_part)
    )


def _relaid(before: Plan, after: Plan, changed: Survey) -> dict[str, str]:
    old = {c.cable.name: c.route for c in before.cables}
    found = {}
    for planned in after.cables:
        name, route = planned.cable.name, planned.route
        was = old.get(name)
        if route is not None and was is not None and np.array_equal(was.points_m, route.points_m):
            continue
        if route is None and was is None and name in old:
            continue
        found[name] = _why(name, was, route, before.job, changed)
    return found


def _why(name: str, was: Route | None, now: Route | None, before: Job, changed: Survey) -> str:
    """What touches a cable, the most direct first."""
    job = changed.job
    cable = next(c for c in job.cables if c.name == name)
    old = next((c for c in before.cables if c.name == name), None)
    if old is None:
        return "it is new"
    for port in (cable.from_port, cable.to_port):
        if port not in (old.from_port, old.to_port) or before.port(port) != job.port(port):
            return f"{port} is elsewhere"
    holes, old_holes = ({h.name: h for h in j.pass_throughs} for j in (job, before))
    taken = () if was is None else was.passages
    for passage in taken:
        if holes.get(passage.name) != old_holes.get(passage.name):
            return f"{passage.name}, which it took, is another or gone"
    for passage in () if now is None else now.passages:
        if holes.get(passage.name) != old_holes.get(passage.name):
            return f"it goes through {passage.name} now"
    others = set(job.keep_outs) ^ set(before.keep_outs)
    for keep_out in sorted(others, key=lambda k: k.name):
        field = KeepOutField(keep_out, changed.body)
        for route in (was, now):
            if route is not None and float(field.distance_m(route.points_m).min()) < (
                keep_out.clearance_m + _TOUCHED_M
            ):
                return f"the keep-out {keep_out.name} is another"
    return "another cable has made or taken room, or its size is another"
