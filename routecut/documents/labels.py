"""Labels for both ends of every cable, on a plain grid: SVG and PDF.

Stage      documents
Units      mm on paper, from the lower left corner
Source     both ends marked, within 380 mm of the end: FAA AC 43.13-1B ch. 11; what stands on them: common practice,
           no source
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from routecut.documents.figures import Lengths
from routecut.documents.paper import Line, Mark, Text, pdf, shortened, svg
from routecut.documents.port_words import port_text
from routecut.documents.reading import pulling_order, revision_mark
from routecut.model.plan import Plan

PAGE_MM: Final = (210.0, 297.0)
LABEL_MM: Final = (60.0, 25.0)
COLUMNS: Final = 3
ROWS: Final = 10
"""3 x 10 labels in the middle of A4: all of them lie on a sheet of letter as well, printed at 100 %."""

_PAD_MM: Final = 2.0
_WIDE_MM: Final = LABEL_MM[0] - 2 * _PAD_MM


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label, from top to bottom."""

    cable: str
    here: str
    lines: tuple[str, ...]


def labels(plan: Plan) -> list[Label]:
    """Two labels for each cable that has a route, in the order of pulling: its `from` end, its `to` end."""
    found = []
    lengths, mark = Lengths(plan.job.length_unit), revision_mark(plan)
    ends = {p.full_name: port_text(p) for d in plan.job.devices for p in d.ports}
    for planned in pulling_order(plan):
        if planned.route is None or planned.cut is None:
            continue
        cable = planned.cable
        cut = f"cut {lengths.up(planned.cut.length_m)}"
        if cable.ready_made:
            lead = planned.lead.lengths_m if planned.lead is not None else ()
            cut = "lead " + (" + ".join(lengths.up(m) for m in lead) or "NOT IN STOCK")
        start, end = ends[cable.from_port], ends[cable.to_port]
        for here, there in ((start, end), (end, start)):
            lines = (f"to {there}", f"{cable.cable_class}, {cable.type.name}", cut, plan.job.title)
            found.append(
                Label(cable=cable.name, here=here, lines=(*lines, f"rev. {mark}   date ____________"))
            )
    return found


def label_files(plan: Plan) -> dict[str, bytes]:
    """The label sheets by their path in the plan folder: one PDF, an SVG for each sheet; none without labels."""
    sheets = [tuple(marks) for marks in label_sheets(labels(plan))]
    if not sheets:
        return {}
    files = {"labels.pdf": pdf(sheets, PAGE_MM, title="Cable labels")}
    for number, marks in enumerate(sheets, start=1):
        files[f"labels-{number}.svg"] = svg(marks, PAGE_MM).encode()
    return files


def label_sheets(found: Sequence[Label]) -> Iterator[Iterator[Mark]]:
    """The marks of each sheet."""
    for start in range(0, len(found), COLUMNS * ROWS):
        yield _sheet(found[start : start + COLUMNS * ROWS])


def _sheet(found: Sequence[Label]) -> Iterator[Mark]:
    wide, high = LABEL_MM
    left, top = (PAGE_MM[0] - COLUMNS * wide) / 2, (PAGE_MM[1] + ROWS * high) / 2
    yield Text(
        left, top + 4, 3, f"Labels {wide:g} x {high:g} mm, {COLUMNS} x {ROWS}. Print at 100 %, not fitted."
    )
    for column in range(COLUMNS + 1):
        yield Line(left + column * wide, top, left + column * wide, top - ROWS * high, 0.1, dashed=True)
    for row in range(ROWS + 1):
        yield Line(left, top - row * high, left + COLUMNS * wide, top - row * high, 0.1, dashed=True)
    for k, label in enumerate(found):
        row, column = divmod(k, COLUMNS)
        yield from _label(label, left + column * wide + _PAD_MM, top - row * high)


def _label(label: Label, x: float, top: float) -> Iterator[Mark]:
    yield Text(x, top - 6, 5, shortened(label.cable, _WIDE_MM, 5, bold=True), bold=True)
    yield Text(x, top - 9.8, 2.8, shortened(f"this end: {label.here}", _WIDE_MM, 2.8, bold=True), bold=True)
    for k, line in enumerate(label.lines):
        yield Text(x, top - 12.8 - 2.75 * k, 2.4, shortened(line, _WIDE_MM, 2.4))
