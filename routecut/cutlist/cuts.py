"""Cut lengths: the route, the allowances, and rounding up."""

from __future__ import annotations

import math

from routecut.cutlist.slack import drip_lines, end_lines, hinge_lines, lay_line, uncertainty_line
from routecut.errors import OutOfRangeError
from routecut.model.job import Cable, Job
from routecut.model.plan import CutLength, Route, SumLine
from routecut.units import format_length

ROUNDING = "rounding up"
"""Name of the last line of every sum."""


def cut_length(
    *, job: Job, cable: Cable, route: Route, step_m: float | None = None, step_is: str = ""
) -> CutLength:
    """The length to cut for a cable, with the sum behind it.

    Parameters
    ----------
    job : Job
    cable : Cable
    route : Route
        Finished; its length already holds the stretches measured with a string.
    step_m : float, optional
        The cut is a whole number of these, in place of `round_up_to`. Above 0. [m]
    step_is : str
        What such a step is, for print.

    Returns
    -------
    CutLength
        Never shorter than the route; a whole multiple of `round_up_to` where that is set, or of
        `step_m`.
        `probability` is the confidence of the job: what the line "uncertainty" is for.

    Raises
    ------
    OutOfRangeError
        The route's length is not finite or negative, the confidence is not between 0 and 1, or
        the step is not above 0.
    """
    if step_m is not None and not step_m > 0.0:
        raise OutOfRangeError(f"step_m of {cable.name} is {step_m}; more than 0 is wanted")
    if not (math.isfinite(route.length_m) and route.length_m >= 0.0):
        raise OutOfRangeError(f"the route of {cable.name} has length_m {route.length_m}; 0 or more is wanted")
    lines = [_route_line(job, route), lay_line(job, route), *end_lines(job, cable)]
    lines += drip_lines(job, route) + hinge_lines(job, route)
    uncertainty = uncertainty_line(job, route)
    if uncertainty is not None:
        lines.append(uncertainty)
    needed = math.fsum(line.length_m for line in lines)
    total, last = _round_up(job, needed) if step_m is None else _whole(job, needed, step_m, step_is)
    return CutLength(length_m=total, probability=job.lengths.confidence, lines=(*lines, last))


def _route_line(job: Job, route: Route) -> SumLine:
    why = "along the surfaces at the stand-off, corners rounded at the bend radius, from port to port"
    if route.measured:
        stretches = "; ".join(
            f"{s.from_name} to {s.to_name} measured with a string, "
            f"{format_length(s.measured_m, job.length_unit)} in place of "
            f"{format_length(s.computed_m, job.length_unit)}"
            for s in route.measured
        )
        why = f"{why}; {stretches}"
    return SumLine(what="route", length_m=route.length_m, why=why)


def _whole(job: Job, needed_m: float, step_m: float, step_is: str) -> tuple[float, SumLine]:
    """The total in whole steps, and the line that fills it up."""
    number = max(1, math.ceil(round(needed_m / step_m, 9)))
    total = max(number * step_m, needed_m)
    why = f"to {number} x {format_length(step_m, job.length_unit)}: {step_is}"
    return total, SumLine(what=ROUNDING, length_m=total - needed_m, why=why)


def _round_up(job: Job, needed_m: float) -> tuple[float, SumLine]:
    """The total and the line that rounds it up; noise of floating point makes no extra step."""
    step = job.lengths.round_up_to_m
    if step <= 0.0:
        return needed_m, SumLine(what=ROUNDING, length_m=0.0, why="no rounding asked for")
    total = max(math.ceil(round(needed_m / step, 9)) * step, needed_m)
    why = f"to the next {format_length(step, job.length_unit)} (shop practice)"
    return total, SumLine(what=ROUNDING, length_m=total - needed_m, why=why)
