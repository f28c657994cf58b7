"""Work on the body, hot or after a crash: what of the fit-out lies there, what to do before, what to look at after.

Stage      documents
Units      the job's
Source     the steps: common practice, no source; the vehicle maker's instructions and the body shop's rules go before
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from routecut.documents.cautions import AT_M
from routecut.documents.figures import Lengths
from routecut.documents.keep_out_words import kind_text, near_lines
from routecut.documents.reading import natural
from routecut.documents.service_cautions import caution_lines
from routecut.documents.service_reach import Section, trim_text
from routecut.documents.service_readings import reading_lines
from routecut.documents.service_short import fuse_line
from routecut.model.body_work import KEEP_OUT, NEAR_WORK_M
from routecut.model.job import CableClass, PartShape, Reason
from routecut.model.plan import Plan
from routecut.model.record import Record
from routecut.model.service import Answer, Asked

BEFORE: Final = (
    (
        "Ignition off, key out, every battery of the vehicle disconnected as the vehicle maker says; wait the maker's "
        "time for airbags."
    ),
    (
        "Unplug each radio and amplifier that lies there: supply, antenna, control and speaker leads. What lies within "
        "reach of heat or sparks comes out."
    ),
    "Draw the cables that lie there aside, or take them out; a shield alone does not hold back what drips.",
    (
        "Earth clamp of the welder on bare metal right beside the weld, on the same panel: no welding current through "
        "straps, shields of coax or the frame of a radio."
    ),
    (
        "Look behind the panel for foam, lines of fuel and gas, the vehicle's own cables; have an extinguisher and a "
        "second pair of eyes there, and look again half an hour after."
    ),
)
AFTER: Final = (
    (
        "Each cable that lies there, over its whole stretch: pinched, melted or bare insulation, coax flattened or "
        "bent sharper than it may be. Coax that was flattened is replaced, not straightened."
    ),
    "Grommets, glands and seals of the holes there; clips and holders; joints.",
    "Bonds and mounts: bare metal again where paint or filler came between.",
    "Battery last; then compare the readings, transmitter only with its antenna on.",
)
_HURTS: Final = frozenset({Reason.FUEL, Reason.HIGH_VOLTAGE, Reason.AIRBAG, Reason.HOT})


def only_body_work(plan: Plan, answer: Answer, record: Record) -> list[Section]:
    """What lies there, the fuses, before and after; readings of what is concerned."""
    lengths = Lengths(plan.job.length_unit)
    near = lengths.free(NEAR_WORK_M)
    part = f", {' and '.join(answer.sides)} third" if answer.sides else ""
    if answer.at_m is not None:
        title = f"Lies within {near} of this point, straight (common practice, no source), the nearest first"
    elif answer.asked is Asked.JOB:
        title = f"Lies in the outer third of the spaces, {' and '.join(answer.sides)}"
    elif answer.asked is Asked.KEEP_OUT:
        title = "Lies near it"
    else:
        title = f"Lies within {near} of it{part}, straight (common practice, no source), the nearest first"
    return [
        Section("In short", (f"Fuse: {fuse_line(plan, answer)}.", *_unplug(plan, answer))),
        Section(title, tuple(_lines(plan, answer)) or (_none(plan, answer),)),
        Section("Of the vehicle itself, there or near these stretches", tuple(_hazards(plan, answer))),
        Section("Before heat, sparks or a cut (common practice, no source)", BEFORE, numbered=True),
        Section("After it, and after a crash (common practice, no source)", AFTER, numbered=True),
        Section("Readings to compare", tuple(reading_lines(plan, answer.cables, answer.devices, record))),
        Section("Mind", () if answer.asked is Asked.JOB else tuple(caution_lines(plan, answer))),
    ]


def _unplug(plan: Plan, answer: Answer) -> Iterator[str]:
    """The devices that lie there, not what was there before; of those at the far ends what has electronics in it.

    That is what has a supply lead, or speaks over a control or data lead: no speaker, antenna or block.
    """
    stays = set(() if plan.service is None else plan.service.stays)
    electronics = {s.device for s in plan.sizing.supplies} if plan.sizing is not None else set()
    electronics |= {
        plan.job.device_of(end).name
        for c in plan.cables
        if c.cable.cable_class in {CableClass.CONTROL, CableClass.DATA}
        for end in (c.cable.from_port, c.cable.to_port)
    }
    ends: dict[str, None] = {}
    for c in plan.cables:
        if c.cable.name in answer.cables:
            ends |= {plan.job.device_of(end).name: None for end in (c.cable.from_port, c.cable.to_port)}
    there = [name for name in answer.devices if name not in stays]
    beyond = sorted((name for name in ends if name in electronics and name not in there), key=natural)
    if there:
        yield f"Unplug, they lie there: {', '.join(there)}."
    if beyond:
        yield f"Unplug at the other ends of the cables there: {', '.join(beyond)}."


def _lines(plan: Plan, answer: Answer) -> Iterator[str]:
    lengths = Lengths(plan.job.length_unit)
    cables = {c.cable.name: c.cable for c in plan.cables}
    for one in answer.lies:
        if one.kind == KEEP_OUT:
            continue
        far = f", {lengths.free(one.far_m)} off" if one.far_m >= AT_M else ""
        if one.kind != "cable":
            yield f"{one.kind if one.kind in {'device', 'hole'} else ''} {one.name}{far}".strip()
            continue
        cable = cables[one.name]
        spans = ", ".join(_stretch(lengths, a, b) for a, b in one.stretches_m)
        yield f"cable {one.name} ({cable.cable_class}), {spans} from {cable.from_port}{far}"
    if answer.asked is Asked.KEEP_OUT:
        yield from near_lines(plan, answer.name)


def _stretch(lengths: Lengths, start_m: float, end_m: float) -> str:
    if end_m - start_m < AT_M:
        return f"at {lengths.text(start_m)}"
    return f"{lengths.number(start_m)} to {lengths.text(end_m)}"


def _hazards(plan: Plan, answer: Answer) -> Iterator[str]:
    """Keep-outs that burn, shock or go off: those that lie there, those near a cable there with the nearest one."""
    lengths = Lengths(plan.job.length_unit)
    there = {one.name for one in answer.lies if one.kind == KEEP_OUT}
    nearest: dict[str, tuple[float, str]] = {}
    for one in answer.lies:
        for named, gap in one.near:
            nearest[named] = min(nearest.get(named, (gap, one.name)), (gap, one.name))
    untold = []
    for keep_out in plan.job.keep_outs:
        if keep_out.reason not in _HURTS:
            continue
        called = f"{keep_out.name} ({kind_text(keep_out)})"
        if keep_out.name in nearest:
            gap, cable = nearest[keep_out.name]
            yield f"{called}, {lengths.free(gap)} from {cable}"
        elif keep_out.name in there:
            yield f"{called}: there, none of these cables near it"
        elif isinstance(keep_out.shape, PartShape):
            untold.append(called)
    if answer.lies:
        if untold:
            yield f"How near these are is not known here, they are parts of the 3D model: {', '.join(untold)}."
        yield "What else of the vehicle lies there is not in the plan: fuel and brake lines, gas, its own wiring."


def _none(plan: Plan, answer: Answer) -> str:
    if answer.asked is Asked.TRIM:
        return (
            f"No cable of this job runs behind {trim_text(plan, answer.name)}, so the plan does not tell where it is: "
            "look there, or ask by a side of the vehicle."
        )
    return "Nothing of this job."
