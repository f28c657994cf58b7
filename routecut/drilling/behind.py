"""What lies behind a panel: how far a drill may come out, and what it meets first.

Stage      drilling; on the full mesh and every keep-out
Units      m
Method     lines along the axis over the whole circle of the hole, 3 mm apart; for what is thinner
           than that, and for a drill that leans, the nearest places of every sheet to the axis;
           keep-outs by steps of their own distance, which can't jump over one
Safe side  the least distance counts. Where nothing is met within `REACH_M` nothing is known:
           the mesh may simply end there. What the job ignores is still met by a drill.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from routecut.drilling.scene import Scene, disc
from routecut.geometry.triangles import plane_axes
from routecut.model.body import Floats, Ints
from routecut.model.drilling import HoleSide, Met
from routecut.model.job import Reason, SurfaceKind

REACH_M: Final = 1.0
"""How far is looked. [m]"""

LEAN_DEG: Final = 10.0
"""How far off square a drill held by hand may lean (common practice, no source). [deg]"""

LEAN_REACH_M: Final = 0.100
"""Over which it may: longer drills are not used by hand on sheet. [m]"""

SLACK_M: Final = 0.005
"""A sheet this far beyond the stated depth is still the panel's: thickness, a pressed rim. [m]"""

SCREW_RING_M: Final = 0.025
"""Screws of glands and clips sit within this of the hole's rim (common practice, no source). [m]"""

DRILL_BODY_M: Final = 0.030
"""Half the width of a hand-held drill's body (common practice, no source). [m]"""

IGNORED: Final = "a part that the job ignores"

_APART_M: Final = 0.003
_STEP_M: Final = 1e-4
_MOST_SHEETS: Final = 14
_AXIS_STEP_M: Final = 0.001
_TOUCH_M: Final = 5e-5


def look(
    scene: Scene,
    at_m: npt.ArrayLike,
    axis: npt.ArrayLike,
    *,
    diameter_m: float,
    depth_m: float,
    spaces: tuple[str, str],
) -> tuple[HoleSide, HoleSide]:
    """Both sides of a hole.

    Parameters
    ----------
    scene : Scene
    at_m, axis : (3,) float
        Middle of the hole and unit vector along it.
    diameter_m : float
        Of the hole through the sheet. [m]
    depth_m : float
        Declared: sheets of panel and trim within it are passed, not met. [m]
    spaces : (str, str)
        On the side against the axis, and along it.

    Returns
    -------
    HoleSide, HoleSide
        Against the axis, and along it.
    """
    centre, along = np.array(at_m, dtype=np.float64), np.array(axis, dtype=np.float64)
    along = along / np.linalg.norm(along)
    return (
        _side(_View(scene, centre, -along, depth_m), diameter_m / 2, spaces[0]),
        _side(_View(scene, centre, along, depth_m), diameter_m / 2, spaces[1]),
    )


def passed(scene: Scene, at_m: npt.ArrayLike, out: npt.ArrayLike, depth_m: float) -> list[int]:
    """Faces of panel and trim that the axis of a hole goes through, from the side `out` inwards."""
    centre, towards = np.array(at_m, dtype=np.float64), np.array(out, dtype=np.float64)
    half = depth_m / 2 + SLACK_M
    found: list[int] = []
    t = -half
    while t < half and len(found) < _MOST_SHEETS:
        distance, face = scene.sheets.first_hit((centre - t * towards)[None], -towards[None], half - t)
        if not np.isfinite(distance[0]):
            break
        if scene.metal[face[0]]:
            found.append(int(face[0]))
        t += float(distance[0]) + _STEP_M
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """From the middle of a hole out of one side of its panel. [m]"""

    scene: Scene
    centre: Floats
    out: Floats
    depth: float


