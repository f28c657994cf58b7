"""A point from tape distances to known points (trilateration).

Stage      survey; plain numbers in, plain numbers out
Units      m
Source     closed form in the plane of the anchors (the textbook derivation), refined by
           non-linear least squares over all distances
Safe side  whatever leaves more than one answer is refused, not guessed: anchors in line,
           distances that can't meet, a mirror pair nobody has told apart
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from routecut.errors import RoutecutError
from routecut.model.job import Vec3, vec3
from routecut.units import format_length

Floats = npt.NDArray[np.float64]

# Anchors whose spread across their best line is less than this share of their spread along
# it count as being in one line: the answer would swing round it like a door.
_FLAT = 0.02
# Anchors that stand out of their common plane by less than this share leave a mirror pair
# that only a `side` can tell apart safely.
_COPLANAR = 0.01


class TapeError(RoutecutError):
    """Tape distances that give no point; the message says why and names the anchors."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fix:
    """A point found from tape distances. [m]

    Attributes
    ----------
    at_m : Vec3
    residual_m : float
        Root mean square of computed minus taped distance.
    worst : str
        The anchor whose distance fits worst.
    """

    at_m: Vec3
    residual_m: float
    worst: str


def trilaterate(
    names: Sequence[str],
    anchors_m: npt.ArrayLike,
    distances_m: npt.ArrayLike,
    *,
    sigma_m: float = 0.005,
    unit: str = "mm",
) -> tuple[Fix, ...]:
    """Every point that fits the distances: one, or a mirror pair.

    Parameters
    ----------
    names : sequence of str, n
        Of the anchors, for messages.
    anchors_m : array_like, shape (n, 3)
        Three or more known points, not in one line. [m]
    distances_m : array_like, shape (n,)
        Above zero. [m]
    sigma_m : float
        One-sigma error of a distance and of an anchor. [m]
    unit : str
        Unit of the lengths in messages.

    Returns
    -------
    tuple of Fix
        Best fit first. Two when both fit within the error: the mirror pair on either side
        of the plane of the anchors.

    Raises
    ------
    TapeError
        Fewer than three anchors, anchors in one line, or two distances that can't meet.

    Examples
    --------
    >>> pair = trilaterate("ABC", [[0, 0, 0], [8, 0, 0], [0, 12, 0]], [7, 9, 11])
    >>> sorted(tuple(round(v, 6) for v in fix.at_m) for fix in pair)
    [(2.0, 3.0, -6.0), (2.0, 3.0, 6.0)]
    """
    anchors = np.asarray(anchors_m, dtype=np.float64)
    distances = np.asarray(distances_m, dtype=np.float64)
    if len(anchors) < 3:
        raise TapeError(f"{len(anchors)} distances are given; three or more are needed")
    # Two anchors in one place have no line between them: each pair is looked at first.
    _refuse_apart(names, anchors, distances, sigma_m, unit)
    middle = anchors.mean(axis=0)
    _, spread, frame = np.linalg.svd(anchors - middle)
    if spread[1] < _FLAT * spread[0] or spread[0] < 1e-6:
        raise TapeError(
            f"the landmarks {_listed(names)} lie in one line, so the point could be anywhere on a circle; "
            "tape it from a landmark off that line too"
        )
    flat = len(anchors) == 3 or spread[2] < _COPLANAR * spread[0]
    starts = _closed_form(anchors, distances, frame, middle, flat=flat)
    fits = sorted(
        (_refine(names, anchors, distances, start) for start in starts), key=lambda fix: fix.residual_m
    )
    best = fits[0]
    apart = 2 * sigma_m
    others = [fix for fix in fits[1:] if np.linalg.norm(np.subtract(fix.at_m, best.at_m)) > apart]
    # The mirrored point is a second answer only if the tape can't tell it from the first.
    near_best = max(3 * sigma_m, 3 * best.residual_m)
    return (best, *[fix for fix in others if fix.residual_m <= near_best][:1])


def _refuse_apart(
    names: Sequence[str], anchors: Floats, distances: Floats, sigma_m: float, unit: str
) -> None:
    slack = 3 * np.sqrt(2) * sigma_m
    for i, j in combinations(range(len(anchors)), 2):
        between = float(np.linalg.norm(anchors[i] - anchors[j]))
        total, difference = distances[i] + distances[j], abs(distances[i] - distances[j])
        apart = format_length(between, unit)
        said = f"{names[i]!r} and {names[j]!r} are {apart} apart, but the distances to them"
        if between > total + slack:
            raise TapeError(f"{said} add up to only {format_length(total, unit)}; one of the two is wrong")
        if difference > between + slack:
            raise TapeError(f"{said} differ by {format_length(difference, unit)}; one of the two is wrong")


def _closed_form(
    anchors: Floats, distances: Floats, frame: Floats, middle: Floats, *, flat: bool
) -> list[Floats]:
    """Starting points: both sides of the plane of the anchors, and the linear solution."""
    local = (anchors - middle) @ frame.T
    squares = (local**2).sum(axis=1) - distances**2
    # |p - a|^2 = d^2, less its mean over the anchors, is linear in p
    matrix = 2 * (local - local.mean(axis=0))
    right = squares - squares.mean()
    in_plane = np.linalg.lstsq(matrix[:, :2], right, rcond=None)[0]
    out = distances**2 - ((local[:, :2] - in_plane) ** 2).sum(axis=1)
    # a start exactly in the plane would have no slope to either side
    height = max(float(np.sqrt(max(out.mean(), 0.0))), 1e-3)
    starts = [np.array([*in_plane, height]), np.array([*in_plane, -height])]
    if not flat:
        full = np.linalg.lstsq(matrix, right, rcond=None)[0]
        starts += [full, full * [1, 1, -1]]
    return [start @ frame + middle for start in starts]


def _refine(names: Sequence[str], anchors: Floats, distances: Floats, start: Floats) -> Fix:
    def misfit(point: Floats) -> Floats:
        found: Floats = np.linalg.norm(point - anchors, axis=1) - distances
        return found

    solved = least_squares(misfit, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    left = misfit(solved.x)
    return Fix(
        at_m=vec3(solved.x),
        residual_m=float(np.sqrt(np.mean(left**2))),
        worst=names[int(np.argmax(np.abs(left)))],
    )


def _listed(names: Sequence[str]) -> str:
    return ", ".join(repr(name) for name in names)
