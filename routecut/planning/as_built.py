"""The plan of a job with its as-built record: what is recorded is laid again and checked again.

Stage      planning, above the stages
Units      m
Safe side  the plan stays what was planned; cables the record does not touch lie as planned; those it touches
           keep to the holes they were planned through, are laid by the same search and judged on the full
           mesh together with all others. What can't be laid where it was recorded is an error, not left out
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from routecut.documents.built import as_fitted
from routecut.drilling.study import exists
from routecut.errors import JobError
from routecut.model.as_built import AsBuilt, Relaid
from routecut.model.body import Body
from routecut.model.finding import Finding, Severity
from routecut.model.job import Cable, Job, Measured
from routecut.model.plan import CutLength, Plan, PlannedCable
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.model.service import PlaceKind, Service, ServicePlace
from routecut.model.whatif import Moved
from routecut.planning.again import KeptPlan
from routecut.planning.built_sizing import fills, sized_as_built
from routecut.planning.holes import Opened
from routecut.planning.stages import plan_survey
from routecut.records.deviations import rows
from routecut.records.standing import read_record
from routecut.routes.bundles import find_bundles
from routecut.service import with_joints
from routecut.service.room import rooms_of
from routecut.survey import Survey, survey_changed, survey_job
from routecut.survey.moves import placed
from routecut.tables import cable_types
from routecut.units import format_length
from routecut.verify import verify_company, verify_plan

_SHORT_M = 0.001
_NOT_NEEDED = ("uncertainty", "rounding up")


def make_plan(path: Path | str, *, progress: Callable[[str], None] | None = None) -> tuple[Plan, Body]:
    """Plan a job folder, with what was recorded of it.

    Parameters
    ----------
    path : Path or str
        The job folder or the ``job.toml`` in it.
    progress : callable, optional
        Told the name of each stage as it begins.

    Returns
    -------
    Plan, Body
        The plan, complete or not (see `Plan.complete`), and the body it was made on.

    Raises
    ------
    JobError
        With every finding, if the job can't be used.
    OutputError
        The record is there and can't be read.
    """
    say = progress or (lambda _stage: None)
    say("reading the job")
    return plan_recorded(survey_job(path), progress=say)


def plan_recorded(surveyed: Survey, *, progress: Callable[[str], None] | None = None) -> tuple[Plan, Body]:
    """Plan a job that has been surveyed, with what was recorded of it; see `make_plan`."""
    record, findings = read_record(surveyed.job)
    if not any(lays_anew(line.fact) for line in record.standing):
        plan, body = plan_survey(surveyed, progress=progress)
        built = AsBuilt(record=record)
    else:
        kept = KeptPlan.make(surveyed, progress=progress)
        plan, body = kept.plan, surveyed.body
        built, more = as_built(kept, record, progress=progress)
        findings += more
    if not record.lines:
        return replace(plan, findings=(*plan.findings, *findings)), body
    findings += tuple(too_short(plan, built))
    built = joined(plan, replace(built, rows=rows(plan, built)))
    return replace(plan, as_built=built, findings=(*plan.findings, *findings)), body


def joined(plan: Plan, built: AsBuilt) -> AsBuilt:
    """What was built with the joints of the record in its study of service; the same one where that changes nothing."""
    if plan.service is None:
        return built
    before = built.service or plan.service
    after = with_joints(
        before, plan.service, plan.job, as_fitted(replace(plan, as_built=built)).cables, built.record
    )
    return built if after is before else replace(built, service=after)


def lays_anew(fact: Fact) -> bool:
    """Whether something recorded asks for a cable to be laid again."""
    swapped = fact.what is What.SWAPPED and fact.kind is Kind.CABLE
    return swapped or fact.what in {What.MOVED, What.STRING}


@dataclass
class _Change:
    """What the record makes of a job: the job, what moved, which cables it touches and why."""

    planned: Plan
    record: Record
    moved: list[Moved] = field(default_factory=list)
    why: dict[str, list[str]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def of(self, job: Job) -> Job:
        """The job as read, changed."""
        self.moved, self.why, self.findings = [], {}, []
        last: dict[str, int] = {}
        for line in self.record.standing:
            fact = line.fact
            if fact.what is What.MOVED and fact.position is not None:
                job, one = placed(job, fact.name, fact.position, hole=fact.kind is Kind.HOLE)
                self.moved.append(one)
                ends = [f"{fact.name}.{p}" for p in one.along] if fact.kind is Kind.DEVICE else [fact.name]
                last |= dict.fromkeys(ends, line.number)
                self._say_what_stays(one)
                self._touch(ends, f"{fact.name} is elsewhere")
        cables = {cable.name: cable for cable in job.cables}
        types = {**cable_types(), **{t.name: t for t in job.cable_types}}
        for line in self.record.standing:
            fact = line.fact
            if fact.name not in cables:
                continue
            if fact.what is What.SWAPPED and fact.kind is Kind.CABLE:
                cables[fact.name] = replace(cables[fact.name], type=types[fact.fitted], type_assumed=False)
                self._because(fact.name, f"{fact.fitted} was fitted")
            if fact.what is What.STRING and self._holds(line, last):
                cables[fact.name] = _measured(cables[fact.name], fact)
                self._because(fact.name, f"{fact.from_name} to {fact.to_name} was measured with a string")
        return replace(job, cables=tuple(self._kept_to_its_holes(c, job) for c in cables.values()))

    def _say_what_stays(self, one: Moved) -> None:
        if one.kind == "device" and one.stay:
            self.findings.append(
                _finding(
                    "as-built-stays",
                    Severity.WARNING,
                    f"device {one.name} as built",
                    f"It was moved, but the job gives its {', '.join(one.stay)} by coordinates or tapes, not by an "
                    "offset: cables are taken to end where they did. Measure what they really take, and record it.",
                )
            )

    def _touch(self, ends: list[str], why: str) -> None:
        """Note the cables that end at a place or go through it."""
        for planned in self.planned.cables:
            cable, route = planned.cable, planned.route
            through = set() if route is None else {p.name for p in route.passages}
            if set(ends) & {cable.from_port, cable.to_port, *through}:
                self._because(cable.name, why)

    def _because(self, cable: str, why: str) -> None:
        self.why.setdefault(cable, []).append(why)

    def _holds(self, line: RecordLine, moved_by: Mapping[str, int]) -> bool:
        """Whether a string was laid after its ends came to where they are."""
        fact = line.fact
        after = [moved_by[name] for name in (fact.from_name, fact.to_name) if name in moved_by]
        if all(number < line.number for number in after):
            return True
        self.findings.append(
            _finding(
                "string-overtaken",
                Severity.WARNING,
                f"cable {fact.name} as built",
                f"{fact.from_name} to {fact.to_name} was measured with a string in line {line.number}, before line "
                f"{max(after)} moved one of its ends: it does not count. Measure it again and record it.",
            )
        )
        return False

    def _kept_to_its_holes(self, cable: Cable, job: Job) -> Cable:
        """A cable that is touched goes through the holes it was planned through and no other."""
        route = next((p.route for p in self.planned.cables if p.cable.name == cable.name), None)
        if cable.name not in self.why or route is None:
            return cable
        through = tuple(p.name for p in route.passages)
        others = tuple(h.name for h in job.pass_throughs if h.name not in through)
        return replace(cable, through=through, avoid=others)


def _measured(cable: Cable, fact: Fact) -> Cable:
    ends = {fact.from_name, fact.to_name}
    kept = tuple(m for m in cable.measured if {m.from_name, m.to_name} != ends)
    one = Measured(from_name=fact.from_name, to_name=fact.to_name, length_m=fact.length_m or 0.0)
    return replace(cable, measured=(*kept, one))


def as_built(
    kept: KeptPlan, record: Record, *, progress: Callable[[str], None] | None = None
) -> tuple[AsBuilt, tuple[Finding, ...]]:
    """What the record makes of a plan: cables it touches laid again, all judged together.

    Returns
    -------
    AsBuilt
        Without its rows.
    tuple of Finding
        A place that can't be used, a cable that can't be laid there, a rule that is broken now.
    """
    say = progress or (lambda _stage: None)
    say("laying what the record touches")
    plan = kept.plan
    change = _Change(plan, record)
    try:
        after = survey_changed(kept.surveyed.job.folder, change.of)
    except JobError as error:
        faults = [f for f in error.findings if f.severity is Severity.ERROR]
        return AsBuilt(record=record), (*change.findings, *map(_at_fault, faults))
    drilled = {h.pass_through.name for h in plan.holes if h.drill}
    moved = {one.name for one in change.moved if one.kind == "pass-through"}
    shut = {
        h.name: "it was not drilled"
        for h in plan.job.pass_throughs
        if not exists(h) and h.name not in drilled | moved
    }
    opened = Opened(closed=frozenset(shut), refused=shut)
    answer = kept.what_if(after, opened=opened, progress=lambda stage: say(f"as built: {stage}"))
    found = {c.cable.name: c for c in answer.plan.cables}
    mixed = [found[c.cable.name] if c.cable.name in change.why else c for c in plan.cables]
    say("checking what is built on the full mesh")
    job, body = opened.of(after.job), kept.surveyed.body
    routed = [(c.cable, c.route) for c in mixed if c.route is not None]
    judged = verify_plan(job=job, body=body, routed=routed)
    bundles = find_bundles([c.cable for c in mixed], {cable.name: route for cable, route in routed})
    beside, company = verify_company(job=job, body=body, routed=routed, bundles=bundles)
    before = {(f.code, f.where, f.message) for f in plan.findings}
    findings = list(change.findings)
    findings += [
        replace(f, where=f"{f.where} as built") for f in company if (f.code, f.where, f.message) not in before
    ]
    relaid: dict[str, Relaid] = {}
    for planned in mixed:
        name = planned.cable.name
        verdict = judged.get(name)
        was = next(c.verified for c in plan.cables if c.cable.name == name)
        said = () if was is None else tuple((f.code, f.message) for f in was.findings)
        findings += [
            replace(f, where=f"{f.where} as built")
            for f in (() if verdict is None else verdict.findings)
            if (f.code, f.message) not in said
        ]
        if name not in change.why:
            continue
        if planned.route is None and _was_laid(plan, name):
            findings += _no_way(answer.plan, name)
        relaid[name] = Relaid(
            why="; ".join(change.why[name]),
            route=planned.route,
            cut=planned.cut,
            verified=verdict,
            cable=_as_fitted(planned.cable, plan),
            covered=planned.covered,
        )
    seated = tuple(_seated(one, plan.job, after.job) for one in change.moved)
    sizing, about = sized_as_built(plan, after.job, mixed, record)
    built = AsBuilt(
        record=record,
        moved=seated,
        relaid=relaid,
        bundles=bundles,
        beside=beside,
        sizing=sizing,
        service=_service(plan, answer.plan.service, change.moved, mixed),
        fills=fills(plan.holes, {c.cable.name: c for c in mixed}),
    )
    return built, (*findings, *about)


def _as_fitted(cable: Cable, plan: Plan) -> Cable:
    """A cable with the type that was fitted, and otherwise as the job has it: it was held to its holes to be laid."""
    own = next(c.cable for c in plan.cables if c.cable.name == cable.name)
    return replace(own, type=cable.type, type_assumed=cable.type_assumed)


def _service(
    plan: Plan, after: Service | None, moved: Iterable[Moved], cables: Sequence[PlannedCable]
) -> Service | None:
    """The study of the plan, with what was moved looked at where it is now, and room by the cables that are there."""
    before = plan.service
    if before is None or after is None:
        return before
    holes = {one.name for one in moved if one.kind == "pass-through"}
    devices = {one.name for one in moved if one.kind == "device"}

    def elsewhere(place: ServicePlace) -> bool:
        if place.kind is PlaceKind.HOLE:
            return place.name in holes
        return place.kind is PlaceKind.CONNECTOR and place.name.partition(".")[0] in devices

    now = {p.key: p for p in after.places}
    trims = {t.name for t in before.trims}
    return replace(
        before,
        trims=(*before.trims, *(t for t in after.trims if t.name not in trims)),
        places=tuple(now.get(p.key, p) if elsewhere(p) else p for p in before.places),
        rooms=rooms_of(plan.holes, cables),
    )


def _was_laid(plan: Plan, name: str) -> bool:
    return any(c.cable.name == name and c.route is not None for c in plan.cables)


def _seated(one: Moved, before: Job, after: Job) -> Moved:
    def place(job: Job) -> tuple[float, float, float]:
        things = job.devices if one.kind == "device" else job.pass_throughs
        return next(thing.position.at_m for thing in things if thing.name == one.name)

    return replace(one, from_m=place(before), to_m=place(after))


def _no_way(answer: Plan, name: str) -> list[Finding]:
    """Why a cable can't be laid where it is recorded to be."""
    where = f"cable {name}"
    reasons = [f.message for f in answer.findings if f.severity is Severity.ERROR and f.where == where]
    why = " ".join(reasons) or "the search found no way."
    return [
        _finding(
            "as-built-fault",
            Severity.ERROR,
            f"cable {name} as built",
            f"It can't be laid as recorded: {why} Look at it on the vehicle; correct the record if it is wrong.",
        )
    ]


