"""1:1 drill templates: one sheet of A4 for each hole, as SVG and as PDF.

Stage      documents
Units      mm on paper, from the lower left corner
Safe side  a bar of 100 mm stands on every sheet: printers shrink pages without saying so
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from typing import Final

from routecut.documents.drill_words import NO_CHECK, check_text, size_text, tapes_text
from routecut.documents.figures import Lengths, millimetres
from routecut.documents.look_first import NOT_SEEN
from routecut.documents.paper import Circle, Line, Mark, Text, pdf, svg
from routecut.documents.reading import natural
from routecut.model.drilling import DrillCard
from routecut.model.plan import Plan

PAGE_MM: Final = (210.0, 297.0)
CENTRE_MM: Final = (105.0, 165.0)
HALF_MM: Final = 85.0
BAR_MM: Final = 100.0
BAR_AT_MM: Final = (55.0, 40.0)
"""Left end of the bar."""


def template_files(plan: Plan) -> dict[str, bytes]:
    """A template of every hole to drill, by its path in the plan folder: SVG and PDF."""
    files = {}
    for number, card in enumerate(sorted(plan.drilling, key=lambda c: natural(c.name)), start=1):
        marks = tuple(sheet(plan, card))
        stem = f"templates/{number:02d}-{_slug(card.name)}"
        files[f"{stem}.svg"] = svg(marks, PAGE_MM).encode()
        files[f"{stem}.pdf"] = pdf([marks], PAGE_MM, title=card.name)
    return files


def _slug(name: str) -> str:
    """A name made fit for any file system."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40] or "hole"


def sheet(plan: Plan, card: DrillCard) -> Iterator[Mark]:
    """All marks of one sheet."""
    lengths = Lengths(plan.job.length_unit)
    x, y = CENTRE_MM
    yield Text(105, 280, 6, f"{card.name}: drill template 1:1", "middle")
    yield Text(105, 273, 3.6, f"Seen from {card.marked_in}: {size_text(card)}.", "middle")
    hole = next((h for h in plan.holes if h.pass_through.name == card.name), None)
    if hole is not None and not hole.pass_through.confirmed:
        yield Text(105, 261, 4.5, NOT_SEEN.upper(), "middle")
    if card.refused:
        yield Text(105, 267, 4.5, "DO NOT DRILL: see the drill card", "middle")
    outline = card.outline
    for (x1, y1), (x2, y2) in outline.lines:
        yield Line(x + 1000 * x1, y + 1000 * y1, x + 1000 * x2, y + 1000 * y2, 0.5)
    for hx, hy, diameter, name in outline.holes:
        yield Circle(x + 1000 * hx, y + 1000 * hy, 500 * diameter, 0.35)
        yield Text(x + 1000 * hx, y + 1000 * hy - 500 * diameter - 4, 3, name, "middle")
    yield Circle(x, y, 500 * card.size.drill_m, 0.5)
    yield Circle(x, y, 500 * card.size.clear_m, 0.25, dashed=True)
    yield Circle(x, y, 500 * card.size.pilot_m, 0.25)
    reach = 500 * card.size.drill_m + 15
    for dx, dy in ((1.0, 0.0), (0.0, 1.0)):
        for sign in (-1, 1):
            yield Line(x + sign * dx, y + sign * dy, x + sign * reach * dx, y + sign * reach * dy, 0.2)
    for side in (-1, 1):
        yield Line(x - HALF_MM, y + side * HALF_MM, x + HALF_MM, y + side * HALF_MM, 0.15, dashed=True)
        yield Line(x + side * HALF_MM, y - HALF_MM, x + side * HALF_MM, y + HALF_MM, 0.15, dashed=True)
    yield from _arrows(card, x, y)
    yield from _bar()
    told = ["Lines: edges, folds and holes near by, within 85 mm of the middle."]
    if card.fix is not None:
        told.append(f"Find it: {tapes_text(lengths, card.fix)}.")
        check = check_text(lengths, card.fix)
        told.append(f"Then check: {check or NO_CHECK}.")
    double = f" {card.size.sheets} sheets, one behind the other: look between them first." * (
        card.size.sheets > 1
    )
    told.append(
        f"Pilot {millimetres(card.size.pilot_m)} at the cross, stop {lengths.both(card.stop_m)} from the point.{double}"
    )
    row = 0
    for sentence in told:
        for line in _wrapped(sentence, 105):
            yield Text(15, 72 - 4.5 * row, 3.2, line)
            row += 1


def _arrows(card: DrillCard, x: float, y: float) -> Iterator[Mark]:
    """Where up and across on the paper point to in the vehicle."""
    top, right = y + HALF_MM - 4, x + HALF_MM - 4
    foot, left = top - 20, right - 20
    yield Line(left, foot, left, top, 0.6)
    yield Line(left, top, left - 2, top - 4, 0.6)
    yield Line(left, top, left + 2, top - 4, 0.6)
    yield Text(left - 3, top - 5, 4, card.outline.up_word.upper(), "end")
    yield Line(left, foot, right, foot, 0.6)
    yield Line(right, foot, right - 4, foot + 2, 0.6)
    yield Line(right, foot, right - 4, foot - 2, 0.6)
    yield Text(right, foot - 5, 4, card.outline.across_word.upper(), "end")


def _bar() -> Iterator[Mark]:
    x, y = BAR_AT_MM
    yield Line(x, y, x + BAR_MM, y, 0.5)
    for step in range(11):
        high = 4 if step % 5 == 0 else 2
        yield Line(x + 10 * step, y, x + 10 * step, y + high, 0.25)
    yield Text(
        105,
        y - 6,
        3.6,
        "This bar must measure 100 mm. If it does not, print again at 100 %, not fitted",
        "middle",
    )
    yield Text(105, y - 11, 3.6, "to the page; never drill by a template that is not 1:1.", "middle")


def _wrapped(text: str, most: int) -> list[str]:
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines
