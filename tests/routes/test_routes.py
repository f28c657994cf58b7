"""Finished routes in small worlds, judged by plain arithmetic and not by the verifier.

What a cable must keep to is read off the curve: the sheets it meets, the gap to each keep-out, the room
it is in, how tight it is bent. Which hole it takes, and why it takes none, is the installer's to decide.

Source     `tests/geometry/plain.py`, formulas in `tests/properties/rooms.py`
"""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest

from routecut.geometry.keep_out import KeepOutField
from routecut.model.finding import Finding
from routecut.routes.harness import fill, fits
from routecut.routes.polyline import points_at, running_m
from tests.geometry.plain import Floats, distances_m, meets
from tests.properties.rooms import FRONT, REAR, Block, End, Hole, Laid, Rod, World, surveyed
from tests.properties.rooms import lay as plan

TWO_ROOMS = World(
    size=(0.9, 0.6, 0.45),
    wall=0.45,
    holes=(Hole(y=0.10, z=0.12, diameter=0.03), Hole(y=0.30, z=0.12, diameter=0.03)),
    window=(0.42, 0.15, 0.56, 0.30),
    start=End(at=(0.2, 0.45, 0.012)),
    end=End(at=(0.7, 0.45, 0.012)),
)
BAFFLE = World(
    size=(0.9, 0.8, 0.45),
    baffles=((0.45, 0.0, 0.0, 0.6, 0.45),),
    start=End(at=(0.2, 0.3, 0.012)),
    end=End(at=(0.7, 0.25, 0.012)),
)
KEPT_OUT = World(
    size=(1.0, 0.7, 0.4),
    keep_outs=(
        Block(low=(0.30, 0.36, 0.0), high=(0.40, 0.46, 0.1), clearance=0.04),
        Rod(start=(0.6, 0.30, 0.0), end=(0.6, 0.30, 0.3), radius=0.03, clearance=0.02),
    ),
    start=End(at=(0.12, 0.35, 0.012)),
    end=End(at=(0.88, 0.35, 0.012)),
)
CORNERS = World(
    size=(0.8, 0.6, 0.5), start=End(at=(0.4, 0.3, 0.012)), end=End(at=(0.4, 0.012, 0.25)), bend=0.040
)


lay = functools.cache(plan)
"""Each world is planned once for all tests of this file."""


def curve(laid: Laid, count: int = 3000) -> Floats:
    assert laid.route is not None
    run = running_m(laid.route.points_m)
    return points_at(np.linspace(0, run[-1], count), run, laid.route.points_m)


def the_error(laid: Laid) -> Finding:
    assert laid.route is None
    (finding,) = laid.errors
    assert finding.code == "no-route"
    assert finding.where.startswith("cable C")
    return finding


def holes_used(laid: Laid) -> list[str]:
    assert laid.route is not None
    return [p.name for p in laid.route.passages]


# --- what every route keeps to ------------------------------------------------------------


@pytest.mark.parametrize("world", [TWO_ROOMS, BAFFLE, KEPT_OUT], ids=["rooms", "baffle", "keep-outs"])
def test_a_route_meets_no_sheet_but_in_its_hole(world: World) -> None:
    laid = lay(world)
    points = curve(laid)
    triangles = laid.surveyed.body.triangles_m
    hit, _ = meets(points[:-1], points[1:], triangles)
    met = points[:-1][hit.any(axis=1)]
    axes = [np.linalg.norm(met[:, 1:] - (h.y, h.z), axis=1) < h.diameter / 2 for h in world.holes]
    assert np.logical_or.reduce([np.zeros(len(met), dtype=bool), *axes]).all()
    assert len(met) >= len(laid.route.passages if laid.route else ())
    # Off the sheets it is as far as it is thick, but at the ends and in the hole.
    away = distances_m(points, triangles).min(axis=1)
    at_holes = [np.linalg.norm(points - (world.wall or 0, h.y, h.z), axis=1) < 0.03 for h in world.holes]
    inner = ~np.logical_or.reduce([np.zeros(len(points), dtype=bool), *at_holes])
    assert away[inner].min() > world.diameter / 2