def _side(view: _View, radius: float, space: str) -> HoleSide:
    face, hits, trim = _straight(view, disc(radius, _APART_M))
    seen = float(np.mean([h is not None for h in hits])) if hits else 0.0
    found = [h for h in hits if h is not None]
    found += _beside(view, radius, face, np.tan(np.radians(LEAN_DEG)))
    kept = _keep_outs(view, radius, face)
    if kept:
        seen = 1.0
    ring = disc(radius + SCREW_RING_M, 2 * _APART_M, radius)
    _, around, _ = _straight(view, ring, face)
    wide = [h for h in around if h is not None]
    wide += _beside(view, radius + SCREW_RING_M, face, 0.0)
    kept_wide = _keep_outs(view, max(radius + SCREW_RING_M, DRILL_BODY_M), face, lean=False)
    body = disc(max(radius, DRILL_BODY_M), 2 * _APART_M)
    _, before, _ = _straight(view, body, face)
    room = [h.free_m for h in before if h is not None]
    # a seat can be moved out of the way of a drill, a tank can't
    room += [h.free_m for h in kept_wide if h.reason is not Reason.MOVING]
    return HoleSide(
        space=space,
        out=(float(view.out[0]), float(view.out[1]), float(view.out[2])),
        met=_first([*found, *kept]),
        around=_first([*found, *kept, *wide, *kept_wide]),
        approach_m=min(room, default=float("inf")),
        seen=seen,
        trim=tuple(sorted(trim.items(), key=lambda t: (t[1], t[0]))),
        face_m=face,
    )


def _first(found: Iterable[Met]) -> Met | None:
    """The nearest; of what is as near to a millimetre, a keep-out before a sheet: it has a reason."""
    return min(
        found,
        key=lambda m: (round(m.free_m, 3), m.reason is None, m.free_m, m.what),
        default=None,
    )


def _met_face(scene: Scene, face: int, free_m: float) -> Met:
    return Met(
        free_m=max(round(free_m, 5), 0.0),  # rays are answered to a micrometre or two
        what=scene.part_of(face),
        panel=scene.kind_of(face) is SurfaceKind.PANEL,
    )


def _straight(
    view: _View, offsets: Floats, face_m: float | None = None
) -> tuple[float, list[Met | None], dict[str, float]]:
    """Along the axis from every offset: where the panel ends on this side, what each line meets, trim.

    Returns
    -------
    float
        Position of the outermost sheet of the panel along `out`, from the centre. [m]
    list of (Met or None)
    dict of str to float
        Trim met before, with its distance. [m]
    """
    scene, centre, out, depth = view.scene, view.centre, view.out, view.depth
    across, up = plane_axes(out)
    half = depth / 2 + SLACK_M
    base = centre + offsets @ np.vstack([across, up])
    # each line is followed from the far end of the passage, sheet by sheet
    t = np.full(len(base), -half)
    alive = np.ones(len(base), dtype=bool)
    sheet = np.full(len(base), np.nan)
    hit = np.full(len(base), np.nan)
    hit_face = np.full(len(base), -1, dtype=np.int64)
    trims: list[tuple[float, int]] = []
    for _ in range(_MOST_SHEETS):
        rows = np.flatnonzero(alive)
        if not len(rows):
            break
        distance, face = scene.sheets.first_hit(
            base[rows] + t[rows, None] * out, np.repeat(out[None], len(rows), 0), REACH_M + 2 * half
        )
        at = t[rows] + distance
        met = np.isfinite(distance) & (at <= half + REACH_M)
        alive[rows[~met]] = False
        rows, at, face = rows[met], at[met], face[met]
        passed = scene.metal[face] & (at <= half)
        sheet[rows[passed]] = at[passed]
        # a thing on the other side of the sheet is the other side's to tell
        other = ~passed & (at < -_TOUCH_M) & ~scene.metal[face]
        soft = ~passed & ~other & scene.trim[face]
        trims += list(zip(at[soft].tolist(), face[soft].tolist(), strict=True))
        hard = ~passed & ~other & ~soft
        hit[rows[hard]], hit_face[rows[hard]] = at[hard], face[hard]
        alive[rows[hard]] = False
        t[rows] = at + _STEP_M
    if face_m is None:
        face_m = float(np.nanmax(sheet)) if np.isfinite(sheet).any() else depth / 2
    found: list[Met | None] = [
        _met_face(scene, int(f), float(h) - face_m) if f >= 0 else None
        for h, f in zip(hit, hit_face, strict=True)
    ]
    if scene.ignored is not None:
        distance, _ = scene.ignored.first_hit(
            base + face_m * out, np.repeat(out[None], len(base), 0), REACH_M
        )
        for i in np.flatnonzero(np.isfinite(distance)):
            before = found[i]
            if before is None or distance[i] < before.free_m:
                found[i] = Met(free_m=float(distance[i]), what=IGNORED)
    named: dict[str, float] = {}
    for at_m, f in trims:
        name = scene.part_of(f)
        named[name] = min(named.get(name, np.inf), max(at_m - face_m, 0.0))
    return face_m, found, named


