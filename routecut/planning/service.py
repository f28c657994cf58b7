"""Questions about service, answered from the plan that is kept with a job.

Stage      planning
Safe side  a plan of another state of the job is answered from only with a word of warning; nothing is
           planned anew: what lies in the vehicle is what was planned then
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from routecut.documents.part_words import spoken
from routecut.documents.reading import hole_numbers
from routecut.errors import RoutecutError
from routecut.model.finding import Finding
from routecut.model.job import CableClass
from routecut.model.plan import Plan
from routecut.model.service import Answer, Asked, Focus
from routecut.planning.by_number import by_number, sided
from routecut.planning.damage_asked import damage_question
from routecut.planning.leak_asked import leak_answers, leak_question
from routecut.planning.more_asked import more_answers, more_question
from routecut.planning.questions import Calls, Question, folded, understood
from routecut.planning.stored import PLAN_FILE, plan_from_json, plan_text, stored_plan
from routecut.planning.stored_built import with_record
from routecut.planning.symptoms import fault_answers, fault_question
from routecut.records.standing import read_record
from routecut.service import answer, body_work, names
from routecut.survey import survey_job

_STALE: Final = (
    "the plan in {folder} was made of the job as it was then, or by another version: what follows is of that plan. "
    "Plan again only if the vehicle was fitted out by what the job says now"
)

_NO_PLAN: Final = (
    "{file} is no plan of the job as it stands, or was made by an older version: put job.toml back as it was, or plan "
    "again: routecut plan {job}"
)
_UNREADABLE: Final = (
    ArithmeticError,
    AttributeError,
    LookupError,
    RecursionError,
    StopIteration,
    TypeError,
    ValueError,
)


@dataclass(frozen=True, slots=True)
class Kept:
    """A plan that is kept with a job, as it was built, and what has to be said of it.

    Attributes
    ----------
    plan : Plan
        Its routes, types, sizes and places as built where the record lays anything anew; with the record.
    stale : str
        Said where it is not of the job as it stands; such a plan was not held against what the program writes.
    since : str
        Said where the record has laid something anew since.
    findings : tuple of Finding
        Of the record.
    """

    plan: Plan
    stale: str
    since: str
    findings: tuple[Finding, ...]

    @property
    def warning(self) -> str:
        """Both, as one text; empty where there is nothing to say."""
        return ". ".join(filter(None, [self.stale, self.since]))


def kept_plan(job: Path, plan_folder: str) -> Kept:
    """The plan in the plan folder of a job as it was built, and what has to be said of it.

    Parameters
    ----------
    job : Path
        The job folder.
    plan_folder : str
        Name of the plan folder in it.

    Returns
    -------
    Kept

    Raises
    ------
    JobError
        The job can't be used.
    RoutecutError
        There is no plan, or it can't be read with this job.
    """
    surveyed = survey_job(job)
    folder = job / plan_folder
    plan, stale = stored_plan(folder, surveyed), ""
    file = folder / PLAN_FILE
    if plan is None:
        if not file.is_file():
            raise RoutecutError(f"{folder} holds no plan; make it: routecut plan {job}")
        try:
            plan = plan_from_json(plan_text(folder), surveyed.job)
            if plan.service is None:
                raise ValueError
            _all_there(plan)
        except _UNREADABLE:
            raise RoutecutError(_NO_PLAN.format(file=file, job=job)) from None
        stale = _STALE.format(folder=folder)
    record, findings = read_record(surveyed.job)
    plan, since = with_record(plan, record, job, folder)
    return Kept(plan, stale, since, findings)


@contextmanager
def asking(job: Path, plan_folder: str, *, stale: bool) -> Iterator[None]:
    """Ask a plan. One that is `stale` was not held against what the program writes: what can't be read is told.

    Raises
    ------
    RoutecutError
        Something in a stale plan is not as this program writes it.
    """
    try:
        yield
    except RoutecutError:
        raise
    except _UNREADABLE:
        if not stale:  # it came out of the writer again to the last digit, so this is a fault of ours
            raise
        raise RoutecutError(_NO_PLAN.format(file=job / plan_folder / PLAN_FILE, job=job)) from None


def _all_there(plan: Plan) -> None:
    """KeyError when the job no longer has what the plan speaks of."""
    for planned in plan.cables:
        plan.job.device_of(planned.cable.from_port)
        plan.job.device_of(planned.cable.to_port)
    known = {planned.cable.name for planned in plan.cables}
    for place in plan.service.places if plan.service else ():
        for cable in place.cables:
            if cable not in known:
                raise KeyError(cable)
    for name in {p.name for p in plan.service.places if p.kind == "connector"} if plan.service else ():
        plan.job.port(name)


def question(plan: Plan, text: str) -> Question:
    """What a text asks about a plan.

    Parameters
    ----------
    plan : Plan
    text : str
        A name as the job has it, trim also as one says it ("left sill trim"), capitals aside; or a question in
        anybody's words: about a name or what is like one, about fuses, about what is spare, about everything.

    Raises
    ------
    OutOfRangeError
        Nothing is called that, or too much; the message has the nearest names.
    """
    called, text = {**calls(plan), **_coax(plan, text)}, sided(plan.job, text)
    for asked in (by_number, damage_question, fault_question, more_question, leak_question):
        if (found := asked(plan, called, text)) is not None:
            return found
    return understood(called, text)


def _coax(plan: Plan, text: str) -> dict[str, list[tuple[Asked, str]]]:
    """Where a question speaks of coax: each by the antenna it leads to, "the VHF coax"."""
    if not re.search(r"\b(coax|coaxial|feeder)\b", text.casefold()):
        return {}
    found: dict[str, list[tuple[Asked, str]]] = {}
    for planned in plan.cables:
        cable = planned.cable
        if cable.cable_class is CableClass.COAX:
            for port in (cable.from_port, cable.to_port):
                device = plan.job.device_of(port).name
                found.setdefault(folded(f"{device} coax"), []).append((Asked.CABLE, cable.name))
    return found


def answers(plan: Plan, text: str | Question) -> list[Answer]:
    """Answers to a text, or to what it was understood to ask; see `question`."""
    asked = question(plan, text) if isinstance(text, str) else text
    if asked.focus is Focus.BODY:
        return [body_work(plan, kind, name, asked.sides, at_m=asked.at_m) for kind, name in asked.things]
    if asked.symptom is not None:
        return fault_answers(plan, asked)
    if asked.focus is Focus.LEAK:
        return leak_answers(plan, asked)
    if asked.focus is Focus.ROOM:
        return more_answers(plan, asked)
    return [
        replace(answer(plan, kind, name), focus=asked.focus, damaged_at=asked.damaged_at)
        for kind, name in asked.things
    ]


def strip(plan: Plan) -> list[Answer]:
    """The answer to "strip everything out"."""
    return [answer(plan, Asked.STRIP)]


def calls(plan: Plan) -> Calls:
    """What each thing may be called, in small letters, and what is meant by it."""
    spaces = [s.name for s in plan.job.spaces]
    found: dict[str, list[tuple[Asked, str]]] = {}
    for asked, named in names(plan).items():
        for name in named:
            also = {name, spoken(name, spaces=spaces)} if asked is Asked.TRIM else {name}
            for call in sorted(also):
                found.setdefault(folded(call), []).append((asked, name))
    for name, number in hole_numbers(plan).items():  # as the pack has them; a name of the job goes before
        for call in (f"h{number}", f"hole {number}"):
            found.setdefault(call, [(Asked.HOLE, name)])
    return found
