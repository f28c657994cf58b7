"""All cables of a job together: each finds its way, then all are tightened and bent at once.

Units      m
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np

from routecut.model.body import Floats
from routecut.model.finding import Finding, Severity
from routecut.model.job import Cable, HoleState
from routecut.model.plan import Route
from routecut.roadmap.build import Roadmap
from routecut.routes.bends import TightBend, left_over, round_bends
from routecut.routes.bows import add_bows, mend_bend, reverse
from routecut.routes.explain import why_no_route
from routecut.routes.finish import finish
from routecut.routes.harness import Harness
from routecut.routes.polyline import points_at, running_m
from routecut.routes.search import Found, find, release_corners
from routecut.routes.strands import Strand, keep_out_gap_m
from routecut.routes.tighten import Surface, tighten

_MENDS = 12
_TRIES = 4
_REPORTED = 0.9
"""Below this share of the radius a bend is reported here; nearer to it the verifier decides."""

_HELD = 1.3
_DIP_M = 5e-4


def _first_thickest(cable: Cable) -> tuple[float, str]:
    return (-cable.type.diameter_m, cable.name)


def _find_all(harness: Harness, cables: tuple[Cable, ...]) -> tuple[list[Found], list[Cable]]:
    """Ways for all cables, thickest first, so that what is hardest to place chooses first.

    A second round lets those that came early use the holes that others have opened since.
    """
    order = sorted(cables, key=_first_thickest)
    ways: dict[str, Found | None] = {}
    for _ in range(2):
        for cable in order:
            before = ways.get(cable.name)
            if before is not None:
                _release(harness, before)
            ways[cable.name] = found = find(harness, cable)
            if found is not None:
                _occupy(harness, found)
        used = {c.hole.name for f in ways.values() if f is not None for c in f.holes}
        opened = {h.name for h in harness.job.pass_throughs if h.state is not HoleState.EXISTING} & used
        if opened == harness.opened:
            break
        harness.opened = opened
    found_ways = [way for cable in cables if (way := ways[cable.name]) is not None]
    return found_ways, [cable for cable in cables if ways[cable.name] is None]


def _occupy(harness: Harness, found: Found) -> None:
    for crossed in found.holes:
        harness.load.setdefault(crossed.hole.name, []).append(found.cable.type.diameter_m)


def _release(harness: Harness, found: Found) -> None:
    for crossed in found.holes:
        harness.load[crossed.hole.name].remove(found.cable.type.diameter_m)


def _meets(roadmap: Roadmap, strand: Strand) -> Callable[[Floats], bool]:
    """Whether a polyline of this cable would meet a sheet or a keep-out."""

    def meets(points_m: Floats) -> bool:
        # The first legs come out of the metal itself, inside their passage.
        legs = np.flatnonzero(np.linalg.norm(points_m[1:] - points_m[0], axis=1) > strand.stand_off_m)
        if roadmap.sheets.blocked(points_m[:-1], points_m[1:]).any():
            return True
        if roadmap.sheets.tube_blocked(points_m[legs], points_m[legs + 1], strand.radius_m).any():
            return True
        owner = np.zeros(len(points_m), dtype=np.int64)
        return bool((keep_out_gap_m([strand], points_m, owner) < -2e-4).any())

    return meets


def _bend_finding(found: Found, tight: TightBend) -> Finding:
    x, y, z = (f"{1000 * v:.0f}" for v in tight.at_m)
    wanted = found.cable.type.min_bend_radius_m
    return Finding(
        code="bend-not-kept",
        severity=Severity.ERROR,
        where=f"cable {found.cable.name}",
        message=(
            f"at X {x}, Y {y}, Z {z} mm the way leaves room for a bend of {1000 * tight.radius_m:.0f} mm only; "
            f"{found.cable.type.name} needs {1000 * wanted:.0f} mm. More room before the port or hole there, "
            "another pass-through (`through`, `avoid`), or a more flexible type would cure it."
        ),
        table="cable",
        key=found.cable.name,
        found=f"{1000 * tight.radius_m:.0f} mm",
        allowed=f"at least {1000 * wanted:.0f} mm",
    )


def _mended(roadmap: Roadmap, strand: Strand) -> Strand:
    """Bows over the bends that are left too tight, worst first, both ways."""
    for _ in range(_MENDS):
        tight = left_over([strand])
        if not tight:
            break
        at = np.array(tight[0].at_m)
        meets = _meets(roadmap, strand)
        mended = mend_bend(strand, at, meets)
        if mended is None:
            turned = mend_bend(reverse(strand), at, meets)
            mended = None if turned is None else reverse(turned)
        if mended is None:
            break
        strand = mended
    return strand


def _spans_m(surface: Surface, strand: Strand) -> list[tuple[float, Floats]]:
    """Stretches without a panel to clip to: their length and their middle."""
    run = running_m(strand.points_m)
    at = np.linspace(0.0, run[-1], max(2, int(np.ceil(run[-1] / 0.01)) + 1))
    curve = points_at(at, run, strand.points_m)
    near = surface.sheets.near(curve, _HELD * strand.stand_off_m)
    held = np.zeros(len(at), dtype=bool)
    held[near.point[surface.panels[near.face]]] = True
    held[[0, -1]] = True
    stops = np.flatnonzero(held)
    return [(float(at[b] - at[a]), curve[(a + b) // 2]) for a, b in pairwise(stops.tolist()) if b > a + 1]


def _trouble(roadmap: Roadmap, surface: Surface, strand: Strand) -> Floats:
    """Places where a finished strand breaks a rule, (k, 3): too tight, too long in the air, across a sheet."""
    places = [np.array(bend.at_m) for bend in left_over([strand])]
    limit = max(roadmap.job.routing.bridge_m, 4 * strand.bend_m, 3 * strand.stand_off_m)
    places += [middle for length, middle in _spans_m(surface, strand) if length > limit]
    inner = np.flatnonzero(~(strand.pinned[:-1] & strand.pinned[1:]))
    start, end = strand.points_m[inner], strand.points_m[inner + 1]
    meets = surface.sheets.blocked(start, end)
    owner = np.zeros(len(inner), dtype=np.int64)
    middle = (start + end) / 2
    meets |= keep_out_gap_m([strand], middle, owner) < -_DIP_M
    places += list(middle[meets])
    return np.array(places).reshape(-1, 3)


def _lay(roadmap: Roadmap, surface: Surface, ways: list[Found], say: Callable[[str], None]) -> list[Strand]:
    say("pulling the routes tight")
    strands = tighten(surface, [way.strand for way in ways])
    say("rounding the bends")
    strands = [release_corners(way, strand) for way, strand in zip(ways, strands, strict=True)]
    strands = [add_bows(strand, _meets(roadmap, strand)) for strand in strands]
    return [_mended(roadmap, strand) for strand in round_bends(surface, strands)]


def route_all(
    roadmap: Roadmap, progress: Callable[[str], None] | None = None
) -> tuple[dict[str, Route], list[Finding]]:
    """Routes of all cables that have one, and why the others have none.

    A route that can't be laid as it was found (a bend without room, a stretch too long in
    the air) is looked for again with the place made dearer, a few times.

    Returns
    -------
    dict of str to Route
        By cable name.
    list of Finding
        ``no-route`` and ``bend-not-kept`` errors.
    """
    say = progress or (lambda _stage: None)
    say("finding the ways")
    harness = Harness.of(roadmap)
    ways, lost = _find_all(harness, roadmap.job.cables)
    findings = [why_no_route(harness, cable) for cable in lost]
    surface = Surface(roadmap.sheets, roadmap.panels)
    strands = _lay(roadmap, surface, ways, say)
    best = dict(zip((w.cable.name for w in ways), zip(ways, strands, strict=True), strict=True))
    trouble = {name: _trouble(roadmap, surface, strand) for name, (_, strand) in best.items()}
    for _ in range(_TRIES):
        again = [name for name in best if len(trouble[name])]
        if not again:
            break
        say(f"looking for other ways for {len(again)} of {len(best)} cables")
        others: list[Found] = []
        for name in again:
            before = harness.shunned.get(name, np.zeros((0, 3)))
            harness.shunned[name] = np.concatenate([before, trouble[name]])
            _release(harness, best[name][0])
            other = find(harness, best[name][0].cable) or best[name][0]
            _occupy(harness, other)
            others.append(other)
        for other, strand in zip(others, _lay(roadmap, surface, others, say), strict=True):
            found = _trouble(roadmap, surface, strand)
            name = other.cable.name
            if len(found) <= len(trouble[name]):
                best[name], trouble[name] = (other, strand), found
            else:  # keep the better one, but don't come back to either place
                harness.shunned[name] = np.concatenate([harness.shunned[name], found])
    names = [cable.name for cable in roadmap.job.cables if cable.name in best]
    for name in names:
        way, strand = best[name]
        findings += [
            _bend_finding(way, bend)
            for bend in left_over([strand])
            if bend.radius_m < _REPORTED * strand.bend_m
        ]
    return {name: finish(roadmap, *best[name]) for name in names}, findings
