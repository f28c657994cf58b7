"""``routecut record``: what was really done, added to the record of a job for good."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated, Any

import typer

from routecut.cli.arguments import JobArgument, JsonOption
from routecut.cli.exits import ExitCode
from routecut.cli.plan import PLAN_FOLDER
from routecut.cli.printing import count, data, note, print_findings, result
from routecut.errors import OutOfRangeError

if TYPE_CHECKING:
    from routecut.model.finding import Finding

_MAY_REPEAT = "may be repeated"


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(record)


def _option(flag: str, metavar: str, text: str) -> Any:
    return typer.Option(flag, metavar=metavar, help=f"{text}; {_MAY_REPEAT}.")


def record(
    job: JobArgument,
    *,
    cut: Annotated[list[str] | None, _option("--cut", "CABLE=LENGTH", "What a cable was cut to")] = None,
    left_over: Annotated[
        list[str] | None,
        _option("--left-over", "CABLE=LENGTH", "What of it was left over; -40 where it was 40 too short"),
    ] = None,
    moved: Annotated[
        list[str] | None,
        _option("--moved", "NAME=X,Y,Z", "Where a hole or a device really is, in the job's unit and axes"),
    ] = None,
    taped: Annotated[
        list[str] | None,
        _option(
            "--taped",
            "NAME=MARK:LENGTH,...",
            "The same by tape: three or more landmarks, and side:left or the like",
        ),
    ] = None,
    joint: Annotated[
        list[str] | None,
        _option("--joint", "CABLE=LENGTH,SPACE", "Where a joint lies along the run, and in which space"),
    ] = None,
    string: Annotated[
        list[str] | None,
        _option("--string", "CABLE=FROM:TO:LENGTH", "A stretch measured with a string, as the cable lies"),
    ] = None,
    swapped: Annotated[
        list[str] | None,
        _option("--swapped", "NAME=WHAT", "The type of cable, or the device, that was fitted instead"),
    ] = None,
    volts: Annotated[
        list[str] | None,
        _option("--volts", "NAME=DUTY/PEAK", "At a device, or lost over a cable; one figure is at peak"),
    ] = None,
    power: Annotated[
        list[str] | None,
        _option("--power", "CABLE=FORWARD/REFLECTED", "Watts of a coax, read at the radio"),
    ] = None,
    resistance: Annotated[
        list[str] | None,
        _option("--resistance", "CABLE=MILLIOHM", "Of a bond or a power cable, end to end"),
    ] = None,
    serial: Annotated[list[str] | None, _option("--serial", "DEVICE=TEXT", "A serial number")] = None,
    photo: Annotated[
        list[str] | None,
        _option("--photo", "NAME=FILE", "A photo in the job folder, of anything in the job, or of the job"),
    ] = None,
    remarks: Annotated[
        list[str] | None,
        _option("--note", "NAME=TEXT", "A note on anything in the job; without NAME= on the job"),
    ] = None,
    corrects: Annotated[
        int | None,
        typer.Option("--corrects", metavar="LINE", min=1, help="The entry stands in place of this line."),
    ] = None,
    withdraw: Annotated[
        int | None, typer.Option("--withdraw", metavar="LINE", min=1, help="Take a line back.")
    ] = None,
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="A remark beside what is recorded.")] = "",
    who: Annotated[str, typer.Option("--who", metavar="TEXT", help="Who did it.")] = "",
    when: Annotated[str, typer.Option("--when", metavar="TEXT", help="When it was done.")] = "",
    now: Annotated[
        bool, typer.Option("--now", help="When: by the clock of this machine, which is not read otherwise.")
    ] = False,
    sure: Annotated[
        bool, typer.Option("--sure", help="It is so, though it looks like a slip of a key.")
    ] = False,
    show: Annotated[bool, typer.Option("--show", help="Print the record; add nothing.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Add what was really done to the as-built record, or show it.

    The record is JOB/record.jsonl: one line for each entry, on the disk before it is said to be there, never
    rewritten. A mistake is corrected by a new line that names the old one. Lines check themselves and
    each other, so that a line that was torn or changed is found and named.

    Lengths are in the job's unit, or carry their own: "14 ft 1 in". Either everything asked for is added or,
    if anything is at fault, nothing. The plan stays what was planned; the next plan shows both.

    What can hardly be (more left over than was cut, a joint beyond the run, a cut of twice or half of what is
    planned, a hole or a device far from its planned place) is asked about first: nothing is written unless --sure
    says that it is so.

    Exit code 1 with --show when a line was changed or is missing.

    Example: routecut record routecut-demo --cut P1=4300 --left-over P1=120 --who "night shift"
    """
    from routecut.documents import record_json, record_text
    from routecut.documents.record_text import line_text
    from routecut.errors import JobError
    from routecut.model.finding import Severity
    from routecut.model.record import What
    from routecut.planning.stored import planned_lengths
    from routecut.records import append, read_journal
    from routecut.records.asked import Asked, facts_of, tables
    from routecut.records.doubts import doubtful
    from routecut.records.standing import record_of
    from routecut.survey import load_job

    known, findings = load_job(job)
    if known is None or any(f.severity is Severity.ERROR for f in findings):
        raise JobError(findings)
    asked = Asked(
        entries={
            What.CUT: cut or (),
            What.LEFT_OVER: left_over or (),
            What.MOVED: moved or (),
            What.JOINT: joint or (),
            What.STRING: string or (),
            What.SWAPPED: swapped or (),
            What.VOLTS: volts or (),
            What.POWER: power or (),
            What.RESISTANCE: resistance or (),
            What.SERIAL: serial or (),
            What.PHOTO: photo or (),
            What.NOTE: remarks or (),
        },
        taped=taped or (),
        who=who,
        when=_when(when, now=now),
        remark=why,
        corrects=corrects,
        withdraw=withdraw,
    )
    journal = read_journal(job)
    told, about = record_of(known, journal, job)
    added: tuple[int, ...] = ()
    if show:
        if asked.anything:
            raise OutOfRangeError("--show adds nothing; leave it out, or leave the rest out")
    else:
        may_correct = {line.number for line in journal.lines} | _changed(about)
        planned: dict[str, str] = {}
        if swapped:
            from routecut.planning.stored import planned_types

            planned = planned_types(job / PLAN_FOLDER)
        lines = tables(known, asked, told, sorted(may_correct), planned=planned)
        if not sure and (
            odd := doubtful(known, facts_of(known, lines), told, planned_lengths(job / PLAN_FOLDER))
        ):
            raise JobError(odd)
        added = tuple(w.number for w in append(job, lines))
        told, about = record_of(known, read_journal(job), job)
    if as_json:
        data(record_json(told, about, added))
    elif show:
        result(record_text(told, known))
    else:
        result(f"recorded in {job / 'record.jsonl'}: {count(len(added), 'line')}")
        for line in told.lines:
            if line.number in added:
                result(line_text(line, known))
    if about and not as_json:
        print_findings(about)
    if show and any(f.severity is Severity.ERROR for f in about):
        note("a line of the record is not what was written; see above")
        raise typer.Exit(ExitCode.NOT_AS_ASKED)


def _changed(findings: Iterable[Finding]) -> set[int]:
    """Lines that were changed: they can be corrected, though nobody can read them."""
    return {int(f.table.removeprefix("line ")) for f in findings if f.code == "record-changed" and f.table}


def _when(text: str, *, now: bool) -> str:
    if not now:
        return text
    if text.strip():
        raise OutOfRangeError("--when and --now are both given; one of them is wanted")
    from datetime import UTC, datetime

    return datetime.now(UTC).astimezone().isoformat(timespec="minutes")
