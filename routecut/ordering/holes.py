"""What holes take: grommets by size, edge guard, paint for bare edges, sealant.

Stage      ordering
Units      m
Sources    largest panel hole of a grommet: 2-1/2 in (grommet trade article, table of connectors);
           how far paint and sealant go: common practice, no source
Safe side  a hole that is there keeps its grommet unless the job says it has none; every hole that is
           drilled gets one
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from routecut.model.job import Exposure, HoleState, PassThrough
from routecut.model.plan import PlannedHole
from routecut.ordering.needs import A_TENTH_MORE, NO_SPARE, Fitted, Need
from routecut.units import format_length

LARGEST_GROMMET_M: Final = 0.0635
HOLES_PER_TUBE: Final = 10


def hole_needs(fitted: Fitted) -> Iterator[Need]:
    """What every hole takes that a cable goes through."""
    job = fitted.job
    wet = {s.name for s in job.spaces if Exposure.WET in s.exposure}
    drilled, damp = [], []
    for hole, users, drill in _used(fitted):
        names = [fitted.named(u) for u in users]
        where = fitted.named(hole.name)
        size = fitted.sizes.get(hole.name)
        new = drill or not hole.has_grommet
        if drill:
            drilled.append((where, names))
        if new and len({s in wet for s in hole.joins}) > 1:
            damp.append((where, names))
        if not new:
            continue
        why = f"{where}: to be drilled" if drill else f"{where}: {hole.state}, has none"
        if hole.diameter_m > LARGEST_GROMMET_M:
            yield from _each(
                names,
                f"{why}; too large for a grommet",
                group="edge guard",
                what="edge guard strip",
                unit="m",
                quantity=math.pi * hole.diameter_m,
            )
            continue
        what = f"grommet for a {format_length(hole.diameter_m, job.length_unit)} hole"
        if size is not None:
            sheet = f", {size.groove_m * 1000:g} mm sheet" if size.groove_m > 0.0 else ""
            what = f"grommet, {size.clear_m * 1000:g} mm bore, {size.drill_m * 1000:g} mm hole{sheet}"
        sheets = size.sheets if size is not None else 1
        each = f", one in each of {sheets} sheets" if sheets > 1 else ""
        yield from _each(names, f"{why}{each}", group="grommet", what=what, quantity=float(sheets))
    for where, names in drilled:
        yield from _each(
            names,
            f"bare edge of {where}",
            group="paint and sealant",
            what="touch-up primer and paint, small tin",
            quantity=1.0 / HOLES_PER_TUBE,
        )
    for where, names in damp:
        yield from _each(
            names,
            f"{where} lets water in",
            group="paint and sealant",
            what="sealant, neutral cure, tube",
            quantity=1.0 / HOLES_PER_TUBE,
        )


def _used(fitted: Fitted) -> Iterator[tuple[PassThrough, list[str], bool]]:
    """Holes with the cables that use them, by name; from the routes where no holes were planned."""
    users: dict[str, list[str]] = {}
    for planned in fitted.planned:
        for passage in planned.route.passages if planned.route is not None else ():
            users.setdefault(passage.name, []).append(planned.cable.name)
    planned_holes: dict[str, PlannedHole] = {h.pass_through.name: h for h in fitted.holes}
    known = {h.name: h for h in fitted.job.pass_throughs}
    known |= {name: h.pass_through for name, h in planned_holes.items()}
    for name in sorted(set(users) & set(known)):
        hole = known[name]
        drill = planned_holes[name].drill if name in planned_holes else hole.state is HoleState.CANDIDATE
        yield hole, sorted(set(users[name])), drill


def _each(
    names: list[str], why: str, *, group: str, what: str, unit: str = "piece", quantity: float = 1.0
) -> Iterator[Need]:
    """One need, said of every cable it serves."""
    for k, name in enumerate(names):
        yield Need(
            group=group,
            what=what,
            unit=unit,
            quantity=quantity if k == 0 else 0.0,
            cable=name,
            why=why,
            spare=A_TENTH_MORE if unit == "m" else NO_SPARE,
        )
