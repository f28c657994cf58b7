"""Where a route is held: clipped to a panel, inside a passage, or at its ends."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
import numpy.typing as npt

from routecut.model.body import Floats
from routecut.model.job import Cable, Routing
from routecut.verify.curve import stretches
from routecut.verify.limits import SAMPLE_STEP_M, SPAN_BENDS, SPAN_STAND_OFFS, SUPPORT_FACTOR, SUPPORT_SLACK_M

_FINE_M: Final = 0.0001
"""How finely the end of a stretch is looked for between two samples. [m]"""


def lift_m(routing: Routing, cable: Cable) -> float:
    """Distance of a clipped cable's middle from its sheet: stand-off or its own radius. [m]"""
    return max(routing.stand_off_m, 0.5 * cable.type.diameter_m)


def support_reach_m(routing: Routing, cable: Cable) -> float:
    """How near to a panel the middle of the cable must be to be clipped there. [m]"""
    return SUPPORT_FACTOR * lift_m(routing, cable) + SUPPORT_SLACK_M


def span_limit_m(routing: Routing, cable: Cable) -> float:
    """Longest run allowed between supports. [m]

    The bridge length (450 mm by ISO 10133:2012 clause 7.3, 610 mm at most by FAA AC
    43.13-1B paragraph 11-96a), or what a bend and the lift off a corner take, since a
    clip can't sit in a bend.
    """
    return max(
        routing.bridge_m,
        SPAN_BENDS * cable.type.min_bend_radius_m,
        SPAN_STAND_OFFS * lift_m(routing, cable),
    )


def free_stretches(run_m: Floats, supported: npt.NDArray[np.bool_]) -> list[tuple[float, float]]:
    """Runs between neighbouring supported points that have unsupported ones between. [m]

    The two ends of the curve always count as supported: the connectors hold them.

    >>> free_stretches(np.array([0.0, 0.1, 0.2, 0.3]), np.array([True, False, False, True]))
    [(0.0, 0.3)]
    """
    free = ~np.asarray(supported, dtype=bool)
    free[[0, -1]] = False
    return [(float(run_m[a - 1]), float(run_m[b + 1])) for a, b in stretches(free)]


def exact_ends(
    stretch: tuple[float, float], held_at: Callable[[Floats], npt.NDArray[np.bool_]]
) -> tuple[float, float]:
    """A free stretch from the last place that is held to the next, found between the samples. [m]

    Samples make a stretch too long by up to a step at each end: from `stretch`, which ends at samples that
    are held, the curve is walked inwards for as long as it is held without a break.

    Parameters
    ----------
    stretch : (float, float)
        From `free_stretches`.
    held_at : callable
        Whether the curve is held at running lengths, (k,) to (k,). [m]
    """
    start, end = stretch
    inwards = np.arange(1, round(SAMPLE_STEP_M / _FINE_M), dtype=np.float64) * _FINE_M
    inwards = inwards[inwards < (end - start) / 2]
    before, behind = (
        float(inwards[n - 1]) if (n := int(np.logical_and.accumulate(held).sum())) else 0.0
        for held in (held_at(start + inwards), held_at(end - inwards))
    )
    return start + before, end - behind
