"""What lies near the vehicle's own parts that somebody may work on later: the heater, the tank, an airbag.

Stage      documents; tells what the verifier measured
Units      m in; the job's unit out
Safe side  what lies near is to be protected whatever the clearance asked for
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from routecut.documents.cautions import TOPIC_OF, where_nearest
from routecut.documents.figures import Lengths
from routecut.documents.reading import natural
from routecut.documents.service_reach import trim_text
from routecut.model.job import KeepOut
from routecut.model.plan import Plan, PlannedCable
from routecut.model.service import NEAR_KEEP_OUT_M

_BY_HAND_M: Final = 0.025
"""A keep-out nearer than this is within what a cable moves while it is clipped (common practice, no source). [m]"""


def near_lines(plan: Plan, name: str) -> Iterator[str]:
    """The cables near a keep-out, the nearest first, each with where; the nearest of all where none is near."""
    known = sorted(_distances(plan, name), key=lambda found: (found[0], natural(found[1].cable.name)))
    lengths = Lengths(plan.job.length_unit)
    for far, planned in known:
        if far < NEAR_KEEP_OUT_M:
            yield f"{planned.cable.name} ({planned.cable.cable_class}): {_where(lengths, far, planned, name)}"
    if known and known[0][0] >= NEAR_KEEP_OUT_M:
        far, planned = known[0]
        yield (
            f"no cable of this job within {lengths.text(NEAR_KEEP_OUT_M)}; the nearest is {planned.cable.name}, "
            f"{_where(lengths, far, planned, name)}"
        )
    if not known:
        yield "not compared with any cable of this job: look"


def _where(lengths: Lengths, far: float, planned: PlannedCable, name: str) -> str:
    return f"{lengths.free(max(far, 0.0))} away{where_nearest(lengths, planned, name)}"


def _distances(plan: Plan, name: str) -> Iterator[tuple[float, PlannedCable]]:
    for planned in plan.cables:
        if planned.verified is not None and name in planned.verified.least_clearance_m:
            yield planned.verified.least_clearance_m[name], planned


def close_by_text(plan: Plan, planned: PlannedCable) -> str:
    """Keep-outs without a caution of the trade that a cable all but touches, and what to do; empty where none is.

    They are feet, loads, what the job names.
    """
    if planned.verified is None:
        return ""
    lengths, clear = Lengths(plan.job.length_unit), planned.verified.least_clearance_m
    close = sorted(
        (clear[k.name], k.name)
        for k in plan.job.keep_outs
        if k.reason not in TOPIC_OF and clear.get(k.name, _BY_HAND_M) < _BY_HAND_M
    )
    if not close:
        return ""
    named = ", ".join(f"{name} {_where(lengths, far, planned, name)}" for far, name in close)
    return (
        f"{named}, where the job lets no cable lie. Clip it so that it stays out, and cover it there if a foot, a "
        "load or a tool may come on it."
    )


def kind_text(keep_out: KeepOut) -> str:
    """What it stands for: ``hot``, ``high voltage``."""
    return str(keep_out.reason).replace("-", " ")


def trims_near(plan: Plan, name: str) -> list[str]:
    """Trim that has it near, by the name it goes by."""
    trims = () if plan.service is None else plan.service.trims
    return [trim_text(plan, t.name) for t in trims if name in {near for near, _ in t.near}]
