"""The harness laid flat: every cable end a row, every hole a trunk, every stretch its length.

Stage      documents; lengths are read off the routes
Units      mm on paper, from the lower left corner

Spaces stand below each other from the front of the vehicle to its rear. In each, a row is the end of a cable, or a
cable that passes through from one hole to the next. A line leads from the row to the hole that comes next, which is an
upright line through all that goes through it, as thick as it has cables; or, within one space, to the other end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from routecut.documents.figures import Lengths, count, millimetres
from routecut.documents.paper import Circle, Line, Mark, Text, shortened
from routecut.documents.port_words import port_text
from routecut.documents.reading import hole_numbers, natural
from routecut.model.drilled import to_drill
from routecut.model.plan import Plan, PlannedCable, Route

WIDE_MM: Final = 190.0
ROW_MM: Final = 3.6
HEAD_MM: Final = 8.0

_LENGTHS: Final = (
    "Lengths along the run to the next hole or the other end, without lay and loops. Not to scale."
)
_TEXT_MM: Final = 2.8
_END_MM: Final = 78.0
_LANE_MM: Final = 5.0
_LABEL_MM: Final = 34.0


@dataclass(frozen=True, slots=True)
class Row:
    """A cable in one space: what stands at its left end, the lanes it joins, and what it measures there."""

    space: str
    text: str
    cable: str
    length: str
    joins: tuple[str, ...]
    """Lanes: ``hole <name>`` or ``cable <name>``."""
    through: bool = False


def rows_of(plan: Plan) -> list[Row]:
    """All rows, space by space from front to rear, device by device."""
    found: list[Row] = []
    for planned in plan.cables:
        if planned.route is not None:
            found += [*_ends(plan, planned, planned.route), *_transits(plan, planned, planned.route)]
    order = {space: k for k, space in enumerate(_spaces(plan))}
    return sorted(
        found, key=lambda row: (order[row.space], row.through, natural(row.text), natural(row.cable))
    )


def _ends(plan: Plan, planned: PlannedCable, route: Route) -> Iterator[Row]:
    lengths, cable = Lengths(plan.job.length_unit), planned.cable
    first, last = f"cable {cable.name}", f"cable {cable.name}"
    near, far = route.length_m, route.length_m
    if route.passages:
        first, last = f"hole {route.passages[0].name}", f"hole {route.passages[-1].name}"
        near, far = route.passages[0].at_route_m, route.length_m - route.passages[-1].at_route_m
    for port_name, lane, length in ((cable.from_port, first, near), (cable.to_port, last, far)):
        port = plan.job.port(port_name)
        yield Row(
            space=plan.job.device_of(port_name).space,
            text=f"{port_text(port)} ({port.termination or 'bare'})",
            cable=cable.name,
            length=lengths.text(length),
            joins=(lane,),
        )


def _transits(plan: Plan, planned: PlannedCable, route: Route) -> Iterator[Row]:
    for one, two in pairwise(route.passages):
        yield Row(
            space=one.to_space,
            text="passes through",
            cable=planned.cable.name,
            length=Lengths(plan.job.length_unit).text(two.at_route_m - one.at_route_m),
            joins=(f"hole {one.name}", f"hole {two.name}"),
            through=True,
        )


def _spaces(plan: Plan) -> list[str]:
    """By how far to the rear each begins; the list of the job decides between equals."""
    named = {s.name: min(box.low_m[0] for box in s.boxes) for s in plan.job.spaces}
    for planned in plan.cables:
        for space in () if planned.route is None else planned.route.spaces:
            named.setdefault(space, float("inf"))
    for device in plan.job.devices:
        named.setdefault(device.space, float("inf"))
    return sorted(named, key=lambda name: named[name])


def lanes_of(rows: Sequence[Row]) -> dict[str, int]:
    """The upright line of each hole and of each cable within a space: no two that overlap on the same one."""
    spans: dict[str, tuple[int, int]] = {}
    for k, row in enumerate(rows):
        for lane in row.joins:
            spans[lane] = (spans.get(lane, (k, k))[0], k)
    local = {lane: span for lane, span in spans.items() if lane.startswith("cable ")}
    found = _packed(local, 0)
    # what stays within a space is near the rows, holes are further right
    return found | _packed(
        {k: v for k, v in spans.items() if k not in local}, max(found.values(), default=-1) + 1
    )


def _packed(spans: dict[str, tuple[int, int]], first: int) -> dict[str, int]:
    taken: list[int] = []
    found = {}
    for lane in sorted(spans, key=lambda name: (spans[name], natural(name))):
        start, end = spans[lane]
        place = next((p for p, last in enumerate(taken) if last < start), len(taken))
        taken[place:] = [end, *taken[place + 1 :]]
        found[lane] = first + place
    return found


def harness(plan: Plan) -> tuple[list[Mark], tuple[float, float]]:
    """The diagram and its size. [mm]"""
    rows = rows_of(plan)
    lanes = lanes_of(rows)
    holes = [lane for lane in lanes if lane.startswith("hole ")]
    holes.sort(key=lambda lane: (lanes[lane], natural(lane)))
    cards = hole_numbers(plan)  # the same number as on the card of the hole
    number = {lane: str(cards.get(lane.removeprefix("hole "), 0) or "?") for lane in holes}
    wide = max(WIDE_MM, _END_MM + _LABEL_MM + _LANE_MM * (max(lanes.values(), default=0) + 2))
    heads = len({row.space for row in rows})
    high = 8 + heads * (HEAD_MM + 1.5) + len(rows) * ROW_MM + 8 + len(holes) * 4.2 + 6
    return list(_marks(plan, rows, lanes, number, (wide, high))), (wide, high)


def _marks(
    plan: Plan,
    rows: Sequence[Row],
    lanes: dict[str, int],
    number: dict[str, str],
    size_mm: tuple[float, float],
) -> Iterator[Mark]:
    wide, high = size_mm
    yield Text(
        0, high - 5, 3.6, shortened(f"Harness, laid flat: {plan.job.title}", wide, 3.6, bold=True), bold=True
    )
    at, spaces = _heights(rows, high)
    for space, y in spaces:
        yield Line(0, y - 1.2, wide, y - 1.2, 0.3)
        yield Text(0, y, 3.0, shortened(space, wide, 3.0, bold=True), bold=True)
    lane_x = {lane: _END_MM + _LABEL_MM + _LANE_MM * (place + 0.5) for lane, place in lanes.items()}
    for lane, x in lane_x.items():
        ys = [at[k] for k, row in enumerate(rows) if lane in row.joins]
        hole = lane in number
        yield Line(x, max(ys), x, min(ys), 0.4 + (0.22 * (_users(rows, lane)) if hole else 0.0))
        if hole:
            yield Circle(x, max(ys) + 1.7, 1.7, 0.4)
            yield Text(x, max(ys) + 0.9, 2.4, number[lane], "middle", bold=True)
    for k, row in enumerate(rows):
        y, ends = at[k], sorted(lane_x[lane] for lane in row.joins)
        start = _END_MM if len(ends) == 1 else ends[0]
        yield Text(0, y - 0.8, _TEXT_MM, shortened(row.text, _END_MM - 2, _TEXT_MM))
        yield Line(start, y, ends[-1], y, 0.25)
        if len(ends) == 1:
            yield Line(start, y - 0.8, start, y + 0.8, 0.6)
        yield Text(
            _END_MM + 1, y + 0.5, _TEXT_MM, shortened(f"{row.cable}  {row.length}", _LABEL_MM, _TEXT_MM)
        )
        for x in ends:
            yield Circle(x, y, 0.35, 0.7)
    yield from _legend(plan, rows, number, wide)


def _heights(rows: Sequence[Row], high: float) -> tuple[list[float], list[tuple[str, float]]]:
    y, at, spaces, before = high - 8.0, [], [], None
    for row in rows:
        if row.space != before:
            y -= HEAD_MM
            spaces.append((row.space, y + 2.2))
            y -= 1.5
            before = row.space
        y -= ROW_MM
        at.append(y)
    return at, spaces


def _users(rows: Iterable[Row], lane: str) -> int:
    return len({row.cable for row in rows if lane in row.joins})


def _legend(plan: Plan, rows: Sequence[Row], number: dict[str, str], wide: float) -> Iterator[Mark]:
    holes = {f"hole {h.pass_through.name}": h for h in plan.holes}
    y = len(number) * 4.2 + 4
    for lane, short in sorted(number.items(), key=lambda pair: natural(pair[1])):
        cables = sorted({row.cable for row in rows if lane in row.joins}, key=natural)
        hole = holes.get(lane)
        size = "" if hole is None else f", {millimetres(hole.pass_through.diameter_m)}"
        size += ", TO DRILL" if hole is not None and to_drill(plan, hole) else ""
        told = f"hole {short}: {lane.removeprefix('hole ')}{size}: {count(len(cables), 'cable')}, {', '.join(cables)}"
        yield Text(0, y, _TEXT_MM, shortened(told, wide, _TEXT_MM))
        y -= 4.2
    yield Text(
        0,
        2,
        2.2,
        _LENGTHS,
    )
