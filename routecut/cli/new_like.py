"""``routecut new DIR --like JOB``: the same fit-out on the next vehicle."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path, PurePosixPath

from routecut.cli.new import NewJob
from routecut.cli.printing import as_parts, count
from routecut.errors import JobError, OutputError

_NOT_ALONG = ("job.toml", "record.jsonl")


def from_like(last: Path, title: str) -> NewJob:
    """The files of the new job, and what to check.

    Raises
    ------
    JobError
        The last job can't be used.
    OutputError
        One of its files can't be read.
    """
    from routecut.model.finding import Severity
    from routecut.model.record import What
    from routecut.records.next_job import next_job
    from routecut.records.standing import read_record
    from routecut.survey import load_job

    job, findings = load_job(last)
    if job is None or any(f.severity is Severity.ERROR for f in findings):
        raise JobError(findings)
    record, about = read_record(job)
    try:
        text = (last / "job.toml").read_text(encoding="utf-8-sig")
        photos = {line.fact.file for line in record.lines if line.fact.what is What.PHOTO}
        files = {
            PurePosixPath(name).name: (last / name).read_bytes()
            for name in _along(last, (job.vehicle.mesh, job.lengths.defaults))
            if name not in photos and name not in _NOT_ALONG
        }
    except OSError as error:
        raise OutputError(f"{error.filename or last}: {error.strerror or error}") from error
    made = next_job(text, job, record, title=title, like=last.resolve().name)
    files["job.toml"] = made.text.encode()
    noticed = (*about, *made.findings)
    said = [
        f"from {last} and {count(len(record.standing), 'line')} of its record that hold; check on this vehicle:",
        *(f"  {f.where}: {f.message}" for f in noticed),
    ]
    return NewJob(files=files, said=tuple(said), parts={"findings": as_parts(noticed)})


def _along(last: Path, named: Sequence[str]) -> list[str]:
    """The files of a job that go along: those beside job.toml, and those beside files that it names."""
    folders = dict.fromkeys([*(PurePosixPath(name).parent for name in named if name), PurePosixPath()])
    return [
        (folder / path.name).as_posix()
        for folder in folders
        for path in sorted((last / folder).iterdir())
        if path.is_file() and not path.is_symlink() and not path.name.startswith(".")
    ]
