"""The flat harness diagram in the job pack, the same as a list for a phone, and as a file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from xml.etree.ElementTree import Element

from routecut.documents.harness import Row, harness, rows_of
from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import anchor, fold
from routecut.documents.paper import drawing, svg
from routecut.documents.reading import cable_numbers, hole_numbers, natural
from routecut.model.plan import Plan

_HOW: str = (
    "Every connector is a row, every hole an upright line as thick as it has cables, with the number of its card in a "
    "ring; every length stands where it lies. Cables that stay within a space are joined end to end."
)


def harness_section(plan: Plan) -> Element:
    """The diagram, as wide as it has to be to be read."""
    marks, size = harness(plan)
    drawn = drawing(marks, size)
    drawn.attrib |= {
        "role": "img",
        "aria-label": "The harness laid flat; the service sheet says it in words",
    }
    shown = fold(
        "the drawing, to be swiped sideways", el("p", _HOW), el("div", drawn, class_="flat", tabindex="0")
    )
    return el("div", el("div", _listed(plan), class_="listed"), shown)


_LIST_HOW: str = (
    "Space by space from the front: each end, and how far its cable runs to the next hole or the other end."
)


def _listed(plan: Plan) -> Iterator[Element]:
    """The rows of the drawing as lists, space by space: where the drawing is too wide to be seen at once."""
    yield el("p", _LIST_HOW)
    rows = rows_of(plan)
    cards = hole_numbers(plan)
    numbers = cable_numbers(plan)
    for space, found in groupby(rows, key=lambda row: row.space):
        lines = list(found)
        items = [el("li", _line(row, rows, cards, numbers)) for row in lines]
        yield fold(el("h3", f"{space}: {len(lines)}"), el("ul", items, class_="ends-of"))


def _line(row: Row, rows: Sequence[Row], cards: dict[str, int], numbers: dict[str, int]) -> Iterator[Child]:
    yield el("a", row.cable, href=f"#{anchor('cable', numbers[row.cable])}")
    yield el("span", row.text)
    joined = [_joined(lane, row, rows, cards) for lane in row.joins]
    way = f" from {joined[0]} to {joined[1]}" if row.through else f" to {joined[0]}"
    yield el("span", el("b", row.length), way)


def _joined(lane: str, row: Row, rows: Sequence[Row], cards: dict[str, int]) -> str:
    """What a row leads to: a hole by the number of its card, or the other end of its cable."""
    kind, _, name = lane.partition(" ")
    if kind == "hole":
        return f"hole {cards.get(name, '?')}, {name}"
    others = sorted((r.text for r in rows if lane in r.joins and r is not row), key=natural)
    return others[0] if others else row.cable


def harness_svg(plan: Plan) -> str:
    """The diagram as a file that prints in millimetres."""
    return svg(*harness(plan))
