"""Windows: stretches of strands that are cut out, laid anew with even points, and pasted back.

Units      m
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from routecut.model.body import Floats
from routecut.routes.polyline import points_at, running_m
from routecut.routes.strands import Bools, Strand

_SAME_M = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """A stretch of a strand.

    Attributes
    ----------
    owner : int
        Which strand it was cut from.
    first, last : int
        The points of that strand it replaces, both included.
    strand : Strand
        The stretch. Two points at either end that is not a port are pinned, so that the
        curve goes on as it was.
    """

    owner: int
    first: int
    last: int
    strand: Strand


def cut(strand: Strand, owner: int, span_m: tuple[float, float], step_m: float) -> Window:
    """The window over a span of running length, with points about `step_m` apart.

    The strand has to have points at the ends of the span (`marked`), or windows might overlap.
    """
    points, pinned = strand.points_m, strand.pinned.copy()
    run = running_m(points)
    first, last = (int(np.abs(run - end).argmin()) for end in span_m)
    ends = []
    for end, inward in ((first, 1), (last, -1)):
        pinned[end] = True
        if end not in (0, len(points) - 1):
            # One step of the old direction stays, so that the curve goes on as it was.
            ends.append(run[end] + inward * min(step_m, abs(run[end + inward] - run[end])))
    window = strand.with_points(points[first : last + 1], pinned[first : last + 1], strand.free[first:last])
    for at in ends:
        window = _pin_at(window, at - run[first])
    return Window(owner, first, last, even(window, step_m))


def _pin_at(strand: Strand, at_m: float) -> Strand:
    """The strand with a pinned point at a running length."""
    strand = marked(strand, [at_m])
    pinned = strand.pinned.copy()
    pinned[int(np.abs(running_m(strand.points_m) - at_m).argmin())] = True
    return strand.with_points(strand.points_m, pinned, strand.free)


def marked(strand: Strand, at_m: Sequence[float]) -> Strand:
    """The same way with points at the running lengths given, so that a window may begin or end there."""
    for at in sorted(set(at_m)):
        run = running_m(strand.points_m)
        if np.abs(run - at).min() < _SAME_M:
            continue
        leg = int(np.clip(np.searchsorted(run, at) - 1, 0, len(run) - 2))
        share = (at - run[leg]) / (run[leg + 1] - run[leg])
        point = strand.points_m[leg] + share * (strand.points_m[leg + 1] - strand.points_m[leg])
        strand = strand.with_points(
            np.insert(strand.points_m, leg + 1, point, axis=0),
            np.insert(strand.pinned, leg + 1, strand.pinned[leg] and strand.pinned[leg + 1]),
            np.insert(strand.free, leg + 1, strand.free[leg]),
        )
    return strand


def even(strand: Strand, step_m: float) -> Strand:
    """Points evenly spaced between pinned ones, about `step_m` apart; what lies straight between two pins stays."""
    points, pinned = strand.points_m, strand.pinned
    run = running_m(points)
    marks = np.flatnonzero(pinned)
    grid: list[Floats] = [run[marks[:1]]]
    flags: list[Bools] = [np.ones(1, dtype=bool)]
    count = [0]
    for first, last in pairwise(marks.tolist()):
        length = float(run[last] - run[first])
        pieces = max(1, int(np.ceil(length / step_m - 1e-6)))
        grid.append(np.linspace(run[first], run[last], pieces + 1)[1:])
        # Neighbouring pins are a straight piece through metal or behind a connector: all of it is pinned.
        flags.append(np.full(pieces, last == first + 1))
        count.append(count[-1] + pieces)
    at = np.concatenate(grid)
    laid = points_at(at, run, points)
    laid[count] = points[marks]
    fixed = np.concatenate(flags)
    fixed[count] = True
    middle = (at[1:] + at[:-1]) / 2
    leg = np.clip(np.searchsorted(run, middle, side="right") - 1, 0, len(points) - 2)
    return strand.with_points(laid, fixed, strand.free[leg])


def in_passage(strand: Strand) -> Bools:
    """Pinned points between the ends of a window: in a passage, where sheets are let pass. (n,) bool."""
    inside = np.zeros(len(strand.points_m), dtype=bool)
    inside[1:-1] = strand.pinned[1:-1]
    return inside


def _stays(strand: Strand, end: int, inner: int, point_m: Floats) -> bool:
    """Whether the second pin of a window is its strand's, or on a straight piece of it, not for the window alone."""
    if not strand.pinned[inner]:
        return False
    return bool(strand.pinned[end] or np.linalg.norm(strand.points_m[inner] - point_m) < _SAME_M)


def paste(strands: Sequence[Strand], windows: Sequence[Window]) -> list[Strand]:
    """The strands with the windows in the places they were cut from."""
    result = list(strands)
    for window in sorted(windows, key=lambda w: (w.owner, w.first), reverse=True):
        strand, laid = result[window.owner], window.strand
        first, last = window.first, window.last
        pinned = laid.pinned.copy()
        # Window ends are only pinned for the window; ports and passages stay pinned.
        pinned[0], pinned[-1] = strand.pinned[first], strand.pinned[last]
        if first > 0:
            pinned[1] &= _stays(strand, first, first + 1, laid.points_m[1])
        if last < len(strand.points_m) - 1:
            pinned[-2] &= _stays(strand, last, last - 1, laid.points_m[-2])
        result[window.owner] = strand.with_points(
            np.concatenate([strand.points_m[:first], laid.points_m, strand.points_m[last + 1 :]]),
            np.concatenate([strand.pinned[:first], pinned, strand.pinned[last + 1 :]]),
            np.concatenate([strand.free[:first], laid.free, strand.free[last:]]),
        )
    return result
