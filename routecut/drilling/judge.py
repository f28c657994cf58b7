"""Whether a hole may be drilled, and from which side.

Stage      drilling
Units      m
Safe side  what is near and can kill refuses a hole whichever side it is on; what is not known is
           not refused, it is said
"""

from __future__ import annotations

from typing import Final

import numpy as np

from routecut.drilling.scene import Scene
from routecut.model.drilling import HoleSide
from routecut.model.job import Reason
from routecut.units import format_length

APPROACH_M: Final = 0.150
"""Room an angle drill with its bit needs before the panel (common practice, no source). [m]"""

DANGEROUS: Final = frozenset({Reason.FUEL, Reason.HIGH_VOLTAGE, Reason.AIRBAG})
"""No drill comes within the clearance of these."""


def sides(scene: Scene, low: HoleSide, high: HoleSide) -> tuple[HoleSide, HoleSide, str | None]:
    """The side to drill from, the side the drill comes out on, and why not at all.

    Of two sides that will do, the one from which it is known what lies behind, then the one
    that is open to get at, then the one with more room.
    """
    access = {s.name: str(s.access) for s in scene.job.spaces}

    def rank(near: HoleSide, far: HoleSide) -> tuple[bool, bool, bool, bool, float]:
        return (
            bool(faults(scene, near, far)),
            near.approach_m < APPROACH_M,
            far.met is None,
            access.get(near.space) != "open",
            -min(near.approach_m, 1.0),
        )

    near, far = min(((low, high), (high, low)), key=lambda pair: rank(*pair))
    found = faults(scene, near, far)
    return near, far, "; ".join(found) or None


def faults(scene: Scene, near: HoleSide, far: HoleSide) -> list[str]:
    """Why a hole must not be drilled from one side."""
    unit, wanted = scene.job.length_unit, scene.job.drilling.behind_m
    found = []
    if near.approach_m < APPROACH_M:
        what = near.met.what if near.met is not None else "something"
        found.append(
            f"no drill can stand in {near.space}: {format_length(near.approach_m, unit, 'down')} to {what}, "
            f"{format_length(APPROACH_M, unit)} are wanted"
        )
    for side in (far, near):
        met = side.met
        if met is None or met.free_m >= wanted:
            continue
        if side is near and met.reason not in DANGEROUS:
            continue
        free = format_length(met.free_m, unit, "down")
        text = f"{met.what} lies {free} behind it in {side.space}; {format_length(wanted, unit)} are wanted"
        if met.panel:
            text += " (give depth if the hole is to pass that sheet too)"
        found.append(text)
    return found


def too_close(scene: Scene, at_m: np.ndarray, radius_m: float) -> list[str]:
    """Keep-outs of fuel, high voltage and airbags whose clearance the hole would break."""
    unit, found = scene.job.length_unit, []
    for keep_out in scene.keep_outs:
        if keep_out.keep_out.reason not in DANGEROUS:
            continue
        distance = float(keep_out.distance_m(np.atleast_2d(at_m)).min()) - radius_m
        if distance < keep_out.clearance_m:
            found.append(
                f"{keep_out.name} is {format_length(max(distance, 0.0), unit, 'down')} away; its clearance is "
                f"{format_length(keep_out.clearance_m, unit)}"
            )
    return found
