"""Finding a hole on the real panel: which landmarks, how far, and how well that places it.

Stage      drilling
Units      m
Method     arcs of straight tapes on the plane of the panel, linearised at the hole: with J the
           share of a step on the panel that each tape feels, the mark is off by (J'WJ)^-1 J'W
           times the errors of the tapes (least squares)
Safe side  a landmark that a straight tape does not reach is not used; errors of the mesh are
           told beside those of the tape, not hidden in them
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np

from routecut.drilling.scene import Scene
from routecut.drilling.words import place, towards
from routecut.geometry.triangles import plane_axes
from routecut.model.body import Floats
from routecut.model.drilling import CHI95, Taped, TapeFix
from routecut.units import format_length

TAPE_SIGMA_M: Final = 0.003
"""One-sigma error of a straight tape up to `SHORT_M` (common practice, no source: 3 to 5 mm). [m]"""

SHORT_M: Final = 2.0
TAPE_SIGMA_LONG: Final = 0.0015
"""Of a longer one, as a share of its length (common practice, no source)."""

LONGEST_M: Final = 3.5
"""No longer tape is held straight by one person (common practice, no source). [m]"""

SHORTEST_M: Final = 0.040
GOOD_ENOUGH_M: Final = 0.005
"""Where the mark would be further off than this (root mean square), a better landmark is named. [m]"""

_SKIN_M: Final = 0.005
_LANDMARK_M: Final = 0.020
"""A landmark is a thing, not a point: the last bit of the tape lies on it. [m]"""

_CORNER_M: Final = 0.002
"""A corner of the mesh is a point: what lies closely behind a sheet is not in sight. [m]"""

_MOST: Final = 10
_THIRD_PAYS: Final = 0.90
"""A third tape is asked for where it brings the long axis below this share."""

_PARALLEL: Final = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """Tapes to landmarks as a plane panel feels them.

    Attributes
    ----------
    distance_m : (n,) float64
    slope : (n, 2) float64
        Change of each distance for a step on the panel along its two axes.
    sigma_m : (n,) float64
        Of the tape.
    """

    distance_m: Floats
    slope: Floats
    sigma_m: Floats

    def of(self, rows: Sequence[int]) -> Reading:
        """Some of the tapes."""
        chosen = list(rows)
        return Reading(self.distance_m[chosen], self.slope[chosen], self.sigma_m[chosen])


def tape_sigma_m(distance_m: Floats) -> Floats:
    """One-sigma error of straight tapes, (n,). [m]"""
    return np.maximum(TAPE_SIGMA_M, np.where(distance_m > SHORT_M, TAPE_SIGMA_LONG * distance_m, 0.0))


def read(landmarks_m: Floats, at_m: Floats, axis: Floats) -> Reading:
    """What tapes from landmarks to a place on a panel say.

    Parameters
    ----------
    landmarks_m : (n, 3) float64
    at_m, axis : (3,) float64
        The place, and the unit normal of the panel there.
    """
    off = at_m - landmarks_m
    distance = np.linalg.norm(off, axis=1)
    across, up = plane_axes(axis)
    slope = off @ np.column_stack([across, up]) / np.maximum(distance, 1e-9)[:, None]
    return Reading(distance, slope, tape_sigma_m(distance))


def spread(reading: Reading, point_m: float = 0.0, scale: float = 0.0) -> Floats | None:
    """Covariance of the mark on the panel, (2, 2); None where the arcs do not cross. [m2]

    Parameters
    ----------
    reading : Reading
        Two tapes or more.
    point_m : float
        One-sigma error of each landmark in the model. [m]
    scale : float
        One-sigma scale error of the model, common to all distances. [-]
    """
    j, weight = reading.slope, 1 / reading.sigma_m**2
    normal = j.T @ (weight[:, None] * j)
    if np.linalg.eigvalsh(normal)[0] * reading.sigma_m.max() ** 2 < _PARALLEL**2:
        return None
    gain = np.linalg.solve(normal, j.T * weight)
    error = np.diag(reading.sigma_m**2 + point_m**2) + scale**2 * np.outer(
        reading.distance_m, reading.distance_m
    )
    return np.asarray(gain @ error @ gain.T)


def half_axes(covariance: Floats) -> tuple[float, float, Floats]:
    """Half axes of the 95 % ellipse, long one first, and the direction of the long one. [m]"""
    value, vector = np.linalg.eigh(covariance)
    short, long = CHI95 * np.sqrt(np.maximum(value, 0.0))
    return float(long), float(short), vector[:, 1]


def choose(reading: Reading) -> tuple[int, ...] | None:
    """Rows of the two or three tapes with the shortest long axis; None where no arcs cross.

    Three are taken only where they place the mark better by a tenth.
    """

    def long(rows: tuple[int, ...]) -> float:
        covariance = spread(reading.of(rows))
        return float("inf") if covariance is None else half_axes(covariance)[0]

    count = len(reading.distance_m)
    best: dict[int, tuple[float, tuple[int, ...]]] = {
        size: min((long(rows), rows) for rows in combinations(range(count), size))
        for size in (2, 3)
        if count >= size
    }
    if not best or not np.isfinite(best[2][0]):
        return None
    if 3 in best and best[3][0] < _THIRD_PAYS * best[2][0]:
        return best[3][1]
    return best[2][1]


def in_sight(
    scene: Scene, landmarks_m: Floats, at_m: Floats, out: Floats, *, short_m: float = _LANDMARK_M
) -> np.ndarray:
    """Whether a straight tape reaches from each landmark to the place, on the side `out`, (n,) bool."""
    eye = at_m + _SKIN_M * out
    lift = _SKIN_M + scene.job.vehicle.point_error_m
    seen = np.zeros(len(landmarks_m), dtype=bool)
    for raised in (landmarks_m, landmarks_m + lift * out):
        way = raised - eye
        length = np.linalg.norm(way, axis=1)
        short = np.maximum(length - short_m, 0.5 * length) / np.maximum(length, 1e-9)
        seen |= ~scene.sheets.blocked(np.repeat(eye[None], len(way), 0), eye + short[:, None] * way)
    return seen


def fix(scene: Scene, at_m: Floats, out: Floats, space: str) -> tuple[TapeFix | None, str]:
    """How to find a place from one side of its panel.

    Parameters
    ----------
    scene : Scene
    at_m : (3,) float64
        Where the axis of the hole meets the panel: what is marked. [m]
    out : (3,) float64
        Unit normal of the panel, to the side the tape is held on.
    space : str
        Of that side.

    Returns
    -------
    TapeFix or None
    str
        Why there is none.
    """
    job = scene.job
    names = [m.name for m in job.landmarks]
    points = np.array([m.position.at_m for m in job.landmarks]).reshape(-1, 3)
    length = np.linalg.norm(points - at_m, axis=1)
    within = (length <= LONGEST_M) & (length >= SHORTEST_M)
    seen = within & in_sight(scene, points, at_m, out) if len(points) else within
    rows = sorted(np.flatnonzero(seen).tolist(), key=lambda i: (length[i], names[i]))[:_MOST]
    reading = read(points[rows], at_m, out)
    chosen = choose(reading)
    if chosen is None:
        told = ", ".join(names[i] for i in rows) or "none"
        better = _better(scene, points[rows], at_m, out, float("inf"))
        return None, (
            f"from {space} a straight tape reaches too few landmarks (in sight: {told})" + f"; {better}"
        )
    own = reading.of(chosen)
    covariance = spread(own)
    model = spread(own, job.vehicle.point_error_m, job.vehicle.worst_scale_error)
    assert covariance is not None  # noqa: S101  chosen because its arcs cross
    assert model is not None  # noqa: S101
    long, short, direction = half_axes(covariance)
    across, up = plane_axes(out)
    along = direction[0] * across + direction[1] * up
    check, within_m = _check(reading, chosen, direction, model, job.vehicle.point_error_m)
    used = [rows[i] for i in chosen]
    found = TapeFix(
        tapes=tuple(
            Taped(landmark=names[i], distance_m=float(length[i]), sigma_m=float(s))
            for i, s in zip(used, own.sigma_m, strict=True)
        ),
        check=None
        if check is None
        else Taped(
            landmark=names[rows[check]],
            distance_m=float(length[rows[check]]),
            sigma_m=float(reading.sigma_m[check]),
        ),
        check_within_m=within_m,
        crossing_deg=_crossing_deg(own.slope),
        which=_which(points[used], at_m, out) if len(used) == 2 else "",
        axes_m=(long, short),
        long_axis=(float(along[0]), float(along[1]), float(along[2])),
        model_axes_m=half_axes(model)[:2],
        from_space=space,
        better=_better(scene, points[used], at_m, out, float(np.sqrt(np.trace(covariance))))
        if np.sqrt(np.trace(covariance)) > GOOD_ENOUGH_M
        else "",
    )
    return found, ""


def _crossing_deg(slope: Floats) -> float:
    """The best angle at which two arcs cross on the panel, 90 at most. [deg]"""
    unit = slope / np.linalg.norm(slope, axis=1)[:, None]
    sine = [abs(float(a[0] * b[1] - a[1] * b[0])) for a, b in combinations(unit, 2)]
    return float(np.degrees(np.arcsin(min(max(sine), 1.0))))


def _which(points_m: Floats, at_m: Floats, axis: Floats) -> str:
    """Towards what the right one of two crossings lies from the wrong one."""
    flat = points_m - ((points_m - at_m) @ axis)[:, None] * axis
    line = flat[1] - flat[0]
    size = float(line @ line)
    foot = flat[0] + line * float((at_m - flat[0]) @ line) / size if size > 0 else flat[0]
    return towards(at_m - foot)


def _check(
    reading: Reading, chosen: tuple[int, ...], weak: Floats, model: Floats, point_m: float
) -> tuple[int | None, float]:
    """The tape that would show an error best, and how far off it may be: three sigma. [m]"""
    left = [i for i in range(len(reading.distance_m)) if i not in chosen]
    best = max(
        left,
        key=lambda i: abs(float(reading.slope[i] @ weak)) / float(reading.sigma_m[i]),
        default=None,
    )
    if best is None:
        return None, 0.0
    slope = reading.slope[best]
    variance = float(slope @ model @ slope) + float(reading.sigma_m[best]) ** 2 + point_m**2
    return best, 3 * float(np.sqrt(variance))


def _better(scene: Scene, points_m: Floats, at_m: Floats, out: Floats, rms_m: float) -> str:
    """What would place the mark better: a corner of the body as a landmark, or that there is none."""
    corners = scene.corners
    length = np.linalg.norm(corners - at_m, axis=1)
    near = np.flatnonzero((length > 0.15) & (length < SHORT_M))
    near = near[np.argsort(length[near], kind="stable")][:60]
    near = near[in_sight(scene, corners[near], at_m, out, short_m=_CORNER_M)]
    unit = scene.job.length_unit
    if not len(near):
        return "no corner of the body is in sight: choose a landmark at right angles to the first tape"
    together = np.concatenate([points_m, corners[near]])
    reading, own = read(together, at_m, out), list(range(len(points_m)))
    best: tuple[float, tuple[int, ...]] = (rms_m, ())
    sets = (
        [(i,) for i in range(len(near))]
        if np.isfinite(rms_m) or len(points_m)
        else list(combinations(range(min(len(near), 25)), 2))
    )
    for added in sets:
        covariance = spread(reading.of([*own, *(len(points_m) + i for i in added)]))
        if covariance is not None:
            best = min(best, (round(float(np.sqrt(np.trace(covariance))), 5), added))
    if not best[1] or best[0] > 0.85 * rms_m:
        return "no corner of the body in sight does better: measure twice, and from the other side as well"
    _, _, face = scene.sheets.closest(corners[near[list(best[1])]], 0.02)
    told = " and ".join(
        f"the corner of {scene.part_of(int(f))} at {place(corners[near[i]], unit)}"
        for i, f in zip(best[1], face, strict=True)
    )
    return f"with {told} as a landmark 6 of 10 marks would lie within {format_length(best[0], unit, 'up')}"
