"""Terminals and connectors by end and by what they take, heat shrink by size, labels.

Stage      ordering
Units      m
Sources    heat shrink: sizes from the table, 20 to 30 % over the object (heat-shrink size guide);
           labels: both ends, FAA AC 43.13-1B ch. 11; lengths of a piece: common practice, no source
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Final

from routecut.model.job import CableClass, CableType, Exposure
from routecut.ordering.needs import A_TENTH_MORE, NO_SPARE, ONE_IN_TEN, Fitted, Need
from routecut.sizing.conductors import conductor_of
from routecut.tables import read_rows
from routecut.units import to_m

SHRINK_PIECE_M: Final = 0.050
OVER: Final = 1.2
ANY_INSULATION_C: Final = 60.0  # the name of a conductor does not depend on it


def end_needs(fitted: Fitted) -> Iterator[Need]:
    """What each end of each cable takes."""
    job = fitted.job
    wet = {s.name for s in job.spaces if Exposure.WET in s.exposure}
    for planned in fitted.planned:
        cable = planned.cable
        name = fitted.named(cable.name)
        for end in (cable.from_port, cable.to_port):
            yield Need(
                group="label",
                what="label, printed, for a cable end",
                unit="piece",
                quantity=1.0,
                cable=name,
                why="one at each end of each cable (FAA AC 43.13-1B ch. 11)",
                spare=ONE_IN_TEN,
            )
            port = job.port(end)
            if cable.ready_made or not port.termination:
                continue
            yield Need(
                group="terminal or connector",
                what=f"{port.termination}, for {barrel(cable.type)}",
                unit="piece",
                quantity=1.0,
                cable=name,
                why=f"at {end} ({name})",
                spare=ONE_IN_TEN,
            )
            damp = job.device_of(end).space in wet
            size = shrink_size(cable.type.diameter_m, lined=damp)
            if size:
                yield Need(
                    group="heat shrink",
                    what=f"heat shrink, {size}",
                    unit="m",
                    quantity=SHRINK_PIECE_M,
                    cable=name,
                    why="50 mm over each end" + (", adhesive-lined where it is wet" if damp else ""),
                    spare=A_TENTH_MORE,
                )
        yield from _joint_needs(name, planned.lead.joints if planned.lead is not None else ())


def _joint_needs(name: str, joints: tuple[object, ...]) -> Iterator[Need]:
    for _ in joints:
        yield Need(
            group="label",
            what="label, printed, for a joint",
            unit="piece",
            quantity=2.0,
            cable=name,
            why="on either side of the joint of a lead, so that it is found again (common practice, no source)",
            spare=NO_SPARE,
        )


def barrel(cable_type: CableType) -> str:
    """What a terminal or connector has to take, whatever the colour: its barrel or clamp is made for that.

    Examples
    --------
    >>> from routecut.tables import cable_types
    >>> [barrel(cable_types()[name]) for name in ("wire-10awg-red", "bond-strap", "coax-240")]
    ['10 AWG (SAE)', '12 mm braid', 'coax-240']
    """
    if cable_type.cable_class is CableClass.BOND and cable_type.conductor_mm2 is None:
        return f"{cable_type.diameter_m * 1000:g} mm braid"
    conductor = conductor_of(cable_type, insulation_c=ANY_INSULATION_C)
    return cable_type.name if conductor is None else conductor.name


@cache
def shrink_size(diameter_m: float, *, lined: bool) -> str:
    """The smallest heat shrink that goes over a cable and grips it; empty where there is none.

    By its size in inches, and in millimetres as it is sold elsewhere: inside before and after shrinking.

    Examples
    --------
    >>> shrink_size(0.0048, lined=False), shrink_size(0.0055, lined=True)
    ('2:1, 1/4 in (6.4/3.2 mm)', '3:1 adhesive-lined, 3/8 in (9.5/3.2 mm)')
    """
    ratio = "3:1" if lined else "2:1"
    for row in read_rows("heat_shrink"):
        if row["ratio"] != ratio:
            continue
        supplied, recovered = (
            to_m(float(row[k]), "in") for k in ("supplied_id_min_in", "recovered_id_max_in")
        )
        if supplied >= OVER * diameter_m and recovered <= diameter_m:
            # halves up, as the trade prints them: 6.35 is 6.4
            inside_mm = "/".join(f"{1000 * side + 1e-6:.1f}" for side in (supplied, recovered))
            return f"{ratio}{' adhesive-lined' if lined else ''}, {row['nominal_in']} in ({inside_mm} mm)"
    return ""
