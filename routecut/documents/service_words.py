"""An answer about service in words: sections of lines, alike on screen and in the job pack.

Units      m in; the job's unit out; minutes
Safe side  battery and airbags stand before any hand; what nobody saw a way to is marked
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from routecut.documents.draw_words import draw_lines, new_length, room_line
from routecut.documents.figures import Lengths, count, millimetres
from routecut.documents.fuse_words import below_text
from routecut.documents.keep_out_words import kind_text, near_lines, trims_near
from routecut.documents.pull_words import minutes_text
from routecut.documents.reading import hole_numbers, natural
from routecut.documents.record_text import fact_text
from routecut.documents.service_body import only_body_work
from routecut.documents.service_cautions import caution_lines, step_cautions
from routecut.documents.service_fault import only_fault
from routecut.documents.service_focus import only_built, only_reflected, place_lines
from routecut.documents.service_leak import only_leak
from routecut.documents.service_lengths import length_lines, spare_text
from routecut.documents.service_more import only_room
from routecut.documents.service_reach import Section, minutes_in_all, reach_text, trim_text
from routecut.documents.service_readings import reading_lines
from routecut.documents.service_short import in_short, no_spare_text, point_text, where_lines
from routecut.documents.service_strip import strip_sections
from routecut.model.job import Access
from routecut.model.plan import Plan
from routecut.model.record import NO_RECORD, NOT_GIVEN, Kind, Record, RecordLine, What
from routecut.model.running import along
from routecut.model.service import (
    Answer,
    Asked,
    Focus,
    PlaceKind,
    Removal,
)

_ACCESS: Final = {
    Access.OPEN: "one gets into it",
    Access.TRIM: "behind its trim",
    Access.SEALED: "closed all round",
}

_BATTERY: Final = (
    "Ignition off, key out. Disconnect the battery as the vehicle maker says, negative side first. Wait the time the "
    "maker states for airbags before any trim comes off."
)

_BACK: Final = (
    "Trim back in the reverse order, no cable under a clip or a screw; fuses of the same rating, never larger; seats, "
    "doors and steering through their whole travel; then compare the readings."
)


def headline(plan: Plan, answer: Answer) -> str:
    """What the answer is about, in one line."""
    name = answer.name
    if answer.asked is Asked.DEVICE:
        device = next(d for d in plan.job.devices if d.name == name)
        kind = f", {device.kind}" if device.kind and device.kind != name else ""
        return f"{name}{kind}, in {device.space}"
    if answer.asked is Asked.CABLE:
        planned = next(c for c in plan.cables if c.cable.name == name)
        return f"cable {name}: {planned.cable.type.name}, from {planned.cable.from_port} to {planned.cable.to_port}"
    if answer.asked is Asked.HOLE:
        hole = next(h for h in plan.holes if h.pass_through.name == name)
        plugs = plan.service.plugs if plan.service is not None else ()
        sheets = next((p for p in plugs if p.hole == name and p.drilled), None)
        drilled = "" if sheets is None else f", drilled {millimetres(sheets.size_m)}"
        if sheets is not None and sheets.sheets > 1:
            drilled += f" through {sheets.sheets} sheets"
        number = hole_numbers(plan).get(name)
        paper = "" if number is None else f" (H{number} in the job pack)"
        return (
            f"hole {name}{paper}: {millimetres(hole.pass_through.diameter_m)} clear{drilled}, between "
            f"{' and '.join(hole.pass_through.joins)}"
        )
    if answer.asked is Asked.TRIM:
        spoken = trim_text(plan, name)
        return spoken if spoken == name else f"{spoken}, called {name} in the 3D model"
    if answer.asked is Asked.SPACE:
        return f"space {name}, {_ACCESS[plan.job.space(name).access]}"
    if answer.asked is Asked.KEEP_OUT:
        keep_out = next(k for k in plan.job.keep_outs if k.name == name)
        return f"keep-out {name} ({kind_text(keep_out)}): what of this job lies near it"
    if answer.asked is Asked.STRIP:
        return f"{plan.job.title}: everything out, {count(len(plan.cables), 'cable')}"
    if answer.one_more is not None:
        return f"{plan.job.title}: one more cable, {answer.one_more.start} to {answer.one_more.end}"
    if answer.asked is Asked.JOB:
        where = ", ".join(answer.sides) if answer.at_m is None else point_text(plan, answer.at_m)
        return plan.job.title + (f", work on the body: {where}" if where else "")
    return f"{answer.asked} {name}" if answer.asked is Asked.CONNECTOR else name


def sections(plan: Plan, answer: Answer, record: Record = NO_RECORD) -> list[Section]:
    """The answer, in the order in which it is needed.

    Parameters
    ----------
    plan : Plan
        With its service study.
    answer : Answer
    record : Record
        What was really done and measured.
    """
    if answer.focus is not None:
        found = _FOCUSED[answer.focus](plan, answer, record)
        return [s for s in found if s.lines]
    strip = answer.asked is Asked.STRIP
    found = [
        Section("In short", () if strip else tuple(in_short(plan, answer, record))),
        *_asked(plan, answer, record),
        _first(plan, answer),
        *_off(plan, answer),
        *(strip_sections(plan, answer, record) if strip else _about(plan, answer, record)),
        *([] if strip else [Section("Readings, expected and measured", _readings(plan, answer, record))]),
        Section("As built, from the record", tuple(_recorded(plan, answer, record))),
        *([] if strip else [Section("At the end", (_BACK,))]),
        Section("Mind", tuple(caution_lines(plan, answer, at_steps=True))),
    ]
    return [s for s in found if s.lines]


def _readings(plan: Plan, answer: Answer, record: Record) -> tuple[str, ...]:
    return tuple(reading_lines(plan, answer.cables, answer.devices, record))


def recorded(answer: Answer, record: Record) -> list[RecordLine]:
    """The lines of the record about what is worked on."""
    about = {(Kind.CABLE, c) for c in answer.cables} | {(Kind.DEVICE, d) for d in answer.devices}
    if answer.asked is Asked.HOLE:
        about.add((Kind.HOLE, answer.name))
    if answer.asked is Asked.SPACE:
        about.add((Kind.SPACE, answer.name))
    if answer.asked is Asked.STRIP:
        about |= {(Kind.HOLE, p.hole) for p in answer.plugs}
    return [line for line in record.standing if (line.fact.kind, line.fact.name) in about]


def _recorded(plan: Plan, answer: Answer, record: Record) -> Iterator[str]:
    for line in recorded(answer, record):
        remark = f"; {line.remark}" if line.remark else ""
        said = ", ".join(word for word in (line.who, line.when) if word != NOT_GIVEN)
        yield f"{fact_text(line.fact, plan.job)}{remark}" + (f" ({said})" if said else "")


def _asked(plan: Plan, answer: Answer, record: Record) -> Iterator[Section]:
    """What was asked, before what has to be done."""
    if answer.asked is Asked.HOLE:
        yield from _hole(plan, answer, record)
    if answer.asked is Asked.KEEP_OUT:
        yield Section(
            "Cables near it: hold them aside, keep heat, tools and fluids off them",
            (*near_lines(plan, answer.name),),
        )
        yield Section("Trim that has it near", (*trims_near(plan, answer.name),))
    if answer.asked is Asked.TRIM:
        yield Section("Cables behind it", tuple(_behind(plan, answer, [answer.name])))
        yield Section("What it opens", tuple(_opens(answer)))
        if not answer.behind and not answer.opens:
            yield Section("Behind it", ("No cable of this job, no connector, joint or fuse.",))
    if answer.asked is Asked.SPACE:
        yield Section("Devices in it", answer.devices)
        yield Section("Cables in it", (", ".join(answer.cables),) if answer.cables else ())
        if not answer.devices and not answer.cables:
            yield Section("In it", ("No device and no cable of this job.",))


# --- sections ----------------------------------------------------------------------------


def _only_fuses(plan: Plan, answer: Answer, _record: Record) -> list[Section]:
    lines = tuple(_pulls(plan, answer))
    none = "No fuse of this job: what feeds it is not in the plan. Disconnect the battery as the vehicle maker says."
    return [Section("Fuses to pull", lines or (none,)), Section("First", (_BATTERY,))]


def _only_spare(plan: Plan, answer: Answer, record: Record) -> list[Section]:
    reach = {p.name: reach_text(plan, p) for p in plan.service.places} if plan.service is not None else {}
    spares = [s for s in answer.spares if s.again > 0 or s.loop_m > 0.0 or s.surplus_m > 0.0]
    if answer.asked is Asked.JOB:
        spares.sort(key=lambda s: s.surplus_m * (s.other not in s.parked) + s.loop_m + s.kept_m, reverse=True)
    left_over = [line for line in recorded(answer, record) if line.fact.what in {What.CUT, What.LEFT_OVER}]
    none = "Nothing is kept."
    return [
        Section("Spare cables", (_no_spare_cable(plan),) if answer.asked is Asked.JOB else ()),
        Section(
            "Spare cable, and how one gets at it" + (", the most first" if answer.asked is Asked.JOB else ""),
            tuple(
                f"{spare_text(plan, s, record)}; {reach[s.port]}"
                if s.port in reach
                else spare_text(plan, s, record)
                for s in spares
            )
            or (none,),
        ),
        Section("As built, from the record", tuple(fact_text(line.fact, plan.job) for line in left_over)),
        Section("First", (_BATTERY,)),
    ]


def _no_spare_cable(plan: Plan) -> str:
    """That no whole cable lies there unused, and what is done then."""
    return f'{no_spare_text(plan)} One more has to be drawn in (ask: "draw a new X"); what is spare is length, below.'


def _only_draw(plan: Plan, answer: Answer, record: Record) -> list[Section]:
    """What it takes to draw a new cable in where an old one lies; of anything else, what room it has."""
    lines = tuple(draw_lines(plan, answer.name, record)) if answer.asked is Asked.CABLE else ()
    rooms = tuple(room_line(room, more=answer.asked is Asked.CABLE) for room in answer.rooms)
    none = ("it goes through no hole",) if answer.asked is Asked.CABLE else ()
    return [
        Section("The new one", lines),
        Section("Room in the holes it goes through", rooms or none),
        _first(plan, answer),
        *_off(plan, answer),
        Section("Its cables share the way with these: do not cut, pull or strain", tuple(_shared(answer))),
        Section("At the end", (_BACK,)),
        Section("Mind", tuple(caution_lines(plan, answer, at_steps=True))),
    ]


_FOCUSED: Final = {
    Focus.FUSES: _only_fuses,
    Focus.SPARE: _only_spare,
    Focus.DRAW: _only_draw,
    Focus.REFLECTED: only_reflected,
    Focus.BUILT: only_built,
    Focus.BODY: only_body_work,
    Focus.FAULT: only_fault,
    Focus.ROOM: only_room,
    Focus.LEAK: only_leak,
}


def _first(plan: Plan, answer: Answer) -> Section:
    return Section("First", (_BATTERY, *_pulls(plan, answer)), numbered=True)


def _pulls(plan: Plan, answer: Answer) -> Iterator[str]:
    lengths = Lengths(plan.job.length_unit)
    sized = {} if plan.sizing is None else plan.sizing.electrical
    for pull in answer.fuses:
        fuse = sized[pull.cable].fuse
        if fuse is None:
            continue
        where = "in the block at" if fuse.in_block else f"{lengths.up(fuse.distance_m)} along the wire from"
        along = f", and with it what works through it: {', '.join(pull.along)}" if pull.along else ""
        yield (
            f"Pull the {fuse.rating_a:g} A fuse of {pull.cable} ({fuse.series}), {where} {fuse.at}, in "
            f"{pull.place.space}: {reach_text(plan, pull.place)}. Dead then: {', '.join(pull.dead)}{along}."
        )
        if below := below_text(sized[pull.cable]):
            yield f"{pull.cable}: {below}."
        if not fuse.in_block:
            yield f"Live as long as the battery is connected: {pull.cable} from {fuse.at} to its fuse."


def _off(plan: Plan, answer: Answer) -> Iterator[Section]:
    removal = answer.removal or Removal()
    if removal.trims:
        lines = [*_steps(plan, answer, removal), f"In all: {minutes_in_all(removal)}."]
    elif answer.places and len(answer.blocked) < len(answer.places):
        lines = ["Nothing." if not answer.blocked else "Nothing, for what can be got at."]
    else:
        lines = []
    what = {
        Asked.TRIM: "Take off, in this order",
        Asked.STRIP: "To get at every connector and joint, take off",
        Asked.HOLE: "To work on both sides of it, take off",
        Asked.SPACE: "To get at all of it, take off",
        Asked.CABLE: f"To get at both ends{_and_joints(answer)}, take off",
    }.get(answer.asked, "Take off")
    yield Section(what, tuple(lines))
    whole = answer.whole
    if whole is not None and whole.trims != removal.trims:
        if answer.asked is Asked.STRIP:
            title, other = (
                "To lift the cables out from behind all trim, take off instead",
                (
                    "Or draw them out where no clip behind it holds them, and leave the others, their ends cut off"
                ),
            )
        else:
            title, other = (
                "To lay it anew over its whole run, take off",
                "Or leave the old one where clips behind it hold it, its ends cut off, and draw the new one in",
            )
        yield Section(title, (*_steps(plan, answer, whole), f"In all: {minutes_in_all(whole)}. {other}."))
    if answer.asked is Asked.TRIM:
        return
    yield Section("What else that opens", tuple(_opens(answer)))
    if answer.asked is not Asked.STRIP:
        off = (answer.whole or removal).trims
        yield Section("Cables behind that trim: mind them", tuple(_behind(plan, answer, off)))


def _and_joints(answer: Answer) -> str:
    """That the joints of a cable are got at with its ends."""
    on_the_way = sum(p.kind is PlaceKind.JOINT for p in answer.places)
    return f" and its {'joint' if on_the_way == 1 else 'joints'}" if on_the_way else ""


def _opens(answer: Answer) -> Iterator[str]:
    spoken_of = {PlaceKind.HOLE, PlaceKind.CONNECTOR}
    yield from dict.fromkeys(f"{p.kind} {p.name}" if p.kind in spoken_of else p.name for p in answer.opens)


def _steps(plan: Plan, answer: Answer, removal: Removal) -> Iterator[str]:
    service = plan.service
    assert service is not None  # noqa: S101 - an answer comes from a study
    for number, name in enumerate(removal.trims, start=1):
        trim = service.trim(name)
        why = ""
        for later in removal.trims[number:]:
            if name in service.trim(later).after:
                why = f"; before {trim_text(plan, later)}"
                break
        mind = step_cautions(plan, answer, name)
        yield f"{number}. {trim_text(plan, name)} ({minutes_text(trim.minutes)}{why})" + (
            f". {mind}" if mind else ""
        )


def _behind(plan: Plan, answer: Answer, trims: Iterable[str]) -> Iterator[str]:
    """Trim by trim the cables behind it, each with its stretch."""
    lengths = Lengths(plan.job.length_unit)
    starts = {c.cable.name: c.cable.from_port for c in plan.cables}
    by = {c.cable.name: along(c) for c in plan.cables}
    for trim in trims:
        spans: dict[str, list[str]] = {}
        for b in (b for b in answer.behind if b.trim == trim):
            spans.setdefault(b.cable, []).append(
                f"{lengths.number(by[b.cable](b.from_m))} to {lengths.text(by[b.cable](b.to_m))}"
            )
        told = [f"{name} {' and '.join(found)} from {starts[name]}" for name, found in spans.items()]
        if told and answer.asked is Asked.TRIM and trim == answer.name:
            yield from told
        elif told:
            yield f"{trim_text(plan, trim)}: {'; '.join(told)}"


def _about(plan: Plan, answer: Answer, record: Record) -> Iterator[Section]:
    if answer.asked is Asked.CABLE:
        lines = (
            new_length(plan, answer.name, record),
            *(room_line(room, more=True) for room in answer.rooms),
        )
        yield Section('To draw a new one (all of it: ask "draw a new one")', lines)
        yield Section("Lengths", tuple(length_lines(plan, answer.name, record)))
    yield Section("How each is got at", tuple(place_lines(plan, answer)))
    if answer.spares:
        yield Section("Lengths that are spare", tuple(spare_text(plan, s, record) for s in answer.spares))
    if answer.asked not in {Asked.SPACE, Asked.TRIM, Asked.KEEP_OUT}:
        beside = "Beside it" if answer.asked is Asked.JOINT else "Its cables share the way with these"
        if answer.asked is not Asked.HOLE:
            yield Section(f"{beside}: do not cut, pull or strain", tuple(_shared(answer)))


def _hole(plan: Plan, answer: Answer, record: Record) -> Iterator[Section]:
    hole = next(h for h in plan.holes if h.pass_through.name == answer.name)
    lengths = Lengths(plan.job.length_unit)
    cables = {c.cable.name: c for c in plan.cables}
    through = []
    for name in sorted(hole.cables, key=natural):
        planned = cables[name]
        at_m = (
            next((along(planned)(p.at_route_m) for p in planned.route.passages if p.name == answer.name), 0.0)
            if planned.route
            else 0.0
        )
        kind = planned.cable.type
        through.append(
            f"{name}: {kind.cable_class}, {kind.name}, {millimetres(kind.diameter_m)} thick, "
            f"{lengths.text(at_m)} from {planned.cable.from_port} on its way to {planned.cable.to_port}"
        )
    if hole.pass_through.in_use_m > 0.0:
        through.append(
            f"and what was in it before: about {millimetres(hole.pass_through.in_use_m)} of other cables or pipes"
        )
    yield Section("What runs through it", tuple(through) or ("No cable of this job.",))
    yield Section("Room in it", tuple(room_line(room, more=False) for room in answer.rooms))
    yield Section("Where", tuple(where_lines(plan, hole, record)))


def _shared(answer: Answer) -> Iterator[str]:
    """Hole by hole and bundle by bundle the cables that lie beside."""
    by: dict[str, list[str]] = {}
    for shared in sorted(answer.shared, key=lambda s: natural(s.cable)):
        for name in (
            *(f"through {h}" for h in shared.holes),
            *(f"tied together, {b}" for b in shared.bundles),
        ):
            by.setdefault(name, []).append(shared.cable)
    for name in sorted(by, key=natural):
        yield f"{name}: {', '.join(by[name])}"
