"""What is known of the vehicle: the job, its mesh, and whether the two fit.

Stage      first; everything later takes what `survey_job` returns and changes none of it
Units      out come m and ISO 4130 axes
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from routecut.errors import JobError
from routecut.model.body import Body
from routecut.model.finding import Finding, Severity
from routecut.model.job import Job
from routecut.model.whatif import Moved
from routecut.survey.additions import Addition, add_to_job
from routecut.survey.faults import Collector
from routecut.survey.first_bend import first_bends
from routecut.survey.job_reader import load_job
from routecut.survey.judgement import judge
from routecut.survey.mesh import mesh_digest, read_body
from routecut.survey.moves import OPTION, move
from routecut.survey.rims import find_rims
from routecut.survey.seat import resolve

__all__ = [
    "Addition",
    "Survey",
    "add_to_job",
    "find_rims",
    "first_bends",
    "judge",
    "load_job",
    "mesh_digest",
    "read_body",
    "resolve",
    "survey_changed",
    "survey_job",
    "survey_moved",
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Survey:
    """A job that fits its mesh, and what was noticed on the way (no errors)."""

    job: Job
    body: Body
    findings: tuple[Finding, ...]


def survey_job(path: Path | str) -> Survey:
    """Read a job folder, its mesh, and fit them together.

    Parameters
    ----------
    path : Path or str
        The job folder or the ``job.toml`` in it.

    Raises
    ------
    JobError
        With every finding, if any is an error.
    """
    return _fitted(*_read(path))


def survey_moved(path: Path | str, moves: Sequence[str]) -> tuple[Survey, Survey, tuple[Moved, ...]]:
    """The same twice: the job as it is, and with devices or candidates at other places.

    Parameters
    ----------
    path : Path or str
        The job folder or the ``job.toml`` in it; nothing is written.
    moves : sequence of str
        Each ``NAME=X,Y,Z`` in the job's unit and axes; see `routecut.survey.moves`.

    Returns
    -------
    Survey, Survey
        As it is, and moved; findings that only the second has are of the file ``--move``.
    tuple of Moved
        What was moved, and what went along; places once snapped and seated.

    Raises
    ------
    JobError
        With every fault of the job; if it has none, with every fault of the moves.
    """
    job, body, findings = _read(path)
    before = _fitted(job, body, findings)
    if job is None or body is None:  # said by the line above
        raise JobError(findings)
    collector = Collector(file=OPTION)
    changed, told = move(job, body, moves, collector)
    if collector.errors:
        raise JobError(tuple(collector.findings))
    try:
        after = _fitted(changed, body, findings)
    except JobError as error:
        # the job as it is has none: what is at fault now is what was moved
        raise JobError(tuple(_of_move(f) for f in error.findings if f not in before.findings)) from None
    known = set(before.findings)
    after = replace(after, findings=tuple(f if f in known else _of_move(f) for f in after.findings))
    return before, after, tuple(_seated(one, before.job, after.job) for one in told)


def survey_changed(path: Path | str, change: Callable[[Job], Job]) -> Survey:
    """Read a job folder with something in it changed before it is fitted to the mesh; nothing is written.

    Raises
    ------
    JobError
        With every finding, if any is an error.
    """
    job, body, findings = _read(path)
    return _fitted(job if job is None else change(job), body, findings)


def _of_move(finding: Finding) -> Finding:
    where = finding.where.replace(f"{finding.file}, ", f"{OPTION}, ", 1) if finding.file else finding.where
    return replace(finding, file=OPTION, where=where)


def _seated(one: Moved, before: Job, after: Job) -> Moved:
    def place(job: Job) -> tuple[float, float, float]:
        things = job.devices if one.kind == "device" else job.pass_throughs
        return next(thing.position.at_m for thing in things if thing.name == one.name)

    return replace(one, from_m=place(before), to_m=place(after))


def _read(path: Path | str) -> tuple[Job | None, Body | None, tuple[Finding, ...]]:
    job, findings = load_job(path)
    body: Body | None = None
    if job is not None:
        body, more = read_body(job)
        findings += more
    return job, body, findings


def _fitted(job: Job | None, body: Body | None, findings: tuple[Finding, ...]) -> Survey:
    if job is not None and body is not None:
        job, body, more = resolve(job, body)
        findings += more
    if job is None or body is None or any(f.severity is Severity.ERROR for f in findings):
        raise JobError(findings)
    return Survey(job=job, body=body, findings=findings)
