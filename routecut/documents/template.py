"""1:1 drill templates: one sheet of A4 for each hole, as SVG and as PDF.

Stage      documents
Units      mm on paper, from the lower left corner
Safe side  a bar of 100 mm stands on every sheet: printers shrink pages without saying so
"""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal
from xml.etree import ElementTree  # only builds and writes; nothing is parsed

from routecut.documents.drill_words import check_text, size_text, tapes_text
from routecut.documents.figures import Lengths, millimetres
from routecut.documents.markup import el
from routecut.documents.reading import natural
from routecut.model.drilling import DrillCard
from routecut.model.plan import Plan

WIDTH_MM: Final = 210.0
HEIGHT_MM: Final = 297.0
CENTRE_MM: Final = (105.0, 165.0)
HALF_MM: Final = 85.0
BAR_MM: Final = 100.0
BAR_AT_MM: Final = (55.0, 40.0)
"""Left end of the bar."""

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Line:
    """[mm]"""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.25
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """[mm]"""

    x: float
    y: float
    radius: float
    width: float = 0.35
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """[mm]; `size` is that of the font."""

    x: float
    y: float
    size: float
    text: str
    anchor: Anchor = "start"


Mark = Line | Circle | Text


def template_files(plan: Plan) -> dict[str, bytes]:
    """A template of every hole to drill, by its path in the plan folder: SVG and PDF."""
    files = {}
    for number, card in enumerate(sorted(plan.drilling, key=lambda c: natural(c.name)), start=1):
        marks = tuple(sheet(plan, card))
        stem = f"templates/{number:02d}-{_slug(card.name)}"
        files[f"{stem}.svg"] = svg(marks).encode()
        files[f"{stem}.pdf"] = pdf(marks, title=card.name)
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
        told += [f"Then check: {check}."] if check else []
    told.append(
        f"Pilot {millimetres(card.size.pilot_m)} at the cross, stop {lengths.text(card.stop_m)} from the point."
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


def svg(marks: tuple[Mark, ...]) -> str:
    """The sheet as an SVG file that prints in millimetres."""
    drawn = [_svg_mark(mark) for mark in marks]
    root = el(
        "svg",
        drawn,
        xmlns="http://www.w3.org/2000/svg",
        width=f"{WIDTH_MM:g}mm",
        height=f"{HEIGHT_MM:g}mm",
        viewBox=f"0 0 {WIDTH_MM:g} {HEIGHT_MM:g}",
    )
    return ElementTree.tostring(root, encoding="unicode") + "\n"


def _svg_mark(mark: Mark) -> ElementTree.Element:
    if isinstance(mark, Text):
        return el(
            "text",
            mark.text,
            x=_n(mark.x),
            y=_n(HEIGHT_MM - mark.y),
            font_size=_n(mark.size),
            font_family="Helvetica, Arial, sans-serif",
            text_anchor=mark.anchor,
        )
    pen = {"stroke": "#000", "stroke_width": _n(mark.width), "fill": "none"}
    if mark.dashed:
        pen["stroke_dasharray"] = "2 1.5"
    if isinstance(mark, Circle):
        return el("circle", cx=_n(mark.x), cy=_n(HEIGHT_MM - mark.y), r=_n(mark.radius), **pen)
    return el(
        "line",
        x1=_n(mark.x1),
        y1=_n(HEIGHT_MM - mark.y1),
        x2=_n(mark.x2),
        y2=_n(HEIGHT_MM - mark.y2),
        **pen,
    )


def _n(value: float) -> str:
    return f"{round(value, 3) + 0.0:g}"


def pdf(marks: tuple[Mark, ...], *, title: str) -> bytes:
    """The sheet as a PDF of A4: same marks, same bytes."""
    from reportlab.lib.units import mm  # noqa: PLC0415  only when something is drilled
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415

    written = io.BytesIO()
    # invariant: no date and no random id in the file
    canvas = Canvas(written, pagesize=(WIDTH_MM * mm, HEIGHT_MM * mm), invariant=1)
    canvas.setTitle(_latin(title))
    for mark in marks:
        if isinstance(mark, Text):
            canvas.setFont("Helvetica", mark.size * mm)
            draw = {
                "start": canvas.drawString,
                "middle": canvas.drawCentredString,
                "end": canvas.drawRightString,
            }[mark.anchor]
            draw(mark.x * mm, mark.y * mm, _latin(mark.text))
            continue
        canvas.setLineWidth(mark.width * mm)
        canvas.setDash(*(((2 * mm, 1.5 * mm),) if mark.dashed else ()))
        if isinstance(mark, Circle):
            canvas.circle(mark.x * mm, mark.y * mm, mark.radius * mm)
        else:
            canvas.line(mark.x1 * mm, mark.y1 * mm, mark.x2 * mm, mark.y2 * mm)
    canvas.showPage()
    canvas.save()
    return written.getvalue()


def _latin(text: str) -> str:
    """What the fonts built into every PDF reader can show: letters lose strange accents before they get lost."""
    shown = []
    for letter in text:
        if letter.isprintable() and letter.encode("cp1252", "ignore"):
            shown.append(letter)
            continue
        plain = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
        shown.append(plain or "?")
    return "".join(shown)
