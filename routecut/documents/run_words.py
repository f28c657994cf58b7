"""The run of a cable in words: what a hand meets from one end to the other."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from routecut.documents.figures import Lengths, count
from routecut.documents.part_words import spoken
from routecut.documents.pull_words import Clip, clips_along
from routecut.documents.reading import fitted_text, natural
from routecut.model.plan import Covered, Plan, PlannedCable, Route
from routecut.model.running import along, curve_m

_FREE_FROM_M: Final = 0.05
"""A gap between two clipped stretches is told from this length on."""

_SAMPLED_M: Final = 0.030
"""Parts are told by samples so far apart: the verifier's longest span may look longer by it."""

_BEHIND_FROM_M: Final = 0.05
"""A stretch is behind trim where this much of it is."""

_NO_TRIM: Final = "no trim over it"


@dataclass(frozen=True, slots=True)
class Step:
    """One step: running length as printed, its first words, and the rest."""

    at: str
    strong: str
    rest: str


def run_steps(plan: Plan, planned: PlannedCable) -> list[Step]:
    """The steps of a route in the order of its running length.

    Parameters
    ----------
    plan : Plan
    planned : PlannedCable
        With a route.

    Returns
    -------
    list of Step
        From the `from` port to the `to` port; running lengths are from the `from` port.
    """
    route = planned.route
    if route is None:
        return []
    told = _Told(plan, planned)
    placed = [*_parts(told, route), *_holes(told, route), *_hinges(told, route)]
    placed += _joints(told)
    placed.sort(key=lambda entry: (entry[0], entry[1]))
    first = _end(plan, planned, planned.cable.from_port, told.at(0.0), "start at ")
    last = _end(plan, planned, planned.cable.to_port, told.lengths.text(route.length_m), "end at ")
    return [first, *(step for _, _, step in placed), last]


Placed = tuple[float, int, Step]


class _Told:
    """A cable of a plan, and its running lengths as they are printed."""

    def __init__(self, plan: Plan, planned: PlannedCable) -> None:
        self.plan, self.planned = plan, planned
        self.lengths = Lengths(plan.job.length_unit)
        self.spaces = [space.name for space in plan.job.spaces]
        self.along = along(planned)

    def at(self, at_m: float) -> str:
        """A place along the cable, with its unit."""
        return self.lengths.text(self.along(at_m))

    def number(self, at_m: float) -> str:
        """The same without its unit."""
        return self.lengths.number(self.along(at_m))

    def span(self, start_m: float, end_m: float) -> str:
        """From one place to another."""
        return f"{self.number(start_m)} to {self.number(end_m)} {self.lengths.column_unit}"

    def spoken(self, part: str) -> str:
        """A part as one says it."""
        return spoken(part, spaces=self.spaces)

    def behind(self, trims: Iterable[str]) -> str:
        """What trim lies over a piece, in words."""
        return f"behind {' and '.join(dict.fromkeys(self.spoken(trim) for trim in trims))}"


def free_spans(route: Route) -> list[tuple[float, float]]:
    """The stretches with nothing to clip to, from and to along the curve. [m]"""
    spans, before, end_m = [], 0.0, curve_m(route)
    for _, start, end in (*route.parts, ("", end_m, end_m)) if route.parts else ():
        if start - before > _FREE_FROM_M:
            spans.append((before, start))
        before = max(before, end)
    return spans


def _parts(told: _Told, route: Route) -> Iterator[Placed]:
    planned = told.planned
    name = planned.cable.name
    clips = clips_along(told.plan, name)
    for part, start, end in route.parts:
        pieces = pieces_of(planned.covered, start, end)
        for a, b, trims in pieces:
            words = [told.behind(trims)] if trims else [_NO_TRIM] if len(pieces) > 1 else []
            words += _clips(told, [(at, c) for at, c in clips if a <= at and (at < b or at <= b == end)])
            rest = f": {', '.join(words)}" if words else ""
            yield a, 2, Step(told.span(a, b), told.spoken(part), rest)
    for start, end in free_spans(route):
        longest_m = planned.verified.longest_span_m if planned.verified is not None else math.inf
        hangs = end - start <= longest_m + _SAMPLED_M
        why = ": nothing to clip to" if hangs else _in_passing(told, start, end)
        yield start, 2, Step(told.span(start, end), "free span", why + _trim_over(told, start, end))


def _trim_over(told: _Told, start_m: float, end_m: float) -> str:
    """The trim over a free span, and over which piece of it where that is not all."""
    words = []
    for a, b, trims in pieces_of(told.planned.covered, start_m, end_m):
        if trims:
            words.append(
                f", {told.behind(trims)}" + ("" if (a, b) == (start_m, end_m) else f" {told.span(a, b)}")
            )
    return "".join(words)


Piece = tuple[float, float, tuple[str, ...]]
"""From and to along the curve [m], and the trim over it."""


