"""What an open power cable may become: the wires of the catalogue and of the job, thinnest first.

Stage      sizing
Units      mm2
Safe side  cheapest first is thinnest first; a price per metre decides only between wires of one area
"""

from __future__ import annotations

from collections.abc import Sequence

from routecut.model.job import CableClass, CableType, Job, Polarity
from routecut.sizing.choose import Size
from routecut.sizing.conductors import conductor_of
from routecut.sizing.names import words
from routecut.tables import cable_types
from routecut.units import METRIC

_BY_MM2, _BY_GAUGE = "thin-wall", "SAE"
"""Standards of the catalogue's wires."""
_COLOURS = {Polarity.POSITIVE: "red", Polarity.NEGATIVE: "black"}


def offered_sizes(
    job: Job, polarity: Polarity, *, within: CableType | None, insulation_c: float, least_mm2: float
) -> list[Size]:
    """Sizes a power cable may take, thinnest first.

    Parameters
    ----------
    job : Job
        Its own types are offered with the catalogue's. Where its other power cables or its
        stock are all of one standard, by gauge or by mm2, only that one is offered. Where they name none, it
        is wires by mm2 in a job in mm, cm or m, by gauge in one in inches or feet, and of the others what is
        thicker than the thickest of those.
    polarity : Polarity
        Wires whose name says the colour of the other one are left out.
    within : CableType or None
        What the cable was routed as: nothing thicker or stiffer is offered.
    insulation_c : float
        See `conductor_of`. [degrees C]
    least_mm2 : float
        Nothing thinner is offered. [mm2]
    """
    types = {**cable_types(), **{t.name: t for t in job.cable_types}}
    standards = _standards(job)
    wrong = {colour for side, colour in _COLOURS.items() if side is not polarity}
    found = []
    for cable_type in types.values():
        if cable_type.cable_class is not CableClass.POWER or words(cable_type.name) & wrong:
            continue
        if within is not None and (
            cable_type.diameter_m > within.diameter_m
            or cable_type.min_bend_radius_m > within.min_bend_radius_m
        ):
            continue
        if cable_type.conductor_mm2 is None and standards and _standard(cable_type) not in standards:
            continue
        conductor = conductor_of(cable_type, insulation_c=insulation_c)
        if conductor is not None and conductor.area_mm2 >= least_mm2:
            found.append((cable_type, conductor))
    return _one_of_each(job, found if standards else _as_sold(job, found))


def _as_sold(job: Job, sizes: Sequence[Size]) -> list[Size]:
    """Wires as they are sold where the tape has the job's unit; of others only what is thicker than all of those."""
    standard = _BY_MM2 if job.length_unit in METRIC else _BY_GAUGE
    own = [conductor.area_mm2 for cable_type, conductor in sizes if _standard(cable_type) == standard]
    most = max(own, default=0.0)
    return [
        (cable_type, conductor)
        for cable_type, conductor in sizes
        if cable_type.conductor_mm2 is not None
        or _standard(cable_type) == standard
        or conductor.area_mm2 > most
    ]


def _one_of_each(job: Job, sizes: Sequence[Size]) -> list[Size]:
    prices = {s.type: s.price / s.reel_m for s in job.stock if s.price is not None and s.reel_m}
    on_hand = {s.type for s in job.stock}

    def key(size: Size) -> tuple[float, bool, float, str]:
        name = size[0].name
        return (round(size[1].area_mm2, 3), name not in on_hand, prices.get(name, 0.0), name)

    kept: list[Size] = []
    for size in sorted(sizes, key=key):
        if not kept or round(size[1].area_mm2, 3) > round(kept[-1][1].area_mm2, 3):
            kept.append(size)
    return kept


def _standard(cable_type: CableType) -> str:
    return cable_type.conductor.rpartition(" ")[0]


def _standards(job: Job) -> set[str]:
    types = {**cable_types(), **{t.name: t for t in job.cable_types}}
    used = [c.type for c in job.cables if c.cable_class is CableClass.POWER and not c.type_assumed]
    used += [types[s.type] for s in job.stock if s.type in types]
    return {_standard(t) for t in used if t.conductor}
