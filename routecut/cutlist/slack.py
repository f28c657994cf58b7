"""The allowances on top of the route: lay, ends, loops, and what the survey can't know."""

from __future__ import annotations

import math
from itertools import pairwise
from statistics import NormalDist
from typing import Final

from routecut.errors import OutOfRangeError
from routecut.model.job import Cable, Exposure, Job
from routecut.model.plan import Route, SumLine
from routecut.units import format_length

RE_TERMINATIONS: Final = 2
"""Terminations that can be cut off and made again at each end (FAA AC 43.13-1B par. 11-118)."""

_CHOPPED_M: Final = 1e-9  # shorter is no allowance


def lay_line(job: Job, route: Route) -> SumLine:
    """What a cable takes because it is not laid as straight as a line."""
    lay = job.lengths.lay
    return SumLine(
        what="lay",
        length_m=lay * route.length_m,
        why=f"{lay * 100:g} % of the route: cables are not laid as straight as a line (shop practice)",
    )


def end_lines(job: Job, cable: Cable) -> list[SumLine]:
    """Re-terminations and service loop of each end.

    The termination that is made first is part of the route: the route ends at the port,
    where the terminal sits, so what the terminal holds lies within the last of the run.
    """
    unit = job.length_unit
    lines = []
    for end in (cable.from_port, cable.to_port):
        port = job.port(end)
        one = port.length_used_by_termination_m
        if one > _CHOPPED_M:
            lines.append(
                SumLine(
                    what=f"re-terminations at {end}",
                    length_m=RE_TERMINATIONS * one,
                    why=(
                        f"{RE_TERMINATIONS} x {format_length(one, unit)} used by one "
                        f"{port.termination or 'termination'} (FAA AC 43.13-1B par. 11-118); "
                        "the first is part of the route"
                    ),
                )
            )
        if port.service_loop_m > _CHOPPED_M:
            lines.append(
                SumLine(
                    what=f"service loop at {end}",
                    length_m=port.service_loop_m,
                    why=f"{format_length(port.service_loop_m, unit)} of slack asked for at this port",
                )
            )
    return lines


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
        through = ""
        if ahead and (ahead[0].from_space, ahead[0].to_space) == (here, there):
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
        )
        for crossing in route.hinges
    ]


def uncertainty_line(job: Job, route: Route) -> SumLine | None:
    r"""What keeps the cut long enough with the probability asked for.

    Notes
    -----
    One-sided normal quantile times the standard deviation of the route:
    :math:`z \sqrt{(s L)^2 + 2 p^2}` with the scale error s of the mesh over the length L
    that was computed on it (a stretch measured with a string has none), and the error p
    of a point at either end.

    Raises
    ------
    OutOfRangeError
        The confidence is not between 0 and 1.
    """
    confidence = job.lengths.confidence
    if not 0.0 < confidence < 1.0:
        raise OutOfRangeError(f"lengths.confidence is {confidence}; it must lie between 0 and 1")
    scale, point = job.vehicle.scan_error, job.vehicle.point_error_m
    computed = max(route.length_m - sum(s.measured_m for s in route.measured), 0.0)
    sigma = math.hypot(scale * computed, math.sqrt(2.0) * point)
    z = NormalDist().inv_cdf(confidence)
    if z * sigma <= _CHOPPED_M:
        return None  # below an even chance nothing is taken off: a cut is never below its sum
    unit = job.length_unit
    return SumLine(
        what="uncertainty",
        length_m=z * sigma,
        why=(
            f"long enough with a probability of {confidence * 100:g} %: {z:.2f} x the standard deviation of "
            f"{format_length(sigma, unit)}, from {scale * 100:g} % scale error over "
            f"{format_length(computed, unit)} and {format_length(point, unit)} point error at either end"
        ),
    )