def pieces_of(covered: Sequence[Covered], start_m: float, end_m: float) -> list[Piece]:
    """A stretch cut where trim over it begins or ends; what is shorter than `_BEHIND_FROM_M` goes with its neighbour.

    A piece that is too short stays where it is all that tells of its trim.

    Examples
    --------
    >>> lining = Covered(trim="lining", from_m=0.4, to_m=0.7, minutes=1.0)
    >>> pieces_of([lining], 0.0, 1.0)
    [(0.0, 0.4, ()), (0.4, 0.7, ('lining',)), (0.7, 1.0, ())]
    >>> pieces_of([lining], 0.38, 0.71)
    [(0.38, 0.71, ('lining',))]
    """
    over = [c for c in covered if min(c.to_m, end_m) - max(c.from_m, start_m) > _BEHIND_FROM_M]
    inside = {at for c in over for at in (c.from_m, c.to_m) if start_m < at < end_m}
    exact = [
        (a, b, tuple(c.trim for c in over if c.from_m <= a and c.to_m >= b))
        for a, b in pairwise((start_m, *sorted(inside), end_m))
    ]
    long = {trim for a, b, trims in exact if b - a >= _BEHIND_FROM_M for trim in trims}
    kept = [p for p in exact if p[1] - p[0] >= _BEHIND_FROM_M or set(p[2]) - long] or exact
    pieces: list[Piece] = []
    for _, end, trims in kept:
        begins = pieces[-1][1] if pieces else start_m
        if pieces and pieces[-1][2] == trims:
            begins = pieces.pop()[0]
        pieces.append((begins, end, trims))
    return [*pieces[:-1], (pieces[-1][0], end_m, pieces[-1][2])]


def _in_passing(told: _Told, start_m: float, end_m: float) -> str:
    """Where the verifier found a stretch held that is too short to be told as clipped, and what hangs free."""
    verified = told.planned.verified
    spans = verified.free_spans_m if verified is not None else ()
    inside = [(a, b) for a, b in spans if b > start_m and a < end_m and b - a > _FREE_FROM_M]
    held = [(b, c) for (_, b), (c, _) in pairwise(inside)]
    # what is held right beside a part it is clipped to belongs to that part
    edges = [(start_m, inside[0][0]), (inside[-1][1], end_m)] if inside else []
    held += [(b, c) for b, c in edges if c - b > _FREE_FROM_M]
    touched = [told.at(b) if c - b < _FREE_FROM_M else told.span(b, c) for b, c in sorted(held)]
    if not touched:
        return ": panels are touched in passing, too short to clip to"
    return (
        f": held in passing only, at {', '.join(touched)}, on a panel or in a hole; no more than "
        f"{told.lengths.up(max(b - a for a, b in inside))} hang free"
    )


_FEW: Final = 3
"""So many clips of a stretch are told one by one."""


def _clips(told: _Told, clips: list[tuple[float, Clip]]) -> list[str]:
    """How many clips a stretch has, where, and what else lies under them."""
    if not clips:
        return []
    places = [told.along(at) for at, _ in clips]
    unit = told.lengths.column_unit
    if len(clips) <= _FEW:
        where = f" at {', '.join(told.lengths.number(at) for at in places)} {unit}"
    else:
        apart = max(b - a for a, b in pairwise(places))
        where = f", the first at {told.lengths.text(places[0])}, then {told.lengths.up(apart)} apart or less"
    name = told.planned.cable.name
    mates = sorted({cable for _, clip in clips for cable, _ in clip.held if cable != name}, key=natural)
    if not mates:
        return [f"{count(len(clips), 'clip')}{where}"]
    shared = sum(len(clip.held) > 1 for _, clip in clips)
    which = "" if shared == len(clips) else f"{shared} of them "
    return [f"{count(len(clips), 'clip')}{where} ({which}with {', '.join(mates)})"]


def _holes(told: _Told, route: Route) -> Iterator[Placed]:
    for passage in route.passages:
        step = Step(
            told.at(passage.at_route_m),
            f"through {passage.name}",
            f": out of {passage.from_space}, into {passage.to_space}",
        )
        yield passage.at_route_m, 0, step


def _hinges(told: _Told, route: Route) -> Iterator[Placed]:
    for hinge in route.hinges:
        step = Step(told.at(hinge.at_route_m), f"hinge {hinge.name}", ": leave a loop, tie both sides")
        yield hinge.at_route_m, 1, step


def _joints(told: _Told) -> Iterator[Placed]:
    lead = told.planned.lead
    for joint in lead.joints if lead is not None else ():
        step = Step(
            told.at(joint.at_route_m), "joint", f" of two leads in {joint.space} (access: {joint.access})"
        )
        yield joint.at_route_m, 1, step


def _end(plan: Plan, planned: PlannedCable, port_name: str, at: str, verb: str) -> Step:
    port, device = plan.job.port(port_name), plan.job.device_of(port_name)
    lengths = Lengths(plan.job.length_unit)
    fitted = fitted_text(port, ready_made=planned.cable.ready_made)
    facts = [f"in {device.space}", fitted]
    if port.service_loop_m > 0.0:
        facts.append(f"service loop {lengths.text(port.service_loop_m)}")
    return Step(at, f"{verb}{port_name}", f" ({', '.join(facts)})")
