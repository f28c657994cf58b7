"""Where the surplus of a ready-made lead goes, by what the cable carries.

Stage      ordering
Units      m
Sources    beside each class
"""

from __future__ import annotations

import math
from typing import Final

from routecut.model.job import Access, Cable, CableClass, Exposure, Job, Surplus
from routecut.units import format_length

SUPPLY: Final = "a supply lead is never coiled (radio installation manuals)"
_FOLD_M: Final = 0.250

_HOW: Final[dict[CableClass, Surplus]] = {
    CableClass.POWER: Surplus.TRIM,
    CableClass.BOND: Surplus.TRIM,
    CableClass.COAX: Surplus.COIL,
    CableClass.CONTROL: Surplus.FOLD,
    CableClass.AUDIO: Surplus.FOLD,
    CableClass.DATA: Surplus.FOLD,
}

_WHY: Final[dict[CableClass, str]] = {
    CableClass.POWER: SUPPLY,
    CableClass.BOND: "a bond is as short as it can be (radio installation manuals)",
    CableClass.COAX: "one flat open loop, never a tight coil (common practice, no source)",
    CableClass.CONTROL: "never coiled together with other cables (HF vehicle-radio manual)",
    CableClass.AUDIO: "flat, away from supply leads (common practice, no source)",
    CableClass.DATA: "flat, away from supply leads (common practice, no source)",
}

_LEAST_M: Final = 0.020

_TOLD_M: Final = 0.010
"""Surplus is told down to so much: what lay and tape leave over is known no closer (common practice, no source). [m]"""


def how_parked(cable: Cable) -> Surplus:
    """How surplus of a cable is put away; a supply lead or a bond is shortened whatever the job says."""
    if cable.cable_class in {CableClass.POWER, CableClass.BOND}:
        return Surplus.TRIM
    return cable.surplus or _HOW[cable.cable_class]


def parking_end(job: Job, cable: Cable) -> str:
    """The end where surplus is kept: the one that is easier to get at, then the drier, then the `from` end."""

    def key(end: str) -> tuple[int, int, int]:
        device = job.device_of(end)
        space = next((s for s in job.spaces if s.name == device.space), None)
        if space is None:
            return (0, 0, 1)
        access = (Access.OPEN, Access.TRIM, Access.SEALED).index(space.access)
        harsh = sum(e in space.exposure for e in (Exposure.WET, Exposure.HOT, Exposure.STONES))
        return (access, harsh, 0 if device.serviceable else 1)

    return min((cable.from_port, cable.to_port), key=key)


def parked_text(job: Job, cable: Cable, surplus_m: float, where: str = "") -> str:
    """Where so much surplus goes and how; empty when there is too little to speak of.

    Parameters
    ----------
    where : str
        A place of its own in words; the better end where none is given.
    """
    if surplus_m < _LEAST_M:
        return ""
    unit = job.length_unit
    much = f"about {_told(surplus_m, unit)}"
    how = how_parked(cable)
    end = where or f"at {parking_end(job, cable)}"
    why = _WHY[cable.cable_class]
    if how is Surplus.TRIM:
        return f"{much} over: shorten it {end} and terminate it again; {why}"
    least = 2 * cable.type.min_bend_radius_m
    if how is Surplus.COIL:
        across = max(least, surplus_m / math.pi)
        loops = 1
        while across > 2 * _FOLD_M and across / 2 >= least:
            loops, across = loops + 1, max(least, surplus_m / math.pi / (loops + 1))
        shape = f"{loops} flat loop{'s' if loops > 1 else ''} {_told(across, unit)} across"
        return f"{much} over: {shape} {end}; {why}"
    folds = max(1, math.ceil(surplus_m / (2 * _FOLD_M)))
    shape = f"folded flat, {folds} fold{'s' if folds > 1 else ''} of {_told(surplus_m / 2 / folds, unit)}"
    return f"{much} over: {shape}, bends no tighter than {format_length(least / 2, unit)}, {end}; {why}"


def _told(length_m: float, unit: str) -> str:
    """A length of which nobody needs the last millimetre; never 0."""
    return format_length(max(_TOLD_M, math.floor(length_m / _TOLD_M + 1e-6) * _TOLD_M), unit)
