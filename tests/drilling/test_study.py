"""The study in two rooms: what is advised is what a look at the plan would advise."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routecut.drilling.study import study
from routecut.model.body import Body
from routecut.model.drilling import DrillStudy
from routecut.model.job import Box, Drilling, HoleState, Job, KeepOut, MadeUp, Position, Reason
from routecut.roadmap.build import build_roadmap
from routecut.routes.route_all import route_all
from tests.drilling.rooms import cable, device, job, opening, rooms, wall
from tests.drilling.scenes import OBSTACLE, PANEL, box

LEFT = device("left", (0.7, 0.2, 0.02), "front")
RIGHT = device("right", (1.3, 0.2, 0.02), "rear")
WIRE = cable("C", "left", "right")


def studied(told: Job, body: Body | None = None, **more: object) -> tuple[DrillStudy, Job]:
    return study(build_roadmap(told, body or rooms()), **more)  # type: ignore[arg-type]


def test_a_cable_that_can_not_get_through_gets_the_hole_where_it_is_shortest() -> None:
    """Both ports stand 0.2 m from the side; a hole anywhere near that line is the best place."""
    told, held = studied(job([LEFT, RIGHT], [WIRE]))
    assert told.rows[0].new == ()
    assert told.rows[0].unreached == ("C",)
    best = told.rows[told.best]
    assert len(best.new) == 1
    assert best.unreached == ()
    assert best.optimal
    place = next(p for p in told.places if p.name == best.new[0])
    assert place.found
    assert place.at_m[0] == pytest.approx(1.0, abs=0.001)
    assert abs(place.at_m[1] - 0.2) < 0.15
    assert place.at_m[2] < 0.25
    routes = route_all(build_roadmap(held, rooms())).routes
    assert set(routes) == {"C"}
    assert [p.name for p in routes["C"].passages] == [place.name]


def test_an_old_hole_near_the_way_wins_over_drilling() -> None:
    old = opening("old", 0.3, 0.1, state=HoleState.EXISTING)
    told, _ = studied(job([LEFT, RIGHT], [WIRE], [old]))
    assert told.rows[told.best].new == ()
    assert told.rows[told.best].ways["C"] == ("old",)
    barred, _ = studied(job([LEFT, RIGHT], [WIRE], [old]), without=["old"])
    assert len(barred.rows[barred.best].new) == 1


def test_a_hole_that_pays_is_drilled_and_its_worth_told() -> None:
    """The old hole is in the far top corner; with holes worth 10 mm of cable a new one pays."""
    old = opening("old", 0.7, 0.5, state=HoleState.EXISTING)
    cheap = Drilling(hole_cost_m=0.01)
    told, _ = studied(job([LEFT, RIGHT], [WIRE], [old, opening("new", 0.2, 0.1)], drilling=cheap))
    best = told.rows[told.best]
    assert best.new == ("new",)  # a place of the job's own is preferred to one found beside it
    assert told.others[0][0] == "new"
    nothing = told.rows[0]
    assert nothing.price_m - best.price_m >= told.others[0][1] - 1e-9
    assert nothing.cable_m > best.cable_m + 0.3
    dear, _ = studied(job([LEFT, RIGHT], [WIRE], [old, opening("new", 0.2, 0.1)]))
    assert dear.rows[dear.best].new == ()


def test_at_most_none_says_who_is_lost() -> None:
    told, _ = studied(job([LEFT, RIGHT], [WIRE]), at_most=0)
    assert told.rows[told.best].unreached == ("C",)
    assert [row.new for row in told.rows] == [()]


def test_a_tank_25_mm_behind_refuses_the_candidate_with_that_reason() -> None:
    tank = KeepOut(
        name="fuel tank",
        shape=Box(low_m=(1.025, 0.0, 0.0), high_m=(1.3, 0.4, 0.3)),
        reason=Reason.FUEL,
    )
    far_right = device("right", (1.6, 0.6, 0.02), "rear")
    told, held = studied(job([LEFT, far_right], [WIRE], [opening("H", 0.2, 0.1)], keep_outs=[tank]))
    assert "fuel tank lies 25 mm behind it in rear" in told.refused["H"]
    best = told.rows[told.best]
    assert "H" not in best.new
    assert best.unreached == ()
    assert "H" not in {h.name for h in held.pass_throughs}
    # and no place found lies over the tank either
    for place in told.places:
        if place.found:
            assert place.at_m[1] > 0.4 or place.at_m[2] > 0.3


def test_every_place_found_keeps_its_distances() -> None:
    """Checked with plain arithmetic on the plan of the wall, which has a brace behind it."""
    brace = box((1.02, 0.35, 0.0), (1.03, 0.45, 0.6))
    full = opening("old", 0.2, 0.12, state=HoleState.EXISTING, diameter=0.03)
    told_job = job([LEFT, RIGHT], [WIRE], [replace(full, in_use_m=0.029)])
    told, _ = studied(told_job, rooms({"brace": (brace, PANEL)}))
    found = [p for p in told.places if p.found]
    assert len(found) >= 2
    for place in found:
        _, y, z = place.at_m
        drilled = 0.008 + 0.004  # the least that is proposed: 8 mm clear and a grommet
        assert np.hypot(y - 0.2, z - 0.12) - 0.015 >= 2 * (place.diameter_m + 0.004) - 1e-4
        assert not 0.35 - drilled / 2 < y < 0.45 + drilled / 2
        sizes = place.diameter_m + 0.004
        assert min(y, 0.8 - y, z, 0.6 - z) >= 2 * sizes - 1e-4


def test_a_wall_that_may_not_be_drilled_is_left_alone() -> None:
    told, _ = studied(job([LEFT, RIGHT], [WIRE]), rooms(drill=False))
    assert told.places == ()
    assert told.rows[told.best].unreached == ("C",)


def test_a_double_wall_is_passed_whole() -> None:
    second = wall(1.035)
    told, held = studied(job([LEFT, RIGHT], [WIRE]), rooms({"wall rear": (second, PANEL)}))
    best = told.rows[told.best]
    place = next(p for p in told.places if p.name == best.new[0])
    assert place.at_m[0] == pytest.approx(1.0175, abs=0.001)
    assert place.depth_m == pytest.approx(0.045, abs=0.001)
    assert told.cards[0].parts in (("wall", "wall rear"), ("wall rear", "wall"))
    routes = route_all(build_roadmap(held, rooms({"wall rear": (second, PANEL)}))).routes
    assert set(routes) == {"C"}


def test_a_double_wall_with_something_between_is_not() -> None:
    second = wall(1.035)
    between = box((1.01, 0.02, 0.02), (1.02, 0.78, 0.58))
    told, _ = studied(
        job([LEFT, RIGHT], [WIRE]), rooms({"wall rear": (second, PANEL), "loom": (between, OBSTACLE)})
    )
    assert told.places == ()


def test_a_plug_that_passes_no_old_hole_is_told_with_its_alternative() -> None:
    """12 mm old hole, 16 mm plugs on both ends: drill, or fit one of them in the vehicle."""
    ends = [
        device("left", (0.7, 0.2, 0.02), "front", made=MadeUp.BENCH, plug=0.016),
        device("right", (1.3, 0.2, 0.02), "rear", made=MadeUp.BENCH, plug=0.018),
    ]
    old = opening("old", 0.2, 0.1, state=HoleState.EXISTING, diameter=0.012)
    told, _ = studied(job(ends, [WIRE], [old]))
    assert len(told.rows[told.best].new) == 1
    assert told.cards[0].size.clear_m == 0.016
    assert "fitted in the vehicle" in told.plugs[0]
    assert "1 fewer hole" in told.plugs[0]
    none, _ = studied(job(ends, [WIRE], [old]), at_most=0)
    assert none.rows[none.best].unreached == ("C",)
    assert "C would reach" in none.plugs[0]


def test_the_card_says_what_is_known_of_the_hole() -> None:
    told, _ = studied(job([LEFT, RIGHT], [WIRE], [opening("H", 0.2, 0.1)]))
    (card,) = told.cards
    assert card.name == "H"
    assert card.cables == ("C",)
    assert card.parts == ("wall",)
    assert card.far.met is not None
    assert card.far.met.what == "shell"
    assert card.far.met.free_m <= 1.0 + 1e-3
    assert card.size.drill_m == pytest.approx(0.024)
    # 1 mm of sheet, the point of a 3 mm drill (0.9 mm) and 3 mm
    assert card.stop_m == pytest.approx(0.0049, abs=1e-4)
    assert card.fix is not None
    for taped in card.fix.tapes:
        at = next(m.position.at_m for m in job([], []).landmarks if m.name == taped.landmark)
        assert taped.distance_m == pytest.approx(float(np.linalg.norm(np.subtract(at, card.at_m))), abs=1e-6)
    assert {t.landmark for t in card.fix.tapes} <= (
        {"bolt low", "bolt high", "bolt far"} if card.near.space == "front" else {"stud", "stud high"}
    )


@pytest.mark.parametrize("x", [0.965, 1.035])
def test_the_rim_of_a_second_skin_counts_as_well(x: float) -> None:
    """The second skin ends at Y 0.4 m: no hole through both near its rim."""
    second = wall(x)
    second = second[second[:, :, 1].max(axis=1) < 0.41]
    ends = [device("left", (0.7, 0.36, 0.02), "front"), device("right", (1.3, 0.36, 0.02), "rear")]
    told, _ = studied(job(ends, [WIRE]), rooms({"wall rear": (second, PANEL)}))
    double = [p for p in told.places if p.depth_m > 0]
    assert double
    for place in double:
        assert 0.4 - place.at_m[1] >= 2 * (place.diameter_m + 0.004) - 1e-4


def test_a_double_sheet_has_a_stop_for_its_first_sheet_alone() -> None:
    """Skins 35 mm apart, 1 mm each: 1 mm, the point of a 3 mm drill (0.9 mm) and 3 mm; one sheet has no such stop."""
    second = replace(opening("H", 0.2, 0.1), depth_m=0.08, position=Position(at_m=(1.0175, 0.2, 0.1)))
    told, _ = studied(job([LEFT, RIGHT], [WIRE], [second]), rooms({"wall rear": (wall(1.035), PANEL)}))
    (card,) = told.cards
    assert card.size.sheets == 2
    assert card.stop_first_m == pytest.approx(0.0049, abs=1e-4)
    gap = card.near.face_m + card.far.face_m
    assert gap < card.stop_m < gap + 0.01
    told, _ = studied(job([LEFT, RIGHT], [WIRE], [opening("H", 0.2, 0.1)]))
    assert [c.stop_first_m for c in told.cards] == [0.0]
