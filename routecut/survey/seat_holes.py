"""Puts each pass-through onto the sheet it passes.

Stage      survey, with the mesh
Units      m, degrees in messages
Safe side  what no sheet is found for is kept as given, with a warning
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt

from routecut.geometry.triangles import plane_axes
from routecut.model.finding import Severity
from routecut.model.job import Job, PassThrough, vec3
from routecut.survey.faults import Collector
from routecut.survey.sheets import Hits, Sheets
from routecut.units import format_length

REACH_M: Final = 0.060
"""A sheet is looked for this far from the place that was given, or as far as `depth`."""

STEEPEST_DEG: Final = 60.0
"""A sheet whose normal is further than this off the stated axis does not turn the axis."""

_RING_RAYS: Final = 12
_RING: Final = 1.25
_FEWEST_OF_RING: Final = 5
_SAME_SHEET_M: Final = 0.001
# A pressed panel is not quite flat round a hole.
_ONE_PLANE_M: Final = 0.003
_TELL_MOVED_M: Final = 0.002
_TELL_TURNED_DEG: Final = 5.0
# The hole itself is open in the mesh when its rim is this much nearer than what shows through.
_RIM_NEARER_M: Final = 0.005

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Seat:
    along_m: float
    axis: Floats
    others_m: tuple[float, ...] = ()


def seat_pass_throughs(job: Job, sheets: Sheets, collector: Collector) -> tuple[PassThrough, ...]:
    """Every pass-through on its sheet, its axis square to it where it has no depth."""
    return tuple(_seated(hole, sheets, job, collector) for hole in job.pass_throughs)


def _seated(hole: PassThrough, sheets: Sheets, job: Job, collector: Collector) -> PassThrough:
    centre, axis = np.array(hole.position.at_m), np.array(hole.axis)
    tolerance = 3 * job.vehicle.point_error_m
    seat = _find(hole, sheets, centre, axis, tolerance)
    table = f'[[pass_through]] "{hole.name}"'
    unit = job.length_unit
    if seat is None:
        reach = format_length(max(REACH_M, hole.depth_m), unit)
        collector.add(
            "pass-through-unseated",
            f"No sheet was found within {reach} of {hole.name!r} along its axis; it is kept as given. "
            "Check at and axis.",
            severity=Severity.WARNING,
            table=table,
            key="at",
            allowed=f"a point within {reach} of a panel or trim",
        )
        return hole
    new_axis = seat.axis if hole.depth_m == 0 and _angle(seat.axis, axis) <= STEEPEST_DEG else axis
    turned = _angle(new_axis, axis)
    if abs(seat.along_m) > _TELL_MOVED_M or turned > _TELL_TURNED_DEG:
        collector.add(
            "pass-through-seated",
            f"{hole.name!r} was moved {format_length(abs(seat.along_m), unit)} along its axis onto the sheet"
            + (
                f" and turned by {turned:.0f} degrees to stand square to it."
                if turned > _TELL_TURNED_DEG
                else "."
            ),
            severity=Severity.NOTE,
            table=table,
            key="at",
            found=format_length(abs(seat.along_m), unit),
        )
    if hole.depth_m == 0 and seat.others_m:
        further = format_length(min(seat.others_m, key=abs), unit).lstrip("-")
        collector.add(
            "pass-through-seated",
            f"Another sheet lies {further} from the one {hole.name!r} passes; if the hole goes through both, "
            "give depth.",
            severity=Severity.WARNING,
            table=table,
            key="depth",
            found="0",
            allowed=f"{further} or more, if it passes both sheets",
        )
    at = centre + seat.along_m * axis
    return replace(hole, position=replace(hole.position, at_m=vec3(at)), axis=vec3(new_axis))


def _find(
    hole: PassThrough, sheets: Sheets, centre: Floats, axis: Floats, tolerance_m: float
) -> _Seat | None:
    reach = max(REACH_M, hole.depth_m)
    across, up = plane_axes(axis)
    turns = np.arange(_RING_RAYS) * (2 * np.pi / _RING_RAYS)
    radius = _RING * hole.diameter_m / 2
    around = radius * np.column_stack([np.cos(turns), np.sin(turns)])
    places = np.vstack([centre, centre + around @ np.vstack([across, up])])
    # the nearest sheet must be within reach, the others of a deep passage up to its depth beyond
    hits = sheets.along(places, np.broadcast_to(axis, places.shape), reach + hole.depth_m)
    hits = _beginning_within(hits, reach)
    middle = _at_centre(hits, hole.depth_m, tolerance_m)
    rim = _at_rim(hits, around, np.vstack([axis, across, up]), hole.depth_m, tolerance_m)
    if middle is None or (rim is not None and abs(rim.along_m) + _RIM_NEARER_M < abs(middle.along_m)):
        return rim
    return middle


def _beginning_within(hits: Hits, reach_m: float) -> Hits:
    """The hits of those lines that meet their nearest sheet within a reach."""
    near = np.unique(hits.line[np.abs(hits.along_m) <= reach_m])
    kept = np.isin(hits.line, near)
    return Hits(line=hits.line[kept], along_m=hits.along_m[kept], normal=hits.normal[kept])


def _at_centre(hits: Hits, depth_m: float, tolerance_m: float) -> _Seat | None:
    on_axis = hits.line == 0
    along = hits.along_m[on_axis]
    if not len(along):
        return None
    nearest = int(np.abs(along).argmin())
    if depth_m > 0:
        return _Seat(along_m=_middle(along, depth_m + tolerance_m), axis=hits.normal[on_axis][nearest])
    others = along - along[nearest]
    return _Seat(
        along_m=float(along[nearest]),
        axis=hits.normal[on_axis][nearest],
        others_m=tuple(float(v) for v in others if abs(v) > _SAME_SHEET_M),
    )


def _at_rim(hits: Hits, around: Floats, frame: Floats, depth_m: float, tolerance_m: float) -> _Seat | None:
    """The sheet round an open hole, from parallel lines just outside its edge.

    `around` are their offsets in the plane square to the axis; `frame` is the axis and
    the two directions of that plane, (3, 3).
    """
    lines, along = [], []
    for line in range(1, _RING_RAYS + 1):
        own = hits.along_m[hits.line == line]
        if len(own):
            lines.append(line - 1)
            along.append(_middle(own, depth_m + tolerance_m) if depth_m > 0 else own[np.abs(own).argmin()])
    if len(along) < _FEWEST_OF_RING:
        return None
    height, offsets = np.array(along), around[lines]
    fit = _plane(height, offsets)
    if fit is None:
        return None
    flat, slope_across, slope_up = fit
    normal = frame[0] - slope_across * frame[1] - slope_up * frame[2]
    return _Seat(along_m=float(flat), axis=normal / np.linalg.norm(normal))


def _plane(height: Floats, offsets: Floats) -> Floats | None:
    """Height in the middle and the two slopes of the plane that most lines agree on.

    Where the hole is not quite where it is said to be, some lines slip through it and
    meet something behind; every three lines propose a plane, and those near the best one
    settle it.
    """
    matrix = np.column_stack([np.ones(len(height)), offsets])
    size = float(np.linalg.norm(offsets[0]))
    best: tuple[int, float] = (0, 0.0)
    agreed: npt.NDArray[np.bool_] | None = None
    for three in combinations(range(len(height)), 3):
        rows = matrix[list(three)]
        if abs(np.linalg.det(rows)) < 0.1 * size * size:  # nearly in one line
            continue
        plane = np.linalg.solve(rows, height[list(three)])
        if math.hypot(plane[1], plane[2]) > math.tan(math.radians(STEEPEST_DEG)):
            continue
        near = np.abs(matrix @ plane - height) <= _ONE_PLANE_M
        score = (int(near.sum()), -round(abs(float(plane[0])), 6))
        if score > best:
            best, agreed = score, near
    if agreed is None or best[0] < _FEWEST_OF_RING:
        return None
    return np.asarray(np.linalg.lstsq(matrix[agreed], height[agreed], rcond=None)[0], dtype=np.float64)


def _middle(along: Floats, window_m: float) -> float:
    """Halfway between the outermost sheets that a passage of this length can hold.

    Of all windows that hold the sheet nearest to the given place, the one with most
    sheets counts, then the one whose middle is nearest.
    """
    nearest = along[np.abs(along).argmin()]
    best = (0, 0.0, float(nearest))
    for start in np.sort(along):
        held = along[(along >= start) & (along <= start + window_m)]
        if nearest not in held:
            continue
        middle = float(held.min() + held.max()) / 2
        best = max(best, (len(held), -abs(middle), middle))
    return best[2]


def _angle(a: Floats, b: Floats) -> float:
    """Angle between two unit vectors. [deg]"""
    return math.degrees(math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b)))
