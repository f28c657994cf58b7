"""Lengths of a cable in an answer about service: its run as it lies there, its cut, what is spare at its ends.

Units      m in; the job's unit out
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from routecut.documents.difference_text import sides
from routecut.documents.figures import Lengths, count
from routecut.documents.service_short import doubts, joined_text, lies_text
from routecut.model.as_built import FORWARD, REFLECTED, RESISTANCE
from routecut.model.plan import Plan
from routecut.model.record import Record, What
from routecut.model.running import along
from routecut.model.service import Spare
from routecut.model.spare import again_left, loop_left

_READ: Final = {RESISTANCE, FORWARD, REFLECTED, "cut length", "left over"}
"""Rows that are told with the readings and the lengths."""


def length_lines(plan: Plan, name: str, record: Record) -> Iterator[str]:
    """Run, cut, joints and holes of a cable, as it lies there."""
    planned = next(c for c in plan.cables if c.cable.name == name)
    lengths = Lengths(plan.job.length_unit)
    if planned.route is None or planned.cut is None:
        yield "no route was found for it"
        return
    lead = planned.lead
    if lead is not None and lead.lengths_m:
        yield f"ready-made: {' + '.join(lengths.text(x) for x in lead.lengths_m)}"
    run, asked = lengths.text(planned.route.length_m), lengths.up(planned.cut.length_m)
    fact = record.told(What.CUT, name)
    relaid = None if plan.as_built is None else plan.as_built.relaid.get(name)
    laid_anew = relaid is not None and relaid.route is not None
    run += " as built" if laid_anew else ""
    if fact is None or fact.length_m is None:
        yield f"run {run}, " + (f"planned cut {asked}" if laid_anew else f"cut {asked}")
    else:
        yield f"run {run}; planned cut {asked}, cut {lengths.text(fact.length_m)} by the record"
        yield f"what lies there: {lies_text(lengths, record, name)}"
    yield from as_laid(plan, name)
    yield joined_text(plan, name, record)
    for passage in planned.route.passages:
        at = lengths.text(along(planned)(passage.at_route_m))
        yield (
            f"through {passage.name} {at} from {planned.cable.from_port}: out of {passage.from_space}, into "
            f"{passage.to_space}"
        )


def as_laid(plan: Plan, name: str) -> Iterator[str]:
    """Where the record had a cable laid again: what of the run and of its type is as built, and not as planned."""
    built = plan.as_built
    relaid = None if built is None else built.relaid.get(name)
    if built is None or relaid is None:
        return
    if relaid.route is None:
        yield f"AS BUILT: {relaid.why}; no safe way is left where it was recorded: the run told here is as planned"
        return
    yield f"AS BUILT: {relaid.why}; the run told here is laid anew for it"
    for row in built.rows:
        if row.about == f"cable {name}" and row.marked and row.what not in _READ:
            before, after = sides(row, plan.job)
            yield f"{row.what}: {after}, planned {before}" + (f" ({row.why})" if row.why else "")


def spare_text(plan: Plan, spare: Spare, record: Record) -> str:
    """What is kept at one end of a cable, as planned; and that it is less, where the cable ended short."""
    lengths, short_m = Lengths(plan.job.length_unit), record.short_m(spare.cable)
    told = []
    if spare.ready_made:
        told.append("ready-made, its connector is not made again")
        if spare.surplus_m > 0.0 and spare.other not in spare.parked:
            told.append(spare.parked or f"{lengths.free(spare.surplus_m)} over in the lead")
    else:
        told.append(_again_text(lengths, spare, short_m))
    told.append(_loop_text(lengths, spare, short_m))
    if short_m > 0.0:
        told.append(
            f"IT ENDED {lengths.up(short_m)} SHORT by the record, nobody said at which end: as if all of it were "
            "missing at this one"
        )
    else:
        told += doubts(plan, spare.cable)
    return f"{spare.cable} at {spare.port} (from {spare.other}): {'; '.join(told)}"


def _again_text(lengths: Lengths, spare: Spare, short_m: float) -> str:
    """How often an end can be made again with what is left there."""
    if spare.again < 1:
        return "nothing kept for terminating again"
    left = again_left(spare.again, spare.each_m, short_m)
    if left < 1:
        return f"can't be terminated again: it ended {lengths.up(short_m)} short by the record"
    return f"can be terminated again {count(left, 'time')}, {lengths.text(spare.each_m)} each"


def _loop_text(lengths: Lengths, spare: Spare, short_m: float) -> str:
    """The loop at an end: as planned, and what is left of it where more was missing than was kept for new ends."""
    if spare.loop_m <= 0.0:
        return "no loop"
    left_m = loop_left(spare, short_m)
    planned = f"loop {lengths.text(spare.loop_m)}"
    if left_m >= spare.loop_m:
        return planned
    return (
        f"{planned} planned, {lengths.free(left_m)} of it left"
        if left_m > 0.0
        else f"{planned} planned, none left"
    )
