"""How large a hole has to be: for the bundle that stays in it, and for the plugs that pass first.

Stage      drilling
Units      m
Source     fill of a hole: NEC chapter 9 table 1; rim without grommet: FAA AC 43.13-1B par. 11-115,
           3/8 in; walls of grommets and steps of drills: common practice, no source
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from routecut.geometry.packing import enclosing_m
from routecut.model.drilling import HoleSize
from routecut.model.job import Cable, Job, MadeUp
from routecut.routes.harness import fill_most
from routecut.units import format_length

CLEAR_SIZES_M: Final = (0.008, 0.010, 0.012, 0.016, 0.020, 0.025, 0.032)
"""Clear holes that are proposed: bores of common grommets (common practice, no source). [m]"""

GROMMET_WALL_M: Final = 0.002
"""Wall of a grommet all round its bore (common practice, no source). [m]"""

DRILL_STEP_M: Final = 0.002
"""Step drills come in steps of this (common practice, no source). [m]"""

RIM_M: Final = 0.009525
"""Kept all round from a rim without a grommet: FAA AC 43.13-1B par. 11-115, 3/8 in. [m]"""

PILOT_M: Final = 0.003


@dataclass(frozen=True, slots=True, kw_only=True)
class Passing:
    """A cable that goes through a hole; `plug_m` is what has to pass with it, 0 for none. [m]"""

    name: str
    diameter_m: float
    plug_m: float = 0.0


def fill_m(diameters_m: Sequence[float]) -> float:
    """Least clear hole that holds cables by the fill rule. [m]"""
    inside = [d for d in diameters_m if d > 0]
    if not inside:
        return 0.0
    return math.sqrt(sum(d * d for d in inside) / fill_most(len(inside)))


def plug_of(job: Job, cable: Cable) -> float:
    """What has to pass the holes with a cable: its smaller connector, when both are on already. [m]"""
    ends = (job.port(cable.from_port), job.port(cable.to_port))
    if not (cable.ready_made or all(e.made_up is MadeUp.BENCH for e in ends)):
        return 0.0
    return min(e.connector_diameter_m for e in ends)


def passing_m(cables: Sequence[Passing], in_use_m: float = 0.0) -> tuple[float, str]:
    """Room for the plugs, the largest drawn first, each beside what lies there by then. [m]

    Returns
    -------
    float
        0 when there is no plug.
    str
        The cable whose plug decides.
    """
    lying = [in_use_m] if in_use_m > 0 else []
    best = (0.0, "")
    for cable in sorted(cables, key=lambda c: (-c.plug_m, -c.diameter_m, c.name)):
        if cable.plug_m > 0:
            best = max(best, (enclosing_m((*lying, cable.plug_m)), cable.name))
        lying.append(cable.diameter_m)
    return best


def hole_size(
    clear_m: float,
    cables: Sequence[Passing],
    *,
    thickness_m: float,
    sheets: int = 1,
    in_use_m: float = 0.0,
    unit: str = "mm",
) -> HoleSize:
    """The sizes of a hole of a given clear diameter for what passes it.

    Parameters
    ----------
    clear_m : float
        As the job or the choice has it. [m]
    cables : sequence of Passing
    thickness_m : float
        Of the sheet the grommet sits in; 0 not known. [m]
    sheets : int
        Drilled one behind the other.
    """
    diameters = [*(c.diameter_m for c in cables), *([in_use_m] if in_use_m > 0 else [])]
    bundle, (plug, whose) = fill_m(diameters), passing_m(cables, in_use_m)
    needed = max(bundle, plug)
    many = f"{len(cables)} cables" if len(cables) != 1 else cables[0].name
    if plug > bundle:
        by = f"the plug of {whose}, {format_length(_plug(cables, whose), unit)}, has to pass"
    elif cables:
        by = f"{many} by the fill rule (NEC chapter 9 table 1)"
    else:
        by = "nothing passes it yet"
    smaller = bundle if plug > bundle and _step_up(bundle) < _step_up(plug) else 0.0
    return HoleSize(
        clear_m=clear_m,
        drill_m=math.ceil((clear_m + 2 * GROMMET_WALL_M) / DRILL_STEP_M - 1e-6) * DRILL_STEP_M,
        pilot_m=PILOT_M,
        needed_m=needed,
        enough_m=_step_up(needed) if needed > 0 else 0.0,
        by=by,
        alternative_m=_step_up(smaller) if smaller else 0.0,
        alternative=f"the plug of {whose} fitted in the vehicle" if smaller else "",
        bare_m=enclosing_m(tuple(diameters)) + 2 * RIM_M if diameters else 0.0,
        groove_m=thickness_m,
        sheets=sheets,
    )


def _plug(cables: Sequence[Passing], name: str) -> float:
    return next(c.plug_m for c in cables if c.name == name)


def _step_up(clear_m: float) -> float:
    """The next proposed size; what is larger than all stays as it is. [m]"""
    return next((s for s in CLEAR_SIZES_M if s >= clear_m - 1e-9), clear_m)
