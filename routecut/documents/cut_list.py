"""`cut-list.csv`: one line for each cable, in the order of pulling."""

from __future__ import annotations

import csv
import io

from routecut.documents.figures import Lengths, metres, millimetres
from routecut.documents.fuse_words import below_text
from routecut.documents.pack_as_built import cut_numbers
from routecut.documents.part_words import spoken
from routecut.documents.reading import (
    NO_ROUTE,
    bare_ends,
    made_up_text,
    plugs_pass,
    pulling_order,
    reasons_for,
    type_mark,
)
from routecut.model.job import Job
from routecut.model.plan import CutLength, Lead, LeadJoint, Plan, PlannedCable
from routecut.plain import defused

SHIFT_M = 0.05
"""A joint that can be shifted by less than this is where it is. [m]"""


def columns(unit: str) -> tuple[str, ...]:
    """The headers; every length carries its unit here, not in the fields.

    Parameters
    ----------
    unit : str
        Of the job; feet become inches (see `Lengths.column_unit`).
    """
    shown = Lengths(unit).column_unit
    return (
        "pull",
        "name",
        "class",
        "type",
        "from",
        "to",
        f"cut length [{shown}]",
        "cut length [m]",
        f"route length [{shown}]",
        f"lead to order [{shown}]",
        "pass-throughs in order",
        "made up at from",
        "made up at to",
        "termination at from",
        "termination at to",
        f"service loop at from [{shown}]",
        f"service loop at to [{shown}]",
        "sum",
        "notes",
        f"cut as built [{shown}]",
        f"left over [{shown}]",
    )


def cut_list_csv(plan: Plan) -> str:
    """The cut list for a spreadsheet, comma separated as RFC 4180 has it.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    str
        A header line and one line for each cable. A field that a spreadsheet would take
        for a formula has an apostrophe in front of it; write it as UTF-8.
    """
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow(columns(plan.job.length_unit))
    for number, planned in enumerate(pulling_order(plan), start=1):
        writer.writerow([defused(field) for field in row_of(plan, number, planned)])
    return written.getvalue()


def row_of(plan: Plan, number: int, planned: PlannedCable) -> list[str]:
    """One line: a field for each of `columns`, figures without their unit."""
    cable, route, cut = planned.cable, planned.route, planned.cut
    lengths = Lengths(plan.job.length_unit)
    start, end = plan.job.port(cable.from_port), plan.job.port(cable.to_port)
    return [
        str(number),
        cable.name,
        str(cable.cable_class),
        cable.type.name,
        cable.from_port,
        cable.to_port,
        "" if cut is None else lengths.number(cut.length_m, "up"),
        "" if cut is None else metres(cut.length_m, "up"),
        "" if route is None else lengths.number(route.length_m),
        _lead(lengths, planned.lead),
        "" if route is None else " > ".join(p.name for p in route.passages),
        made_up_text(start, ready_made=cable.ready_made),
        made_up_text(end, ready_made=cable.ready_made),
        start.termination,
        end.termination,
        lengths.number(start.service_loop_m),
        lengths.number(end.service_loop_m),
        "" if cut is None else sum_text(lengths, cut),
        "; ".join(notes(plan, planned)),
        *cut_numbers(plan, cable.name),
    ]


def sum_text(lengths: Lengths, cut: CutLength) -> str:
    """The sum behind a cut length, in one line."""
    texts = lengths.sum_texts([line.length_m for line in cut.lines], cut.length_m)
    lines = " + ".join(f"{line.what} {text}" for line, text in zip(cut.lines, texts, strict=True))
    return f"{lines} = {lengths.up(cut.length_m)}"


def _lead(lengths: Lengths, lead: Lead | None) -> str:
    return "" if lead is None else " + ".join(lengths.number(m, "up") for m in lead.lengths_m)


def notes(plan: Plan, planned: PlannedCable) -> list[str]:
    """What has to be known while cutting and pulling this cable.

    Returns
    -------
    list of str
        In the order of urgency; empty when there is nothing to say.
    """
    cable, lengths = planned.cable, Lengths(plan.job.length_unit)
    found: list[str] = []
    if planned.route is None:
        reasons = [f.message for f in reasons_for(plan, cable.name)]
        return [f"{NO_ROUTE}: do not cut", *reasons]
    if planned.verified is None:
        found.append("route not checked: do not cut")
    elif not planned.verified.ok:
        found.append("route does not hold: do not cut; see the findings")
    if cable.ready_made:
        found.append("comes ready made: don't cut it")
        if planned.lead is not None:
            found += _lead_notes(plan.job, planned.lead, planned.cable.from_port)
    found += [
        f"BARE END at {port}: no plug or lug is named or ordered; settle it before you cut, put it on in the vehicle"
        for name, port in bare_ends(plan)
        if name == cable.name
    ]
    mark = type_mark(plan, cable)
    if mark is not None:
        found.append(f"{mark[0]}: {mark[1]}")
    sized = None if plan.sizing is None else plan.sizing.electrical.get(cable.name)
    if sized is not None and (below := below_text(sized)):
        found.append(below)
    if planned.route.passages and plugs_pass(plan.job, planned):
        found.append(_plug_note(plan.job, planned))
    found += [
        f"{s.from_name} to {s.to_name} measured with a string: {lengths.text(s.measured_m)}"
        for s in planned.route.measured
    ]
    if cable.surplus is not None:
        found.append(f"surplus: {cable.surplus}")
    return found


def measure_text(lengths: Lengths, cut: CutLength) -> str:
    """The one measurement that would shorten a cut most; empty where none is worth it."""
    found = cut.measure
    if found is None:
        return ""
    return (
        f"{found.from_name} to {found.to_name} with a string, as the cable will lie: saves "
        f"{lengths.free(found.saves_m)}"
    )


def _lead_notes(job: Job, lead: Lead, start: str) -> list[str]:
    lengths = Lengths(job.length_unit)
    if not lead.lengths_m:
        return ["NO LEAD IN STOCK IS LONG ENOUGH"]
    found = [lead.parked or f"{lengths.free(lead.surplus_m)} to spare"]
    return found + [joint_note(job, j, start) for j in lead.joints]


def joint_note(job: Job, joint: LeadJoint, start: str) -> str:
    """Where a joint lies along the run from a port, what it takes to reach it, and how far it can be shifted."""
    lengths = Lengths(job.length_unit)
    holes = {hole.name for hole in job.pass_throughs}
    behind = (
        joint.behind if joint.behind in holes else spoken(joint.behind, spaces=[s.name for s in job.spaces])
    )
    at = f"joint {lengths.text(joint.at_route_m)} along the run from {start}, in {joint.space} (access: {joint.access}"
    at += f", behind {behind}" if behind else ""
    if joint.access == "sealed":
        at += ", OUT OF REACH"
    elif joint.minutes is None:
        at += ", time not known"
    elif joint.minutes > 0.0:
        at += f", {joint.minutes:g} min"
    text = f"{at})"
    if joint.to_m - joint.from_m >= SHIFT_M:
        text += (
            f"; surplus parked elsewhere shifts it between {lengths.text(joint.from_m)} and "
            f"{lengths.text(joint.to_m)}"
        )
    return text


def _plug_note(job: Job, planned: PlannedCable) -> str:
    ends = (job.port(planned.cable.from_port), job.port(planned.cable.to_port))
    known = [port.connector_diameter_m for port in ends if port.connector_diameter_m > 0.0]
    size = f" of {millimetres(min(known))}" if len(known) == len(ends) else " (its size is not given)"
    return f"its connector{size} has to pass the holes"
