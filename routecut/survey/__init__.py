"""What is known of the vehicle: the job, its mesh, and whether the two fit.

Stage      first; everything later takes what `survey` returns and changes none of it
Units      out come m and ISO 4130 axes
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from routecut.errors import JobError
from routecut.model.body import Body
from routecut.model.finding import Finding, Severity
from routecut.model.job import Job
from routecut.survey.job_reader import load_job
from routecut.survey.mesh import read_body
from routecut.survey.seat import resolve

__all__ = ["Survey", "load_job", "read_body", "resolve", "survey"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Survey:
    """A job that fits its mesh, and what was noticed on the way (no errors)."""

    job: Job
    body: Body
    findings: tuple[Finding, ...]


def survey(path: Path | str) -> Survey:
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
    job, findings = load_job(path)
    body: Body | None = None
    if job is not None:
        body, more = read_body(job)
        findings += more
    if job is not None and body is not None:
        job, body, more = resolve(job, body)
        findings += more
    if job is None or body is None or any(f.severity is Severity.ERROR for f in findings):
        raise JobError(findings)
    return Survey(job=job, body=body, findings=findings)
