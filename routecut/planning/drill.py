"""The drill study of a job, with the best choice routed and sized.

Stage      planning
Units      m
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from routecut.documents.rounding import rounded
from routecut.drilling.study import study
from routecut.model.drilling import Change, ChoiceRow, DrillStudy
from routecut.model.plan import Plan
from routecut.planning.chart_cache import ready_roadmap
from routecut.planning.holes import Opened, worth_text
from routecut.planning.open_sizes import as_laid, first_sizes
from routecut.planning.stages import plan_survey
from routecut.roadmap.build import Roadmap
from routecut.survey import Survey

_SAME_M = 0.01


def study_survey(
    surveyed: Survey,
    *,
    at_most: int | None = None,
    without: Sequence[str] = (),
    progress: Callable[[str], None] | None = None,
    roadmap: Roadmap | None = None,
    kept: Plan | None = None,
) -> tuple[DrillStudy, Plan]:
    """Which holes to drill in a surveyed job, and the plan that results.

    Parameters
    ----------
    surveyed : Survey
    at_most : int, optional
        New holes; any number where left out.
    without : sequence of str
        Holes that are not to be used.
    progress : callable, optional
        Told the name of each stage as it begins.
    roadmap : Roadmap, optional
        Of this body, where it is there already.
    kept : Plan, optional
        Of this very job, where it is there already. It is not made again if nothing is to be drilled, as it has it.

    Returns
    -------
    DrillStudy, Plan
        The plan is of the job with the holes of the best choice and no other new ones.
    """
    say = progress or (lambda _stage: None)
    job, body = surveyed.job, surveyed.body
    roadmap = (roadmap and roadmap.for_job(job)) or ready_roadmap(job, body, say)
    laid = as_laid(job, first_sizes(job))
    told, held = study(replace(roadmap, job=laid), at_most=at_most, without=without, progress=say)
    # the study needs sizes, the plan picks them itself
    types = {c.name: c.type for c in job.cables}
    held = replace(held, cables=tuple(replace(c, type=types[c.name]) for c in held.cables))
    best = told.rows[told.best]
    if kept is not None and not without and _is_of(kept, best):
        plan = kept
    else:
        opened = Opened(
            refused=dict(told.refused),
            worth={name: worth_text(more, job) for name, more in told.others},
            reached=frozenset(best.ways),
        )
        plan, _ = plan_survey(replace(surveyed, job=held), progress=say, roadmap=roadmap, opened=opened)
    rows = tuple(replace(row, changes=_changes(row, best, plan)) for row in told.rows)
    # the cards of the plan are of the cables as they were really routed
    return replace(told, rows=rows, cards=plan.drilling), plan


def _is_of(kept: Plan, best: ChoiceRow) -> bool:
    """Whether a plan of the job is the one that the choice leads to: nothing drilled in either, all laid.

    With holes to drill it is not looked into: a plan read back has no drill cards.
    """
    return not best.new and kept.complete and not any(hole.drill for hole in kept.holes)


def _changes(row: ChoiceRow, best: ChoiceRow, plan: Plan) -> tuple[Change, ...]:
    """What a row does to each cable, against the best one.

    Lengths along the roadmap are some per cent long; the difference of two of them is what is
    told, with the drop and loss a metre of the plan.
    """
    found = []
    for name in dict.fromkeys((*best.lengths_m, *row.lengths_m)):
        if name not in row.lengths_m:
            found.append(Change(cable=name, longer_m=float("inf")))
            continue
        if name not in best.lengths_m:
            found.append(Change(cable=name, longer_m=float("-inf")))
            continue
        longer = row.lengths_m[name] - best.lengths_m[name]
        if abs(longer) < _SAME_M:
            continue
        found.append(
            Change(
                cable=name,
                longer_m=longer,
                drop_percent=_drop_percent(plan, name, longer),
                loss_db=_loss_db(plan, name, longer),
            )
        )
    return tuple(sorted(found, key=lambda c: (-c.longer_m, c.cable)))


def _drop_percent(plan: Plan, name: str, longer_m: float) -> float | None:
    sized = plan.sizing.electrical.get(name) if plan.sizing is not None else None
    if plan.sizing is None or sized is None or sized.length_m <= 0:
        return None
    ohm = sized.resistance_ohm / sized.length_m * longer_m
    ways = 2 if sized.return_length_m > 0 else 1
    return rounded(100 * ways * ohm * sized.peak_amps / plan.sizing.limit("system_volts").value, 2)


def _loss_db(plan: Plan, name: str, longer_m: float) -> float | None:
    lost = plan.sizing.coax.get(name) if plan.sizing is not None else None
    if lost is None or lost.length_m <= 0:
        return None
    return rounded(lost.cable_db / lost.length_m * longer_m, 3)
