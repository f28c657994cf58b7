"""Water at a hole, on the service sheet of the pack: which holes it may come in by, and what to do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import anchor, fold, table
from routecut.documents.reading import hole_numbers
from routecut.documents.service_leak import STEPS, seal_lines, wet_holes
from routecut.model.plan import Plan

LEAK_KEY: Final = "service-leak"
"""Where the sheet tells of water."""


def leak_sheet(plan: Plan) -> Element | None:
    """The holes between wet and dry, and the steps; None where there are none."""
    wet = wet_holes(plan)
    if not wet:
        return None
    numbers, by = hole_numbers(plan), {h.pass_through.name: h for h in plan.holes}
    rows: list[list[Child]] = [
        [
            el("a", name, href=f"#{anchor('hole', numbers[name])}") if name in numbers else name,
            el("div", [el("div", line) for line in seal_lines(plan, by[name])]),
        ]
        for name in wet
    ]
    return fold(
        el("h3", "Water comes in"),
        table(["hole", "against water"], rows, kind="service"),
        el("p", "In this order (common practice, no source):"),
        el("ol", [el("li", step) for step in STEPS]),
        key=LEAK_KEY,
    )


def leak_entries(plan: Plan) -> Iterator[tuple[str, str, str]]:
    """For the list of what can be found: key, name, what it tells."""
    if wet := wet_holes(plan):
        yield LEAK_KEY, "water, leak, seal, drip loop", f"{', '.join(wet)}: on the service sheet"
