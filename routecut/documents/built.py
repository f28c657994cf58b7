"""The plan as it was built: cables, holes and devices where the as-built record has them.

Stage      documents; picks from what `routecut.planning` laid and judged again, works out nothing
Safe side  what is not recorded is shown as planned; the order of pulling and all numbers stay the plan's
"""

from __future__ import annotations

from dataclasses import replace

from routecut.documents.figures import Lengths
from routecut.documents.reading import pulling_order
from routecut.model.as_built import AsBuilt
from routecut.model.plan import Plan, PlannedCable
from routecut.model.vehicle import Vec3


def as_fitted(plan: Plan) -> Plan:
    """The plan with what was laid again, moved or joined, as built; its cuts and order of pulling stay as planned.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Plan
        The same one where nothing was laid again, moved or joined, or where it is as built already.
    """
    built = plan.as_built
    if built is None or plan.pulled or not otherwise(built):
        return plan
    holes = {one.name: one.to_m for one in built.moved if one.kind == "pass-through"}
    devices = {one.name: one.to_m for one in built.moved if one.kind == "device"}
    return replace(
        plan,
        cables=tuple(_laid(plan, c) for c in plan.cables),
        holes=tuple(
            replace(
                h,
                at_m=holes.get(h.pass_through.name, h.at_m),
                filled=built.fills.get(h.pass_through.name, h.filled),
            )
            for h in plan.holes
        ),
        job=replace(
            plan.job,
            devices=tuple(
                replace(d, position=replace(d.position, at_m=devices.get(d.name, d.position.at_m)))
                for d in plan.job.devices
            ),
        ),
        bundles=built.bundles if built.relaid else plan.bundles,
        beside=built.beside if built.relaid else plan.beside,
        sizing=built.sizing or plan.sizing,
        as_built=replace(built, planned_sizing=plan.sizing),
        service=built.service or plan.service,
        pulled=tuple(c.cable.name for c in pulling_order(plan)),
    )


def otherwise(built: AsBuilt) -> bool:
    """Whether anything lies otherwise than planned."""
    return bool(built.relaid or built.moved or built.service)


def fitted_order(plan: Plan) -> tuple[PlannedCable, ...]:
    """The cables as built, in the order in which the plan has them pulled: numbers of cards stay."""
    return tuple(_laid(plan, planned) for planned in pulling_order(plan))


def _laid(plan: Plan, planned: PlannedCable) -> PlannedCable:
    relaid = None if plan.as_built is None else plan.as_built.relaid.get(planned.cable.name)
    if relaid is None or relaid.route is None:
        return planned
    return replace(
        planned,
        cable=relaid.cable or planned.cable,
        route=relaid.route,
        verified=relaid.verified,
        covered=relaid.covered,
    )


def deviation_text(plan: Plan, name: str) -> str:
    """How a cable as built differs from the plan, in one line; empty where it lies as planned."""
    relaid = None if plan.as_built is None else plan.as_built.relaid.get(name)
    if relaid is None:
        return ""
    if relaid.route is None:
        return f"{relaid.why}: no safe way is left where it was recorded; what follows is as planned"
    lengths = Lengths(plan.job.length_unit)
    was = next(c.route for c in plan.cables if c.cable.name == name)
    told = f"{relaid.why}: run {lengths.text(relaid.route.length_m)}"
    told += "" if was is None else f", planned {lengths.text(was.length_m)}"
    sure = relaid.verified is not None and relaid.verified.ok
    return told if sure else f"{told}; DOES NOT HOLD on the full mesh: see the findings"


def moved_text(plan: Plan, name: str, kind: str) -> str:
    """How far a hole or a device is from its planned place; empty where it is there."""
    far_m = moved_m(plan, name, kind)
    return "" if far_m is None else f"{Lengths(plan.job.length_unit).text(far_m)} from its planned place"


def moved_m(plan: Plan, name: str, kind: str) -> float | None:
    """The same in m; None where it is there."""
    for one in () if plan.as_built is None else plan.as_built.moved:
        if (one.name, one.kind) == (name, kind):
            return _far(one.from_m, one.to_m)
    return None


def _far(one: Vec3, other: Vec3) -> float:
    return float(sum((a - b) ** 2 for a, b in zip(one, other, strict=True)) ** 0.5)
