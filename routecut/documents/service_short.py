"""An answer in short: what the hands need first, before the steps and the lists.

Units      V, minutes, lengths in the job's unit
Safe side  says what is disturbed and where a joint lies, also where it is nothing
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from routecut.documents.figures import Lengths, count
from routecut.documents.look_first import NOT_SEEN_SENTENCE
from routecut.documents.planned_built import both_text, planned_sizing
from routecut.documents.reading import natural
from routecut.documents.reading_marks import reading_marks
from routecut.documents.record_text import volts_text
from routecut.documents.service_reach import minutes_in_all, trim_text
from routecut.model.plan import Plan, PlannedCable, PlannedHole
from routecut.model.record import Kind, Record, What
from routecut.model.service import Answer, Asked, Removal
from routecut.model.vehicle import Vec3


def in_short(plan: Plan, answer: Answer, record: Record) -> Iterator[str]:
    """Fuse, trim, what is disturbed, joints, volts: a line each."""
    if answer.asked is Asked.HOLE:
        hole = next(h for h in plan.holes if h.pass_through.name == answer.name)
        if not hole.pass_through.confirmed:
            yield NOT_SEEN_SENTENCE
    yield f"Fuse: {fuse_line(plan, answer)}."
    removal = answer.removal or Removal()
    off = ", ".join(trim_text(plan, t) for t in removal.trims)
    blocked = ", ".join(dict.fromkeys(p.name for p in answer.blocked))
    yield (
        (f"Off: {off}, {minutes_in_all(removal)}" if off else "Off: nothing")
        + (f"; nobody gets at {blocked}" if blocked else "")
        + "."
    )
    whole = answer.whole
    if answer.asked is Asked.CABLE and whole is not None and whole.trims != removal.trims:
        off = ", ".join(trim_text(plan, t) for t in whole.trims)
        yield f"Off to open its clips and draw it out: {off}, {minutes_in_all(whole)}."
    yield f"Disturbed: {_disturbed(answer)}."
    if answer.asked is Asked.CABLE:
        yield from _length(plan, answer.name, record)
    if answer.asked is Asked.CABLE:
        yield f"Joints: {joined_text(plan, answer.name, record)}."
    elif answer.cables:
        yield f"Joints on its cables: {'; '.join(joints(plan, answer.cables, record)) or 'none'}."
    yield from (f"Volts at {line}." for line in _volts(plan, answer, record))


def fuse_line(plan: Plan, answer: Answer) -> str:
    """Which fuses to pull, and that the battery goes off first."""
    sized = {} if plan.sizing is None else plan.sizing.electrical
    told = []
    for pull in answer.fuses:
        fuse = sized[pull.cable].fuse
        if fuse is not None:
            told.append(f"{fuse.rating_a:g} A of {pull.cable}, in {pull.place.space}")
    if told:
        return f"pull {'; '.join(told)}; battery off first"
    return "none of this job feeds it; battery off all the same"


def _disturbed(answer: Answer) -> str:
    """The cables that lie with those that are worked on, or behind the trim that comes off."""
    own = set(answer.cables)
    if answer.asked in {Asked.HOLE, Asked.TRIM, Asked.KEEP_OUT}:
        return ", ".join(sorted(own, key=natural)) or "no cable of this job"
    beside = sorted({s.cable for s in answer.shared}, key=natural)
    bared = sorted({b.cable for b in answer.behind} - own - set(beside), key=natural)
    told = []
    if bared:
        told.append(f"{', '.join(bared)} behind the trim")
    # a plug that is undone moves nothing in a hole
    if beside and answer.asked in {Asked.DEVICE, Asked.CONNECTOR}:
        told = told or ["nothing while only plugs are undone"]
        told.append(f"where its cables are drawn, {', '.join(beside)} in the same holes or bundles")
    elif beside:
        told.insert(0, f"{', '.join(beside)} in the same holes or bundles")
    return "; ".join(told) or "no other cable of this job"


def _length(plan: Plan, name: str, record: Record) -> Iterator[str]:
    """How long a cable is: as it lies there where that is recorded, else as planned."""
    lengths, planned = Lengths(plan.job.length_unit), next(c for c in plan.cables if c.cable.name == name)
    cut, lead = planned.cut, planned.lead
    if told := lies_text(lengths, record, name):
        yield f"Length: {told}."
        yield from (f"MIND ITS LENGTH: {message}" for message in odd_lengths(plan, name))
    elif lead is not None and lead.lengths_m:
        yield f"Length: ready-made, {' + '.join(lengths.text(x) for x in lead.lengths_m)}; nobody recorded another."
    elif cut is not None:
        was = planned_type(plan, name)
        for_it = f" for {was}, not for what was fitted" if was else ""
        yield f"Length: {lengths.up(cut.length_m)} by the plan{for_it}; nobody recorded it."


def planned_type(plan: Plan, name: str) -> str:
    """The type a cable was planned in, where another was fitted; else empty."""
    rows = () if plan.as_built is None else plan.as_built.rows
    found = [r.before for r in rows if (r.about, r.what) == (f"cable {name}", "type") and r.marked]
    return str(found[0]) if found else ""


def odd_lengths(plan: Plan, name: str) -> list[str]:
    """Which figures of a recorded cable do not go together, as the findings say it."""
    return [
        f.message for f in plan.findings if (f.code, f.where) == ("as-built-short", f"cable {name} as built")
    ]


def doubts(plan: Plan, name: str) -> list[str]:
    """What is said of spare of a cable whose recorded figures do not go together."""
    return [f"MIND ITS LENGTH, this may not be there: {message}" for message in odd_lengths(plan, name)]


def no_spare_text(plan: Plan) -> str:
    """That no whole cable lies there unused: a plan has none, both ends of each are connected."""
    return (
        f"No cable is spare: all {count(len(plan.cables), 'cable')} of this job are connected at both ends."
    )


def lies_text(lengths: Lengths, record: Record, name: str) -> str:
    """How long a cable is by the record: what lies in the vehicle, and what it was short of; empty where not told."""
    lies_m, short_m = record.lies_m(name), record.short_m(name)
    if lies_m is None:
        return ""
    short = (
        f"; it ended {lengths.up(short_m)} short, so {lengths.up(lies_m + short_m)} were wanted"
        if short_m > 0.0
        else ""
    )
    return f"{lengths.text(lies_m)}, by the record{short}"


def where_lines(plan: Plan, hole: PlannedHole, record: Record) -> Iterator[str]:
    """Where a hole is: as built where it was moved, and as planned; each with the nearest landmark."""
    fact = record.told(What.MOVED, hole.pass_through.name)
    if fact is not None and fact.kind is Kind.HOLE and fact.position is not None:
        moved = () if plan.as_built is None else plan.as_built.moved
        planned_m = next((m.from_m for m in moved if m.name == hole.pass_through.name), hole.at_m)
        yield f"AS BUILT: {_where(plan, fact.position.at_m)}"
        yield f"planned: {_where(plan, planned_m)}"
    else:
        yield _where(plan, hole.at_m)


def _where(plan: Plan, at_m: Vec3) -> str:
    lengths = Lengths(plan.job.length_unit)
    mark = min(plan.job.landmarks, key=lambda m: math.dist(m.position.at_m, at_m), default=None)
    far = "" if mark is None else lengths.text(math.dist(mark.position.at_m, at_m))
    near = "" if mark is None else f"; about {far} from {mark.name}, straight"
    return f"{point_text(plan, at_m)} (to the rear, to the right, up){near}"


def point_text(plan: Plan, at_m: Vec3) -> str:
    """A point in the axes of the vehicle."""
    x, y, z = (Lengths(plan.job.length_unit).text(v) for v in at_m)
    return f"X {x}, Y {y}, Z {z}"


def joints(plan: Plan, cables: Iterable[str], record: Record) -> list[str]:
    """Where joints of some cables lie: as recorded where that is told, else as planned."""
    lengths = Lengths(plan.job.length_unit)
    by = {c.cable.name: c for c in plan.cables}
    found = []
    for name in sorted(set(cables), key=natural):
        planned = by[name]
        start = planned.cable.from_port
        built = record.all_told(What.JOINT, name)
        for fact in built:
            where = f", in {fact.space}" if fact.space else ""
            found.append(
                f"{name} {lengths.text(fact.length_m or 0.0)} along the run from {start}{where}, by the record"
            )
        if not built and planned.lead is not None:
            found += [
                f"{name} {lengths.text(j.at_route_m)} along the run from {start}, in {j.space}, as planned"
                for j in planned.lead.joints
            ]
    return found


def joints_of(plan: Plan, name: str, record: Record) -> list[str]:
    """Where the joints of one cable lie, without its name."""
    return [told.removeprefix(f"{name} ") for told in joints(plan, [name], record)]


def joined_text(plan: Plan, name: str, record: Record) -> str:
    """What sits along one cable: its joints, or that it is in one piece, and its fuse holder."""
    planned = next(c for c in plan.cables if c.cable.name == name)
    if planned.route is None:
        return "not known: no route was found for it"
    cable, lengths = planned.cable, Lengths(plan.job.length_unit)
    found = joints_of(plan, name, record)
    if found:
        told = f"{count(len(found), 'joint')}: {'; '.join(found)}"
    elif _without_lead(planned):
        told = "not known: no lead in stock reaches, so none was chosen"
    else:
        told = f"no joint: in one piece from {cable.from_port} to {cable.to_port}"
    sized = None if plan.sizing is None else plan.sizing.electrical.get(name)
    if sized is None or sized.fuse is None:
        return told
    fuse = sized.fuse
    if fuse.in_block:
        return f"{told}; its fuse is in the block at {fuse.at}"
    return f"{told}; fuse holder {lengths.up(fuse.distance_m)} from {fuse.at}, in {fuse.space}"


def told_whole(plan: Plan, name: str, record: Record) -> bool:
    """Whether nothing sits on the way of a cable: no joint, no fuse holder, and that is known."""
    planned = next(c for c in plan.cables if c.cable.name == name)
    sized = None if plan.sizing is None else plan.sizing.electrical.get(name)
    fused = sized is not None and sized.fuse is not None
    known = planned.route is not None and not _without_lead(planned)
    return known and not fused and not joints(plan, [name], record)


def _without_lead(planned: PlannedCable) -> bool:
    """A ready-made cable for which no lead in stock reaches."""
    return planned.cable.ready_made and (planned.lead is None or not planned.lead.lengths_m)


def _volts(plan: Plan, answer: Answer, record: Record) -> Iterator[str]:
    """What a meter reads at the devices that are worked on: expected of what lies there, and measured."""
    if answer.asked in {Asked.HOLE, Asked.TRIM, Asked.SPACE}:
        return
    supplies = {} if plan.sizing is None else {s.device: s for s in plan.sizing.supplies}
    own = planned_sizing(plan)
    planned = {} if own is None else {s.device: s for s in own.supplies}
    for name in answer.devices:
        supply, fact = supplies.get(name), record.told(What.VOLTS, name)
        told = []
        if fact is not None and fact.kind is Kind.DEVICE:
            rows = () if plan.as_built is None else plan.as_built.rows
            odd = ", NOT AS EXPECTED" if reading_marks(rows, What.VOLTS, Kind.DEVICE, name) else ""
            told.append(f"measured {volts_text(fact)}{odd}")
        if supply is not None:
            was = planned.get(name, supply)
            told.append(
                f"expected {both_text(was.volts, supply.volts, 1, 'V')} at duty, "
                f"{both_text(was.peak_volts, supply.peak_volts, 1, 'V')} at peak"
            )
        if told:
            yield f"{name}: {'; '.join(told)}"
