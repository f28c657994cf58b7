"""All that is to be said of one hole before it is drilled.

Stage      drilling
Units      m
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from routecut.drilling.behind import REACH_M, look, passed
from routecut.drilling.judge import sides, too_close
from routecut.drilling.scene import Scene
from routecut.drilling.size import GROMMET_WALL_M, Passing, hole_size
from routecut.drilling.tapes import fix
from routecut.drilling.words import towards
from routecut.model.body import Floats
from routecut.model.drilling import DrillCard, HoleSide, Outline, TapeFix
from routecut.model.job import Exposure, PassThrough, vec3
from routecut.units import format_length

STOP_SPARE_M: Final = 0.003
"""The pilot's point comes out this far (common practice, no source). [m]"""

POINT_SHARE: Final = 0.30
"""Length of the point of a 118 degree twist drill, of its diameter: 1 / (2 tan 59 degrees)."""

MARGIN_M: Final = 0.005
"""Kept from what lies behind by a stop and by the tip of a screw (common practice, no source). [m]"""

TEMPLATE_M: Final = 0.085
"""Half the width of a template: it fits on A4 and on letter paper. [m]"""

_NEAR_PLANE_M: Final = 0.02
_GAPS_MATTER_M: Final = 0.3


def make_card(
    scene: Scene,
    hole: PassThrough,
    spaces: tuple[str, str],
    passing: Sequence[Passing],
) -> DrillCard:
    """The card of a hole that is to be drilled.

    Parameters
    ----------
    scene : Scene
    hole : PassThrough
    spaces : (str, str)
        Against its axis, and along it.
    passing : sequence of Passing
        The cables that will go through it.
    """
    job = scene.job
    at, axis = np.array(hole.position.at_m), np.array(hole.axis)
    drilled = hole.diameter_m + 2 * GROMMET_WALL_M
    low, high = look(scene, at, axis, diameter_m=drilled, depth_m=hole.depth_m, spaces=spaces)
    near, far, refused = sides(scene, low, high)
    reasons = [*([refused] if refused else []), *too_close(scene, at, drilled / 2)]
    faces = passed(scene, at, near.out, hole.depth_m)
    rules = [scene.body.rules[int(scene.body.face_part[f])] for f in faces]
    parts = list(dict.fromkeys(scene.part_of(f) for f in faces))
    thickness = sum(r.thickness_m for r in rules)
    first = rules[0].thickness_m if rules else 0.0
    size = hole_size(
        hole.diameter_m,
        passing,
        thickness_m=first,
        sheets=max(1, len(faces)),
        in_use_m=hole.in_use_m,
        unit=job.length_unit,
    )
    mark = at + near.face_m * np.array(near.out)
    taped, no_fix = fix(scene, mark, np.array(near.out), near.space)
    notes = _notes(scene, hole, (near, far), mark, parts)
    marked = near
    if taped is None:
        # what can't be measured from outside may be from inside: the pilot carries the place through
        there = at + far.face_m * np.array(far.out)
        taped, _ = fix(scene, there, np.array(far.out), far.space)
        if taped is not None:
            marked, mark = far, there
            notes.insert(
                0,
                f"From {near.space} too few landmarks are in sight: mark it in {far.space}, drill the pilot from "
                f"there, square to the panel and with the stop on, then open it up from {near.space}.",
            )
            if near.met is None:
                notes.insert(1, f"Look first where the pilot comes out, in {near.space}.")
            no_fix = ""
    # a double sheet: its skins are apart by what the mesh says, each as thick as the job says
    through = max(near.face_m + far.face_m, 0.0) + (thickness if len(faces) < 2 else first)
    return DrillCard(
        name=hole.name,
        at_m=hole.position.at_m,
        axis=hole.axis,
        parts=tuple(parts),
        cables=tuple(p.name for p in passing),
        material=", ".join(dict.fromkeys(r.material for r in rules if r.material)),
        thickness_m=thickness,
        near=near,
        far=far,
        size=size,
        fix=taped,
        no_fix=no_fix,
        stop_m=_stop(through, far, size.pilot_m),
        stop_first_m=_stop_first(through, first, size.pilot_m) if len(faces) > 1 else 0.0,
        longest_screw_m=_screw(near, far, first, double=len(faces) > 1),
        refused="; ".join(reasons) or None,
        trust=_trust(scene, taped),
        outline=_outline(scene, hole, marked, mark),
        notes=tuple(notes),
    )


def _stop(through_m: float, far: HoleSide, pilot_m: float) -> float:
    """Through the metal, the point and a little more, but never to what lies behind."""
    point = through_m + POINT_SHARE * pilot_m + STOP_SPARE_M
    if far.met is None:
        return point
    return min(point, through_m + max(far.met.free_m - MARGIN_M, 0.0))


def _stop_first(through_m: float, sheet_m: float, pilot_m: float) -> float:
    """Through the first of several sheets, the point and a little more, but never to the next one."""
    point = sheet_m + POINT_SHARE * pilot_m + STOP_SPARE_M
    return max(min(point, through_m - sheet_m - MARGIN_M), sheet_m)


def _screw(near: HoleSide, far: HoleSide, sheet_m: float, *, double: bool) -> float | None:
    """Longest screw under its head, from the side drilled from; None where nothing is known behind."""
    if double:  # it holds in the first skin and stays off the second
        return max(sheet_m + near.face_m + far.face_m - MARGIN_M, 0.0)
    if far.around is None:
        return None
    return max(sheet_m + far.around.free_m - MARGIN_M, 0.0)