def _lean(out: Floats, radius: float) -> tuple[Floats, Floats]:
    """Starts (relative to the centre) and directions of the leaning lines, (n, 3) each."""
    across, up = plane_axes(out)
    number = max(12, int(np.ceil(2 * np.pi * radius / _APART_M)))
    turn = np.arange(number) * 2 * np.pi / number
    rim = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * up
    slope = np.tan(np.radians(LEAN_DEG))
    towards = np.concatenate([out + s * slope * rim for s in (0.5, 1.0)])
    start = np.concatenate([radius * rim, radius * rim])
    return start, towards / np.linalg.norm(towards, axis=1)[:, None]


def _beside(view: _View, radius: float, face_m: float, slope: float) -> list[Met]:
    """What reaches into the hole's cylinder, or the cone of a leaning drill, however thin it is."""
    scene, centre, out, depth = view.scene, view.centre, view.out, view.depth
    along = np.arange(face_m + _AXIS_STEP_M, face_m + LEAN_REACH_M, _AXIS_STEP_M)
    points = centre + along[:, None] * out
    near = scene.sheets.near(points, radius + slope * (along - face_m))
    off = near.at_m - centre
    at = off @ out
    aside = np.linalg.norm(off - at[:, None] * out, axis=1)
    metal, trim = scene.metal[near.face], scene.trim[near.face]
    inside = aside <= radius + slope * np.maximum(at - face_m, 0.0)
    keep = inside & ~trim & ~(metal & (at <= depth / 2 + SLACK_M)) & (at > -_TOUCH_M)
    best: dict[int, float] = {}
    for f, d in zip(near.face[keep].tolist(), at[keep].tolist(), strict=True):
        best[f] = min(best.get(f, np.inf), d - face_m)
    return [_met_face(scene, f, d) for f, d in best.items()]


def _keep_outs(view: _View, radius: float, face_m: float, *, lean: bool = True) -> list[Met]:
    """The shapes of keep-outs (without clearance) on the way, each with its distance."""
    scene, centre, out = view.scene, view.centre, view.out
    across, up = plane_axes(out)
    base = centre + disc(radius, _APART_M) @ np.vstack([across, up]) + face_m * out
    towards = np.repeat(out[None], len(base), 0)
    reach = np.full(len(base), REACH_M)
    if lean:
        start, leaning = _lean(out, radius)
        base = np.concatenate([base, centre + start + face_m * out])
        towards = np.concatenate([towards, leaning])
        reach = np.concatenate([reach, LEAN_REACH_M / (leaning @ out)])
    cosine = towards @ out
    found = []
    for keep_out in scene.keep_outs:
        t = np.zeros(len(base))
        rows: Ints = np.arange(len(base))
        first = np.inf
        while len(rows):
            distance = keep_out.distance_m(base[rows] + t[rows, None] * towards[rows])
            touched = distance <= _TOUCH_M
            if touched.any():
                # what is left to the shape, or what the last step went into it, is set right
                first = min(first, float(((t[rows] + distance) * cosine[rows])[touched].min()))
            rows = rows[~touched]
            # a step of the distance can't jump over the shape; short steps would never end
            t[rows] += np.maximum(distance[~touched], _STEP_M)
            rows = rows[(t[rows] <= reach[rows]) & (t[rows] * cosine[rows] < first)]
        if np.isfinite(first):
            found.append(
                Met(free_m=max(round(first, 5), 0.0), what=keep_out.name, reason=keep_out.keep_out.reason)
            )
    return found
