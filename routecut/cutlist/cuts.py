"""Cut lengths: the route, the allowances, and rounding up."""

from __future__ import annotations

import math

import numpy as np

from routecut.cutlist.errors import (
    best_measurement,
    holds_with,
    length_errors,
    sideways_m,
    sigma_m,
    uncertainty_line,
)
from routecut.cutlist.slack import SHOP, drip_lines, end_lines, hinge_lines, lay_line, sag_line
from routecut.errors import OutOfRangeError
from routecut.model.job import Cable, Job
from routecut.model.plan import CutLength, Route, SumLine
from routecut.units import format_length

ROUNDING = "rounding up"
"""Name of the last line of every sum."""

HALF_WAVE = "frequency: the job; velocity factor: data sheet of the cable"

_TURN_LEAST = 0.1  # of a radian: less is no bend


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
        `probability` is the confidence of the job: what the line "uncertainty" is for;
        `holds` counts the rounding up as well.

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
    errors = length_errors(job, cable, route)
    sag = sag_line(job, route)
    lines = [_route_line(job, route), lay_line(job, route), *([] if sag is None else [sag])]
    lines += end_lines(job, cable, route)
    lines += drip_lines(job, route) + hinge_lines(job, route)
    mean_m = sideways_m(job, cable, route)
    uncertainty = uncertainty_line(job, errors, mean_m)
    if uncertainty is not None:
        lines.append(uncertainty)
    needed = math.fsum(line.length_m for line in lines)
    total, last = _round_up(job, needed) if step_m is None else _whole(job, needed, step_m, step_is)
    above_mean_m = (0.0 if uncertainty is None else uncertainty.length_m) - mean_m
    return CutLength(
        length_m=total,
        probability=job.lengths.confidence,
        lines=(*lines, last),
        holds=holds_with(needed_m=needed, length_m=total, line_m=above_mean_m, sigma=sigma_m(errors)),
        errors=errors,
        measure=best_measurement(job, cable, route),
    )


def _route_line(job: Job, route: Route) -> SumLine:
    why = "along the surfaces at the stand-off, corners rounded at the bend radius, from port to port"
    turned = turned_rad(route)
    if turned > _TURN_LEAST:
        saved = (4.0 / math.pi - 1.0) * route.bend_radius_m * turned
        why += (
            f"; it turns through {math.degrees(turned):.0f} degrees in all, at a radius of "
            f"{format_length(route.bend_radius_m, job.length_unit)} or more: "
            f"{format_length(saved, job.length_unit)} or more shorter than with sharp right angles"
        )
    if route.measured:
        stretches = "; ".join(
            f"{s.from_name} to {s.to_name} measured with a string, "
            f"{format_length(s.measured_m, job.length_unit)} in place of "
            f"{format_length(s.computed_m, job.length_unit)}"
            for s in route.measured
        )
        why = f"{why}; {stretches}"
    source = (
        "verified on the full mesh; strings as measured" if route.measured else "verified on the full mesh"
    )
    return SumLine(what="route", length_m=route.length_m, why=why, source=source)


def turned_rad(route: Route) -> float:
    """The angle through which a route turns in all: a right angle is half of pi. [rad]"""
    steps = np.diff(route.points_m, axis=0)
    sizes = np.linalg.norm(steps, axis=1)
    along = steps[sizes > 0.0] / sizes[sizes > 0.0][:, None]
    if len(along) < 2:
        return 0.0
    return float(np.arccos(np.clip((along[1:] * along[:-1]).sum(axis=1), -1.0, 1.0)).sum())


def _whole(job: Job, needed_m: float, step_m: float, step_is: str) -> tuple[float, SumLine]:
    """The total in whole steps, and the line that fills it up."""
    number = max(1, math.ceil(round(needed_m / step_m, 9)))
    total = max(number * step_m, needed_m)
    why = f"to {number} x {format_length(step_m, job.length_unit)}: {step_is}"
    return total, SumLine(what=ROUNDING, length_m=total - needed_m, why=why, source=HALF_WAVE)


def _round_up(job: Job, needed_m: float) -> tuple[float, SumLine]:
    """The total and the line that rounds it up; noise of floating point makes no extra step."""
    step = job.lengths.round_up_to_m
    if step <= 0.0:
        return needed_m, SumLine(what=ROUNDING, length_m=0.0, why="no rounding asked for", source=SHOP)
    total = max(math.ceil(round(needed_m / step, 9)) * step, needed_m)
    why = f"to the next {format_length(step, job.length_unit)} (shop practice)"
    return total, SumLine(what=ROUNDING, length_m=total - needed_m, why=why, source=SHOP)
