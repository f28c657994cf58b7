"""The run of a cable in words: what a hand meets from one end to the other."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from routecut.documents.figures import Lengths, count
from routecut.documents.part_words import spoken
from routecut.documents.pull_words import Clip, clips_along, clips_of
from routecut.documents.reading import fitted_text, natural
from routecut.model.plan import Plan, PlannedCable, Route

_FREE_FROM_M: Final = 0.05
"""A gap between two clipped stretches is told from this length on."""

_SAMPLED_M: Final = 0.030
"""Parts are told by samples so far apart: the verifier's longest span may look longer by it."""

_BEHIND_FROM_M: Final = 0.05
"""A stretch is behind trim where this much of it is."""


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
    lengths = Lengths(plan.job.length_unit)
    placed = [*_parts(plan, planned, route), *_holes(lengths, route), *_hinges(lengths, route)]
    placed += _joints(lengths, planned)
    placed.sort(key=lambda entry: (entry[0], entry[1]))
    first = _end(plan, planned, planned.cable.from_port, lengths.text(0.0), "start at ")
    last = _end(plan, planned, planned.cable.to_port, lengths.text(route.length_m), "end at ")
    return [first, *(step for _, _, step in placed), last]


Placed = tuple[float, int, Step]


def free_spans(route: Route) -> list[tuple[float, float]]:
    """The stretches with nothing to clip to, from and to in running length. [m]"""
    spans, before = [], 0.0
    for _, start, end in (*route.parts, ("", route.length_m, route.length_m)) if route.parts else ():
        if start - before > _FREE_FROM_M:
            spans.append((before, start))
        before = max(before, end)
    return spans


def _parts(plan: Plan, planned: PlannedCable, route: Route) -> Iterator[Placed]:
    lengths = Lengths(plan.job.length_unit)
    spaces = [space.name for space in plan.job.spaces]
    clips = clips_along(clips_of(plan), planned.cable.name)
    for part, start, end in route.parts:
        trims = dict.fromkeys(
            spoken(c.trim, spaces=spaces)
            for c in planned.covered
            if min(c.to_m, end) - max(c.from_m, start) > _BEHIND_FROM_M
        )
        told = [f"behind {' and '.join(trims)}"] if trims else []
        told += _clips(planned.cable.name, [clip for at, clip in clips if start <= at <= end])
        rest = f": {', '.join(told)}" if told else ""
        yield start, 2, Step(_span(lengths, start, end), spoken(part, spaces=spaces), rest)
    for start, end in free_spans(route):
        longest_m = planned.verified.longest_span_m if planned.verified is not None else math.inf
        hangs = end - start <= longest_m + _SAMPLED_M
        why = ": nothing to clip to" if hangs else _in_passing(lengths, planned, start, end)
        yield start, 2, Step(_span(lengths, start, end), "free span", why)


def _in_passing(lengths: Lengths, planned: PlannedCable, start_m: float, end_m: float) -> str:
    """Where the verifier found a stretch held that is too short to be told as clipped, and what hangs free."""
    spans = planned.verified.free_spans_m if planned.verified is not None else ()
    inside = [(a, b) for a, b in spans if b > start_m and a < end_m and b - a > _FREE_FROM_M]
    held = [(b, c) for (_, b), (c, _) in pairwise(inside)]
    # what is held right beside a part it is clipped to belongs to that part
    edges = [(start_m, inside[0][0]), (inside[-1][1], end_m)] if inside else []
    held += [(b, c) for b, c in edges if c - b > _FREE_FROM_M]
    touched = [lengths.text(b) if c - b < _FREE_FROM_M else _span(lengths, b, c) for b, c in sorted(held)]
    if not touched:
        return ": panels are touched in passing, too short to clip to"
    return (
        f": held in passing only, at {', '.join(touched)}, on a panel or in a hole; no more than "
        f"{lengths.up(max(b - a for a, b in inside))} hang free"
    )


def _clips(name: str, clips: list[Clip]) -> list[str]:
    """How many clips a stretch has, and what else lies under them."""
    if not clips:
        return []
    mates = sorted({cable for clip in clips for cable, _ in clip.held if cable != name}, key=natural)
    if not mates:
        return [count(len(clips), "clip")]
    shared = sum(len(clip.held) > 1 for clip in clips)
    which = "" if shared == len(clips) else f"{shared} of them "
    return [f"{count(len(clips), 'clip')} ({which}with {', '.join(mates)})"]


def _span(lengths: Lengths, start_m: float, end_m: float) -> str:
    return f"{lengths.number(start_m)} to {lengths.number(end_m)} {lengths.column_unit}"


def _holes(lengths: Lengths, route: Route) -> Iterator[Placed]:
    for passage in route.passages:
        step = Step(
            lengths.text(passage.at_route_m),
            f"through {passage.name}",
            f": out of {passage.from_space}, into {passage.to_space}",
        )
        yield passage.at_route_m, 0, step


def _hinges(lengths: Lengths, route: Route) -> Iterator[Placed]:
    for hinge in route.hinges:
        step = Step(lengths.text(hinge.at_route_m), f"hinge {hinge.name}", ": leave a loop, tie both sides")
        yield hinge.at_route_m, 1, step


def _joints(lengths: Lengths, planned: PlannedCable) -> Iterator[Placed]:
    for joint in planned.lead.joints if planned.lead is not None else ():
        step = Step(
            lengths.text(joint.at_route_m),
            "joint",
            f" of two leads in {joint.space} (access: {joint.access})",
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
