"""Where the fuse of a lead sits, how far that is along the conductor, and who can get at it.

Stage      sizing
Units      m, A
Safe side  distance is counted along the conductor with what its termination takes and the bend
           out of the terminal, never as the crow flies
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from routecut.model.job import Access, CableType, Job
from routecut.model.sizing import Fuse
from routecut.sizing.circuit import COMMON, SOURCE, Circuit, Leg
from routecut.sizing.names import is_battery, is_fuse_holder, is_fused
from routecut.tables import how_known

TERMINATIONS: Final = 3
"""Made at the terminal: the first one and two more (FAA AC 43.13-1B par. 11-118)."""

_STEP_M: Final = 0.010


def at_far_end(job: Job, circuit: Circuit, leg: Leg, limit_m: float) -> bool:
    """The lead runs from the battery to a fuse holder near enough: that one protects it."""
    device = job.device_of(leg.far_port)
    behind = circuit.out.out_degree(leg.far) if leg.far in circuit.out else 0
    return (
        leg.near == SOURCE and is_fuse_holder(device) and behind <= 1 and leg.length_m <= limit_m * (1 + 1e-9)
    )


def nearest_m(job: Job, leg: Leg, cable_type: CableType) -> float:
    """The nearest a holder in the lead can sit to the terminal, along the conductor. [m]

    What three terminations take, and the first bend; up to the next 10 mm.
    """
    used = job.port(leg.near_port).length_used_by_termination_m
    return math.ceil((TERMINATIONS * used + cable_type.min_bend_radius_m) / _STEP_M - 1e-9) * _STEP_M


def place_fuse(
    *,
    job: Job,
    circuit: Circuit,
    leg: Leg,
    cable_type: CableType,
    rating: tuple[float, str, str],
    limit_m: float,
) -> Fuse:
    """The fuse of a leg, in its place.

    Parameters
    ----------
    job, circuit, leg
    cable_type : CableType
        As sized.
    rating : (float, str, str)
        A, series and provenance of the series.
    limit_m : float
        What the rules allow between battery and fuse. [m]
    """
    near = job.device_of(leg.near_port)
    battery = leg.near in {SOURCE, COMMON} and is_battery(near)
    amps, series, provenance = rating
    marked = "" if provenance == "published-read" else f" (series {how_known(provenance)})"
    if at_far_end(job, circuit, leg, limit_m):
        at, distance, in_block = leg.far_port, leg.length_m, False
        why = f"in the holder the lead ends at{marked}"
    elif is_fused(near) and not battery:
        at, distance, in_block = leg.near_port, 0.0, True
        why = f"in {near.name}, where the lead begins{marked}"
    else:
        at, distance, in_block = leg.near_port, nearest_m(job, leg, cable_type), False
        why = (
            f"in the lead: {TERMINATIONS} x what the {job.port(at).termination or 'termination'} takes and "
            f"the first bend{marked}"
        )
    device = job.device_of(at)
    access = _access(job)
    return Fuse(
        rating_a=amps,
        series=series,
        distance_m=distance,
        at=at,
        space=device.space,
        access=access.get(device.space, ""),
        in_block=in_block,
        why=why,
    )


def _access(job: Job) -> Mapping[str, str]:
    return {space.name: str(space.access) for space in job.spaces}


def is_hidden(fuse: Fuse) -> bool:
    """It takes more than a hand to get at the fuse."""
    return fuse.access in {str(Access.TRIM), str(Access.SEALED)}
