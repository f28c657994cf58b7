"""Bundles of curves drawn by hand: who is in them, from where to where, how thick and how stiff."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from routecut.geometry.packing import enclosing_m
from routecut.model.company import Bundle
from routecut.model.job import Cable, CableClass, CableType
from routecut.model.plan import Route
from routecut.routes.bundles import find_bundles


def cable(
    name: str, diameter: float = 0.006, bend: float = 0.03, kind: CableClass = CableClass.DATA
) -> Cable:
    made = CableType(name=name, cable_class=kind, diameter_m=diameter, min_bend_radius_m=bend)
    return Cable(name=name, from_port="a.p", to_port="b.p", cable_class=kind, type=made)


def line(*points: Any) -> np.ndarray:
    return np.array(points, dtype=float)


def bundles(*pairs: tuple[Cable, np.ndarray]) -> tuple[Bundle, ...]:
    routes = {c.name: Route(points_m=p, length_m=1.0, spaces=(), bend_radius_m=0.03) for c, p in pairs}
    return find_bundles([c for c, _ in pairs], routes)


def names(found: Bundle) -> list[str]:
    return [m.cable for m in found.members]


def test_two_that_run_together_for_a_part() -> None:
    (found,) = bundles(
        (cable("D1", bend=0.04), line((0, 0, 0), (3, 0, 0))),
        (cable("D2"), line((1, 1, 0), (1, 0.02, 0), (2.2, 0.02, 0), (2.2, -1, 0))),
    )
    assert names(found) == ["D1", "D2"]
    assert found.length_m == pytest.approx(1.2, abs=0.05)
    lead, other = found.members
    assert [lead.from_m, lead.to_m] == pytest.approx([1.0, 2.2], abs=0.03)
    assert [other.from_m, other.to_m] == pytest.approx([0.98, 2.18], abs=0.03)
    assert found.from_at_m == pytest.approx((lead.from_m, 0, 0))
    assert found.to_at_m == pytest.approx((lead.to_m, 0, 0))


def test_one_that_runs_against_the_other() -> None:
    (found,) = bundles(
        (cable("D1", bend=0.04), line((0, 0, 0), (2, 0, 0))), (cable("D2"), line((2, 0, 0), (0, 0, 0)))
    )
    assert found.members[1].from_m == pytest.approx(2.0)
    assert found.members[1].to_m == pytest.approx(0.0)


@pytest.mark.parametrize(("aside", "together"), [(0.029, True), (0.031, False)])
def test_how_near_is_together(aside: float, together: bool) -> None:
    found = bundles(
        (cable("D1"), line((0, 0, 0), (2, 0, 0))), (cable("D2"), line((0, aside, 0), (2, aside, 0)))
    )
    assert bool(found) is together


@pytest.mark.parametrize(("length", "together"), [(0.33, True), (0.27, False)])
def test_how_long_is_together(length: float, together: bool) -> None:
    found = bundles((cable("D1"), line((0, 0, 0), (2, 0, 0))), (cable("D2"), line((0, 0, 0), (length, 0, 0))))
    assert bool(found) is together


def test_what_only_crosses_is_no_bundle() -> None:
    assert not bundles((cable("D1"), line((0, 0, 0), (2, 0, 0))), (cable("D2"), line((1, -1, 0), (1, 1, 0))))


@pytest.mark.parametrize(("sway", "together"), [(0.012, True), (0.020, False)])
def test_what_wanders_to_and_fro_is_no_bundle(sway: float, together: bool) -> None:
    """Within reach all the way; 5 % longer than the leader it goes along, 15 % longer it does not."""
    waves = [(x, sway * math.sin(40 * x), 0) for x in np.linspace(0, 2, 900)]
    found = bundles((cable("D1"), line((0, 0, 0), (2, 0, 0))), (cable("D2"), line(*waves)))
    assert bool(found) is together


@pytest.mark.parametrize("kind", [CableClass.POWER, CableClass.COAX, CableClass.BOND])
def test_other_kinds_are_not_tied_to_it(kind: CableClass) -> None:
    same = line((0, 0, 0), (2, 0, 0))
    assert not bundles((cable("D1"), same), (cable("X1", kind=kind), same))
    assert len(bundles((cable("D1"), same), (cable("A1", kind=CableClass.AUDIO), same))) == 1


def test_it_is_cut_where_a_member_joins_and_leaves() -> None:
    found = bundles(
        (cable("D1", 0.008, 0.04), line((0, 0, 0), (4, 0, 0))),
        (cable("D2", 0.006), line((0, 0.01, 0), (4, 0.01, 0))),
        (cable("D3", 0.004), line((1, 1, 0), (1, 0, 0), (3, 0, 0), (3, 1, 0))),
    )
    assert [names(b) for b in found] == [["D1", "D2"], ["D1", "D2", "D3"], ["D1", "D2"]]
    assert [b.length_m for b in found] == pytest.approx([1, 2, 1], abs=0.05)
    assert [b.name for b in found] == ["bundle 1", "bundle 2", "bundle 3"]
    middle = found[1]
    assert middle.diameter_m == pytest.approx(enclosing_m([0.008, 0.006, 0.004]))
    assert middle.diameter_m == pytest.approx(0.014, rel=1e-6)  # the third fits beside the two
    # each member's own radius and the way from its middle to that of the bundle
    assert middle.bend_radius_m == pytest.approx(max(0.04 + 0.003, 0.03 + 0.004, 0.03 + 0.005), rel=1e-6)
    assert middle.sleeve_m == pytest.approx(1.15 * middle.diameter_m)


def test_a_short_parting_does_not_cut_it() -> None:
    bow = line((0, 0, 0), (1, 0, 0), (1.03, 0.06, 0), (1.06, 0, 0), (2, 0, 0))
    (found,) = bundles((cable("D1", bend=0.04), line((0, 0, 0), (2, 0, 0))), (cable("D2"), bow))
    assert found.length_m == pytest.approx(2.0, abs=0.02)


def test_nobody_is_in_two_bundles_at_one_place() -> None:
    """D2 runs between D1 and D3, which are too far from each other."""
    found = bundles(
        (cable("D1", bend=0.05), line((0, 0, 0), (2, 0, 0))),
        (cable("D2", bend=0.04), line((0, 0.025, 0), (3, 0.025, 0))),
        (cable("D3"), line((0, 0.05, 0), (3, 0.05, 0))),
    )
    assert [names(b) for b in found] == [["D1", "D2"], ["D2", "D3"]]
    assert found[1].members[0].from_m == pytest.approx(2.0, abs=0.03)


def test_one_between_two_is_tied_to_the_stiffer() -> None:
    found = bundles(
        (cable("D1", bend=0.05), line((0, 0, 0), (2, 0, 0))),
        (cable("D2", bend=0.04), line((0, 0.05, 0), (2, 0.05, 0))),
        (cable("D3"), line((0, 0.025, 0), (2, 0.025, 0))),
    )
    assert [names(b) for b in found] == [["D1", "D3"]]
