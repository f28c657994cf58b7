"""The service sheet: which fuse to pull, where the connectors are, what comes off, what is spare."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.cut_list import joint_note
from routecut.documents.figures import Lengths
from routecut.documents.fuse_words import below_text, fuse_reach
from routecut.documents.markup import Child, el
from routecut.documents.pack_as_built import recorded, recorded_texts
from routecut.documents.pack_fault import fault_sheet
from routecut.documents.pack_keep_outs import keep_outs_sheet
from routecut.documents.pack_leak import leak_sheet
from routecut.documents.pack_more import room_sheet
from routecut.documents.pack_parts import anchor, fold, table
from routecut.documents.pack_reach import (
    BODY_KEY,
    device_anchors,
    jump_links,
    off_before,
    reach_sheets,
)
from routecut.documents.part_words import spoken
from routecut.documents.pull_words import comes_off, minutes_text
from routecut.documents.reading import NO_TERMINATION, cable_numbers, natural
from routecut.documents.service_body import AFTER, BEFORE
from routecut.documents.service_cautions import trim_cautions
from routecut.documents.service_reach import NOTHING_OFF, place_of, reach_text
from routecut.documents.service_short import doubts, joined_text, joints, no_spare_text, told_whole
from routecut.model.job import Access, Device, Port
from routecut.model.later import NOTHING_LATER, Later
from routecut.model.plan import Plan, PlannedCable
from routecut.model.record import NO_RECORD, Kind
from routecut.model.service import PlaceKind
from routecut.model.spare import ROUNDING_M

AT_END_M: Final = 0.15
"""Trim that begins or ends this near to a connector is in front of it (common practice, no source). [m]"""

_PULL: Final = (
    "Pull the fuse, or disconnect the battery as the vehicle maker says, before a connector is opened; fit the same "
    "rating again, never a larger one."
)

_AS_PLANNED: Final = "As planned: what was done otherwise stands with whoever did it."

_RECORDED: Final = "As built, as far as the record says; the rest, and what is spare, as planned."


def service(plan: Plan, later: Later = NOTHING_LATER) -> Element:
    """One sheet for whoever has to get at it again; of a plan as it was built (see `built.as_fitted`)."""
    parts: list[Child] = [
        el("p", f"{_AS_PLANNED if recorded(plan) is None else _RECORDED} {_PULL}"),
        *jump_links(plan, later),
        _jumps(plan),
    ]
    if fuses := _fuses(plan):
        heads = ["device", "fuse", "where", "reached from", "cable"]
        parts += [
            fold(el("h3", "Which fuse to pull"), table(heads, fuses, kind="service"), key="service-fuses")
        ]
    none_spare = (
        f"{no_spare_text(plan)} What is spare is length; what it takes to draw in a new one is on its card."
    )
    heads = ["device", "connector", "cable", "other end", "in front of it", "spare here"]
    shown = table(heads, _connectors(plan), kind="service connectors")
    parts += [fold(el("h3", "Connectors"), el("p", none_spare), shown, key="service-connectors")]
    parts += [fold(el("h3", "Joints and fuse holders on the way"), *_joints(plan), key="service-joints")]
    before, keys, mind = off_before(plan), trim_anchors(plan), trim_cautions(plan)
    off: list[list[Child]] = [
        [
            el("b", o.trim, id=keys[o.trim]),
            minutes_text(o.minutes)
            + (f"; {before[o.trim]} off before" if before.get(o.trim) else "")
            + (f". {mind[o.trim]}" if o.trim in mind else ""),
            ", ".join(o.cables),
        ]
        for o in comes_off(plan, plan.cables)
    ]
    if off:
        heads = ["trim", "to take off", "cables behind it"]
        shown = table(heads, off, kind="service")
        parts += [fold(el("h3", "What comes off, the quickest first"), shown, key="service-trim")]
    return el(
        "div",
        parts,
        *reach_sheets(plan),
        keep_outs_sheet(plan),
        leak_sheet(plan),
        room_sheet(plan, later),
        fault_sheet(plan, later.searches),
        _body_work(),
    )


def _body_work() -> Element:
    """What to do of all this before the body is welded or ground, and what to look at after a crash."""
    return fold(
        el("h3", "Welding, grinding, or after a crash"),
        el(
            "p",
            "Which cables lie there: the tables of trim and of keep-outs above; with distances ",
            el("code", 'routecut service JOB "weld at the left sill"'),
            ", or any other piece of trim, space or side.",
        ),
        el("p", "Before (common practice, no source):"),
        el("ol", [el("li", step) for step in BEFORE]),
        el("p", "After (common practice, no source):"),
        el("ol", [el("li", step) for step in AFTER]),
        key=BODY_KEY,
    )


def _joints(plan: Plan) -> Iterator[Element]:
    """Every cable with something on its way, and which are in one piece."""
    record = NO_RECORD if plan.as_built is None else plan.as_built.record
    keys, rows, whole = joint_anchors(plan), list[list[Child]](), list[str]()
    for planned in sorted(plan.cables, key=lambda c: natural(c.cable.name)):
        name = planned.cable.name
        told: list[Child] = [el("div", joined_text(plan, name, record))]
        told += [
            el("div", f"{place.name}, reached from {place.space}: {reach_text(plan, place)}")
            for place in (() if plan.service is None else plan.service.places)
            if place.kind is PlaceKind.JOINT and name in place.cables
        ]
        if planned.lead is not None:
            told += [
                el("div", joint_note(plan.job, joint, planned.cable.from_port))
                for joint in planned.lead.joints
            ]
        if name in keys or not told_whole(plan, name, record):
            rows.append([el("b", name, id=keys[name]) if name in keys else el("b", name), el("div", told)])
        else:
            whole.append(name)
    if rows:
        yield table(["cable", "where"], rows, kind="service")
    if whole:
        yield el("p", f"In one piece from end to end, no joint and no fuse holder: {', '.join(whole)}.")


def joint_anchors(plan: Plan) -> dict[str, str]:
    """The id of the row of each cable with a joint."""
    record = NO_RECORD if plan.as_built is None else plan.as_built.record
    names = sorted((c.cable.name for c in plan.cables if joints(plan, [c.cable.name], record)), key=natural)
    return {name: anchor("joint", n) for n, name in enumerate(names, start=1)}


def trim_anchors(plan: Plan) -> dict[str, str]:
    """The id of the row of each piece of trim that cables run behind."""
    return {o.trim: anchor("trim", n) for n, o in enumerate(comes_off(plan, plan.cables), start=1)}


def _jumps(plan: Plan) -> Element:
    """Links to the connectors of each device."""
    links = [el("li", el("a", name, href=f"#{key}")) for name, key in device_anchors(plan).items()]
    return el("nav", el("ul", links), class_="jumps", aria_label="Devices")


def _fuses(plan: Plan) -> list[list[Child]]:
    """By the device that goes dead: the fuses on the cables that end at it."""
    sized = {} if plan.sizing is None else plan.sizing.electrical
    lengths = Lengths(plan.job.length_unit)
    rows: list[tuple[str, list[Child]]] = []
    for planned in plan.cables:
        found = sized.get(planned.cable.name)
        if found is None or found.fuse is None:
            continue
        fuse = found.fuse
        fed = plan.job.device_of(planned.cable.to_port).name
        where = "in the block" if fuse.in_block else f"{lengths.up(fuse.distance_m)} from {fuse.at}"
        access = fuse_reach(plan, planned.cable.name, fuse)
        below = ", below the rule: see Fuses" if below_text(found) else ""
        kind = el("div", el("b", f"{fuse.rating_a:g} A, {fuse.series}"), el("small", below))
        rows.append((fed, [el("b", fed), kind, where, access, planned.cable.name]))
    return [row for _, row in sorted(rows, key=lambda entry: natural(entry[0]))]


def _connectors(plan: Plan) -> list[list[Child]]:
    numbers = cable_numbers(plan)
    rows: list[list[Child]] = []
    keys = device_anchors(plan)
    for device in sorted(plan.job.devices, key=lambda d: natural(d.name)):
        told = False
        for port in device.ports:
            for planned in plan.cables:
                if port.full_name not in (planned.cable.from_port, planned.cable.to_port):
                    continue
                name = planned.cable.name
                rows.append(
                    [
                        ""
                        if told
                        else el(
                            "div",
                            el("b", device.name),
                            f" in {device.space}",
                            _said(plan, device),
                            id=keys[device.name],
                        ),
                        f"{port.name}: {port.termination or NO_TERMINATION}",
                        el("a", name, href=f"#{anchor('cable', numbers[name])}"),
                        _other(planned, port),
                        in_front(plan, device, port, planned),
                        _spare(plan, port, planned),
                    ]
                )
                told = True
    return rows


def _said(plan: Plan, device: Device) -> Element | None:
    """What the record says of a device: what was fitted, its serial number, notes, photos, readings."""
    told = recorded_texts(plan, Kind.DEVICE, device.name)
    return el("small", [el("div", f"recorded: {text}") for text in told], class_="recorded") if told else None


def _other(planned: PlannedCable, port: Port) -> str:
    ends = (planned.cable.from_port, planned.cable.to_port)
    return ends[1] if ends[0] == port.full_name else ends[0]


def in_front(plan: Plan, device: Device, port: Port, planned: PlannedCable) -> str:
    """What has to come off to get at a connector."""
    route = planned.route
    if route is None:
        return "not routed"
    place = place_of(plan, PlaceKind.CONNECTOR, port.full_name)
    if place is not None:
        return reach_text(plan, place)
    at = 0.0 if port.full_name == planned.cable.from_port else route.length_m
    spaces = {s.name: s for s in plan.job.spaces}
    trims = [c for c in planned.covered if c.from_m - AT_END_M <= at <= c.to_m + AT_END_M]
    if trims:
        return ", ".join(f"{spoken(c.trim, spaces=spaces)} ({minutes_text(c.minutes)})" for c in trims)
    if device.space not in spaces:
        return ""
    access = spaces[device.space].access
    told = {Access.OPEN: NOTHING_OFF, Access.TRIM: f"trim of {device.space}"}
    return told.get(access, f"{device.space} is closed all round")


def _spare(plan: Plan, port: Port, planned: PlannedCable) -> str:
    """Length kept at this end, and what a ready-made lead has over."""
    lengths = Lengths(plan.job.length_unit)
    told = [f"loop {lengths.text(port.service_loop_m)}"] if port.service_loop_m > 0.0 else []
    again = f"re-terminations at {port.full_name}"
    record = NO_RECORD if plan.as_built is None else plan.as_built.record
    short_m = record.short_m(planned.cable.name)
    for line in planned.cut.lines if planned.cut is not None else ():
        if line.what == again:
            kept = f"{line.why.partition(' used by')[0]} to terminate it again"
            told.append(
                kept if short_m <= 0.0 else f"{kept} planned, {_left(lengths, line.length_m - short_m)}"
            )
    if planned.lead is not None and planned.lead.lengths_m:
        told.append(f"{lengths.free(planned.lead.surplus_m)} over in the lead")
    if not told:
        return "none kept"
    if short_m > 0.0:
        told.append(
            f"it ended {lengths.up(short_m)} short by the record, nobody said at which end: as if all of it were "
            "missing at this one"
        )
    return "; ".join([*told, *doubts(plan, planned.cable.name)])


def _left(lengths: Lengths, left_m: float) -> str:
    """What is left of a length once what was missing is off it."""
    return f"{lengths.free(left_m)} of it left" if left_m > ROUNDING_M else "NONE of it left"
