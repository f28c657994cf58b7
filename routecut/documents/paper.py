"""Sheets drawn to scale: lines, circles and text as SVG and as PDF, from the same marks.

Stage      documents
Units      mm on paper, from the lower left corner
"""

from __future__ import annotations

import io
import unicodedata
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal
from xml.etree import ElementTree  # only builds and writes; nothing is parsed

from routecut.documents.markup import el
from routecut.plain import plain

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
    bold: bool = False


Mark = Line | Circle | Text


def svg(marks: Iterable[Mark], page_mm: tuple[float, float]) -> str:
    """The sheet as an SVG file that prints in millimetres."""
    width, height = page_mm
    root = drawing(marks, page_mm)
    root.attrib = {
        "xmlns": "http://www.w3.org/2000/svg",
        "width": f"{width:g}mm",
        "height": f"{height:g}mm",
        **root.attrib,
    }
    return ElementTree.tostring(root, encoding="unicode") + "\n"


def drawing(marks: Iterable[Mark], page_mm: tuple[float, float]) -> ElementTree.Element:
    """The sheet as an element to be put into a page."""
    width, height = page_mm
    return el("svg", [_svg_mark(mark, height) for mark in marks], viewBox=f"0 0 {_n(width)} {_n(height)}")


def _svg_mark(mark: Mark, height: float) -> ElementTree.Element:
    if isinstance(mark, Text):
        return el(
            "text",
            mark.text,
            x=_n(mark.x),
            y=_n(height - mark.y),
            font_size=_n(mark.size),
            font_family="Helvetica, Arial, sans-serif",
            text_anchor=mark.anchor,
            **({"font_weight": "bold"} if mark.bold else {}),
        )
    pen = {"stroke": "#000", "stroke_width": _n(mark.width), "fill": "none"}
    if mark.dashed:
        pen["stroke_dasharray"] = "2 1.5"
    if isinstance(mark, Circle):
        return el("circle", cx=_n(mark.x), cy=_n(height - mark.y), r=_n(mark.radius), **pen)
    return el(
        "line",
        x1=_n(mark.x1),
        y1=_n(height - mark.y1),
        x2=_n(mark.x2),
        y2=_n(height - mark.y2),
        **pen,
    )


def _n(value: float) -> str:
    return f"{round(value, 3) + 0.0:g}"


def pdf(sheets: Iterable[Iterable[Mark]], page_mm: tuple[float, float], *, title: str) -> bytes:
    """The sheets as a PDF, a page for each: same marks, same bytes."""
    from reportlab.lib.units import mm  # noqa: PLC0415  only when a sheet is written
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415

    written = io.BytesIO()
    # invariant: no date and no random id in the file
    canvas = Canvas(written, pagesize=(page_mm[0] * mm, page_mm[1] * mm), invariant=1)
    canvas.setTitle(latin(title))
    for marks in sheets:
        for mark in marks:
            _pdf_mark(canvas, mark, mm)
        canvas.showPage()
    canvas.save()
    return written.getvalue()


def _pdf_mark(canvas: Any, mark: Mark, mm: float) -> None:
    if isinstance(mark, Text):
        canvas.setFont("Helvetica-Bold" if mark.bold else "Helvetica", mark.size * mm)
        draw = {
            "start": canvas.drawString,
            "middle": canvas.drawCentredString,
            "end": canvas.drawRightString,
        }[mark.anchor]
        draw(mark.x * mm, mark.y * mm, latin(mark.text))
        return
    canvas.setLineWidth(mark.width * mm)
    canvas.setDash(*(((2 * mm, 1.5 * mm),) if mark.dashed else ()))
    if isinstance(mark, Circle):
        canvas.circle(mark.x * mm, mark.y * mm, mark.radius * mm)
    else:
        canvas.line(mark.x1 * mm, mark.y1 * mm, mark.x2 * mm, mark.y2 * mm)


def shortened(text: str, wide_mm: float, size: float, *, bold: bool = False) -> str:
    """The text if it fits, else its beginning with dots. [mm]"""
    from reportlab.pdfbase.pdfmetrics import stringWidth  # noqa: PLC0415

    font = "Helvetica-Bold" if bold else "Helvetica"
    shown = plain(text)
    if stringWidth(latin(shown), font, size) <= wide_mm:
        return shown
    lengths = range(1, len(shown) + 1)  # a legend of many names is long: looked for by halves
    fit = bisect_right(
        lengths, wide_mm, key=lambda n: float(stringWidth(latin(shown[:n]) + "...", font, size))
    )
    return shown[:fit].rstrip() + "..."


def latin(text: str) -> str:
    """What the fonts built into every PDF reader can show: letters lose strange accents before they get lost."""
    shown = []
    for letter in text:
        if letter.isprintable() and letter.encode("cp1252", "ignore"):
            shown.append(letter)
            continue
        plain = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
        shown.append(plain or "?")
    return "".join(shown)
