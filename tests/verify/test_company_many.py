"""Company of more than two: nothing that is wrong hides behind what is right, or behind another fault.

Truth      every curve is straight or bent by hand, so where each stretch begins and ends is known
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from routecut.model.company import Bundle, Member
from routecut.model.finding import Finding, Severity
from routecut.model.job import CableClass, NoiseSource, SurfaceKind
from routecut.model.plan import Passage
from tests.verify.scenes import Floats, fillet, length, plate
from tests.verify.test_company import R, bundle, judge, of_two, routed, straight

WANTED = 0.0508
LINE = straight(0)


# --- separation ---------------------------------------------------------------------------


def test_each_of_many_is_told_and_one_kind_before_them_hides_none() -> None:
    beside, findings = judge(
        routed("A1", CableClass.AUDIO, straight(0)),
        routed("D1", CableClass.DATA, straight(0.01)),  # of one kind with A1: nothing between them
        routed("P1", CableClass.POWER, straight(-0.02)),
        routed("X1", CableClass.COAX, straight(0.04)),
    )
    told = [(b.cable, b.other) for b in beside]
    assert told == [("A1", "P1"), ("A1", "X1"), ("D1", "P1"), ("D1", "X1")]
    assert [f.key for f in findings] == ["A1", "D1"]
    assert not any("Inside" in f.message for f in findings)  # they share no hole


def test_a_crossing_hides_no_stretch_behind_it() -> None:
    way = [(0.3, -0.3, 0.012), (0.3, 0.3, 0.012), (1.0, 0.3, 0.012), (1.0, 0.02, 0.012), (2, 0.02, 0.012)]
    (found,), _ = judge(routed("A1", CableClass.AUDIO, LINE), routed("P1", CableClass.POWER, fillet(way, R)))
    assert found.from_m == pytest.approx(1.0, abs=WANTED)
    assert found.to_m == pytest.approx(2.0, abs=0.011)


def test_a_stretch_goes_on_past_the_end_of_the_other() -> None:
    (found,), _ = judge(
        routed("A1", CableClass.AUDIO, LINE), routed("P1", CableClass.POWER, straight(0.02, 0.0, 1.0))
    )
    end = 1.0 + np.sqrt(WANTED**2 - 0.02**2)
    assert end - 0.0101 < found.to_m < end  # samples lie 10 mm apart


def test_the_worst_place_lies_in_the_stretch_even_at_its_end() -> None:
    """They draw together; from 1 m on metal lies between them, where they are nearer still."""
    other = np.array([[0, 0.05, 0.012], [2, 0.01, 0.012]])
    wall = plate((1.0, 0.005, 0), (2, 0, 0), (0, 0, 0.3))
    (found,), _ = judge(
        routed("A1", CableClass.AUDIO, LINE),
        routed("P1", CableClass.POWER, other),
        extra={"wall": (SurfaceKind.PANEL, wall)},
    )
    assert found.to_m == pytest.approx(1.0, abs=0.011)
    assert found.at_m == pytest.approx((found.to_m, 0.0, 0.012), abs=1e-9)
    assert found.least_m == pytest.approx(0.05 - 0.02 * found.to_m, abs=0.0005)  # samples 10 mm apart


@pytest.mark.parametrize(
    ("off_m", "told"), [(-0.055, False), (-0.035, True), (0.5, True), (1.128, True), (1.148, False)]
)
def test_a_hole_right_before_or_behind_a_stretch_is_told_and_one_further_off_is_not(
    off_m: float, told: bool
) -> None:
    """P1 comes from the side, runs alongside for a metre and leaves; before and behind it the separation counts."""
    way = np.array([[0.5, 0.9, 0.012], [0.5, 0.02, 0.012], [1.5, 0.02, 0.012], [1.5, 0.9, 0.012]])
    start = 0.5 - np.sqrt(WANTED**2 - 0.02**2)  # and 1.093 m long
    passage = Passage(name="conduit", at_route_m=start + off_m, from_space="room", to_space="room")
    both = routed("A1", CableClass.AUDIO, LINE), routed("P1", CableClass.POWER, way)
    (found,), _ = judge(*[(cable, replace(route, passages=(passage,))) for cable, route in both])
    assert start <= found.from_m < start + 0.0101
    assert bool(found.holes) is told


FAR = np.array([7.0, -4.0, 2.0])
PIECES = np.array(
    [[0.2, 0.05, 0.012], [0.5, 0.05, 0.012], [0.5, 1.2, 0.012], [1.4, 1.2, 0.012], [1.4, 0.03, 0.012], [1.9, 0.03, 0.1]]
)  # fmt: skip


@pytest.mark.parametrize("shift", [0.0, 1.0])
def test_a_noise_source_of_several_pieces_is_near_where_one_of_them_is(shift: float) -> None:
    """Pieces shorter and longer than 1 m, and all of it far from the origin: against a fine sampling of it."""
    pieces = PIECES + shift * FAR
    line = LINE + shift * FAR
    t = np.linspace(0, 1, 2001)[:, None]
    fine = np.concatenate([a + t * (b - a) for a, b in pairwise(pieces)])
    run = np.linspace(0, 2, 401)
    apart = np.array([np.linalg.norm(fine - p, axis=1).min() for p in line[0] + run[:, None] * [1.0, 0, 0]])
    noise = NoiseSource(
        name="loom", line_m=tuple(map(tuple, pieces.tolist())), separation_m=0.1, applies_to=("audio",)
    )
    beside, findings = judge(routed("A1", CableClass.AUDIO, line), noise_sources=(noise,))
    first, second = beside
    assert [b.cable for b in beside] == ["A1", "A1"]
    assert [f.key for f in findings] == ["A1"]
    middle = run < 1.0
    for found, part in ((first, middle), (second, ~middle)):
        near = run[(apart < 0.1) & part]
        assert (found.from_m, found.to_m) == pytest.approx((near[0], near[-1]), abs=0.011)
        assert found.least_m == pytest.approx(apart[part].min(), abs=0.0005)


# --- bundles ------------------------------------------------------------------------------


def members(*given: tuple[str, float, float]) -> tuple[Member, ...]:
    """Side by side: name, where each joins and leaves."""
    return tuple(
        Member(cable=name, from_m=a, to_m=b, place_m=(0.006 * k - 0.003 * (len(given) - 1), 0.0))
        for k, (name, a, b) in enumerate(given)
    )


def second(from_m: float, to_m: float) -> Bundle:
    return bundle(LINE, members=members(("A1", 0.0, 2.0), ("D1", from_m, to_m)))


def test_one_wrong_bundle_hides_no_other() -> None:
    bent = fillet([(0, 0, 0.012), (1, 0, 0.012), (1, 0.8, 0.012)], 0.031)
    lost = members(("A1", 0.0, 2.0), ("Z9", 0.0, 2.0))
    tight = members(("A2", 0.0, length(bent)), ("D2", 0.0, length(bent)))
    given = (
        bundle(LINE, name="no route", members=lost),
        bundle(LINE, name="too long", length_m=1.9),
        bundle(bent, name="too tight", members=tight),
        bundle(LINE, name="too small", diameter_m=0.011),
        bundle(bent, name="tight as well", members=tight),
        bundle(LINE, name="right"),
    )
    cables = [
        routed("A1", CableClass.AUDIO, LINE), routed("D1", CableClass.DATA, LINE),
        routed("A2", CableClass.AUDIO, bent), routed("D2", CableClass.DATA, bent),
    ]  # fmt: skip
    found = judge(*cables, bundles=given)[1]
    assert list(dict.fromkeys(f.where for f in found)) == [
        "no route", "too long", "too tight", "too small", "tight as well",
    ]  # fmt: skip


def test_a_member_that_ends_before_hides_none_behind_it() -> None:
    given = bundle(
        LINE, members=members(("A1", 0.0, 2.0), ("D1", 0.5, 2.5), ("D2", 0.0, 2.0)), diameter_m=0.018,
        bend_radius_m=R + 0.006,
    )  # fmt: skip
    cables = [
        routed("A1", CableClass.AUDIO, LINE), routed("D1", CableClass.DATA, LINE),
        routed("D2", CableClass.DATA, straight(0.3)),
    ]  # fmt: skip
    one, other = judge(*cables, bundles=(given,))[1]
    assert one.message.startswith("D1 ends before")
    assert other.message.startswith("D2 is up to")


@pytest.mark.parametrize("change", [{"diameter_m": 0.01194}, {"members": "closer"}])
def test_a_section_is_held_to_a_hundredth_of_a_millimetre(change: dict[str, Any]) -> None:
    if "members" in change:  # 20 micrometres into each other
        both = bundle(LINE).members
        change = {"members": tuple(replace(m, place_m=(m.place_m[0] * 0.99667, 0.0)) for m in both)}
    (found,) = of_two(LINE, LINE, bundle(LINE, **change))[:1]
    assert (found.code, found.severity) == ("verify-bundle", Severity.ERROR)


def test_a_bundle_may_begin_anywhere_along_its_cables() -> None:
    """The lead is in it from 0.5 m to 1.5 m, the other, which begins 0.3 m later, from 0.2 m to 1.2 m."""
    given = bundle(LINE, members=members(("A1", 0.5, 1.5), ("D1", 0.2, 1.2)), length_m=1.0)
    assert of_two(LINE, straight(0, start=0.3), given) == []
    (found,) = of_two(LINE, straight(0, start=0.3), replace(given, length_m=1.1))
    assert "A1 is in it for 1000 mm" in found.message


@pytest.mark.parametrize(
    ("from_m", "to_m", "fault"),
    [
        (0.03, 2.0, ""), (0.0, 1.97, ""), (2.0, 0.0, "up to 2000 mm away"),
        (0.04, 2.0, "up to 40 mm away"), (0.0, 1.96, "up to 40 mm away"),
        (0.02, 2.02, "ends before it"), (-0.02, 1.98, "ends before it"),
    ],
)  # fmt: skip
def test_the_ends_of_a_member_are_held(from_m: float, to_m: float, fault: str) -> None:
    found = of_two(LINE, LINE, second(from_m, to_m))
    assert [fault in f.message for f in found] == [True] * bool(fault)


@pytest.mark.parametrize(("leg", "wrong"), [(0.1, False), (0.0625, True)])
def test_a_member_that_winds_too_much_is_told(leg: float, wrong: bool) -> None:
    """It stays within 20 mm: 8 % longer over legs of 100 mm, 19 % over 62.5; a tenth of 2 m is allowed."""
    x = np.linspace(0, 2, round(2 / leg) + 1)
    winds = np.stack([x, 0.02 * (-1) ** np.arange(len(x)), np.full(len(x), 0.012)], axis=1)
    found = of_two(LINE, winds, second(0.0, length(winds)))
    assert [f"D1 is in it for {1000 * length(winds):.0f} mm" in f.message for f in found] == [True] * wrong


def bow(at: float, over: float, aside: float) -> list[tuple[float, float, float]]:
    """Out, along and back."""
    back = at + 0.02 + over
    return [(at, 0, 0.012), (at + 0.02, aside, 0.012), (back, aside, 0.012), (back + 0.02, 0, 0.012)]


def test_a_wide_short_parting_hides_no_long_one() -> None:
    """50 mm aside over 30 mm is a way round something; 45 mm aside over half a metre is not in the bundle."""
    start, end = (0.0, 0.0, 0.012), (2.0, 0.0, 0.012)

    def judged(*bows: Any) -> list[Finding]:
        way: Floats = np.array([start, *(p for b in bows for p in b), end])
        return of_two(LINE, way, second(0.0, length(way)))

    short, long = bow(0.4, 0.01, 0.0495), bow(1.0, 0.5, 0.0445)
    assert judged(short) == []
    (found,) = judged(long)
    assert "up to 45 mm away" in found.message
    (found,) = judged(short, long)
    assert "up to 50 mm away" in found.message


def test_a_long_bundle_is_looked_at_as_closely_as_a_short_one() -> None:
    """10 m and a small bow near the start: the samples of both no longer lie side by side."""
    line = straight(0, end=10.0)
    way = np.array([(0.0, 0.0, 0.012), *bow(0.4, 0.02, 0.03), (10.0, 0.0, 0.012)])
    both = bundle(line, members=members(("A1", 0.0, 10.0), ("D1", 0.0, length(way))))
    assert of_two(line, way, both) == []


def test_the_tightest_bend_is_the_one_told() -> None:
    """Two bends too tight for the bundle: the second, at X 1000, Y 800, is the tighter."""
    first = fillet([(0, 0, 0.012), (1, 0, 0.012), (1, 0.4, 0.012)], 0.0315)
    then = fillet([(1, 0.4, 0.012), (1, 0.8, 0.012), (0.3, 0.8, 0.012)], 0.0305)
    curve = np.concatenate([first[:-1], then])
    (found,) = of_two(curve, curve, bundle(curve))
    assert "room for 30 mm" in found.message
    x, y = (int(found.message.split(f"{axis} ")[1].split(",")[0]) for axis in "XY")
    assert x == pytest.approx(1000, abs=40)
    assert y == pytest.approx(800, abs=40)
