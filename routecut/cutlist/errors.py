"""How far a cut length can be off, and which one measurement would help most.

Stage      cutlist
Units      m; errors are one sigma and independent of each other
Sources    strings and tapes: common practice, no source
Safe side  what is not measured is never assumed better than the job says
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from statistics import NormalDist
from typing import Final

import numpy as np

from routecut.cutlist.places import Leg, legs, measured_spans, pulls
from routecut.errors import OutOfRangeError
from routecut.model.body import Floats
from routecut.model.job import Cable, Job, Section
from routecut.model.plan import LengthError, Remedy, Route, SumLine
from routecut.routes.polyline import points_at, running_m
from routecut.units import format_length

STRING_M: Final = 0.003
"""One sigma of a stretch measured with a string: reading and marking (common practice, no source). [m]"""

STRING_SHARE: Final = 0.001
"""And so much of its length for how taut it was (common practice, no source)."""

WORTH_M: Final = 0.010
"""A measurement that saves less than this is not worth the walk. [m]"""

PIECE_M: Final = 0.005
"""Pieces in which a route is laid over the sections of the vehicle. [m]"""

_CHOPPED_M: Final = 1e-9  # shorter is nothing


def string_sigma_m(length_m: float) -> float:
    """One sigma of a length measured with a string. [m]

    Examples
    --------
    >>> string_sigma_m(4.0)
    0.005
    """
    return math.hypot(STRING_M, STRING_SHARE * length_m)


def scale_sigma(job: Job) -> float:
    r"""One sigma of the scale of the mesh, after the tape checks where they rescale it.

    Notes
    -----
    The factor is fitted by least squares to the tape distances of n checks over lengths b
    between landmarks on the mesh; with the error p of a landmark at either end of each, its
    standard deviation is :math:`\sqrt 2 p / \sqrt{\sum b^2}`. Without `rescale` the checks
    only warn, and the scan's own error stays.
    """
    vehicle = job.vehicle
    if not vehicle.rescale:
        return vehicle.scan_error
    squares = math.fsum(b * b for b in tape_baselines_m(job))
    if squares <= 0.0:
        return vehicle.scan_error
    return math.sqrt(2.0) * vehicle.point_error_m / math.sqrt(squares)


def tape_baselines_m(job: Job) -> tuple[float, ...]:
    """Lengths of the tape checks that say something of the mesh: between landmarks on it. [m]"""
    at = {m.name: m.position for m in job.landmarks if not m.position.taped}
    return tuple(
        math.dist(at[c.from_landmark].at_m, at[c.to_landmark].at_m)
        for c in job.vehicle.tape_checks
        if c.from_landmark in at and c.to_landmark in at
    )


def length_errors(job: Job, cable: Cable, route: Route) -> tuple[LengthError, ...]:
    """What makes the real length differ from the sum; only what has a size."""
    return _errors(job, cable, route, legs(cable, route))


def _errors(job: Job, cable: Cable, route: Route, run: list[Leg]) -> tuple[LengthError, ...]:
    unit, vehicle = job.length_unit, job.vehicle
    computed = math.fsum(leg.open_m for leg in run)
    scale, lay = scale_sigma(job), job.lengths.lay_sigma
    over = format_length(computed, unit)
    scaled = ""
    if vehicle.rescale and scale != vehicle.scan_error:
        scaled = f", the mesh rescaled by the tape checks ({vehicle.scan_error * 100:g} % before)"
    assumed = ""
    if job.lengths.lay_error is None:
        assumed = (
            ", a third of the lay itself: from no lay at all to twice as much (common practice, no source)"
        )
    found = [
        LengthError(
            what="scale of the mesh",
            sigma_m=scale * computed,
            why=f"{_percent(scale)} scale error over {over}{scaled}",
            over_m=computed,
        ),
        LengthError(
            what="roughness of the mesh",
            sigma_m=vehicle.noise_m * computed,
            why=f"noise of {1000 * vehicle.noise_m:.1f} mm, two points in three within it; as much for each metre of "
            f"{over} (measured on meshes damaged on purpose)",
            over_m=computed,
        ),
        LengthError(
            what="points",
            sigma_m=vehicle.point_error_m * _pull(job, cable, route, run),
            why=f"{format_length(vehicle.point_error_m, unit)} point error at the ends and where holes turn "
            "the way",
        ),
        LengthError(
            what="lay",
            sigma_m=lay * computed,
            why=f"{_percent(lay)} error of the lay over {over}{assumed}",
            over_m=computed,
        ),
        LengthError(
            what="strings",
            sigma_m=math.sqrt(math.fsum(string_sigma_m(s.measured_m) ** 2 for s in route.measured)),
            why=f"{len(route.measured)} measured with a string: {format_length(STRING_M, unit)} and "
            f"{_percent(STRING_SHARE)} each (common practice, no source)",
        ),
    ]
    found += [
        LengthError(
            what=section_name(section),
            sigma_m=section.error_m / section.size_m * share,
            why=f"{format_length(section.error_m, unit)} one sigma over {format_length(section.size_m, unit)} "
            f"along {'xyz'[section.axis]}"
            + ("" if section.measured else ", which was not measured on the vehicle"),
            over_m=share,
        )
        for section in vehicle.sections
        if (share := along_m(cable, route, run, section)) > 0.0
    ]
    return tuple(e for e in found if e.sigma_m > _CHOPPED_M)


def section_name(section: Section) -> str:
    """How the sum calls the error of a section."""
    return f"{section.name}{'' if section.measured else ' (not measured)'}"


def along_m(cable: Cable, route: Route, run: list[Leg], section: Section) -> float:
    r"""How far a route is lengthened when a section of the vehicle grows by its own size, to first order. [m]

    Parameters
    ----------
    run : list of Leg
        What of it is measured with a string counts for nothing.

    Notes
    -----
    A piece ds of the route whose part along the axis is dx grows by :math:`dx^2 / ds` times the
    growth: :math:`\partial L / \partial k = \int (dx / ds)^2 ds` over the pieces in the box, for
    :math:`L = \int \sqrt{(k\,dx)^2 + dy^2 + dz^2}` at k = 1.
    """
    ends = running_m(route.points_m)
    marks = np.unique(np.r_[ends, np.arange(0.0, ends[-1], PIECE_M)])
    points, middle = points_at(marks, ends, route.points_m), (marks[1:] + marks[:-1]) / 2
    step = np.diff(points, axis=0)
    size = np.linalg.norm(step, axis=1)
    centre = (points[1:] + points[:-1]) / 2
    counts = ((centre >= np.array(section.low_m)) & (centre <= np.array(section.high_m))).all(axis=1)
    shut = [(leg.from_m, leg.to_m) for leg in run if leg.open_m <= _CHOPPED_M]
    for low, high in (*measured_spans(cable, route), *shut):
        counts &= (middle < low) | (middle > high)
    counts &= size > 0.0
    return float((step[counts, section.axis] ** 2 / size[counts]).sum())


def _pull(job: Job, cable: Cable, route: Route, run: list[Leg]) -> float:
    """Root of the sum of squares by which displaced points change the length. [-]

    Ports given by offset move with their device: two on one device move alike.
    """
    axes = {h.name: h.axis for h in job.pass_throughs}
    holes = {p.name for p in route.passages}
    anchors: dict[tuple[str, str], Floats] = {}
    for name, pull in pulls(cable, route, axes, [leg.open_m > _CHOPPED_M for leg in run]):
        key = ("hole", name)
        if name not in holes:
            port = job.port(name)
            key = ("port", name) if port.offset_m is None else ("device", port.device)
        anchors[key] = anchors.get(key, np.zeros(3)) + pull
    return math.sqrt(math.fsum(float(v @ v) for v in anchors.values()))


def sideways_m(job: Job, cable: Cable, route: Route) -> float:
    r"""What displaced places add on average: sideways, either way makes a run longer. [m]

    Notes
    -----
    The mean distance of two places L apart, each off by p along each axis, less L; with
    :math:`s = \sqrt 2 p` that of a Maxwell distribution off its centre:

    .. math:: s \sqrt{2 / \pi}\, e^{-L^2 / 2 s^2} + (L + s^2 / L) \operatorname{erf}(L / \sqrt 2 s) - L

    It tends to :math:`2 p^2 / L` and matters for straps of a few centimetres only.
    """
    spread = math.sqrt(2.0) * job.vehicle.point_error_m
    runs = (leg.to_m - leg.from_m for leg in legs(cable, route) if leg.open_m > _CHOPPED_M)
    return math.fsum(_mean_distance_m(run, spread) - run for run in runs) if spread > 0.0 else 0.0


def _mean_distance_m(length_m: float, sigma_m: float) -> float:
    """Mean distance of two places whose difference is off by `sigma_m` along each axis. [m]"""
    far = length_m / sigma_m
    near = sigma_m * math.sqrt(2.0 / math.pi) * math.exp(-far * far / 2.0)
    return near + (length_m + sigma_m / far) * math.erf(far / math.sqrt(2.0))


def _percent(share: float) -> str:
    return f"{share * 100:.3g} %"


def quantile(job: Job) -> float:
    """The normal quantile of the confidence asked for. [-]

    Raises
    ------
    OutOfRangeError
        The confidence is not between 0 and 1.
    """
    confidence = job.lengths.confidence
    if not 0.0 < confidence < 1.0:
        raise OutOfRangeError(f"lengths.confidence is {confidence}; it must lie between 0 and 1")
    return NormalDist().inv_cdf(confidence)


def sigma_m(errors: Iterable[LengthError]) -> float:
    """Standard deviation of all errors together. [m]"""
    return math.hypot(*(e.sigma_m for e in errors))


def uncertainty_line(job: Job, errors: tuple[LengthError, ...], mean_m: float = 0.0) -> SumLine | None:
    r"""What keeps the cut long enough with the probability asked for.

    Notes
    -----
    One-sided normal quantile times the standard deviation: :math:`z \sqrt{\sum \sigma^2}`, and
    `mean_m`, which displaced places add on average (see `sideways_m`).

    Raises
    ------
    OutOfRangeError
        The confidence is not between 0 and 1.
    """
    z, sigma = quantile(job), sigma_m(errors)
    if z * sigma <= _CHOPPED_M:
        return None  # below an even chance nothing is taken off: a cut is never below its sum
    unit = job.length_unit
    parts = "; ".join(f"{e.what} {format_length(e.sigma_m, unit)} ({e.why})" for e in errors)
    return SumLine(
        what="uncertainty",
        length_m=z * sigma + mean_m,
        why=(
            f"long enough with a probability of {job.lengths.confidence * 100:g} %: {z:.2f} x the standard "
            f"deviation of {format_length(sigma, unit)}, from {parts}"
        ),
        source="one-sided quantile of the normal distribution",
    )


def holds_with(*, needed_m: float, length_m: float, line_m: float, sigma: float) -> float | None:
    """The probability that a length is enough, what rounding added counted; None where nothing is uncertain.

    Parameters
    ----------
    needed_m : float
        The sum with its line for uncertainty. [m]
    length_m : float
        As cut or bought. [m]
    line_m : float
        Of that line, what is above the mean. [m]
    sigma : float
        Standard deviation of the length needed. [m]
    """
    if sigma <= _CHOPPED_M:
        return None
    return NormalDist().cdf((length_m - needed_m + line_m) / sigma)


def best_measurement(job: Job, cable: Cable, route: Route) -> Remedy | None:
    """The run between two neighbouring places that would shorten the cut most if it were measured.

    Returns
    -------
    Remedy or None
        None where nothing saves `WORTH_M`.
    """
    z = quantile(job)
    run = legs(cable, route)
    before = sigma_m(_errors(job, cable, route, run))
    best: Remedy | None = None
    for k, leg in enumerate(run):
        if leg.open_m < leg.to_m - leg.from_m - _CHOPPED_M:
            continue  # measured already, at least in part
        shut = [replace(other, open_m=0.0) if i == k else other for i, other in enumerate(run)]
        after = math.hypot(sigma_m(_errors(job, cable, route, shut)), string_sigma_m(leg.open_m))
        saves = z * (before - after)
        if saves >= WORTH_M and (best is None or saves > best.saves_m + _CHOPPED_M):
            best = Remedy(from_name=leg.from_name, to_name=leg.to_name, saves_m=saves)
    return best
