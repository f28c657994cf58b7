"""The as-built record as text and as JSON: every line in words, what no longer stands marked.

Stage      documents; a record in, text out
Units      m in; lengths out in the job's unit, volts, watts and milliohms
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from routecut.documents.figures import Lengths
from routecut.documents.rounding import rounded
from routecut.model.finding import Finding
from routecut.model.job import Job, Position
from routecut.model.record import NOT_GIVEN, Fact, Kind, Record, RecordLine, What
from routecut.plain import plain
from routecut.units import DECIMALS, from_m


def fact_text(fact: Fact, job: Job) -> str:
    """What a line tells, in a few words: ``cable P1: cut to 4300 mm``."""
    return f"{about_text(fact)}: {_said(fact, job)}"


def about_text(fact: Fact) -> str:
    """What a line is about: ``cable P1``."""
    return "the job" if fact.kind is Kind.JOB else f"{fact.kind} {fact.name}"


def _said(fact: Fact, job: Job) -> str:
    lengths = Lengths(job.length_unit)
    length = fact.length_m or 0.0
    match fact.what:
        case What.CUT:
            return f"cut to {lengths.text(length)}"
        case What.LEFT_OVER:
            return (
                f"{lengths.text(length)} left over" if length >= 0 else f"{lengths.text(-length)} too short"
            )
        case What.MOVED:
            return f"is at {place_text(fact.position, job)}"
        case What.JOINT:
            where = f", in {fact.space}" if fact.space else ""
            starts = [c.from_port for c in job.cables if c.name == fact.name]
            end = f" from {starts[0]}" if starts else ""
            return f"joint {lengths.text(length)} along the run{end}{where}"
        case What.STRING:
            return f"{fact.from_name} to {fact.to_name} measured with a string: {lengths.text(length)}"
        case What.SWAPPED:
            return f"{fact.fitted} fitted instead"
        case What.VOLTS:
            return volts_text(fact)
        case What.POWER:
            return power_text(fact)
        case What.RESISTANCE:
            return ohm_text(fact)
        case What.SERIAL:
            return f"serial number {fact.text}"
        case What.PHOTO:
            return f"photo {fact.file}"
        case What.WITHDRAWN:
            return "taken back"
        case _:
            return fact.text


def volts_text(fact: Fact) -> str:
    """Volts measured; over a cable they are volts lost."""
    lost = " lost" if fact.kind is Kind.CABLE else ""
    duty = "" if fact.duty is None else f"{fact.duty:.4g} V{lost} at duty, "
    return f"{duty}{fact.peak or 0.0:.4g} V{lost} at peak"


def power_text(fact: Fact) -> str:
    """Power measured at the radio, and what share came back."""
    forward, reflected = fact.forward or 0.0, fact.reflected or 0.0
    share = f" ({100 * reflected / forward:.1f} %)" if forward > 0.0 else ""
    return f"{forward:.4g} W forward, {reflected:.4g} W reflected{share}"


def ohm_text(fact: Fact) -> str:
    """A resistance measured end to end."""
    return f"{1000 * (fact.ohm or 0.0):.3g} m\N{GREEK CAPITAL LETTER OMEGA} end to end"


def place_text(position: Position | None, job: Job) -> str:
    """A place in the job's unit and axes."""
    if position is None:
        return "a place not known"
    x, y, z = (from_m(v, job.length_unit) for v in position.at_m)
    digits = DECIMALS[job.length_unit]
    taped = ", found with the tape" if position.taped else ""
    return f"[{x:.{digits}f}, {y:.{digits}f}, {z:.{digits}f}] {job.length_unit}{taped}"


def told_text(line: RecordLine, fact: str) -> str:
    """What a line says: its fact in words, what it corrects, and the remark beside it."""
    told = fact
    if line.fact.what is What.WITHDRAWN:
        told = f"line {line.corrects} is taken back"
    elif line.corrects is not None:
        told += f" (in place of line {line.corrects})"
    return f"{told}; {line.remark}" if line.remark else told


def line_text(line: RecordLine, job: Job, stood_in_for: int | None = None) -> str:
    """One line for a person: what, who, when, and what became of it."""
    told = told_text(line, fact_text(line.fact, job))
    told += f"; by {line.who}" if line.who != NOT_GIVEN else "; who: not given"
    told += f", {line.when}" if line.when != NOT_GIVEN else ", when: not given"
    if line.fact.what is not What.WITHDRAWN and not line.stands:
        told += f" - NO LONGER HOLDS: see line {stood_in_for}" if stood_in_for else " - NO LONGER HOLDS"
    return plain(f"{line.number:>4}  {told}")


def record_text(record: Record, job: Job) -> str:
    """The whole record, one line for each."""
    if not record.lines:
        return "nothing is recorded yet"
    stands = sum(line.stands for line in record.lines)
    instead = _instead(record.lines)
    lines = [line_text(line, job, instead.get(line.number)) for line in record.lines]
    head = f"as-built record of {job.title}: {len(record.lines)} lines, {stands} of them hold"
    return "\n".join([head, *lines])


def _instead(lines: Sequence[RecordLine]) -> dict[int, int]:
    """By number, the line that a line had to make room for: the one that corrects it, else the next about the same."""
    found: dict[int, int] = {}
    next_about: dict[object, int] = {}
    for line in sorted(lines, key=lambda line: -line.number):
        fact = line.fact
        about = (fact.what, fact.kind, fact.name, frozenset({fact.from_name, fact.to_name}))
        if about in next_about:
            found[line.number] = next_about[about]
        next_about[about] = line.number
    found |= {line.corrects: line.number for line in reversed(lines) if line.corrects is not None}
    return {line.number: found[line.number] for line in lines if not line.stands and line.number in found}


def line_json(line: RecordLine) -> dict[str, Any]:
    """One line for programs; lengths in m, what it does not hold left out."""
    fact = line.fact
    found: dict[str, Any] = {
        "line": line.number,
        "what": str(fact.what),
        "kind": str(fact.kind),
        "name": fact.name,
        "stands": line.stands,
        "who": line.who,
        "when": line.when,
    }
    values = {
        "length_m": rounded(fact.length_m),
        "at_m": None if fact.position is None else [rounded(v) for v in fact.position.at_m],
        "taped": True if fact.position is not None and fact.position.taped else None,
        "space": fact.space,
        "from": fact.from_name,
        "to": fact.to_name,
        "fitted": fact.fitted,
        "duty_v": fact.duty,
        "peak_v": fact.peak,
        "forward_w": fact.forward,
        "reflected_w": fact.reflected,
        "ohm": fact.ohm,
        "text": fact.text,
        "file": fact.file,
        "sha256": fact.sha256,
        "remark": line.remark,
        "corrects": line.corrects,
    }
    return found | {key: value for key, value in values.items() if value is not None and value != ""}


def record_json(record: Record, findings: Iterable[Finding], added: Iterable[int] = ()) -> str:
    """The record for programs; `added`: the lines this command wrote."""
    document = {
        "added": list(added),
        "digest": record.digest,
        "lines": [line_json(line) for line in record.lines],
        "findings": [
            {"code": f.code, "severity": str(f.severity), "where": f.where, "message": f.message}
            for f in findings
        ],
    }
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1)
