"""Whether a cable that is damaged at a hole can be given a new end, told before all else.

Stage      documents
Units      m in; the job's unit out
Source     where a joint may lie: common practice, no source
Safe side  what is spare at the end that is cut off is cut off with it; only what the far end keeps can be drawn along
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from routecut.documents.draw_words import new_length
from routecut.documents.figures import Lengths
from routecut.documents.service_reach import Section
from routecut.documents.service_short import doubts
from routecut.model.fitout import CableClass
from routecut.model.plan import Plan, PlannedCable
from routecut.model.record import Record
from routecut.model.running import along
from routecut.model.service import Answer, Spare
from routecut.model.spare import again_left, loop_left

# common practice, no source
_JOINT: Final = {
    CableClass.COAX: "in coax it loses signal and must not get wet: two plugs and a coupler, in the dry",
    CableClass.POWER: "only outside holes and sealed spaces, where it can be got at, crimped and sealed",
    CableClass.BOND: "none in a bond",
}
_OTHER: Final = (
    "only outside holes and sealed spaces, where it can be got at, core by core, the screen joined too"
)


def damage_sections(plan: Plan, answer: Answer, record: Record) -> Iterator[Section]:
    """One for each hole where the cable of an answer is said to be damaged."""
    planned = next((c for c in plan.cables if c.cable.name == answer.name), None)
    if planned is None or planned.route is None:
        return
    for passage in planned.route.passages:
        if passage.name in answer.damaged_at:
            at_m = along(planned)(passage.at_route_m)
            lines = _verdict(plan, planned, answer, record, at_m)
            yield Section(f"Damaged at {passage.name}: can it be given a new end", tuple(lines))


def _verdict(plan: Plan, planned: PlannedCable, answer: Answer, record: Record, at_m: float) -> Iterator[str]:
    lengths, cable = Lengths(plan.job.length_unit), planned.cable
    assert planned.route is not None  # noqa: S101 - it goes through the hole
    far_m = {cable.from_port: at_m, cable.to_port: planned.route.length_m - at_m}
    if cable.ready_made:
        new = new_length(plan, cable.name, record)
        yield f"NO: it is a ready-made lead, its connectors are not made again. A new lead: {new}"
        return
    short_m = record.short_m(cable.name)
    by_port = {spare.port: spare for spare in answer.spares}
    can = False
    for end in sorted(far_m, key=lambda port: far_m[port]):
        near = by_port.get(end)
        far = next((s for port, s in by_port.items() if port != end), None)
        if near is None or far is None:
            continue
        lost_m, there_m = far_m[end] + near.each_m, _keeps(far, short_m)
        told = (
            f"{lengths.up(lost_m)} are lost there ({lengths.text(far_m[end])} of its run and the new end; what is "
            f"spare at {end} is cut off with it), {lengths.free(there_m)} at most can be drawn along from {far.port}"
        )
        if there_m >= lost_m:
            can = True
            yield f"can be re-ended at {end}: {told}, with every clip and tie between opened; its loop is gone then"
        else:
            yield f"CAN'T be re-ended at {end}: {told}"
    yield from doubts(plan, cable.name)
    yield f"{'Or lay' if can else 'Lay'} a new one: {new_length(plan, cable.name, record)}"
    yield f"A joint: {_JOINT.get(cable.cable_class, _OTHER)} (common practice, no source)"
    yield "First put right what rubbed it: edge, grommet or gland"


def _keeps(spare: Spare, short_m: float) -> float:
    """What an end has to give: its new ends that are left and its loop. [m]"""
    return again_left(spare.again, spare.each_m, short_m) * spare.each_m + loop_left(spare, short_m)
