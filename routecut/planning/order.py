"""The order of several jobs: their plans read back or made, and added up.

Stage      planning
Units      m
Safe side  a stored plan counts only while it is of the job and mesh as they stand
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path

from routecut.model.drilling import HoleSize
from routecut.model.finding import Finding
from routecut.model.plan import OrderLine, Plan
from routecut.ordering import Fitted, order_list
from routecut.planning.stages import plan_survey
from routecut.planning.stored import plan_text, stored_plan
from routecut.survey import survey_job


def order_jobs(
    jobs: Sequence[Path], plan_folder: str, *, progress: Callable[[str], None] | None = None
) -> tuple[tuple[str, ...], tuple[OrderLine, ...], tuple[Finding, ...], tuple[Plan, ...]]:
    """Everything to order for some job folders; one named twice is two vehicles alike.

    Parameters
    ----------
    jobs : sequence of Path
    plan_folder : str
        Name of the plan folder in each.
    progress : callable, optional

    Returns
    -------
    labels : tuple of str
        What each job is called in the list.
    lines, findings
        See `routecut.ordering.order_list`.
    plans : tuple of Plan
        As long as `jobs`.

    Raises
    ------
    JobError
        With every finding, if a job can't be used.
    """
    say = progress or (lambda _stage: None)
    made: dict[Path, tuple[Plan, dict[str, HoleSize]]] = {}
    for folder in jobs:
        if folder.resolve() not in made:
            made[folder.resolve()] = _planned(folder, plan_folder, say)
    plans = [made[folder.resolve()] for folder in jobs]
    labels = labels_of([plan.job.title for plan, _ in plans])
    fits = [
        Fitted(
            job=plan.job,
            cables=plan.cables,
            holes=plan.holes,
            sizes=sizes,
            sizing=plan.sizing,
            label=label if len(plans) > 1 else "",
        )
        for label, (plan, sizes) in zip(labels, plans, strict=True)
    ]
    lines, findings = order_list(fits)
    return labels, lines, findings, tuple(plan for plan, _ in plans)


def _planned(folder: Path, plan_folder: str, say: Callable[[str], None]) -> tuple[Plan, dict[str, HoleSize]]:
    say(f"reading {folder}")
    surveyed = survey_job(folder)
    stored = stored_plan(folder / plan_folder, surveyed)
    # the drill cards are not read back; what the order takes of them is
    sizes = None if stored is None else _sizes(folder / plan_folder)
    if stored is not None and sizes is not None:
        return stored, sizes
    plan, _ = plan_survey(surveyed, progress=say)
    return plan, {card.name: card.size for card in plan.drilling}


def _sizes(plan_folder: Path) -> dict[str, HoleSize] | None:
    """How large the holes of a stored plan are; None where somebody changed what is said of them."""
    try:
        cards = json.loads(plan_text(plan_folder))["drilling"]
        sizes = {str(card["name"]): HoleSize(**card["size"]) for card in cards}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    return sizes if all(_is_sound(size) for size in sizes.values()) else None


def _is_sound(size: HoleSize) -> bool:
    values = asdict(size)
    texts = [values.pop(name) for name in ("by", "alternative")]
    return (
        all(isinstance(text, str) for text in texts)
        and all(type(v) in (int, float) and 0.0 <= v < math.inf for v in values.values())
        and type(size.sheets) is int
    )


def labels_of(titles: Sequence[str]) -> tuple[str, ...]:
    """Titles, those used more than once with a number.

    Examples
    --------
    >>> labels_of(["van", "boat", "van"])
    ('van 1', 'boat', 'van 2')
    """
    often, seen = Counter(titles), Counter[str]()
    labels = []
    for title in titles:
        seen[title] += 1
        labels.append(f"{title} {seen[title]}" if often[title] > 1 else title)
    return tuple(labels)
