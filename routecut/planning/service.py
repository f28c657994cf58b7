"""Questions about service, answered from the plan that is kept with a job.

Stage      planning
Safe side  a plan of another state of the job is answered from only with a word of warning; nothing is
           planned anew: what lies in the vehicle is what was planned then
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from routecut.documents.part_words import spoken
from routecut.errors import OutOfRangeError, RoutecutError
from routecut.model.plan import Plan
from routecut.model.service import Answer, Asked
from routecut.plain import nearest_name
from routecut.planning.stored import PLAN_FILE, plan_from_json, plan_text, stored_plan
from routecut.service import answer, names
from routecut.survey import survey_job

_NEAREST: Final = 3
_STALE: Final = (
    "the plan in {folder} was made of the job as it was then, or by another version: what follows is of that plan. "
    "Plan again only if the vehicle was fitted out by what the job says now"
)


def kept_plan(job: Path, plan_folder: str) -> tuple[Plan, str]:
    """The plan in the plan folder of a job, and what has to be said of it.

    Parameters
    ----------
    job : Path
        The job folder.
    plan_folder : str
        Name of the plan folder in it.

    Returns
    -------
    Plan, str
        A warning when the plan is not of the job as it stands; else nothing.

    Raises
    ------
    JobError
        The job can't be used.
    RoutecutError
        There is no plan, or it can't be read with this job.
    """
    surveyed = survey_job(job)
    folder = job / plan_folder
    plan = stored_plan(folder, surveyed)
    if plan is not None:
        return plan, ""
    file = folder / PLAN_FILE
    if not file.is_file():
        raise RoutecutError(f"{folder} holds no plan; make it: routecut plan {job}")
    try:
        plan = plan_from_json(plan_text(folder), surveyed.job)
        if plan.service is None:
            raise ValueError
        _all_there(plan)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise RoutecutError(
            f"{file} is no plan of the job as it stands, or was made by an older version: put job.toml back as it "
            f"was, or plan again: routecut plan {job}"
        ) from None
    return plan, _STALE.format(folder=folder)


def _all_there(plan: Plan) -> None:
    """KeyError when the job no longer has what the plan speaks of."""
    for planned in plan.cables:
        plan.job.device_of(planned.cable.from_port)
        plan.job.device_of(planned.cable.to_port)
    for name in {p.name for p in plan.service.places if p.kind == "connector"} if plan.service else ():
        plan.job.port(name)


def answers(plan: Plan, text: str) -> list[Answer]:
    """Answers to a name, or to a question in which one stands.

    Parameters
    ----------
    plan : Plan
    text : str
        A name as the job has it, trim also as one says it ("left sill trim"), capitals aside; or a
        question that holds one.

    Raises
    ------
    OutOfRangeError
        Nothing is called that; the message has the nearest names.
    """
    called = calls(plan)
    found = meant(called, text)
    if not found:
        raise OutOfRangeError(_unknown(text, called))
    return [answer(plan, asked, name) for asked, name in found]


def strip(plan: Plan) -> list[Answer]:
    """The answer to "strip everything out"."""
    return [answer(plan, Asked.STRIP)]


Calls = Mapping[str, Sequence[tuple[Asked, str]]]


def calls(plan: Plan) -> Calls:
    """What each thing may be called, in small letters, and what is meant by it."""
    spaces = [s.name for s in plan.job.spaces]
    found: dict[str, list[tuple[Asked, str]]] = {}
    for asked, named in names(plan).items():
        for name in named:
            also = {name, spoken(name, spaces=spaces)} if asked is Asked.TRIM else {name}
            for call in sorted(also):
                found.setdefault(_folded(call), []).append((asked, name))
    return found


def meant(called: Calls, text: str) -> list[tuple[Asked, str]]:
    """What a text means: a whole name, else the longest names that stand in it as words.

    Examples
    --------
    >>> called = {"h2": [(Asked.HOLE, "H2")], "sill trim": [(Asked.TRIM, "sill trim")]}
    >>> meant(called, "What runs through hole H2?")
    [(<Asked.HOLE: 'hole'>, 'H2')]
    >>> meant(called, "H22")
    []
    """
    whole = _folded(text)
    if whole in called:
        return list(called[whole])
    taken: list[tuple[int, int]] = []
    found: list[tuple[int, tuple[Asked, str]]] = []
    for call in sorted(called, key=lambda c: (-len(c), c)):
        for match in re.finditer(rf"(?<!\w){re.escape(call)}(?!\w)", whole):
            if all(match.end() <= a or b <= match.start() for a, b in taken):
                taken.append(match.span())
                found += [(match.start(), thing) for thing in called[call]]
    kinds = {str(asked) for asked in Asked if re.search(rf"(?<!\w){asked}(?!\w)", whole)}
    ordered = list(dict.fromkeys(thing for _, thing in sorted(found, key=lambda f: f[0])))
    of_kind = [thing for thing in ordered if str(thing[0]) in kinds]
    return of_kind or ordered


def _unknown(text: str, called: Calls) -> str:
    near = _nearest(text, called)
    told = f"; the nearest known: {', '.join(repr(n) for n in near)}" if near else ""
    return (
        f"nothing in the plan is called {text!r}{told}. Without a name everything that can be asked is listed"
    )


def _nearest(text: str, called: Calls) -> list[str]:
    by_call = {call: things[0][1] for call, things in called.items()}
    left, near = dict(by_call), []
    for _ in range(_NEAREST):
        close = nearest_name(_folded(text), left)
        if not close:
            break
        near.append(by_call[close])
        del left[close]
    return near


def _folded(text: str) -> str:
    words = " ".join(text.casefold().strip(" ?!.").split())
    return words.removeprefix("the ")
