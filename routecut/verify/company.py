"""What finished curves do beside each other: bundles that hold together, and separation that is not kept.

Units      m
Safe side  a bundle is taken at the diameter stated for it if a packing proves it, else it is an error
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from routecut.model.body import Body, Floats
from routecut.model.company import Beside, Bundle, foreign, group_of
from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.job import ANY, Cable, HoleState, Job, MadeUp, NoiseSource
from routecut.model.plan import Route
from routecut.tables import separation_m as asked_apart_m
from routecut.verify.bends import bend_radii_m
from routecut.verify.curve import Curve, make_curve, stretches, usable
from routecut.verify.faces import FaceIndex
from routecut.verify.limits import BEND_PART, mm

APART_M: Final = 0.035
"""Middles of two cables in one bundle are nowhere further apart: a tie takes 30 mm, the rest is chords and samples."""

STRAY_M: Final = 0.120
"""Over so short a piece members of a bundle may part: round a clip, a hole, an edge."""

LENGTHS_M: Final = 0.060
"""How far the runs of two members may differ in length, or by a tenth: they lie inside and outside of bends."""

OVERLAP: Final = 1e-6
"""Rounding of places in a section, as a share of its diameter."""

CROSSING: Final = 2.0 * math.sqrt(2.0)
"""A crossing at 45 degrees is within a separation over so many times that separation; longer is alongside."""

_STEP_M: Final = 0.010


def _curves(routed: Sequence[tuple[Cable, Route]]) -> dict[str, tuple[Cable, Curve]]:
    return {
        cable.name: (cable, make_curve(route.points_m, _STEP_M))
        for cable, route in sorted(routed, key=lambda pair: pair[0].name)
        if usable(route.points_m)
    }


def verify_company(
    *, job: Job, body: Body, routed: Sequence[tuple[Cable, Route]], bundles: Sequence[Bundle]
) -> tuple[tuple[Beside, ...], list[Finding]]:
    """Judge what the routes of a plan do beside each other.

    Returns
    -------
    tuple of Beside
        Stretches alongside what a cable should keep apart from.
    list of Finding
        ``separation-not-kept`` and ``bundle-bend`` warnings, ``verify-bundle`` errors.
    """
    beside = separation(job, FaceIndex(body.triangles_m), routed, asked_apart_m(job.rules))
    separated = separation_findings(beside, partial(empty_holes, job, routed))
    return tuple(beside), [*separated, *bundle_findings(bundles, routed)]


def separation(
    job: Job, faces: FaceIndex, routed: Sequence[tuple[Cable, Route]], separation_m: float
) -> list[Beside]:
    """Stretches of finished curves alongside what their cable should keep apart from.

    Two cables are told once, at the one that comes first by name. A stretch counts from end to end if
    it is longer than a crossing; where metal lies between it does not.
    """
    curves = _curves(routed)
    routes = {cable.name: route for cable, route in routed}
    found: list[Beside] = []
    for (cable, curve), (other, beside) in combinations(curves.values(), 2):
        if not foreign(group_of(cable.cable_class), group_of(other.cable_class)):
            continue
        row = cKDTree(beside.points_m).query(curve.points_m, distance_upper_bound=separation_m)[1]
        nearest = beside.points_m[np.minimum(row, len(beside.points_m) - 1)]
        asked = _Asked(cable=cable.name, other=other.name, separation_m=separation_m)
        found += [
            replace(b, holes=_shared_holes(routes[b.cable], routes[b.other], b))
            for b in _alongside(asked, faces, curve, nearest)
        ]
    for source in job.noise_sources:
        for cable, curve in curves.values():
            if ANY in source.applies_to or cable.cable_class.value in source.applies_to:
                asked = _Asked(
                    cable=cable.name, other=source.name, separation_m=source.separation_m, noise=True
                )
                found += _alongside(asked, faces, curve, _nearest_on(source, curve.points_m))
    return found


def _nearest_on(source: NoiseSource, points_m: Floats) -> Floats:
    """The nearest point of a noise source's line to each point, (n, 3). [m]"""
    line = np.asarray(source.line_m, dtype=np.float64)
    start, along = line[:-1], np.diff(line, axis=0)
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    offset = points_m[:, None, :] - start[None]
    t = np.clip((offset * along).sum(axis=2) / square, 0.0, 1.0)
    nearest = start + t[..., None] * along
    best = np.linalg.norm(points_m[:, None, :] - nearest, axis=2).argmin(axis=1)
    return np.asarray(nearest[np.arange(len(points_m)), best])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What a cable should keep apart from, and how far. [m]"""

    cable: str
    other: str
    separation_m: float
    noise: bool = False


def _alongside(asked: _Asked, faces: FaceIndex, curve: Curve, nearest_m: Floats) -> Iterator[Beside]:
    """Stretches of a curve alongside, given the nearest point to each of its samples, (n, 3). [m]"""
    wanted_m = asked.separation_m
    distance_m = np.linalg.norm(curve.points_m - nearest_m, axis=1)
    near = distance_m < wanted_m
    apart = np.flatnonzero(near & (distance_m > 1e-6))
    near[apart] = ~faces.blocked(curve.points_m[apart], nearest_m[apart])
    for first, last in stretches(near):
        start, end = float(curve.run_m[first]), float(curve.run_m[last])
        if end - start <= CROSSING * wanted_m:
            continue
        worst = first + int(np.argmin(distance_m[first : last + 1]))
        x, y, z = curve.points_m[worst].tolist()
        yield Beside(
            cable=asked.cable,
            other=asked.other,
            from_m=start,
            to_m=end,
            least_m=float(distance_m[worst]),
            wanted_m=wanted_m,
            at_m=(x, y, z),
            noise=asked.noise,
        )


def _shared_holes(route: Route, other: Route, beside: Beside) -> tuple[str, ...]:
    """The pass-throughs of a stretch, or right before or behind it, that the other cable goes through as well."""
    too = {p.name for p in other.passages}
    first, last = beside.from_m - beside.wanted_m, beside.to_m + beside.wanted_m
    return tuple(p.name for p in route.passages if p.name in too and first <= p.at_route_m <= last)


def empty_holes(job: Job, routed: Sequence[tuple[Cable, Route]], beside: Beside) -> dict[str, list[str]]:
    """Holes that are there, carry nothing of the plan and take one of two cables out of a hole they share.

    Returns
    -------
    dict of str to list of str
        The names of the holes by cable.
    """
    used = {p.name for _, route in routed for p in route.passages}
    joined = {frozenset(hole.joins) for hole in job.pass_throughs if hole.name in beside.holes}
    found: dict[str, list[str]] = {}
    for cable in (cable for cable, _ in routed if cable.name in {beside.cable, beside.other}):
        thick = max([cable.type.diameter_m, *_plugs_m(job, cable)])
        found[cable.name] = [
            hole.name
            for hole in job.pass_throughs
            if hole.state is HoleState.EXISTING
            and frozenset(hole.joins) in joined
            and hole.name not in used
            and hole.name not in cable.avoid
            and (ANY in hole.classes or cable.cable_class.value in hole.classes)
            and thick + hole.in_use_m <= hole.diameter_m
        ]
    return {name: holes for name, holes in found.items() if holes}


def _plugs_m(job: Job, cable: Cable) -> list[float]:
    """What must pass the holes of a cable: the smaller of its plugs, it is pulled with that end ahead. [m]"""
    ends = [job.port(name) for name in (cable.from_port, cable.to_port)]
    made_up = [end.connector_diameter_m for end in ends if end.made_up is MadeUp.BENCH]
    return [min(made_up)] if len(made_up) == len(ends) else []


def separation_findings(
    beside: Sequence[Beside], empty: Callable[[Beside], Mapping[str, Sequence[str]]] = lambda _beside: {}
) -> list[Finding]:
    """One warning for each cable, with all it runs alongside; `empty` tells the holes that would cure it."""
    found = []
    for cable in dict.fromkeys(b.cable for b in beside):
        own = [b for b in beside if b.cable == cable]
        told = [
            f"{'the noise source ' if b.noise else ''}{b.other} from {b.from_m:.2f} m to {b.to_m:.2f} m, "
            f"{mm(b.least_m, 'down')} of {mm(b.wanted_m)} apart"
            for b in own
        ]
        holes = list(dict.fromkeys(hole for b in own for hole in b.holes))
        cure = {name: hole for b in own if b.holes for name, there in empty(b).items() for hole in there[:1]}
        inside = (
            f" Inside {' and '.join(holes)} they lie together: fan them out right before and behind it, or "
            f"{_sent(cure)}."
            if holes
            else ""
        )
        found.append(
            cable_finding(
                "separation-not-kept",
                Severity.WARNING,
                cable,
                f"runs alongside {'; '.join(told)}. Clip them apart there, or cross at a right angle.{inside}",
                found=f"{sum(b.length_m for b in own):.2f} m",
                allowed="0 m",
            )
        )
    return found


def _sent(cure: Mapping[str, str]) -> str:
    """Which cable may go through which empty hole, and what to type; none is known where `cure` is empty."""
    if not cure:
        return "send one of them through another hole"
    name, hole = next(iter(cure.items()))
    others = [f"{n} through {h}" for n, h in list(cure.items())[1:]]
    also = f" (or {', or '.join(others)})" if others else ""
    return (
        f"send {name} through {hole}, which joins the same spaces and is empty in this plan{also}: "
        f'[[cable]] "{name}" through = ["{hole}"]'
    )


def bundle_findings(bundles: Sequence[Bundle], routed: Sequence[tuple[Cable, Route]]) -> list[Finding]:
    """What is wrong with bundles: an error for what is not so, a warning for a bend that is too tight for all."""
    curves = _curves(routed)
    found: list[Finding] = []
    for bundle in bundles:
        missing = [m.cable for m in bundle.members if m.cable not in curves]
        if missing:
            found.append(_finding(bundle, Severity.ERROR, f"has no route of {', '.join(missing)}"))
            continue
        wrong = [*_section(bundle, curves), *_parts(bundle, curves)]
        found += [_finding(bundle, Severity.ERROR, text) for text in wrong]
        if not wrong:
            found += _bends(bundle, curves)
    return found


def _finding(bundle: Bundle, severity: Severity, message: str, found: str = "", allowed: str = "") -> Finding:
    code = "verify-bundle" if severity is Severity.ERROR else "bundle-bend"
    return Finding(
        code=code, severity=severity, where=bundle.name, message=message, found=found, allowed=allowed
    )


def _section(bundle: Bundle, curves: Mapping[str, tuple[Cable, Curve]]) -> Iterator[str]:
    """The circle stated must hold all members side by side."""
    slack = OVERLAP * bundle.diameter_m
    discs = [(m.cable, m.place_m, curves[m.cable][0].type.diameter_m / 2) for m in bundle.members]
    for name, place, radius in discs:
        if math.hypot(*place) + radius > bundle.diameter_m / 2 + slack:
            yield f"{name} does not fit in the {mm(bundle.diameter_m)} stated"
    for (name, place, radius), (other, beside, more) in combinations(discs, 2):
        if math.dist(place, beside) < radius + more - slack:
            yield f"{name} and {other} would lie in one place in it"


def _parts(bundle: Bundle, curves: Mapping[str, tuple[Cable, Curve]]) -> Iterator[str]:
    """Its members must really run together."""
    lead = bundle.members[0]
    leader = _stretch(curves[lead.cable][1], lead.from_m, lead.to_m)
    if abs(abs(lead.to_m - lead.from_m) - bundle.length_m) > 0.001:
        yield f"is said to be {mm(bundle.length_m)} long; {lead.cable} is in it for {mm(abs(lead.to_m - lead.from_m))}"
    for member in bundle.members[1:]:
        curve = curves[member.cable][1]
        low, high = min(member.from_m, member.to_m), max(member.from_m, member.to_m)
        if not 0.0 <= low <= high <= curve.length_m + 0.001:
            yield f"{member.cable} ends before it"
            continue
        own = _stretch(curve, member.from_m, member.to_m)
        longer = abs(abs(member.to_m - member.from_m) - bundle.length_m)
        if longer > max(LENGTHS_M, 0.1 * bundle.length_m):
            yield f"{member.cable} is in it for {mm(abs(member.to_m - member.from_m))} of {mm(bundle.length_m)}"
        gaps = [
            (np.linalg.norm(leader[[0, -1]] - own[[0, -1]], axis=1).max(), 0.0),
            *_partings(leader, own),
            *_partings(own, leader),
        ]
        if (
            gaps[0][0] > APART_M or max(over for _, over in gaps) > STRAY_M
        ):  # the longest need not be the widest
            yield f"{member.cable} is up to {mm(float(max(gaps)[0]), 'up')} away from {lead.cable} in it"


def _partings(curve: Floats, other: Floats) -> list[tuple[float, float]]:
    """Widest gap and length of each piece where a curve is away from another. [m]"""
    distance, _ = cKDTree(other).query(curve)
    step = np.linalg.norm(np.diff(curve, axis=0), axis=1)
    return [
        (float(distance[a : b + 1].max()), float(step[a:b].sum())) for a, b in stretches(distance > APART_M)
    ]


def _stretch(curve: Curve, from_m: float, to_m: float) -> Floats:
    count = max(2, math.ceil(abs(to_m - from_m) / _STEP_M) + 1)
    return curve.at(np.linspace(from_m, to_m, count))


def _bends(bundle: Bundle, curves: Mapping[str, tuple[Cable, Curve]]) -> Iterator[Finding]:
    """The radius of a bundle: what a member on the inside of its bend needs."""
    types = [curves[m.cable][0].type for m in bundle.members]
    needed = max(t.min_bend_radius_m + (bundle.diameter_m - t.diameter_m) / 2 for t in types)
    if bundle.bend_radius_m < needed - 1e-6:
        text = f"is said to allow a bend of {mm(bundle.bend_radius_m)}; its members need {mm(needed, 'up')}"
        yield _finding(bundle, Severity.ERROR, text)
        return
    lead = bundle.members[0]
    curve = curves[lead.cable][1]
    radius, run = bend_radii_m(curve, needed)
    inside = (run >= min(lead.from_m, lead.to_m)) & (run <= max(lead.from_m, lead.to_m))
    tight = np.flatnonzero(inside & (radius < BEND_PART * needed))
    if len(tight):
        worst = int(tight[np.argmin(radius[tight])])
        x, y, z = (f"{1000 * v:.0f}" for v in curve.at(run[worst : worst + 1])[0])
        yield _finding(
            bundle,
            Severity.WARNING,
            f"as a round bundle it needs a bend of {mm(needed, 'up')}; at X {x}, Y {y}, Z {z} mm, {run[worst]:.2f} m "
            f"along {lead.cable}, there is room for {mm(float(radius[worst]), 'down')}. Untie it there and lay the "
            "cables side by side, flat in the bend.",
            found=mm(float(radius[worst]), "down"),
            allowed=mm(needed, "up"),
        )