def test_a_route_keeps_the_clearance_of_every_keep_out() -> None:
    laid = lay(KEPT_OUT)
    points = curve(laid)
    gaps = [float(k.distance(points).min()) - k.clearance - KEPT_OUT.diameter / 2 for k in KEPT_OUT.keep_outs]
    assert min(gaps) >= -2e-4
    # And goes by as near as it may: the straight way would be too near to both.
    assert min(gaps) < 0.01
    free = lay(replace(KEPT_OUT, keep_outs=()))
    assert laid.length_m > free.length_m + 0.002


def test_a_route_changes_room_at_a_hole_and_not_at_a_window() -> None:
    laid = lay(TWO_ROOMS)
    points = curve(laid)
    through = np.flatnonzero(np.diff(np.sign(points[:, 0] - TWO_ROOMS.rooms[0][2][0])))
    assert len(through) == 1
    place = points[through[0], 1:]
    assert np.linalg.norm(place - (0.30, 0.12)) < 0.002
    assert holes_used(laid) == ["H1"]
    assert laid.route is not None
    assert laid.route.spaces == (FRONT, REAR)
    (passage,) = laid.route.passages
    assert (passage.from_space, passage.to_space) == (FRONT, REAR)
    along = points_at(np.array([passage.at_route_m]), running_m(laid.route.points_m), laid.route.points_m)
    np.testing.assert_allclose(along[0], (0.45, 0.30, 0.12), atol=1e-3)


def test_without_a_declared_hole_the_window_is_no_way() -> None:
    finding = the_error(lay(replace(TWO_ROOMS, holes=())))
    assert f'"{FRONT}"' in finding.message


@pytest.mark.parametrize("world", [TWO_ROOMS, CORNERS, BAFFLE], ids=["hole", "corner", "baffle"])
def test_a_route_is_bent_no_tighter_than_its_cable_allows(world: World) -> None:
    laid = lay(world)
    assert laid.route is not None
    apart = world.bend / 2
    run = running_m(laid.route.points_m)
    at = np.arange(apart, run[-1] - apart, apart / 8)
    a, b, c = (points_at(x, run, laid.route.points_m) for x in (at - apart, at, at + apart))
    double_area = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    sides = [np.linalg.norm(p - q, axis=1) for p, q in ((a, b), (b, c), (c, a))]
    radius = sides[0] * sides[1] * sides[2] / np.maximum(2 * double_area, 1e-15)
    # Chords of a sixth of the radius: such a reading is up to a twentieth too small.
    assert radius.min() >= 0.93 * world.bend


@pytest.mark.parametrize("seed", range(4))
def test_round_the_end_of_a_baffle_a_route_is_as_long_as_tangents_and_an_arc(seed: int) -> None:
    rng = np.random.default_rng(seed)
    tip = rng.uniform(0.35, 0.6)
    a = (rng.uniform(0.15, 0.3), tip - rng.uniform(0.1, 0.3), 0.012)
    b = (rng.uniform(0.6, 0.8), tip - rng.uniform(0.1, 0.3), 0.012)
    laid = lay(
        World(
            size=(0.9, 0.8, 0.45),
            baffles=((0.45, 0.0, 0.0, tip, 0.45),),
            start=End(at=a),
            end=End(at=b),
            diameter=0.002,
            bend=0.002,
            bridge=0.0,
        )
    )
    off = [np.array(p[:2]) - (0.45, tip) for p in (a, b)]
    away = [float(np.linalg.norm(v)) for v in off]
    between = float(np.arccos(off[0] @ off[1] / away[0] / away[1]))
    # Both ends lie on the side of the plate, so the way round its end is the reflex angle.
    arc = 0.012 * (2 * np.pi - between - sum(np.arccos(0.012 / d) for d in away))
    exact = sum(np.sqrt(d**2 - 0.012**2) for d in away) + arc
    assert laid.done
    assert 0.998 * exact <= laid.length_m <= 1.005 * exact


# --- whose hole it is ---------------------------------------------------------------------


