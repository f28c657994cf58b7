"""Where things are in the pack: everything with a name, and short names such as H2, to be found by a few letters."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element

from routecut.documents.built import as_fitted
from routecut.documents.keep_out_words import kind_text
from routecut.documents.markup import el
from routecut.documents.pack_fault import fault_entries
from routecut.documents.pack_keep_outs import keep_out_anchors
from routecut.documents.pack_leak import leak_entries
from routecut.documents.pack_more import room_entries
from routecut.documents.pack_parts import anchor
from routecut.documents.pack_power import fuse_anchors, volts_anchors
from routecut.documents.pack_reach import BODY_KEY, device_anchors
from routecut.documents.pack_service import joint_anchors, trim_anchors
from routecut.documents.reading import cable_numbers, hole_numbers, natural
from routecut.model.drilled import was_drilled
from routecut.model.later import NOTHING_LATER, Later
from routecut.model.plan import Plan


def find_panel(plan: Plan, later: Later = NOTHING_LATER) -> Element:
    """A button that is always in reach, and behind it the list; the script narrows it down.

    Without scripts it is a list of links all the same.
    """
    return el(
        "details",
        el("summary", "Find"),
        el(
            "div",
            el(
                "label",
                "Cable, hole, device, fuse, joint, trim, keep-out, volts, dead, silent, spare: a few letters",
                for_="find-what",
            ),
            el("input", type="search", id="find-what", autocomplete="off"),
            el("p", id="find-told", role="status"),
            el("ul", [el("li", entry) for entry in _entries(plan, later)], id="find-list"),
            class_="find-panel",
        ),
        id="find",
        class_="find",
    )


def _entries(plan: Plan, later: Later) -> Iterator[Element]:
    numbers, kinds = cable_numbers(plan), {k.name: kind_text(k) for k in plan.job.keep_outs}
    cables = sorted((c.cable for c in plan.cables), key=lambda c: natural(c.name))
    ends = {c.name: f"{c.from_port} \N{RIGHTWARDS ARROW} {c.to_port}" for c in cables}
    for cable in cables:
        yield _entry(anchor("cable", numbers[cable.name]), cable.name, ends[cable.name])
    holes = {h.pass_through.name: h for h in plan.holes}
    for name, number in hole_numbers(plan).items():
        told = "there already"
        if holes[name].drill:
            told = "drilled" if was_drilled(plan, holes[name]) else "to drill"
        yield _entry(anchor("hole", number), name, f"hole {number} (H{number}), {told}")
    for name, key in device_anchors(plan).items():
        yield _entry(key, name, "on the service sheet")
    for fed, key in fuse_anchors(plan).items():
        fuse = None if plan.sizing is None else plan.sizing.electrical[fed].fuse
        rating = "" if fuse is None else f"{fuse.rating_a:g} A, "
        yield _entry(key, f"fuse of {fed}", f"{rating}{ends[fed]}")
    for device, key in volts_anchors(plan).items():
        yield _entry(key, f"volts at {device}", "test sheet, power and coax")
    for jointed, key in joint_anchors(plan).items():
        yield _entry(key, f"joint of {jointed}", f"{ends[jointed]}, on the service sheet")
    for keep_out, key in keep_out_anchors(plan).items():
        yield _entry(key, keep_out, f"keep-out, {kinds[keep_out]}: what lies near it")
    for trim, key in trim_anchors(as_fitted(plan)).items():
        yield _entry(key, trim, "trim, on the service sheet")
    yield _entry(BODY_KEY, "welding, grinding, crash", "what to do before and after, on the service sheet")
    if plan.service is not None:
        yield _entry("service-out", "everything out, strip, scrap", "the order, on the service sheet")
    if plan.as_built is not None:
        yield _entry("as-built", "as built, record, what was changed", "what was done and measured")
    for entry in (*fault_entries(later.searches), *room_entries(later), *leak_entries(plan)):
        yield _entry(*entry)


def _entry(key: str, name: str, told: str) -> Element:
    return el("a", el("b", name), " ", el("small", told), href=f"#{key}")
