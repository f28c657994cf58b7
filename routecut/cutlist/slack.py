"""The allowances on top of the route: lay, sag, ends, loops.

Stage      cutlist
Units      m
Sources    beside each line: `SumLine.source`
"""

from __future__ import annotations

from fnmatch import fnmatchcase
from itertools import pairwise
from typing import Final

from routecut.model.job import Cable, Exposure, Job, Port
from routecut.model.plan import Route, SumLine
from routecut.routes.polyline import running_m
from routecut.tables import how_known, limits_in_force, read_rows
from routecut.units import format_length, to_m

RE_TERMINATIONS: Final = 2
"""Terminations that can be cut off and made again at each end (FAA AC 43.13-1B par. 11-118)."""

SLACK_SOURCE: Final = "FAA AC 43.13-1B par. 11-118"
SHOP: Final = "shop practice, [lengths] of the job"
THE_JOB: Final = "the job"

_CHOPPED_M: Final = 1e-9  # shorter is no allowance


def lay_line(job: Job, route: Route) -> SumLine:
    """What a cable takes because it is not laid as straight as a line."""
    lay = job.lengths.lay
    return SumLine(
        what="lay",
        length_m=lay * route.length_m,
        why=f"{lay * 100:g} % of the route: cables are not laid as straight as a line (shop practice)",
        source=SHOP,
    )


def sag_line(job: Job, route: Route) -> SumLine | None:
    r"""What a cable takes because it hangs between its supports.

    Notes
    -----
    A shallow arc of span S and sag s is :math:`8 s^2 / 3 S` longer than its chord. Taken over
    the whole run at the longest support interval and the largest sag the rules allow; a route
    shorter than one interval hangs less in proportion.
    """
    limits = limits_in_force(job.rules.profile, job.rules.limits)
    support, sag = limits["support_mm"], limits["sag_mm"]
    span_m, sag_m = to_m(support.value, "mm"), to_m(sag.value, "mm")
    longer = 8.0 * sag_m**2 / (3.0 * span_m**2) * route.length_m
    if longer <= _CHOPPED_M:
        return None
    unit = job.length_unit
    return SumLine(
        what="sag",
        length_m=longer,
        why=(
            f"8 s^2 / 3 S between supports every {format_length(span_m, unit)}, hanging "
            f"{format_length(sag_m, unit)} at most"
        ),
        source=f"{sag.source}; {support.source}",
    )


def used_by_termination(port: Port) -> tuple[float, str]:
    """What one termination takes up, and who says so: the job, else the table by its name. [m]"""
    if port.length_used_by_termination_m > 0.0:
        return port.length_used_by_termination_m, THE_JOB
    for row in read_rows("terminations"):
        if port.termination and fnmatchcase(port.termination.lower(), row["termination"]):
            return to_m(
                float(row["length_used_mm"]), "mm"
            ), f"{row['source']} ({how_known(row['provenance'])})"
    return 0.0, ""


def end_lines(job: Job, cable: Cable, route: Route) -> list[SumLine]:
    """Re-terminations, service loop and travel of each end.

    The termination that is made first is part of the route: the route ends at the port,
    where the terminal sits, so what the terminal holds lies within the last of the run. A
    ready-made lead keeps its connectors: nothing is terminated again.
    """
    unit = job.length_unit
    lines = []
    for end, at in ((cable.from_port, 0.0), (cable.to_port, _end_m(route))):
        port = job.port(end)
        one, said_by = used_by_termination(port)
        if one > _CHOPPED_M and not cable.ready_made:
            lines.append(
                SumLine(
                    what=f"re-terminations at {end}",
                    length_m=RE_TERMINATIONS * one,
                    why=(
                        f"{RE_TERMINATIONS} x {format_length(one, unit)} used by one "
                        f"{port.termination or 'termination'} ({SLACK_SOURCE}); "
                        "the first is part of the route"
                    ),
                    source=f"{SLACK_SOURCE}; length of one: {said_by}",
                    at_route_m=at,
                )
            )
        if port.service_loop_m > _CHOPPED_M:
            lines.append(
                SumLine(
                    what=f"service loop at {end}",
                    length_m=port.service_loop_m,
                    why=f"{format_length(port.service_loop_m, unit)} of slack asked for at this port",
                    source=THE_JOB,
                    at_route_m=at,
                )
            )
        if port.travel_m > _CHOPPED_M:
            lines.append(
                SumLine(
                    what=f"travel at {end}",
                    length_m=port.travel_m,
                    why=f"the port moves {format_length(port.travel_m, unit)} with what it is fixed to",
                    source=THE_JOB,
                    at_route_m=at,
                )
            )
    return lines


def _end_m(route: Route) -> float:
    return float(running_m(route.points_m)[-1])


def drip_lines(job: Job, route: Route) -> list[SumLine]:
    """A drip loop wherever the route changes between a wet space and one that is not.

    Whichever way round the cable is listed: water runs along it towards the dry side.
    """
    if job.lengths.drip_loop_m <= _CHOPPED_M:
        return []
    wet = {s.name for s in job.spaces if Exposure.WET in s.exposure}
    ahead = list(route.passages)
    lines = []
    for here, there in pairwise(route.spaces):
        through, place = "", None
        if ahead and (ahead[0].from_space, ahead[0].to_space) == (here, there):
            place = ahead[0].at_route_m
            through = ahead.pop(0).name
        if (here in wet) == (there in wet):
            continue
        inside, outside = (there, here) if here in wet else (here, there)
        at = through or f"the border of {outside} and {inside}"
        lines.append(
            SumLine(
                what=f"drip loop at {at}",
                length_m=job.lengths.drip_loop_m,
                why=(
                    f"{format_length(job.lengths.drip_loop_m, job.length_unit)} where the cable comes from "
                    f"{outside}, which is wet, into {inside} (shop practice)"
                ),
                source=SHOP,
                at_route_m=place,
            )
        )
    return lines


def hinge_lines(job: Job, route: Route) -> list[SumLine]:
    """A loop for every hinge crossed, so that the movement twists the cable instead of bending it."""
    loop = job.lengths.hinge_loop_m
    if loop <= _CHOPPED_M:
        return []
    return [
        SumLine(
            what=f"hinge loop at {crossing.name}",
            length_m=loop,
            why=f"{format_length(loop, job.length_unit)} where the route crosses a hinge (shop practice)",
            source=SHOP,
            at_route_m=crossing.at_route_m,
        )
        for crossing in route.hinges
    ]
