"""Cables that share a run lie on one line, on finished routes."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from scipy.spatial import cKDTree

from routecut.geometry.packing import enclosing_m
from routecut.model.body import Floats
from routecut.model.company import Bundle
from routecut.model.job import CableClass
from routecut.model.plan import Route
from routecut.routes.bundles import bend_radius_m, find_bundles
from routecut.routes.negotiate import negotiate
from routecut.routes.polyline import points_at, running_m
from routecut.routes.route_all import Routed, route_all
from routecut.routes.search import STRAIGHT_M, Found, lay_out, release_corners, with_trunks
from routecut.routes.trunks import follow, runs_shared
from routecut.verify import verify_company, verify_plan
from tests.routes.scenes import Laid, cable, harness_of, lanes, roadmap_of

AUDIO, DATA = CableClass.AUDIO, CableClass.DATA


def corner() -> list[Laid]:
    """One along the plate and back across it; one that joins it from aside and leaves it to the other side."""
    return [
        cable("C1", AUDIO, (0.1, 0.4, 0.012), (1.9, 0.4, 0.012)),
        cable("C2", DATA, (0.3, 0.2, 0.012), (1.7, 0.65, 0.012)),
    ]


def walls() -> list[Laid]:
    return [
        cable("C1", AUDIO, (0.2, 0.25, 0.012), (1.8, 0.25, 0.012)),
        cable("C2", DATA, (1.85, 0.32, 0.012), (0.15, 0.18, 0.012)),
    ]


CASES = {
    "side by side": (lanes(AUDIO, DATA), False),
    "aside": (corner(), False),
    "through a hole, one against the other": (walls(), True),
}


@functools.cache
def routed(case: str) -> tuple[Routed, tuple[Bundle, ...]]:
    cables, wall = CASES[case]
    found = route_all(roadmap_of(cables, wall=wall))
    return found, find_bundles([c for c, _, _ in cables], found.routes)


def samples(route: Route, start: float = 0.0, end: float = np.inf) -> Floats:
    run = running_m(route.points_m)
    return points_at(np.arange(start, min(end, run[-1]), 0.005), run, route.points_m)


@pytest.mark.parametrize("case", CASES)
def test_what_is_bundled_lies_on_one_line(case: str) -> None:
    found, bundles = routed(case)
    assert sum(b.length_m for b in bundles) > (0.35 if case == "aside" else 0.55)
    for b in bundles:
        lead, other = b.members
        line = samples(found.routes[lead.cable])
        inner = sorted((other.from_m, other.to_m))
        # its ends aside, where it turns onto the line
        turn = min(0.28, (inner[1] - inner[0]) / 3)
        own = samples(found.routes[other.cable], inner[0] + turn, inner[1] - turn)
        assert cKDTree(line).query(own)[0].max() < 0.005


@pytest.mark.parametrize("case", CASES)
def test_each_is_a_safe_route_of_its_own(case: str) -> None:
    found, bundles = routed(case)
    cables, wall = CASES[case]
    roadmap = roadmap_of(cables, wall=wall)
    pairs = [(c, found.routes[c.name]) for c, _, _ in cables]
    judged = verify_plan(job=roadmap.job, body=roadmap.body, routed=pairs)
    assert {name: v.findings for name, v in judged.items()} == {"C1": (), "C2": ()}
    beside, findings = verify_company(job=roadmap.job, body=roadmap.body, routed=pairs, bundles=bundles)
    assert (beside, findings) == ((), [])


@pytest.mark.parametrize("case", CASES)
def test_it_costs_little_length(case: str) -> None:
    """Sharing saves 8 per cent of a metre, so no cable is longer than its own way by more than that.

    Nor shorter, but for what a wider bend cuts off a corner.
    """
    found, _ = routed(case)
    cables, wall = CASES[case]
    for laid in cables:
        alone = route_all(roadmap_of([laid], wall=wall)).routes[laid[0].name]
        assert 0.98 * alone.length_m <= found.routes[laid[0].name].length_m <= 1.08 * alone.length_m


def test_the_line_is_bent_as_the_bundle_needs() -> None:
    """Through the hole and round onto the floor: both cables keep 25 mm, the bundle of two of 6 mm needs 28."""
    found, bundles = routed("through a hole, one against the other")
    need = bend_radius_m(enclosing_m([0.006, 0.006]), [(0.006, 0.025)] * 2)
    assert need == pytest.approx(0.028)
    for b in bundles:
        assert b.bend_radius_m == pytest.approx(need)
        lead = b.members[0]
        route = found.routes[lead.cable]
        points = samples(route, min(lead.from_m, lead.to_m), max(lead.from_m, lead.to_m))
        a, m, c = points[:-8], points[4:-4], points[8:]
        sides = [np.linalg.norm(p - q, axis=1) for p, q in ((a, m), (m, c), (a, c))]
        area = np.linalg.norm(np.cross(m - a, c - a), axis=1) / 2
        radius = sides[0] * sides[1] * sides[2] / np.maximum(4 * area, 1e-12)
        assert radius.min() > 0.97 * need


@pytest.mark.parametrize("shift_m", [0.0, 0.0011, 0.0023, 0.0037])
def test_they_stay_together_from_a_hole_on(shift_m: float) -> None:
    """They meet in it: where the follower joins the line at the end of its straight piece, it is held there as well."""
    cables = [
        cable("C1", AUDIO, (0.8 + shift_m, 0.03, 0.012), (1.85, 0.25, 0.012)),
        cable("C2", DATA, (0.92 + shift_m / 3, 0.38, 0.012), (1.8, 0.3, 0.012)),
    ]
    found = route_all(roadmap_of(cables, wall=True))
    assert found.findings == []
    assert [[p.name for p in r.passages] for r in found.routes.values()] == [["left"]] * 2
    assert sum(b.length_m for b in find_bundles([c for c, _, _ in cables], found.routes)) > 0.45


def followed(cables: list[Laid]) -> Found:
    """The way of C2 along that of C1, both as they were found."""
    harness = harness_of(cables, wall=True)
    settled = negotiate(harness, [c for c, _, _ in cables])
    lead, way = (lay_out(harness, settled.ways[name]) for name in ("C1", "C2"))
    laid = release_corners(lead, lead.strand)
    return follow(harness.roadmap, way, runs_shared([lead, way])["C2"], {"C1": (lead, laid)})


def test_a_follower_is_held_at_both_ends_of_the_straight_piece_where_it_joins() -> None:
    cables = [
        cable("C1", AUDIO, (0.8, 0.03, 0.012), (1.85, 0.25, 0.012)),
        cable("C2", DATA, (0.92, 0.38, 0.012), (1.8, 0.3, 0.012)),
    ]
    done = followed(cables)
    assert done.trunks
    whole = with_trunks(done, done.strand)
    near = np.abs(whole.points_m[:, 0] - 1.0) < STRAIGHT_M + 0.003 + 1e-6
    assert near.sum() >= 3
    assert whole.pinned[near].all()


def test_a_follower_joins_along_the_sheet_and_not_through_the_air() -> None:
    """Out of a hole 100 mm up the wall, onto a line along the floor."""
    cables = [
        cable("C1", AUDIO, (1.1, 0.3, 0.012), (1.9, 0.3, 0.012)),
        cable("C2", DATA, (0.8, 0.2, 0.012), (1.85, 0.35, 0.012)),
    ]
    done = followed(cables)
    (trunk,) = done.trunks
    points = done.strand.points_m
    joins = int(np.linalg.norm(points - trunk.points_m[0], axis=1).argmin())
    leg = points[joins - 1] + np.linspace(0, 1, 50)[:, None] * (points[joins] - points[joins - 1])
    off = np.minimum(leg[:, 2], np.abs(leg[:, 0] - 1.0))
    assert off.max() < 0.03
