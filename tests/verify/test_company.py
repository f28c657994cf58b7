"""Finished curves beside each other, right ones and ones made wrong on purpose.

Separation is judged on curves over a level plate; a bundle is judged by what is said of it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from routecut.model.company import Beside, Bundle, Member
from routecut.model.finding import Finding, Severity
from routecut.model.job import (
    Cable,
    CableClass,
    CableType,
    HoleState,
    Job,
    NoiseSource,
    PassThrough,
    Position,
    Rules,
    SurfaceKind,
)
from routecut.model.plan import Passage, Route
from routecut.verify import verify_company
from tests.verify.scenes import Floats, fillet, length, make_body, make_cable, make_job, plate, space

D, R = 0.006, 0.030
PLATE = plate((0, -1, 0), (3, 0, 0), (0, 2, 0))


def job(**changes: Any) -> Job:
    return make_job((0, 0, 0.012), (3, 0, 0.012), spaces=(space("room", (-1, -2, 0), (4, 2, 1)),), **changes)


def routed(name: str, kind: CableClass, points: Any, diameter: float = D) -> tuple[Cable, Route]:
    points = np.asarray(points, dtype=float)
    made = CableType(name=kind.value, cable_class=kind, diameter_m=diameter, min_bend_radius_m=R)
    cable = make_cable(name, cable_class=kind, type=made)
    return cable, Route(points_m=points, length_m=length(points), spaces=("room",), bend_radius_m=R)


def straight(y: float, start: float = 0.0, end: float = 2.0, z: float = 0.012) -> Floats:
    return np.array([[start, y, z], [end, y, z]])


def judge(
    *cables: tuple[Cable, Route], bundles: tuple[Bundle, ...] = (), extra: Any = None, **changes: Any
) -> tuple[tuple[Beside, ...], list[Finding]]:
    parts = {"plate": (SurfaceKind.PANEL, PLATE)} | (extra or {})
    return verify_company(job=job(**changes), body=make_body(**parts), routed=cables, bundles=bundles)


# --- separation ---------------------------------------------------------------------------


@pytest.mark.parametrize(("gap", "metres"), [(0.0508 + 0.001, 0.0), (0.0508 - 0.001, 2.0), (0.0, 2.0)])
def test_alongside_a_foreign_kind_counts_by_length(gap: float, metres: float) -> None:
    beside, findings = judge(
        routed("A1", CableClass.AUDIO, straight(0)), routed("P1", CableClass.POWER, straight(gap))
    )
    assert sum(b.length_m for b in beside) == pytest.approx(metres, abs=0.03)
    assert len(findings) == (metres > 0)
    if beside:
        assert (beside[0].cable, beside[0].other) == ("A1", "P1")
        assert beside[0].least_m == pytest.approx(gap, abs=1e-9)
        assert findings[0].severity is Severity.WARNING
        assert findings[0].key == "A1"
        assert "P1 from 0.00 m to 2.00 m" in findings[0].message


@pytest.mark.parametrize(("other", "holes"), [("conduit", ("conduit",)), ("slot", ())])
def test_a_hole_that_both_go_through_is_told_as_where_they_cannot_be_clipped_apart(
    other: str, holes: tuple[str, ...]
) -> None:
    def through(name: str, made: tuple[Cable, Route]) -> tuple[Cable, Route]:
        passage = Passage(name=name, at_route_m=1.0, from_space="room", to_space="room")
        return made[0], replace(made[1], passages=(passage,))

    (found,), (finding,) = judge(
        through("conduit", routed("A1", CableClass.AUDIO, straight(0))),
        through(other, routed("P1", CableClass.POWER, straight(0.01))),
    )
    assert found.holes == holes
    assert ("Inside conduit they lie together: fan them out" in finding.message) is bool(holes)


def test_only_the_stretch_that_is_near_counts() -> None:
    detour = fillet(
        [(0, 0.3, 0.012), (0.5, 0.3, 0.012), (0.8, 0.02, 0.012), (1.4, 0.02, 0.012), (2, 0.5, 0.012)], R
    )
    (found,), _ = judge(routed("A1", CableClass.AUDIO, straight(0)), routed("X1", CableClass.COAX, detour))
    slope = np.array([0.3, 0.28]) / np.hypot(0.3, 0.28)
    before = 0.8 - slope[0] / slope[1] * (0.0508 - 0.02)
    assert found.from_m == pytest.approx(before, abs=0.02)
    assert found.to_m == pytest.approx(1.4 + 0.6 / 0.48 * (0.0508 - 0.02), abs=0.03)
    assert found.least_m == pytest.approx(0.02, abs=1e-6)


@pytest.mark.parametrize(("degrees", "counts"), [(90, False), (50, False), (30, True), (10, True)])
def test_what_crosses_is_free(degrees: float, counts: bool) -> None:
    turn = np.radians(degrees)
    across = np.array([1, 0, 0.012]) + np.array([[-0.9], [0.9]]) * [np.cos(turn), np.sin(turn), 0]
    beside, _ = judge(routed("A1", CableClass.AUDIO, straight(0)), routed("P1", CableClass.POWER, across))
    assert bool(beside) is counts


def test_one_kind_and_a_bond_keep_no_distance() -> None:
    for kind in (CableClass.AUDIO, CableClass.DATA, CableClass.BOND):
        assert not judge(routed("A1", CableClass.AUDIO, straight(0)), routed("B1", kind, straight(0.01)))[0]


def test_metal_between_keeps_apart() -> None:
    upright = plate((0, 0.01, 0), (3, 0, 0), (0, 0, 0.3))
    cables = routed("A1", CableClass.AUDIO, straight(0)), routed("P1", CableClass.POWER, straight(0.02))
    assert not judge(*cables, extra={"wall": (SurfaceKind.PANEL, upright)})[0]
    half = plate((0, 0.01, 0), (1, 0, 0), (0, 0, 0.3))
    (found,), _ = judge(*cables, extra={"wall": (SurfaceKind.PANEL, half)})
    assert found.from_m == pytest.approx(1.0, abs=0.02)


def test_a_noise_source_counts_for_its_classes() -> None:
    loom = NoiseSource(
        name="loom", line_m=((0.5, 0.05, 0.012), (1.5, 0.05, 0.012)), separation_m=0.1, applies_to=("audio",)
    )
    (found,), findings = judge(routed("A1", CableClass.AUDIO, straight(0)), noise_sources=(loom,))
    assert found.noise
    side = np.sqrt(0.1**2 - 0.05**2)
    assert found.length_m == pytest.approx(1 + 2 * side, abs=0.03)
    assert "the noise source loom" in findings[0].message
    assert not judge(routed("D1", CableClass.DATA, straight(0)), noise_sources=(loom,))[0]


def test_the_separation_is_a_rule_of_the_job() -> None:
    cables = routed("A1", CableClass.AUDIO, straight(0)), routed("P1", CableClass.POWER, straight(0.06))
    assert not judge(*cables)[0]
    assert judge(*cables, rules=Rules(limits=(("separation_mm", 70.0),)))[0]


# --- bundles ------------------------------------------------------------------------------

BENT = fillet([(0, 0, 0.012), (1, 0, 0.012), (1, 0.8, 0.012)], 0.045)


def bundle(first: Floats, to_m: float | None = None, **changes: Any) -> Bundle:
    """Two of 6 mm side by side over a whole curve."""
    end = length(first) if to_m is None else to_m
    made = Bundle(
        name="bundle 1",
        members=(
            Member(cable="A1", from_m=0.0, to_m=end, place_m=(-0.003, 0.0)),
            Member(cable="D1", from_m=0.0, to_m=end, place_m=(0.003, 0.0)),
        ),
        length_m=end,
        diameter_m=0.012,
        bend_radius_m=R + 0.003,
        from_at_m=(0, 0, 0.012),
        to_at_m=(1, 0.8, 0.012),
    )
    return replace(made, **changes)


def of_two(first: Any, second: Any, given: Bundle) -> list[Finding]:
    cables = routed("A1", CableClass.AUDIO, first), routed("D1", CableClass.DATA, second)
    return judge(*cables, bundles=(given,))[1]


def test_a_right_bundle_is_right() -> None:
    assert of_two(BENT, BENT, bundle(BENT)) == []


def test_one_that_runs_against_it_is_in_it_too() -> None:
    end = length(BENT)
    both = bundle(BENT)
    turned = replace(both.members[1], from_m=end, to_m=0.0)
    assert of_two(BENT, BENT[::-1], replace(both, members=(both.members[0], turned))) == []


WRONG: dict[str, dict[str, Any]] = {
    "too small a circle": {"diameter_m": 0.0115},
    "one through the other": {
        "members": (
            Member(cable="A1", from_m=0.0, to_m=2.0, place_m=(-0.002, 0.0)),
            Member(cable="D1", from_m=0.0, to_m=2.0, place_m=(0.002, 0.0)),
        )
    },
    "longer than it is": {"length_m": 1.9},
    "bent tighter than the inner one may": {"bend_radius_m": R},
    "a member without a route": {
        "members": (
            Member(cable="A1", from_m=0.0, to_m=2.0, place_m=(-0.003, 0.0)),
            Member(cable="Z9", from_m=0.0, to_m=2.0, place_m=(0.003, 0.0)),
        )
    },
    "a member that ends before": {
        "members": (
            Member(cable="A1", from_m=0.0, to_m=2.0, place_m=(-0.003, 0.0)),
            Member(cable="D1", from_m=0.5, to_m=2.5, place_m=(0.003, 0.0)),
        )
    },
    "a member in it for half": {
        "members": (
            Member(cable="A1", from_m=0.0, to_m=2.0, place_m=(-0.003, 0.0)),
            Member(cable="D1", from_m=0.0, to_m=1.0, place_m=(0.003, 0.0)),
        )
    },
}


@pytest.mark.parametrize("change", WRONG.values(), ids=WRONG)
def test_what_is_said_wrongly_is_an_error(change: dict[str, Any]) -> None:
    line = straight(0)
    assert of_two(line, line, bundle(line)) == []
    found = of_two(line, line, bundle(line, **change))
    assert found
    assert {(f.code, f.severity) for f in found} == {("verify-bundle", Severity.ERROR)}


@pytest.mark.parametrize(("aside", "wrong"), [(0.030, False), (0.040, True), (0.300, True)])
def test_members_must_run_together(aside: float, wrong: bool) -> None:
    line = straight(0)
    assert bool(of_two(line, straight(aside), bundle(line))) is wrong


def test_a_member_that_bows_out_in_the_middle_is_not_in_it() -> None:
    line = straight(0)
    out = fillet([(0, 0, 0.012), (0.8, 0, 0.012), (1, 0.1, 0.012), (1.2, 0, 0.012), (2, 0, 0.012)], R)
    wide = bundle(line)
    there = replace(wide.members[1], to_m=length(out))
    (found,) = of_two(line, out, replace(wide, members=(wide.members[0], there)))
    assert "away from A1" in found.message
    short = fillet([(0, 0, 0.012), (0.97, 0, 0.012), (1, 0.06, 0.012), (1.03, 0, 0.012), (2, 0, 0.012)], 0.01)
    there = replace(wide.members[1], to_m=length(short))
    assert of_two(line, short, replace(wide, members=(wide.members[0], there))) == []


@pytest.mark.parametrize(("radius", "tight"), [(0.034, False), (0.031, True)])
def test_a_bend_for_one_cable_may_be_too_tight_for_the_bundle(radius: float, tight: bool) -> None:
    """33 mm to the middle: 30 for the inner one, and 3 from it to the middle."""
    curve = fillet([(0, 0, 0.012), (1, 0, 0.012), (1, 0.8, 0.012)], radius)
    found = of_two(curve, curve, bundle(curve))
    assert [(f.code, f.severity) for f in found] == [("bundle-bend", Severity.WARNING)] * tight
    if tight:
        assert found[0].allowed == "33 mm"
    # a bend behind its end is none of the bundle's
    assert of_two(curve, curve, bundle(curve, to_m=0.8)) == []


def test_an_empty_hole_that_joins_the_same_spaces_is_named_with_what_to_type() -> None:
    """Not one that carries something, that is too small, for another class, or still to be drilled."""

    def hole(name: str, **changes: Any) -> PassThrough:
        given: dict[str, Any] = {
            "position": Position(at_m=(1, 0, 0.012)), "axis": (1.0, 0.0, 0.0), "diameter_m": 0.03,
            "state": HoleState.EXISTING, "joins": ("room", "hall"),
        }  # fmt: skip
        return PassThrough(name=name, **(given | changes))

    def cables() -> list[tuple[Cable, Route]]:
        passage = Passage(name="conduit", at_route_m=1.0, from_space="room", to_space="hall")
        return [
            (cable, replace(route, passages=(passage,)))
            for cable, route in (
                routed("A1", CableClass.AUDIO, straight(0)),
                routed("P1", CableClass.POWER, straight(0.01)),
            )
        ]

    def message(*others: PassThrough) -> str:
        _, (finding,) = judge(*cables(), pass_throughs=(hole("conduit"), *others))
        return finding.message

    cured = message(hole("empty", joins=("hall", "room")))
    assert "send A1 through empty, which joins the same spaces and is empty in this plan" in cured
    assert '[[cable]] "A1" through = ["empty"]' in cured
    assert "P1 through empty" in cured
    for wrong in (
        {"joins": ("room", "yard")},
        {"state": HoleState.CANDIDATE},
        {"classes": ("coax",)},
        {"diameter_m": D - 0.0001},
        {"in_use_m": 0.03 - D + 0.0001},
    ):
        assert "through another hole." in message(hole("empty", **wrong)), wrong
    only = message(hole("empty", classes=("power",)))
    assert "send P1 through empty" in only
    assert "A1 through" not in only
