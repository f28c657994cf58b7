"""Dead or silent: where to test, on the service sheet of the pack, device by device.

Stage      documents; the tests are those of `routecut.service`, in the words of `service_fault`
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.markup import el
from routecut.documents.pack_parts import anchor, fold
from routecut.documents.service_fault import FOUND, LIVE, fault_sections
from routecut.model.fault import FaultSearch, Probe, Symptom
from routecut.model.plan import Plan
from routecut.model.record import NO_RECORD, Record

FAULT_KEY: Final = "service-fault"
"""Where the sheet tells what to test."""

_SAID: Final = {Symptom.POWER: "dead, no power or low volts", Symptom.SOUND: "silent, no sound"}


def fault_sheet(plan: Plan, searches: Sequence[FaultSearch]) -> Element | None:
    """What to test when something is dead or silent; None where nothing in the job can be."""
    if not searches:
        return None
    record = NO_RECORD if plan.as_built is None else plan.as_built.record
    keys = fault_anchors(searches)
    return fold(
        el("h3", "Dead, low volts or silent: where to test"),
        el("p", "Before a probe (common practice, no source):"),
        el("ol", [el("li", line) for line in LIVE]),
        el(  # a link to the whole opens what is right below it: these stay folded on a phone
            "div",
            [
                fold(
                    el("h4", f"{search.device}: {_SAID[search.symptom]}"),
                    *_one(plan, search, searches, keys, record),
                    key=keys[search.device, search.symptom],
                )
                for search in searches
            ],
        ),
        el("p", f"When it is found: {FOUND}"),
        key=FAULT_KEY,
    )


def _one(
    plan: Plan,
    search: FaultSearch,
    searches: Sequence[FaultSearch],
    keys: dict[tuple[str, Symptom], str],
    record: Record,
) -> Iterator[Element]:
    """The sections of one search; of a device without a supply lead only what is its own, and where the rest is."""
    shown = search
    other = next((s for s in searches if s.symptom is Symptom.POWER and s.device == search.through), None)
    if other is not None:
        link = el(
            "a", f"{other.device}: {_SAID[other.symptom]}", href=f"#{keys[other.device, other.symptom]}"
        )
        yield el("p", f"It works through {other.device}. Where that is dead too, test it first: ", link, ".")
        if search.symptom is Symptom.POWER:
            shown = replace(search, tests=tuple(t for t in search.tests if t.probe is Probe.CORES))
    for section in fault_sections(plan, shown, record):
        if section.lines:
            yield el("p", el("b", f"{section.title}:"))
            yield el("ol" if section.numbered else "ul", [el("li", line) for line in section.lines])


def fault_anchors(searches: Sequence[FaultSearch]) -> dict[tuple[str, Symptom], str]:
    """The id of each search."""
    return {(s.device, s.symptom): anchor("fault", n) for n, s in enumerate(searches, start=1)}


def fault_entries(searches: Sequence[FaultSearch]) -> Iterator[tuple[str, str, str]]:
    """For the list of what can be found: key, name, what it tells."""
    if searches:
        yield FAULT_KEY, "dead, no power, low volts, silent", "where to test, on the service sheet"
    keys = fault_anchors(searches)
    for search in searches:
        yield (
            keys[search.device, search.symptom],
            f"{search.device}: {_SAID[search.symptom]}",
            "where to test",
        )