def _at_fault(fault: Finding) -> Finding:
    return _finding(
        "as-built-fault",
        Severity.ERROR,
        "record.jsonl, as built",
        f"What is recorded does not fit the vehicle: {fault.where}: {fault.message}",
    )


def _finding(code: str, severity: Severity, where: str, message: str) -> Finding:
    return Finding(code=code, severity=severity, where=where, message=message)


def too_short(plan: Plan, built: AsBuilt) -> list[Finding]:
    """Cables that were cut shorter than the way they take asks for, and those that ended short as recorded."""
    found = []
    unit = plan.job.length_unit
    for planned in plan.cables:
        name = planned.cable.name
        cut, over = (built.record.told(what, name) for what in (What.CUT, What.LEFT_OVER))
        cut_m, over_m = None if cut is None else cut.length_m, None if over is None else over.length_m
        asks_m = expected_m(planned, built.relaid.get(name))
        ended_short = over_m is not None and over_m < 0.0
        cut_short = cut_m is not None and asks_m is not None and cut_m < asks_m - _SHORT_M
        if not (cut_short or ended_short):
            continue
        said = "It" if cut_m is None else f"It was cut to {format_length(cut_m, unit)}"
        cure = "Pull it dry before an end is made, or record what it really took."
        if over_m is not None and ended_short:
            said += (
                f"{' and' if cut_m is not None else ''} ended {format_length(-over_m, unit, 'up')} too short"
            )
            cure = "See that its plugs still come off without a pull and its loops are there, or lay a longer one."
        elif over_m is not None:
            # it was long enough: then a figure of the record is wrong, not the cable
            said += f" and {format_length(over_m, unit)} were left over"
            cure = "One of these figures is wrong: look at the string, the cut and what was left over."
        if asks_m is not None:
            said += f"; its way with loops and ends asks for {format_length(asks_m, unit, 'up')}"
        found.append(
            _finding("as-built-short", Severity.WARNING, f"cable {name} as built", f"{said}. {cure}")
        )
    return found


def expected_m(planned: PlannedCable, relaid: Relaid | None) -> float | None:
    """What a cable is expected to take, without what is there for uncertainty and rounding. [m]"""
    cut: CutLength | None = planned.cut if relaid is None else relaid.cut
    if cut is None:
        return None
    return sum(line.length_m for line in cut.lines if line.what not in _NOT_NEEDED)
