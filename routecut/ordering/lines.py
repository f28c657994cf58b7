"""The order list of one job: what, how much, for which cables, and why."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from routecut.model.job import Job
from routecut.model.plan import OrderLine, PlannedCable
from routecut.ordering.leads import needed_length_m
from routecut.units import format_length


def order_lines(*, job: Job, cables: Sequence[PlannedCable]) -> tuple[OrderLine, ...]:
    """Everything to order for the cables that have a cut length.

    Parameters
    ----------
    job : Job
    cables : sequence of PlannedCable
        Those without a route or a cut length order nothing.

    Returns
    -------
    tuple of OrderLine
        Cable by the metre, ready-made leads, terminations, grommets; in that order, each
        by name.
    """
    planned = sorted((c for c in cables if c.route is not None and c.cut is not None), key=_name)
    return (
        *_reels(job, [c for c in planned if not c.cable.ready_made]),
        *_leads(job, [c for c in planned if c.cable.ready_made]),
        *_terminations(job, [c for c in planned if not c.cable.ready_made]),
        *_grommets(job, planned),
    )


def _name(planned: PlannedCable) -> str:
    return planned.cable.name


def _reels(job: Job, planned: list[PlannedCable]) -> list[OrderLine]:
    by_type: dict[str, list[PlannedCable]] = defaultdict(list)
    for cable in planned:
        by_type[cable.cable.type.name].append(cable)
    lines = []
    for name in sorted(by_type):
        cuts = [(c.cable.name, c.cut.length_m) for c in by_type[name] if c.cut is not None]
        total = math.fsum(length for _, length in cuts)
        why = "cut lengths " + ", ".join(f"{n} {format_length(m, job.length_unit, 'up')}" for n, m in cuts)
        reels = sorted({s.reel_m for s in job.stock if s.type == name and s.reel_m})
        if reels:
            why += f"; {_reel_text(job, reels, [m for _, m in cuts])}"
        lines.append(
            OrderLine(what=name, quantity=total, unit="m", for_cables=tuple(n for n, _ in cuts), why=why)
        )
    return lines


def _reel_text(job: Job, reels: list[float], cuts: list[float]) -> str:
    """How many reels of the smallest size that holds the longest cut, each cut in one piece."""
    fitting = [reel for reel in reels if reel >= max(cuts) - 1e-9]
    if not fitting:
        return (
            f"no reel holds the longest cut ({format_length(max(cuts), job.length_unit, 'up')}); "
            f"the longest holds {format_length(reels[-1], job.length_unit, 'down')}"
        )
    # longest first, each into the first reel with room: never fewer reels than are needed
    left: list[float] = []
    for cut in sorted(cuts, reverse=True):
        at = next((k for k, rest in enumerate(left) if rest >= cut - 1e-9), None)
        if at is None:
            left.append(fitting[0] - cut)
        else:
            left[at] -= cut
    plural = "reel" if len(left) == 1 else "reels"
    return f"{len(left)} {plural} of {format_length(fitting[0], job.length_unit)}, every cut in one piece"


def _leads(job: Job, planned: list[PlannedCable]) -> list[OrderLine]:
    by_lead: dict[tuple[str, float], list[PlannedCable]] = defaultdict(list)
    for cable in planned:
        for length in cable.lead.lengths_m if cable.lead is not None else ():
            by_lead[cable.cable.type.name, length].append(cable)
    unit = job.length_unit
    lines = []
    for name, length in sorted(by_lead):
        users = by_lead[name, length]
        needs = ", ".join(
            f"{c.cable.name} needs {format_length(needed_length_m(c.cut), unit, 'up')}"
            for c in users
            if c.cut is not None
        )
        lines.append(
            OrderLine(
                what=f"{name}, ready-made lead {format_length(length, unit)}",
                quantity=float(len(users)),
                unit="piece",
                for_cables=tuple(sorted({c.cable.name for c in users})),
                why=f"the shortest stock length that reaches: {needs}",
            )
        )
    return lines


def _terminations(job: Job, planned: list[PlannedCable]) -> list[OrderLine]:
    ends: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for cable in planned:
        for end in (cable.cable.from_port, cable.cable.to_port):
            termination = job.port(end).termination
            if termination:
                ends[termination].append((cable.cable.name, end))
    return [
        OrderLine(
            what=what,
            quantity=float(len(ends[what])),
            unit="piece",
            for_cables=tuple(sorted({name for name, _ in ends[what]})),
            why="at " + ", ".join(f"{end} ({name})" for name, end in ends[what]),
        )
        for what in sorted(ends)
    ]


def _grommets(job: Job, planned: list[PlannedCable]) -> list[OrderLine]:
    users: dict[str, list[str]] = defaultdict(list)
    for cable in planned:
        for passage in cable.route.passages if cable.route is not None else ():
            users[passage.name].append(cable.cable.name)
    return [
        OrderLine(
            what=f"grommet for a {format_length(hole.diameter_m, job.length_unit)} hole",
            quantity=1.0,
            unit="piece",
            for_cables=tuple(sorted(set(users[hole.name]))),
            why=f"{hole.name}, {hole.state}: every hole a cable goes through is lined",
        )
        for hole in sorted(job.pass_throughs, key=lambda hole: hole.name)
        if hole.name in users
    ]