def _trust(scene: Scene, taped: TapeFix | None) -> str:
    """How far the position can be trusted, with the figures why."""
    vehicle, unit = scene.job.vehicle, scene.job.length_unit
    if vehicle.worst_scale_error == 0 and vehicle.point_error_m == 0:
        return "The job states no error of its 3D model: the place is as good as the tape, if that is true."
    stated = (
        f"scale within {100 * vehicle.worst_scale_error:.2g} %, points within "
        f"{format_length(vehicle.point_error_m, unit)}, two in three"
    )
    if taped is None:
        return f"The 3D model ({stated}) is good for lengths, not for a hole: measure this place again on the vehicle."
    longest = max(t.distance_m for t in taped.tapes)
    long, short = (format_length(a, unit, "up") for a in taped.model_axes_m)
    return (
        f"Good for lengths, not for a hole: over tapes of up to {format_length(longest, unit)} the 3D model ({stated}) "
        f"has this place within {long} one way and {short} across that way, 19 times in 20. Measure it again on the "
        "vehicle."
    )


def _notes(
    scene: Scene, hole: PassThrough, on: tuple[HoleSide, HoleSide], mark: Floats, parts: Sequence[str]
) -> list[str]:
    near, far = on
    job, unit, notes = scene.job, scene.job.length_unit, []
    drilled = hole.diameter_m + 2 * GROMMET_WALL_M
    may = {scene.body.parts[i] for i, r in enumerate(scene.body.rules) if r.drill}
    barred = [p for p in parts if p not in may]
    if not parts:
        notes.append("No sheet of the 3D model lies at this place: check at, axis and depth.")
    if barred:
        notes.append(f"The job does not say that {', '.join(barred)} may be drilled (drill = true).")
    wanted = job.drilling.edge_distance_diameters * drilled
    edge = float(scene.edge_distance_m(mark[None])[0])
    if edge < wanted:
        notes.append(
            f"An edge or a fold is {format_length(edge, unit, 'down')} from the middle; "
            f"{format_length(wanted, unit)} are wanted ({job.drilling.edge_distance_diameters:g} diameters)."
        )
    for side in (near, far):
        for name, distance in side.trim:
            if distance < 0.3:
                notes.append(
                    f"In {side.space} {name} is {format_length(distance, unit, 'down')} off the panel: "
                    "it comes off first."
                )
    if 0 < far.seen < 1 and far.met is not None and far.met.free_m < _GAPS_MATTER_M:
        notes.append(
            f"Only {100 * far.seen:.0f} % of the lines through the hole met anything in {far.space} within "
            f"{format_length(REACH_M, unit)}: the 3D model may have gaps there."
        )
    wet = [s.name for s in job.spaces if s.name in (near.space, far.space) and Exposure.WET in s.exposure]
    if wet:
        notes.append(
            f"{' and '.join(wet)} gets wet: seal it, the gap round the cables in the grommet "
            "too (a cable gland, or a closed grommet cut to fit them), and keep a drip loop below it."
        )
    return notes


def _outline(scene: Scene, hole: PassThrough, side: HoleSide, mark: Floats) -> Outline:
    """Edges, folds and other holes within a template, as seen from the side it is marked on."""
    out = np.array(side.out)
    # upright panels stand on the paper as on the vehicle; level ones point to the front
    wanted = np.array([0.0, 0.0, 1.0]) if abs(out[2]) < 0.7 else np.array([-1.0, 0.0, 0.0])
    up = wanted - (wanted @ out) * out
    up /= np.linalg.norm(up)
    across = np.cross(up, out)
    frame = np.vstack([across, up])
    lines = []
    ends, _ = scene.edges
    off = ends - mark
    close = (np.abs(off @ out) < _NEAR_PLANE_M).all(axis=1)
    for start, end in off[close] @ frame.T:
        clipped = _clipped(start, end)
        if clipped is not None:
            lines.append(clipped)
    holes = []
    for other in scene.job.pass_throughs:
        way = np.array(other.position.at_m) - mark
        x, y = frame @ way
        if (
            other.name != hole.name
            and max(abs(x), abs(y)) < TEMPLATE_M
            and abs(way @ out) < 0.05 + other.depth_m
        ):
            holes.append((float(x), float(y), other.diameter_m, other.name))
    return Outline(
        across=vec3(across),
        up=vec3(up),
        across_word=towards(vec3(across)),
        up_word=towards(vec3(up)),
        lines=tuple(sorted(set(lines))),
        holes=tuple(sorted(holes)),
    )


def _clipped(start: Floats, end: Floats) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """The part of a line on the template, rounded to 0.01 mm; None when there is none."""
    low, high = 0.0, 1.0
    for a, b in zip(start, end - start, strict=True):
        for limit, sign in ((TEMPLATE_M, 1.0), (-TEMPLATE_M, -1.0)):
            room, rate = sign * (limit - a), sign * b
            if abs(rate) < 1e-12:
                if room < 0:
                    return None
            elif rate > 0:
                high = min(high, room / rate)
            else:
                low = max(low, room / rate)
    if low >= high:
        return None
    one, other = start + low * (end - start), start + high * (end - start)
    return (
        (round(float(one[0]), 5), round(float(one[1]), 5)),
        (round(float(other[0]), 5), round(float(other[1]), 5)),
    )
