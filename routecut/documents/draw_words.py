"""Drawing a new cable in where an old one lies: how long, which way, what with, and what room its holes have.

Stage      documents
Units      m in; the job's unit out
Source     the way to draw it in: common practice, no source; the length and the fill as their sums and rules say
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from routecut.documents.figures import Lengths, count, millimetres, share
from routecut.documents.pull_words import clips_along, leading_end
from routecut.documents.reading import natural, plugs_pass
from routecut.model.one_more import HoleRoom
from routecut.model.plan import Plan, PlannedCable
from routecut.model.record import NO_RECORD, Record

_ARROW: Final = " \N{RIGHTWARDS ARROW} "


def new_length(plan: Plan, name: str, record: Record) -> str:
    """How long a new one has to be, and why: never shorter than what the old one took."""
    planned = next(c for c in plan.cables if c.cable.name == name)
    lengths, cut, lead = Lengths(plan.job.length_unit), planned.cut, planned.lead
    if planned.cable.ready_made:
        if lead is None or not lead.lengths_m:
            return "no lead in stock reaches"
        return f"order ready-made {' + '.join(lengths.up(x) for x in lead.lengths_m)}"
    relaid = None if plan.as_built is None else plan.as_built.relaid.get(name)
    whose = "the plan asks for"
    if relaid is not None and relaid.cut is not None:
        kind = "" if relaid.cable is None else f" in {relaid.cable.type.name}"
        cut, whose = relaid.cut, f"its way as built{kind} asks for"
    took_m = record.used_m(name)
    if cut is None:
        return (
            "not known: no route was found for it"
            if took_m is None
            else f"cut {lengths.up(took_m)}, as the old one took"
        )
    if took_m is None:
        return f"cut {lengths.up(cut.length_m)}: {whose} that, and nobody recorded what the old one took"
    longer = max(cut.length_m, took_m)
    short_m = record.short_m(name)
    ended = f", {lengths.up(short_m)} more than it had" if short_m > 0.0 else ""
    return (
        f"cut {lengths.up(longer)}, the longer of two: {whose} {lengths.up(cut.length_m)}, the old one took "
        f"{lengths.up(took_m)} by the record{ended}"
    )


def new_one(plan: Plan, planned: PlannedCable) -> str:
    """The same in one sentence, for a card: length, what to pull with, what room there is."""
    name = planned.cable.name
    record = NO_RECORD if plan.as_built is None else plan.as_built.record
    rooms = () if plan.service is None else plan.service.rooms.get(name, ())
    told = [
        new_length(plan, name, record),
        _pull_with(plan, planned),
        *(room_line(r, more=True) for r in rooms),
    ]
    return "; ".join(told)


def draw_lines(plan: Plan, name: str, record: Record) -> Iterator[str]:
    """Drawing one in, in the order of the work."""
    planned = next(c for c in plan.cables if c.cable.name == name)
    cable, route = planned.cable, planned.route
    kind = cable.type
    yield f"{kind.name}, {millimetres(kind.diameter_m)} thick, bends no tighter than {_bend(plan, planned)}"
    yield new_length(plan, name, record)
    if route is None:
        return
    lengths = Lengths(plan.job.length_unit)
    way = [cable.from_port, *(p.name for p in route.passages), cable.to_port]
    told, spaces = _ARROW.join(way), _ARROW.join(route.spaces)
    yield f"way: {told} ({spaces}), {lengths.text(route.length_m)} of run"
    leads, why = leading_end(plan, planned)
    yield f"lead with {leads}: {why}" if leads else f"lead with either end: {why}"
    yield _pull_with(plan, planned)


def _bend(plan: Plan, planned: PlannedCable) -> str:
    return Lengths(plan.job.length_unit).up(planned.cable.type.min_bend_radius_m)


def _pull_with(plan: Plan, planned: PlannedCable) -> str:
    """What to pull with: the old cable once it is loose, else a draw wire."""
    name, route = planned.cable.name, planned.route
    clips = len(clips_along(plan, name))
    tied = sorted(
        {m.cable for b in plan.bundles if name in {x.cable for x in b.members} for m in b.members} - {name},
        key=natural,
    )
    held = [f"open its {count(clips, 'clip')}"] if clips else []
    held += [f"untie it from {', '.join(tied)}"] if tied else []
    first = f"{' and '.join(held)} first; " if held else ""
    if route is None or not route.passages:
        return f"no hole to pass: {first}take the old one out and lay the new one in (common practice, no source)"
    plugs = (
        "; its connector has to pass the holes, so take the old one out first and draw with a wire left in its place"
        if plugs_pass(plan.job, planned)
        else ""
    )
    return (
        f"pull with the old one: {first}cut its connector off, tie the new one to its end, taped smooth, and draw both "
        "through hole by hole, one hand feeding. Where the old one does not move, leave it, and pass a draw wire or a "
        f"flexible rod from hole to hole{plugs} (common practice, no source)"
    )


def room_line(room: HoleRoom, *, more: bool) -> str:
    """How full a hole is; `more`: and whether one more of the cable goes in beside."""
    told = f"{room.hole}: {share(round(room.filled, 2))} filled, at most {share(room.most)} as it is"
    if more and room.fits:
        told += f"; with the new one beside the old {share(round(room.with_one_more, 2))}: fits"
    elif more:
        told += (
            f"; with the new one beside the old {share(round(room.with_one_more, 2))}, at most {share(room.most_with)}"
            ": DOES NOT FIT beside it, take the old one out of this hole first"
        )
    if room.largest_m > 0.0:
        then = "" if more and not room.fits else f" (at most {share(room.most_with)} then)"
        return f"{told}; what still goes in beside is up to {millimetres(room.largest_m)} thick{then}"
    return f"{told}; nothing more goes in: with one more, at most {share(room.most_with)} in all"
