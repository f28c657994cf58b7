"""Which coax an open cable becomes, and the steps one is cut to.

Stage      sizing
Units      m, MHz, dB, W
Safe side  a type is adequate if the highest of its tables holds the limit; what is on hand or
           used elsewhere in the job comes first, then the thinnest, then the cheapest
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from routecut.model.job import Cable, CableClass, CableType, Job, Signal
from routecut.model.sizing import Limit
from routecut.sizing.coax import Attenuation, attenuation_of, half_wave_m, rating_watts, velocity_factor
from routecut.sizing.coax_heat import bears_watts
from routecut.tables import cable_types

PLUGS = 2
"""Connectors of a coax cable, and of every joint in one."""


LONGEST_STEP_M = 6.0
"""Half a wave that is longer is not cut to: it would multiply the cable. 27 MHz at 1 makes 5.6 m. [m]"""


def cut_step_m(cable: Cable) -> tuple[float, str] | None:
    """Half a wave in a cable that is to be cut to whole ones, and what that is; else None. [m]"""
    if cable.cable_class is not CableClass.COAX or cable.signal is None or why_no_step(cable) is not None:
        return None
    factor = velocity_factor(cable.type)
    if not cable.signal.half_wave or factor is None:
        return None
    said = f"half a wave at {cable.signal.mhz:g} MHz in {cable.type.name}, velocity factor {factor:g}"
    return half_wave_m(cable.signal.mhz, factor), said


def why_no_step(cable: Cable) -> str | None:
    """Why a cable can't be cut to half waves though it should; None where it can or need not."""
    if cable.signal is None or not cable.signal.half_wave:
        return None
    if cable.ready_made:
        return "it comes in ready-made lengths"
    if cable.type_assumed:
        return "the job leaves its type open, and half a wave depends on it; give its type"
    factor = velocity_factor(cable.type)
    if factor is None:
        return (
            f"the velocity factor of {cable.type.name} is not known; give its [[cable_type]] "
            "velocity_factor from its data sheet"
        )
    if half_wave_m(cable.signal.mhz, factor) > LONGEST_STEP_M:
        return f"half a wave at {cable.signal.mhz:g} MHz is longer than {LONGEST_STEP_M:g} m"
    return None


def highest_db(
    known: Attenuation, signal: Signal, *, length_m: float, joints: int, limits: Mapping[str, Limit]
) -> float:
    """Loss by the highest of the tables, connectors included. [dB]"""
    in_plugs = PLUGS * (1 + joints) * limits["connector_loss_db"].value
    return known.band(signal.mhz)[1] * length_m / 100.0 + in_plugs


def max_loss_db(signal: Signal, limits: Mapping[str, Limit]) -> float:
    """What a coax cable may lose. [dB]"""
    return limits["max_loss_db"].value if signal.max_loss_db is None else signal.max_loss_db


def pick_type(
    job: Job, cable: Cable, signal: Signal, *, length_m: float, air_c: float, limits: Mapping[str, Limit]
) -> tuple[CableType, str] | None:
    """The type of a coax cable that the job leaves open, and why; None where nothing is known of any.

    Where none holds, that with the least loss.
    """
    on_hand = {s.type for s in job.stock} | {c.type.name for c in job.cables if not c.type_assumed}
    prices = {s.type: s.price / s.reel_m for s in job.stock if s.price is not None and s.reel_m}
    offered: list[tuple[CableType, float, bool]] = []
    for cable_type in {**cable_types(), **{t.name: t for t in job.cable_types}}.values():
        if cable_type.cable_class is not CableClass.COAX:
            continue
        stiffer = cable_type.min_bend_radius_m > cable.type.min_bend_radius_m
        known = attenuation_of(cable_type)
        if known is None or not known.inside(signal.mhz) or stiffer:
            continue
        if cable_type.diameter_m > cable.type.diameter_m:
            continue
        db = highest_db(known, signal, length_m=length_m, joints=0, limits=limits)
        offered.append((cable_type, db, _stands(cable_type, known, signal, air_c=air_c, limits=limits)))
    if not offered:
        return None
    most = max_loss_db(signal, limits)
    fit = [t for t, db, stands in offered if stands and db <= most * (1.0 + 1e-9)]
    if not fit:
        best = min(offered, key=lambda entry: (entry[1], entry[0].diameter_m, entry[0].name))[0]
        return best, f"nothing on offer surely loses no more than {most:g} dB; {best.name} loses least"
    best = min(
        fit, key=lambda t: (t.name not in on_hand, t.diameter_m, prices.get(t.name, float("inf")), t.name)
    )
    stocked = "on hand or used in this job " if best.name in on_hand else ""
    return best, f"the thinnest {stocked}that loses no more than {most:g} dB by any table"


def heat_watts(
    cable_type: CableType, known: Attenuation, signal: Signal, *, air_c: float, limits: Mapping[str, Limit]
) -> float | None:
    """What a type bears by its heat, where no rating of it is known; else None. Two digits, rounded down. [W]"""
    if rating_watts(cable_type, signal.mhz) is not None:
        return None
    watts = bears_watts(
        cable_type,
        db_per_100_m=known.band(signal.mhz)[1],
        air_c=air_c,
        reflected_percent=limits["reflected_percent"].value,
    )
    if not watts:
        return watts
    step = 10.0 ** (math.floor(math.log10(watts)) - 1)
    return math.floor(watts / step + 1e-9) * step


def _stands(
    cable_type: CableType, known: Attenuation, signal: Signal, *, air_c: float, limits: Mapping[str, Limit]
) -> bool:
    most = rating_watts(cable_type, signal.mhz)
    if most is None:
        most = heat_watts(cable_type, known, signal, air_c=air_c, limits=limits)
    return signal.watts is None or most is None or most >= signal.watts
