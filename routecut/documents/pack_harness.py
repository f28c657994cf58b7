"""The flat harness diagram in the job pack, and as a file."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from routecut.documents.harness import harness
from routecut.documents.markup import el
from routecut.documents.paper import drawing, svg
from routecut.model.plan import Plan

_HOW: str = (
    "Every connector is a row, every hole an upright line as thick as it has cables, with the number of its card in a "
    "ring; every length stands where it lies. Cables that stay within a space are joined end to end. On a phone the "
    "drawing is swiped sideways within its frame."
)


def harness_section(plan: Plan) -> Element:
    """The diagram, as wide as it has to be to be read."""
    marks, size = harness(plan)
    drawn = drawing(marks, size)
    drawn.attrib |= {
        "role": "img",
        "aria-label": "The harness laid flat; the service sheet says it in words",
    }
    return el("div", el("p", _HOW), el("div", drawn, class_="flat", tabindex="0"))


def harness_svg(plan: Plan) -> str:
    """The diagram as a file that prints in millimetres."""
    return svg(*harness(plan))
