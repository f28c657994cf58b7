"""The part of the service sheet about getting at things: trim, holes, and everything out.

Stage      documents; prints what `routecut.service` found
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import anchor, fold, table
from routecut.documents.pull_words import minutes_text
from routecut.documents.reading import natural
from routecut.documents.service_cautions import trim_cautions
from routecut.documents.service_leak import wet_holes
from routecut.documents.service_reach import minutes_in_all, reach_text, trim_text
from routecut.documents.service_strip import strip_sections
from routecut.model.later import Later
from routecut.model.plan import Plan
from routecut.model.record import NO_RECORD
from routecut.model.service import Answer, Asked, PlaceKind, Removal, Service, ServicePlace

BODY_KEY: Final = "service-body"
"""Where the sheet tells of work on the body."""

_LINKS: Final = (
    ("service-fuses", "fuses"),
    ("service-connectors", "connectors"),
    ("service-joints", "joints"),
    ("service-trim", "trim"),
    ("service-holes", "holes"),
    ("service-out", "everything out"),
    ("service-keep-outs", "keep-outs"),
    ("service-leak", "water"),
    ("service-room", "room for one more"),
    ("service-fault", "dead or silent"),
    (BODY_KEY, "welding or a crash"),
)


def jump_links(plan: Plan, later: Later) -> Iterator[Element]:
    """Links to the parts of the sheet that are there."""
    there = {"service-connectors", "service-joints", BODY_KEY}
    if plan.sizing is not None and any(e.fuse is not None for e in plan.sizing.electrical.values()):
        there.add("service-fuses")
    if later.searches:
        there.add("service-fault")
    if wet_holes(plan):
        there.add("service-leak")
    if later.holes:
        there.add("service-room")
    if plan.job.keep_outs:
        there.add("service-keep-outs")
    if any(c.covered for c in plan.cables):
        there.add("service-trim")
    if plan.service is not None:
        there |= {"service-out"} | ({"service-holes"} if _hole_places(plan) else set())
    links: list[Child] = []
    for key, title in _LINKS:
        if key in there:
            links += [", " if links else "To ", el("a", title, href=f"#{key}")]
    yield el("p", links)


def device_anchors(plan: Plan) -> dict[str, str]:
    """The id of each device that a cable ends at; numbered, by name."""
    ends = {plan.job.device_of(p).name for c in plan.cables for p in (c.cable.from_port, c.cable.to_port)}
    return {name: anchor("service-device", n) for n, name in enumerate(sorted(ends, key=natural), start=1)}


def off_before(plan: Plan) -> dict[str, str]:
    """By the name trim goes by: the trim that has to be off before it."""
    trims = () if plan.service is None else plan.service.trims
    return {trim_text(plan, t.name): ", ".join(trim_text(plan, b) for b in t.after) for t in trims}


def reach_sheets(plan: Plan) -> Iterator[Element]:
    """Holes from both sides, and everything out; nothing where nobody looked."""
    service = plan.service
    if service is None:
        return
    holes = _hole_places(plan)
    if holes:
        rows: list[list[Child]] = [
            [el("b", p.name), p.space, reach_text(plan, p), ", ".join(sorted(p.cables, key=natural))]
            for p in holes
        ]
        shown = table(["hole", "from", "what comes off", "cables through it"], rows, kind="service")
        yield fold(el("h3", "Holes, from either side"), shown, key="service-holes")
    yield fold(el("h3", "Everything out"), _everything_out(plan, service), key="service-out")


def _everything_out(plan: Plan, service: Service) -> Iterator[Element]:
    either = service.strip.trims != service.every.trims
    yield el("h4", "Battery off first, then the fuses, then the trim in this order")
    if either:
        yield el("p", "Where cables are left in, or drawn out by an end:")
    yield from _in_order(plan, service.every)
    if either:
        yield el("p", "Where they are lifted out from behind all trim, this list instead:")
        yield from _in_order(plan, service.strip)
    answer = Answer(
        asked=Asked.STRIP, name="", places=service.places, plugs=service.plugs, blocked=_blocked(plan)
    )
    for section in strip_sections(plan, answer, NO_RECORD if plan.as_built is None else plan.as_built.record):
        if section.lines:
            yield el("h4", section.title)
            yield el("ol" if section.numbered else "ul", [el("li", line) for line in section.lines])


def _hole_places(plan: Plan) -> list[ServicePlace]:
    places = () if plan.service is None else plan.service.places
    return sorted((p for p in places if p.kind is PlaceKind.HOLE), key=lambda p: natural(p.name))


def _blocked(plan: Plan) -> tuple[ServicePlace, ...]:
    return tuple(p for p in plan.service.places if p.removal is None) if plan.service is not None else ()


def _in_order(plan: Plan, removal: Removal) -> Iterator[Element]:
    """The pieces of trim one by one, each with its time and what to mind there."""
    if not removal.trims or plan.service is None:
        yield el("p", "Nothing comes off.")
        return
    mind = trim_cautions(plan)
    lines = []
    for name in removal.trims:
        said, trim = trim_text(plan, name), plan.service.trim(name)
        lines.append(f"{said} ({minutes_text(trim.minutes)})" + (f". {mind[said]}" if said in mind else ""))
    yield el("ol", [el("li", line) for line in lines])
    yield el("p", f"In all: {minutes_in_all(removal)}.")
