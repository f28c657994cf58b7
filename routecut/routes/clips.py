"""Clips: where a finished way hangs free for too long, it is fetched down to a panel near its middle.

Units      m
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from routecut.geometry.triangles import unit
from routecut.model.job import vec3
from routecut.routes.polyline import in_steps, points_at, running_m
from routecut.routes.search import CLIP_M
from routecut.routes.strands import Strand
from routecut.routes.surface import Surface
from routecut.routes.turning import Blocked

_STEP_M = 0.01
_HELD = 1.3
"""A point within this many stand-offs of a panel can be clipped to it."""

_FETCH_M = 0.08
"""Panels further off than this are not for a clip."""

_MIDDLE = 0.15
"""A clip leaves at least this share of the span on either side of it."""

_LEAD = 1.5
"""From so many bend radii before a clip the way leads to it."""


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a strand without a panel to clip to.

    Attributes
    ----------
    from_m, to_m : float
        Running lengths of its ends.
    middle_m : (3,) floats
    """

    from_m: float
    to_m: float
    middle_m: tuple[float, float, float]


def longest_span_m(strand: Strand, bridge_m: float) -> float:
    """How long a stretch in free air may be: the job's bridge, or what a bend alone takes up."""
    return max(bridge_m, 4 * strand.bend_m, 3 * strand.stand_off_m)


def spans(surface: Surface, strand: Strand, longest_m: float) -> list[Span]:
    """Stretches in free air that are longer than allowed."""
    at, curve = in_steps(strand.points_m, _STEP_M)
    near = surface.sheets.near(curve, _HELD * strand.stand_off_m)
    held = np.zeros(len(at), dtype=bool)
    held[near.point[surface.panels[near.face]]] = True
    held[[0, -1]] = True
    found = []
    for a, b in pairwise(np.flatnonzero(held).tolist()):
        if at[b] - at[a] > longest_m:
            found.append(Span(float(at[a]), float(at[b]), vec3(curve[(a + b) // 2])))
    return found


def _clip(surface: Surface, strand: Strand, span: Span, blocked: Blocked) -> Strand | None:
    """The strand with one clip within a span, as a short pinned piece at the stand-off; None when there is no place."""
    run = running_m(strand.points_m)
    length = span.to_m - span.from_m
    at = np.arange(span.from_m + _MIDDLE * length, span.to_m - _MIDDLE * length, _STEP_M)
    if not len(at):
        return None
    curve = points_at(at, run, strand.points_m)
    near = surface.sheets.near(curve, np.full(len(at), _FETCH_M))
    rows = np.flatnonzero(surface.panels[near.face])
    points, first = np.unique(near.point[rows], return_index=True)
    rows = rows[first]
    # Nearest first; of equals, the one nearer to the middle.
    off_middle = np.abs(at[points] - (span.from_m + span.to_m) / 2)
    for k in np.lexsort((off_middle, np.round(near.distance_m[rows] + off_middle / 10, 4))).tolist():
        here, row = float(at[points[k]]), rows[k]
        away = unit((curve[points[k]] - near.at_m[row])[None])[0]
        place = near.at_m[row] + away * strand.stand_off_m
        lead = max(_LEAD * strand.bend_m, CLIP_M)
        ends = points_at(np.array([max(0.0, here - lead), min(run[-1], here + lead)]), run, strand.points_m)
        along = ends[1] - ends[0]
        along = unit((along - (along @ away) * away)[None])[0] * CLIP_M / 2
        before = int(np.searchsorted(run, here - lead, side="right")) - 1
        after = int(np.searchsorted(run, here + lead))
        if before < 1 or after > len(run) - 2 or strand.pinned[before + 1 : after].any():
            continue
        piece = np.stack([place - along, place + along])
        way = np.concatenate(
            [strand.points_m[before : before + 1], piece, strand.points_m[after : after + 1]]
        )
        if blocked(way[:-1], way[1:]).any():
            continue
        return strand.with_points(
            np.concatenate([strand.points_m[: before + 1], piece, strand.points_m[after:]]),
            np.concatenate([strand.pinned[: before + 1], [True, True], strand.pinned[after:]]),
            np.concatenate([strand.free[:before], [True, False, True], strand.free[after:]]),
        )
    return None


def add_clips(surface: Surface, strand: Strand, longest_m: float, blocked: Blocked) -> Strand | None:
    """The strand with a clip in each stretch that hangs free for too long; None when none can be placed.

    Parameters
    ----------
    surface : Surface
    strand : Strand
        After its bends; they have to be rounded again at the clips.
    longest_m : float
        Allowed in free air.
    blocked : callable
        See `turning.Blocked`.
    """
    result = None
    for span in reversed(spans(surface, strand, longest_m)):
        clipped = _clip(surface, strand, span, blocked)
        if clipped is not None:
            strand = result = clipped
    return result