def test_the_nearer_hole_is_taken_unless_told_otherwise() -> None:
    near = lay(TWO_ROOMS)
    avoided = lay(replace(TWO_ROOMS, cable_more='avoid = ["H1"]\n'))
    told = lay(replace(TWO_ROOMS, cable_more='through = ["H0"]\n'))
    assert (holes_used(near), holes_used(avoided), holes_used(told)) == (["H1"], ["H0"], ["H0"])
    assert near.length_m < avoided.length_m
    assert told.length_m == pytest.approx(avoided.length_m, rel=0.01)


def test_a_hole_for_other_classes_is_not_taken() -> None:
    far, near = TWO_ROOMS.holes
    power = replace(near, more='classes = ["power"]\n')
    assert holes_used(lay(replace(TWO_ROOMS, holes=(far, power)))) == ["H0"]
    finding = the_error(lay(replace(TWO_ROOMS, holes=(power,))))
    assert "it is for power only" in finding.message
    assert 'let it use "H0"' in finding.message


def test_a_hole_that_is_too_small_or_full_is_not_taken() -> None:
    far, near = TWO_ROOMS.holes
    # 6 mm of cable fill 53 % of a hole of 8.2 mm; two cables may fill 31 %.
    assert holes_used(lay(replace(TWO_ROOMS, holes=(far, replace(near, diameter=0.0081))))) == ["H0"]
    assert holes_used(lay(replace(TWO_ROOMS, holes=(far, replace(near, more="in_use = 0.016\n"))))) == ["H0"]
    assert holes_used(lay(replace(TWO_ROOMS, holes=(far, replace(near, more="in_use = 0.015\n"))))) == ["H1"]


@pytest.mark.parametrize(
    ("cables", "smallest"),
    # (sum of d^2 / limit)^(1/2): NEC chapter 9 table 1, 53 %, 31 %, 40 %
    [((6.0,), 8.242), ((6.0, 6.0), 15.240), ((6.0, 6.0, 6.0), 16.432), ((10.0, 3.0), 18.752)],
)
def test_what_fits_a_hole(cables: tuple[float, ...], smallest: float) -> None:
    (hole,) = surveyed(replace(TWO_ROOMS, holes=TWO_ROOMS.holes[:1])).job.pass_throughs
    inside = [d / 1000 for d in cables]
    assert fits(replace(hole, diameter_m=smallest / 1000 + 1e-5), inside)
    assert not fits(replace(hole, diameter_m=smallest / 1000 - 1e-5), inside)
    taken, most = fill(replace(hole, diameter_m=smallest / 1000), inside)
    assert taken == pytest.approx(most, rel=2e-4)


def test_a_hole_to_be_drilled_is_worth_its_detour_only() -> None:
    far, near = TWO_ROOMS.holes
    drilled = replace(near, more='state = "candidate"\n')
    world = replace(TWO_ROOMS, holes=(far, drilled))
    detour = lay(replace(TWO_ROOMS, holes=(far,))).length_m - lay(TWO_ROOMS).length_m
    assert detour > 0.1
    # By default a hole is worth two metres of cable.
    assert holes_used(lay(world)) == ["H0"]
    assert holes_used(lay(replace(world, more=f"[drilling]\nhole_cost = {detour / 2:.4f}\n"))) == ["H1"]


def test_a_keep_out_in_the_only_way_is_named() -> None:
    across = Block(low=(0.35, -0.1, -0.1), high=(0.45, 0.8, 0.6))
    world = replace(TWO_ROOMS, wall=None, holes=(), window=None, keep_outs=(across,), size=(0.8, 0.6, 0.45))
    finding = the_error(lay(world))
    assert 'without the keep-out "K0"' in finding.message


def test_keep_outs_stay_where_they_are_when_a_field_is_asked_twice() -> None:
    laid = lay(KEPT_OUT)
    (first, second) = laid.roadmap.keep_outs_for("control")
    assert isinstance(first, KeepOutField)
    points = np.random.default_rng(0).random((200, 3))
    for field, exact in zip((first, second), KEPT_OUT.keep_outs, strict=True):
        near = (exact.distance(points) < field.clearance_m + 0.08) & (exact.distance(points) > 0)
        np.testing.assert_allclose(field.distance_m(points)[near], exact.distance(points)[near], atol=1e-9)
        np.testing.assert_array_equal(field.distance_m(points), field.distance_m(points))
