"""Openings that a finished route goes through and nobody has tagged.

Where metal ends near the curve, the sheet round that place has a plane: the curve passes
from one side of it to the other. In that plane one looks round from there. What is seen
tells an opening from a free edge that the cable just goes round: of an opening, sheet
begins in nearly every direction and goes on outward from its rim; past the edge of a
shelf or a partition it does in less than half of them, and behind the mouth of a box the
sheet goes off sideways.

Units      m
Safe side  a doubtful opening is said; it is a warning and spoils no plan
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from routecut.model.body import Body, Floats, Ints
from routecut.model.finding import Finding, Severity
from routecut.model.job import Cable, Job
from routecut.model.plan import Route
from routecut.units import format_length
from routecut.verify.curve import Curve, make_curve, usable
from routecut.verify.faces import FaceIndex
from routecut.verify.passages import Tube
from routecut.verify.rims import Rims, rims_near
from routecut.verify.spaces import holder, neighbours

_STEP_M = 0.010
_REACH_M = 0.40  # from the curve to the nearest rim: half a bridge, and what it may sag
_AROUND_M = 1.5  # no larger opening is looked at
_LOOKS = 72
_FLAT = 0.35  # of their distance, rims may lie off the plane: panels are curved
_RIM = 0.60  # in this share of all directions sheet begins and goes on outward
_CLOSED = 0.95  # in this share sheet begins or stands
_OUTWARD = 0.5  # cosine
_NOT_FURTHER = 1.5  # what else closes an opening is not much further off than its rim
_BESIDE_M = 0.20  # of running length, within which the curve has to be on either side
_SIDES = 0.5  # of a stand-off, by which it has to be there
_BORDER_M = 0.15  # so far on either side of an opening it is known what space it is
_STIFF = 0.01  # what slope and bend of a panel cost in the fit, against its edges
_MOUTH_M = 0.03  # a pass-through this near along its axis is that of the opening


@dataclass(frozen=True, slots=True, eq=False)
class _Metal:
    """The faces of the full mesh, and the rims near the routes with a tree of their middles."""

    faces: FaceIndex
    rims: Rims
    tree: cKDTree


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Opening:
    """An opening and the cable that goes through it: middle [m], long and short width [m]."""

    cable: str
    at_m: Floats
    long_m: float
    short_m: float
    part: str


def untagged_gaps(*, job: Job, body: Body, routed: Sequence[tuple[Cable, Route]]) -> list[Finding]:
    """A warning for each opening that finished routes go through and no one has tagged.

    Tagged is what a pass-through lies in, what parts spaces that are open to each other,
    and what an ``[[opening]]`` confirms.
    """
    curves = [(cable, make_curve(route.points_m)) for cable, route in routed if usable(route.points_m)]
    if not curves:
        return []
    faces = FaceIndex(body.triangles_m)
    every = np.concatenate([curve.points_m for _, curve in curves])
    rims = rims_near(body, faces, every, _AROUND_M)
    if not len(rims.face):
        return []
    metal = _Metal(faces, rims, cKDTree(rims.middle_m))
    found = [
        opening
        for cable, curve in sorted(curves, key=lambda pair: pair[0].name)
        for opening in _of_curve(job, body, metal, cable, curve)
    ]
    findings = []
    while found:
        first = found[0]
        same = [o for o in found if np.linalg.norm(o.at_m - first.at_m) <= max(0.5 * first.long_m, 0.05)]
        findings.append(_finding(job, first, [o.cable for o in same]))
        found = [o for o in found if o not in same]
    return findings


def _finding(job: Job, opening: _Opening, cables: list[str]) -> Finding:
    x, y, z = (f"{1000 * v:.0f}" for v in opening.at_m)
    size = " x ".join(f"{5 * round(200 * side):.0f}" for side in (opening.long_m, opening.short_m)) + " mm"
    names = ", ".join(dict.fromkeys(cables))
    return Finding(
        code="untagged-gap",
        severity=Severity.WARNING,
        where=f"opening in {opening.part} at X {x}, Y {y}, Z {z} mm",
        message=(
            f"{names} {'go' if ',' in names else 'goes'} through an opening of about {size} that nobody has "
            "tagged. If it is there on the vehicle, confirm it: [[opening]] with this place as at, or a "
            "[[pass_through]]. If metal is missing in the mesh, close it there, or put a [[keep_out]] over it."
        ),
        table="cable",
        key=cables[0],
        found=size,
        allowed=f"an [[opening]] within {format_length(0.5 * opening.long_m, job.length_unit)} of its middle",
    )


def _of_curve(job: Job, body: Body, metal: _Metal, cable: Cable, curve: Curve) -> list[_Opening]:
    run = np.linspace(0.0, curve.length_m, max(2, int(np.ceil(curve.length_m / _STEP_M)) + 1))
    points = curve.at(run)
    near = np.isfinite(metal.tree.query(points, distance_upper_bound=_REACH_M)[0])
    normals, levels = np.zeros((len(points), 3)), np.zeros(len(points))
    if near.any():
        normals[near], levels[near] = _planes(points[near], metal)
    found: list[_Opening] = []
    for k in (int(k) for k in np.flatnonzero(near[:-1] & near[1:])):
        (normal, other), (level, beyond) = normals[k : k + 2], levels[k : k + 2]
        if normal @ other < 0:
            other, beyond = -other, -beyond
        here, there = float(normal @ points[k] - level), float(other @ points[k + 1] - beyond)
        if here * there > 0 or here == there:
            continue
        place = points[k] + here / (here - there) * (points[k + 1] - points[k])
        at = float(run[k])
        if not _changes_side(job, curve, at, normal, float(normal @ place)) or _tagged(job, place, normal):
            continue
        seen = _look_round(metal, place, normal)
        if seen is None:
            continue
        hits, part = seen
        middle, long_m, short_m = _size(hits)
        opening = _Opening(
            cable=cable.name,
            at_m=middle,
            long_m=long_m,
            short_m=short_m,
            part=body.parts[body.face_part[part]],
        )
        if not _confirmed(job, opening) and not any(
            np.linalg.norm(o.at_m - middle) <= 0.5 * o.long_m for o in found
        ):
            found.append(opening)
    return found


def _planes(points: Floats, metal: _Metal) -> tuple[Floats, Floats]:
    """Normal (n, 3) and level (n,) of the sheet whose edges are about each point, near ones counting most."""
    rims = metal.rims
    distance, rows = metal.tree.query(points, k=min(40, len(rims.face)))
    distance, rows = distance.reshape(len(points), -1), rows.reshape(len(points), -1)
    weight = 1.0 / (distance + 0.01) ** 2
    normal = rims.normal[rows]
    _, vectors = np.linalg.eigh(np.einsum("nk,nki,nkj->nij", weight, normal, normal))
    along = vectors[:, :, 2]
    # edges of what stands square to that sheet say nothing of its level
    weight = weight * np.einsum("nki,ni->nk", normal, along) ** 4
    off = rims.middle_m[rows] - points[:, None]
    across = off @ vectors[:, :, :2] / np.maximum(distance.mean(axis=1), 1e-6)[:, None, None]
    u, v = across[:, :, 0], across[:, :, 1]
    terms = np.stack([np.ones_like(u), u, v, u**2, u * v, v**2], axis=2)
    # a panel is bent: a parabola through its edges, where they lie so that they tell one
    ridge = weight.sum(axis=1)[:, None, None] * np.diag([0.0, *[_STIFF] * 5])
    weighed = weight[:, :, None] * terms
    square = np.einsum("nki,nkj->nij", weighed, terms) + ridge
    right = np.einsum("nki,nk->ni", weighed, np.einsum("nki,ni->nk", off, along))
    fit = np.linalg.solve(square, right[:, :, None])[:, 0, 0]
    return along, np.einsum("ni,ni->n", points, along) + fit


def _changes_side(job: Job, curve: Curve, at_m: float, normal: Floats, level: float) -> bool:
    """Whether the curve is clear of the plane on one side before, on the other after."""
    away = np.linspace(0.0, _BESIDE_M, 21)
    before = curve.at(at_m - away) @ normal - level
    after = curve.at(at_m + away) @ normal - level
    wanted = _SIDES * job.routing.stand_off_m
    there = before.min() < -wanted and after.max() > wanted
    back = before.max() > wanted and after.min() < -wanted
    return bool(there or back)


def _tagged(job: Job, place: Floats, normal: Floats) -> bool:
    for hole in job.pass_throughs:
        along, off = Tube(pass_through=hole, cable_radius_m=0.0).place(place[None])
        if abs(along[0]) <= 0.5 * hole.depth_m + _MOUTH_M and off[0] <= 0.5 * hole.diameter_m + 0.005:
            return True
    number = holder(place + _BORDER_M * np.stack([-normal, normal]), job.spaces, set())
    if number.min(initial=0) < 0 or number[0] == number[1]:
        return False
    one, other = (job.spaces[int(k)].name for k in number)
    return other in neighbours(job.spaces)[one]


def _look_round(metal: _Metal, place: Floats, normal: Floats) -> tuple[Floats, int] | None:
    """The rim seen all round from a place in the plane of an opening, (k, 3), and a face of it; None for no opening."""
    rims, faces = metal.rims, metal.faces
    rows = np.array(metal.tree.query_ball_point(place, _AROUND_M), dtype=np.int64)
    helper = np.eye(3)[int(np.abs(normal).argmin())]
    u = np.cross(normal, helper)
    u /= np.linalg.norm(u)
    frame = np.stack([u, np.cross(normal, u), normal])
    angle = (np.arange(_LOOKS) + 0.5) * (2 * np.pi / _LOOKS)
    looks = np.column_stack([np.cos(angle), np.sin(angle)])
    first, hit = _first_rims(rims, rows, place, frame, looks)
    seen = np.flatnonzero(first >= 0)
    if len(seen) < _RIM * _LOOKS:
        return None
    own = rims.into[rows[first[seen]]]
    outward = np.einsum("ij,ij->i", own @ frame[:2].T, looks[seen]) > _OUTWARD
    seen = seen[outward]
    clear = ~faces.blocked(np.repeat(place[None], len(seen), axis=0), place + 0.97 * (hit[seen] - place))
    seen = seen[clear]
    if len(seen) < _RIM * _LOOKS:
        return None
    rest = np.setdiff1d(np.arange(_LOOKS), seen)
    far = _NOT_FURTHER * float(np.linalg.norm(hit[seen] - place, axis=1).max()) + 0.05
    closed = faces.blocked(np.repeat(place[None], len(rest), axis=0), place + far * looks[rest] @ frame[:2])
    if len(seen) + int(closed.sum()) < _CLOSED * _LOOKS:
        return None
    return hit[seen], int(rims.face[rows[first[seen[0]]]])


def _first_rims(rims: Rims, rows: Ints, place: Floats, frame: Floats, looks: Floats) -> tuple[Ints, Floats]:
    """For each look the nearest rim it meets, as an index into `rows` (-1: none), and where, (k, 3).

    `frame` has two directions of the plane and its normal as rows; looks are in those two, (k, 2).
    """
    a, b = (rims.start_m[rows] - place), (rims.end_m[rows] - place)
    middle = 0.5 * (a + b)
    flat = np.abs(middle @ frame[2]) <= _FLAT * np.linalg.norm(middle, axis=1) + 0.01
    p, q = a @ frame[:2].T, b @ frame[:2].T
    edge = q - p
    cross = looks[:, None, 0] * edge[None, :, 1] - looks[:, None, 1] * edge[None, :, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (p[:, 0] * edge[:, 1] - p[:, 1] * edge[:, 0])[None, :] / cross
        s = (p[None, :, 0] * looks[:, None, 1] - p[None, :, 1] * looks[:, None, 0]) / cross
    met = flat[None, :] & (t > 1e-6) & (s >= -0.02) & (s <= 1.02)
    distance = np.where(met, t, np.inf)
    first = distance.argmin(axis=1)
    none = ~np.isfinite(distance[np.arange(len(looks)), first])
    share = np.clip(np.where(none, 0.0, s[np.arange(len(looks)), first]), 0.0, 1.0)
    hit = place + a[first] + share[:, None] * (b - a)[first]
    return np.where(none, -1, first), hit


def _size(hits: Floats) -> tuple[Floats, float, float]:
    """Middle, long and short width of what a rim surrounds. [m]"""
    _, _, axes = np.linalg.svd(hits - hits.mean(axis=0), full_matrices=False)
    best: tuple[float, float, float, Floats] | None = None
    for turn in np.linspace(0.0, np.pi / 2, 46)[:-1]:
        one = np.cos(turn) * axes[0] + np.sin(turn) * axes[1]
        other = -np.sin(turn) * axes[0] + np.cos(turn) * axes[1]
        low_high = [(float((hits @ axis).min()), float((hits @ axis).max())) for axis in (one, other)]
        sides = [high - low for low, high in low_high]
        if best is None or sides[0] * sides[1] < best[0]:
            third = float((hits @ axes[2]).mean())
            middle = sum(
                0.5 * (low + high) * axis for (low, high), axis in zip(low_high, (one, other), strict=True)
            )
            best = (sides[0] * sides[1], max(sides), min(sides), middle + third * axes[2])
    assert best is not None  # noqa: S101  there are turns
    return best[3], best[1], best[2]


def _confirmed(job: Job, opening: _Opening) -> bool:
    return any(
        float(np.linalg.norm(np.asarray(o.position.at_m) - opening.at_m)) <= max(0.5 * opening.long_m, 0.03)
        for o in job.openings
    )
