"""What was built, sized and weighed anew: the types that were fitted, over the lengths that lie there.

Stage      planning, beside as_built
Units      m
Safe side  a type that was picked in the plan is taken as it was ordered, not picked again; what breaks a limit now
           and did not before is a finding
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from routecut.model.finding import Finding
from routecut.model.job import Job
from routecut.model.plan import Plan, PlannedCable, PlannedHole
from routecut.model.record import Record, What
from routecut.model.sizing import Sizing
from routecut.routes.harness import fill
from routecut.sizing import size_job


def sized_as_built(
    plan: Plan, job: Job, cables: Sequence[PlannedCable], record: Record
) -> tuple[Sizing, tuple[Finding, ...]]:
    """Conductors, drops, losses and bonds of what was built.

    Parameters
    ----------
    plan : Plan
        As planned: what it found out of limits already is not said again.
    job : Job
        As built: places and holes where they are.
    cables : sequence of PlannedCable
        Those that were laid again as they lie, all others as planned.
    record : Record
        Lengths that lie there, joints that were made.
    """
    fitted = replace(job, cables=tuple(replace(c.cable, type_assumed=False) for c in cables))
    sizing, _, findings = size_job(
        job=fitted,
        lengths_m={c.cable.name: m for c in cables if (m := _long_m(c, record)) is not None},
        routes={c.cable.name: c.route for c in cables if c.route is not None},
        joints={c.cable.name: n for c in cables if (n := _joints(c, record)) is not None},
    )
    known = {(f.code, f.where) for f in plan.findings}
    new = tuple(replace(f, where=f"{f.where} as built") for f in findings if (f.code, f.where) not in known)
    if plan.sizing is None:
        return sizing, new
    wires = {name: replace(e, picked=plan.sizing.picks(name)) for name, e in sizing.electrical.items()}
    coax = {name: replace(c, picked=plan.sizing.picks(name)) for name, c in sizing.coax.items()}
    return replace(sizing, electrical=wires, coax=coax), new


def _long_m(planned: PlannedCable, record: Record) -> float | None:
    """How long a cable is that lies there; of one that nobody recorded, what its cut or its lead comes to. [m]"""
    lies_m = record.lies_m(planned.cable.name)
    if lies_m is not None:
        return lies_m
    if planned.lead is not None and planned.lead.lengths_m:
        return sum(planned.lead.lengths_m)
    return None if planned.cut is None else planned.cut.length_m


def _joints(planned: PlannedCable, record: Record) -> int | None:
    made = record.all_told(What.JOINT, planned.cable.name)
    if made:
        return len(made)
    return None if planned.lead is None else len(planned.lead.joints)


def fills(holes: Sequence[PlannedHole], cables: Mapping[str, PlannedCable]) -> dict[str, float]:
    """How full each used hole is with the cables that are in it."""
    return {
        h.pass_through.name: fill(
            h.pass_through, [cables[name].cable.type.diameter_m for name in h.cables if name in cables]
        )[0]
        for h in holes
        if h.cables
    }
