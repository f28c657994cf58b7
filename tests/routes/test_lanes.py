"""Strands pulled tight beside lines of other kinds: aside where there is room, at a price, and not where they cross.

Truth      distances between straight lines: first principles
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routecut.model.body import Floats
from routecut.model.company import Beside
from routecut.model.job import CableClass
from routecut.routes.bends import left_over, round_bends
from routecut.routes.lanes import lane_of
from routecut.routes.polyline import in_steps
from routecut.routes.route_all import Routed, route_all
from routecut.routes.strands import Strand
from routecut.routes.surface import Surface
from routecut.routes.tighten import tighten
from routecut.verify import verify_company, verify_plan
from tests.routes.scenes import Laid, cable, lanes, roadmap_of
from tests.routes.test_shaping import FLOOR, STAND_OFF, length, rectangle, strand, surface

APART = 0.05
S = STAND_OFF


def beside(on: Surface, way: Floats, *lines: Floats) -> Strand:
    lane = lane_of(
        lines, on.sheets, separation_m=APART, low=way.min(axis=0) - 0.3, high=way.max(axis=0) + 0.3
    )
    return replace(strand(way, 0.025), lane=lane)


def gap(points: Floats, line: Floats) -> Floats:
    """Distance of points to a straight line from its first to its last point, (n,)."""
    along = line[-1] - line[0]
    t = np.clip((points - line[0]) @ along / (along @ along), 0, 1)
    return np.asarray(np.linalg.norm(points - line[0] - t[:, None] * along, axis=1))


@pytest.mark.parametrize("aside", [0.0, 0.001, 0.03])
def test_it_lies_beside_the_line_and_turns_onto_its_ends(aside: float) -> None:
    """Also where it begins on the very line: there is a side to take then too."""
    line = np.array([(0.1, aside, S), (1.9, aside, S)])
    way = np.array([(0.1, 0, S), (1.0, 0, S), (1.9, 0, S)])
    laid = tighten(surface(FLOOR), [beside(surface(FLOOR), way, line)])[0].points_m
    middle = (laid[:, 0] > 0.25) & (laid[:, 0] < 1.75)
    assert middle.sum() > 50
    assert gap(laid[middle], line).min() > APART
    # pushed no further than asked, and all on one side
    assert gap(laid, line).max() < APART + 0.01
    assert len(np.unique(np.sign(laid[middle, 1] - aside))) == 1
    assert 1.8 < length(laid) < 1.8 + 0.05


def test_no_line_near_changes_nothing() -> None:
    way = np.array([(0.1, 0, S), (1.0, 0.1, S), (1.9, 0, S)])
    far = np.array([(0.1, 0.9, S), (1.9, 0.9, S)])
    assert beside(surface(FLOOR), way, far).lane is None
    near = np.array([(0.1, 0.2, S), (1.9, 0.2, S)])
    assert beside(surface(FLOOR), way, near).lane is not None
    alone = tighten(surface(FLOOR), [strand(way, 0.025)])[0]
    assert length(tighten(surface(FLOOR), [beside(surface(FLOOR), way, near)])[0].points_m) == pytest.approx(
        length(alone.points_m), abs=1e-4
    )


@pytest.mark.parametrize("degrees", [90, 60])
def test_what_crosses_is_not_pushed(degrees: float) -> None:
    way = np.array([(0.1, 0, S), (1.0, 0.02, S), (1.9, 0, S)])
    turn = np.radians(degrees)
    line = np.array([1.0, 0, S]) + np.array([[-0.5], [0.5]]) * [np.cos(turn), np.sin(turn), 0]
    laid = tighten(surface(FLOOR), [beside(surface(FLOOR), way, line)])[0].points_m
    assert length(laid) == pytest.approx(1.8, abs=2e-4)


def test_rounding_its_bends_leaves_it_there() -> None:
    """What is laid anew round a kink is the shortest curve there: it must not slip back onto the line."""
    line = np.array([(0.1, 0, S), (1.9, 0, S)])
    corners = [(0.1, 0.0, S), (0.17, 0.054, S), (1.83, 0.054, S), (1.9, 0.0, S)]
    way = in_steps(np.array(corners[:2]), 0.015)[1][:-1]
    way = np.concatenate([way, in_steps(np.array(corners[1:3]), 0.015)[1], [corners[3]]])
    on = surface(FLOOR)
    laid, free = (round_bends(on, [s])[0].points_m for s in (beside(on, way, line), strand(way, 0.025)))
    near, slipped = (p[(p[:, 0] > 0.24) & (p[:, 0] < 1.76)] for p in (laid, free))
    assert gap(near, line).min() > APART
    assert gap(slipped, line).min() < APART - 0.003
    assert not left_over([strand(laid, 0.025)])


def test_metal_between_keeps_apart() -> None:
    upright = rectangle(np.array([0.0, 0.02, 0.0]), np.array([2.0, 0, 0]), np.array([0, 0, 0.3]))
    way = np.array([(0.1, 0, S), (1.0, 0, S), (1.9, 0, S)])
    line = np.add(way, [0, 0.04, 0])
    pushed = tighten(surface(FLOOR), [beside(surface(FLOOR), way, line)])[0].points_m
    assert gap(pushed, line).min() > APART - 0.011
    laid = tighten(surface(FLOOR, upright), [beside(surface(FLOOR, upright), way, line)])[0].points_m
    assert length(laid) == pytest.approx(1.8, abs=2e-4)


def test_between_two_walls_it_stays_where_it_is() -> None:
    """The line lies in the slot it has to go through: there is no room, and nothing is crossed for it."""
    walls = [
        rectangle(np.array([0.5, y, 0.0]), np.array([1.0, 0, 0]), np.array([0, 0, 0.3]))
        for y in (-0.025, 0.025)
    ]
    way = np.array([(0.1, 0, S), (0.5, 0, S), (1.0, 0, S), (1.5, 0, S), (1.9, 0, S)])
    laid = tighten(surface(FLOOR, *walls), [beside(surface(FLOOR, *walls), way, way)])[0].points_m
    inside = (laid[:, 0] > 0.5) & (laid[:, 0] < 1.5)
    assert np.abs(laid[inside, 1]).max() < 0.025
    assert length(laid) < 1.8 + 0.09


def plan(cables: list[Laid], *, wall: bool = False) -> tuple[Routed, tuple[Beside, ...]]:
    roadmap = roadmap_of(cables, wall=wall)
    found = route_all(roadmap)
    pairs = [(c, found.routes[c.name]) for c, _, _ in cables]
    judged = verify_plan(job=roadmap.job, body=roadmap.body, routed=pairs)
    assert not [f for v in judged.values() for f in v.findings]
    return found, verify_company(job=roadmap.job, body=roadmap.body, routed=pairs, bundles=())[0]


@pytest.mark.parametrize("other", [CableClass.POWER, CableClass.COAX])
def test_finished_routes_of_two_kinds_lie_apart(other: CableClass) -> None:
    """Ports 30 mm apart, 51 asked: what was found apart is apart when it is laid, for a centimetre or two."""
    found, near = plan(lanes(CableClass.AUDIO, other, apart=0.03))
    assert near == ()
    assert max(r.length_m for r in found.routes.values()) < 1.8 + 0.02


def test_through_one_hole_they_are_near_in_it_and_about_it_alone() -> None:
    cables = [
        cable("C1", CableClass.AUDIO, (0.2, 0.2, 0.012), (1.8, 0.2, 0.012)),
        cable("C2", CableClass.POWER, (0.2, 0.25, 0.012), (1.8, 0.25, 0.012)),
    ]
    found, near = plan(cables, wall=True)
    assert [b.holes for b in near] == [("left",)]
    assert near[0].length_m < 0.5
    assert max(r.length_m for r in found.routes.values()) < 1.01 * 1.65
