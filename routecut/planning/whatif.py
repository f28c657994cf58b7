"""The drill study with something moved, beside the same study of the job as it is.

Stage      planning
Units      m
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final

from routecut.documents.rounding import rounded
from routecut.model.drilling import DrillStudy
from routecut.model.job import HoleState
from routecut.model.plan import Plan, PlannedCable
from routecut.model.whatif import CableState, Moved, NewHole, WhatIf
from routecut.planning.chart_cache import ready_roadmap
from routecut.planning.drill import study_survey
from routecut.survey import Survey
from routecut.survey.moves import OPTION

FOUND_NAME: Final = re.compile(r"place [1-9][0-9]*'*")
"""How places found on panels are called."""


def compare(
    before: Survey,
    after: Survey,
    moved: tuple[Moved, ...],
    *,
    at_most: int | None = None,
    without: Sequence[str] = (),
    progress: Callable[[str], None] | None = None,
    kept: Plan | None = None,
) -> tuple[DrillStudy, Plan, WhatIf]:
    """Which holes to drill when devices or candidates are moved, and what that changes.

    Parameters
    ----------
    before, after : Survey
        Of the job as it is and with the moves, from `routecut.survey.survey_moved`.
    moved : tuple of Moved
        From there too.
    at_most, without
        As for `routecut.planning.drill.study_survey`, for both studies; places found are numbered
        anew in each, so those in `without` are barred in the moved one alone.
    progress : callable, optional
        Told the name of each stage as it begins.
    kept : Plan, optional
        The plan of the job as it is, if it is there.

    Returns
    -------
    DrillStudy, Plan
        Of the job with the moves.
    WhatIf
    """
    say = progress or (lambda _stage: None)
    given = {h.name for h in before.job.pass_throughs}
    # Both on one roadmap: ways that are the same in both are laid once.
    roadmap = ready_roadmap(before.job, before.body, say)
    _, was = study_survey(
        before,
        at_most=at_most,
        without=[name for name in without if name in given],
        progress=lambda stage: say(f"as it is: {stage}"),
        roadmap=roadmap,
        kept=kept,
    )
    told, now = study_survey(
        after,
        at_most=at_most,
        without=without,
        progress=lambda stage: say(f"moved: {stage}"),
        roadmap=roadmap,
    )
    old, new = ({c.cable.name: _state(p, c) for c in p.cables} for p in (was, now))
    return (
        told,
        now,
        WhatIf(
            moved=moved,
            holes_before=_to_drill(was),
            holes_after=_to_drill(now),
            cables={name: (old[name], new[name]) for name in old},
            findings=tuple(f for f in after.findings if f.file == OPTION),
        ),
    )


def _to_drill(plan: Plan) -> tuple[NewHole, ...]:
    return tuple(
        NewHole(name=h.pass_through.name, at_m=h.at_m, found=h.state is HoleState.FOUND)
        for h in plan.holes
        if h.drill
    )


def _state(plan: Plan, planned: PlannedCable) -> CableState:
    name, route, sizing = planned.cable.name, planned.route, plan.sizing
    wire = sizing.electrical.get(name) if sizing is not None else None
    coax = sizing.coax.get(name) if sizing is not None else None
    # as plan.json has them, so that a plan read back says what one made anew says
    return CableState(
        route_m=None if route is None else rounded(route.length_m),
        cut_m=None if planned.cut is None else rounded(planned.cut.length_m),
        holes=() if route is None else tuple(p.name for p in route.passages),
        type_name=planned.cable.type.name,
        drop_percent=None if wire is None else rounded(wire.peak_drop_percent, 2),
        loss_db=None if coax is None else rounded(coax.loss_db, 3),
    )
