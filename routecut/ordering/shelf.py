"""The ready-made lengths there are of a cable, and what is said where none is long enough.

Stage      ordering, below the choice of leads; `missing_leads` before a plan, for `routecut check`
Units      m
Safe side  before a plan only what is certain: no cable is shorter than the straight line between its ports
"""

from __future__ import annotations

import math

from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.job import Cable, Job
from routecut.ordering.joining import NEVER_JOINED, sets_of_leads
from routecut.units import format_length


def stock_lengths(job: Job, cable: Cable) -> dict[float, float | None]:
    """The ready-made lengths there are of a cable's type, each with the least price known. [m]"""
    found: dict[float, float | None] = {}
    for stock in job.stock:
        if stock.type != cable.type.name:
            continue
        if stock.quantity == 0 and stock.price is None:
            continue  # none on the shelf, none to be bought
        for length in stock.lengths_m:
            known = found.get(length)
            if known is None or (stock.price is not None and stock.price < known):
                found[length] = stock.price
    return found


def no_lead(
    job: Job, cable: Cable, needed_m: float, lengths: list[float], *, planned: bool = True
) -> Finding:
    """The finding for a cable that no lead of those lengths reaches; not `planned`: `needed_m` is the least. [m]"""
    unit = job.length_unit
    wanted = format_length(needed_m, unit, "up" if planned else "down")
    least = "" if planned else "at least "
    how = "" if planned else ", straight from port to port"
    if lengths:
        longest = format_length(lengths[-1], unit, "down")
        missing = format_length(needed_m - lengths[-1], unit, "up" if planned else "down")
        fix = "add a longer length to [[stock]], or move an end nearer"
        problem = f"the longest in stock is {longest}, {least}{missing} short of the {wanted} needed{how}"
    else:
        fix = f'add [[stock]] type = "{cable.type.name}" lengths = [..], or take out ready_made'
        problem = f"no ready-made length of {cable.type.name} is in stock; {least}{wanted} is needed{how}"
    if cable.cable_class in NEVER_JOINED:
        problem += f"; a {cable.cable_class} lead is never joined"
    return cable_finding(
        "no-stock-lead",
        Severity.ERROR if planned else Severity.WARNING,
        cable.name,
        f"{problem}; {fix}",
        found=wanted,
        allowed=", ".join(format_length(length, unit) for length in lengths),
    )


def missing_leads(job: Job) -> tuple[Finding, ...]:
    """A warning for each ready-made cable that no lead in stock can reach, known before any route.

    Cables whose type is left open are passed over: a plan may choose another; and of those that are measured
    in part only an empty shelf is said.
    """
    found = []
    for cable in job.cables:
        if not cable.ready_made or cable.type_assumed:
            continue
        ends = (job.port(name).position.at_m for name in (cable.from_port, cable.to_port))
        straight_m = math.dist(*ends)
        lengths = stock_lengths(job, cable)
        sets = sets_of_leads(lengths, straight_m, math.inf)
        joined = cable.cable_class not in NEVER_JOINED
        reached = any(joined or len(made.lengths_m) == 1 for made in sets)
        if reached or (lengths and cable.measured):
            continue
        found.append(no_lead(job, cable, straight_m, sorted(lengths), planned=False))
    return tuple(found)
