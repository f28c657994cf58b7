"""All cables of a job together: each finds its way, then all are tightened and bent at once.

Units      m
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from routecut.model.body import Floats
from routecut.model.finding import Finding, Severity
from routecut.model.job import Cable, HoleState
from routecut.model.plan import Route
from routecut.roadmap.build import Roadmap
from routecut.routes.bends import TightBend, round_bends
from routecut.routes.bows import add_bows
from routecut.routes.explain import why_no_route
from routecut.routes.finish import finish
from routecut.routes.harness import Harness
from routecut.routes.search import Found, find, release_corners
from routecut.routes.strands import Strand, keep_out_gap_m
from routecut.routes.tighten import Surface, tighten


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
                for crossed in found.holes:
                    harness.load.setdefault(crossed.hole.name, []).append(cable.type.diameter_m)
        used = {c.hole.name for f in ways.values() if f is not None for c in f.holes}
        opened = {h.name for h in harness.job.pass_throughs if h.state is not HoleState.EXISTING} & used
        if opened == harness.opened:
            break
        harness.opened = opened
    found_ways = [way for cable in cables if (way := ways[cable.name]) is not None]
    return found_ways, [cable for cable in cables if ways[cable.name] is None]


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


def route_all(
    roadmap: Roadmap, progress: Callable[[str], None] | None = None
) -> tuple[dict[str, Route], list[Finding]]:
    """Routes of all cables that have one, and why the others have none.

    Returns
    -------
    dict of str to Route
        By cable name.
    list of Finding
        ``no-route`` and ``bend-not-kept`` errors, and notes on cables thicker than the stand-off.
    """
    say = progress or (lambda _stage: None)
    say("finding the ways")
    harness = Harness.of(roadmap)
    ways, lost = _find_all(harness, roadmap.job.cables)
    findings = [why_no_route(harness, cable) for cable in lost]
    surface = Surface(roadmap.sheets, roadmap.panels)
    say("pulling the routes tight")
    strands = tighten(surface, [way.strand for way in ways])
    say("rounding the bends")
    strands = [release_corners(way, strand) for way, strand in zip(ways, strands, strict=True)]
    strands = [add_bows(strand, _meets(roadmap, strand)) for strand in strands]
    strands, tight = round_bends(surface, strands)
    findings += [_bend_finding(ways[bend.strand], bend) for bend in tight]
    routes = {
        way.cable.name: finish(roadmap, way, strand) for way, strand in zip(ways, strands, strict=True)
    }
    return routes, findings
