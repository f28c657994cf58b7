"""Tightening and rounding of strands laid by hand: never longer, never through, never tighter.

Source     radii are read off the finished curve as circles through three points, lengths are straight
           lines and tangent arcs: first principles
Circular?  No: neither `left_over` nor any other judge of the engine is asked
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from routecut.geometry.keep_out import KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.model.body import Body
from routecut.model.job import KeepOut, Sphere
from routecut.routes import turning
from routecut.routes.bends import left_over, round_bends
from routecut.routes.bows import add_bows, mend_bend, reverse
from routecut.routes.polyline import points_at, running_m
from routecut.routes.strands import Strand, resample
from routecut.routes.surface import Surface
from routecut.routes.tighten import tighten
from routecut.routes.turning import Blocked
from tests.geometry.plain import distances_m, meets

Floats = npt.NDArray[np.float64]

FEW = settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.generate],  # a seed is no simpler for being smaller
)
seeds = st.integers(0, 2**32 - 1)
STAND_OFF, RADIUS = 0.012, 0.003


def rectangle(corner: Floats, u: Floats, v: Floats) -> Floats:
    a, b, c, d = corner, corner + u, corner + u + v, corner + v
    return np.array([[a, b, c], [a, c, d]], dtype=float)


FLOOR = rectangle(np.array([-3.0, -3, 0]), np.array([6.0, 0, 0]), np.array([0, 6.0, 0]))
READ = 0.93

WALL = rectangle(np.array([0.5, -3, 0]), np.array([0, 6.0, 0]), np.array([0, 0, 3.0]))
"""Stands on the floor: an inside corner on either side."""


def surface(*plates: Floats) -> Surface:
    triangles = np.concatenate(plates)
    return Surface(Sheets(triangles), np.ones(len(triangles), dtype=bool))


def strand(
    points: Floats, bend: float, *, keep_outs: tuple[KeepOutField, ...] = (), free: bool = False
) -> Strand:
    pinned = np.zeros(len(points), dtype=bool)
    pinned[[0, -1]] = True
    return Strand(points, pinned, np.full(len(points) - 1, free), STAND_OFF, RADIUS, bend, keep_outs)


def fine(coarse: Strand) -> Strand:
    """As tightening leaves it."""
    return resample(coarse, 0.015)


def ball(at: tuple[float, float, float], radius: float, clearance: float) -> KeepOutField:
    nothing = Body(
        vertices_m=np.zeros((0, 3)),
        faces=np.zeros((0, 3), dtype=np.int64),
        face_part=np.zeros(0, dtype=np.int64),
        parts=(),
        rules=(),
    )
    shape = Sphere(at_m=at, radius_m=radius)
    return KeepOutField(KeepOut(name=f"K{at}", shape=shape, clearance_m=clearance), nothing)


def length(points: Floats) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def tightest_m(points: Floats, bend_m: float) -> float:
    """Least radius of the circles through three places half a bend radius from each other along a polyline.

    On chords of a sixth of the radius such a reading is up to a twentieth too small: see `READ`.
    """
    run = running_m(points)
    apart_m = bend_m / 2
    at = np.arange(apart_m, run[-1] - apart_m, apart_m / 4)
    if not len(at):
        return float("inf")
    a, b, c = (points_at(x, run, points) for x in (at - apart_m, at, at + apart_m))
    double_area = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    sides = [np.linalg.norm(p - q, axis=1) for p, q in ((a, b), (b, c), (c, a))]
    return float((sides[0] * sides[1] * sides[2] / np.maximum(2 * double_area, 1e-15)).min())


def zigzag(
    rng: np.random.Generator, legs: int, leg_m: tuple[float, float], turn_deg: float
) -> tuple[Floats, Floats]:
    """Corners of a path in the plane z = stand-off, and its turns in degrees."""
    turns = rng.uniform(-turn_deg, turn_deg, legs - 1)
    heading = np.radians(rng.uniform(0, 360) + np.r_[0, np.cumsum(turns)])
    steps = rng.uniform(*leg_m, legs)[:, None] * np.column_stack([np.cos(heading), np.sin(heading)])
    flat = np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])
    return np.column_stack([flat - flat.mean(axis=0), np.full(len(flat), STAND_OFF)]), turns


# --- bends --------------------------------------------------------------------------------


@FEW
@given(seed=seeds, bend=st.sampled_from([0.010, 0.030, 0.060]))
def test_rounded_zigzags_are_bent_no_tighter_than_asked(seed: int, bend: float) -> None:
    rng = np.random.default_rng(seed)
    # Legs with room for the tangents of both their bends, twice over.
    corners, turns = zigzag(rng, int(rng.integers(2, 6)), (9 * bend, 16 * bend), 100)
    assume(np.abs(turns).max() > 60)
    (rounded,) = round_bends(surface(FLOOR), [fine(strand(corners, bend))])
    assert tightest_m(corners, bend) < 0.9 * bend
    assert tightest_m(rounded.points_m, bend) >= READ * bend
    np.testing.assert_allclose(rounded.points_m[[0, -1]], corners[[0, -1]], atol=1e-9)
    # On its sheet, no longer than it was, no shorter than straight.
    assert np.abs(rounded.points_m[:, 2] - STAND_OFF).max() < 0.03 * bend
    straight = float(np.linalg.norm(corners[-1] - corners[0]))
    assert straight - 1e-9 <= length(rounded.points_m) <= length(corners) + 1e-6


@FEW
@given(turn=st.integers(50, 120), bend=st.sampled_from([0.010, 0.030, 0.060]))
def test_one_rounded_corner_is_two_tangents_and_an_arc(turn: int, bend: float) -> None:
    angle = np.radians(turn)
    legs = 14 * bend
    corner = np.array([0.0, 0.0, STAND_OFF])
    ahead = corner + legs * np.array([np.cos(angle), np.sin(angle), 0.0])
    corners = np.array([corner - [legs, 0, 0], corner, ahead])
    (rounded,) = round_bends(surface(FLOOR), [fine(strand(corners, bend))])
    exact = 2 * legs - 2 * bend * np.tan(angle / 2) + bend * angle
    # Windows are five radii long either way: within them a longer way round than the least arc saves up to a bit more.
    assert 0.9 * exact <= length(rounded.points_m) <= exact + 0.01 * bend
    assert tightest_m(rounded.points_m, bend) >= READ * bend


@FEW
@given(seed=seeds, bend=st.sampled_from([0.010, 0.040]))
def test_rounded_zigzags_in_free_air_too(seed: int, bend: float) -> None:
    rng = np.random.default_rng(seed)
    steps = rng.normal(size=(4, 3))
    steps *= rng.uniform(9 * bend, 14 * bend, (4, 1)) / np.linalg.norm(steps, axis=1)[:, None]
    unit = steps / np.linalg.norm(steps, axis=1)[:, None]
    assume((np.einsum("ij,ij->i", unit[1:], unit[:-1]) > -0.3).all())
    corners = np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)]) + np.array([0, 0, 5.0])
    (rounded,) = round_bends(surface(FLOOR), [fine(strand(corners, bend, free=True))])
    assert tightest_m(rounded.points_m, bend) >= READ * bend
    assert length(rounded.points_m) <= length(corners) + 1e-6


@FEW
@given(seed=seeds, bend=st.sampled_from([0.020, 0.050]))
def test_rounded_in_an_inside_corner_without_touching_either_plate(seed: int, bend: float) -> None:
    rng = np.random.default_rng(seed)
    y, drift = rng.uniform(-1, 1), rng.uniform(-0.3, 0.3)
    corner = np.array([0.5 - STAND_OFF, y, STAND_OFF])
    before, after = np.array([12 * bend, drift, 0]), np.array([0, drift, 12 * bend])
    corners = np.array([corner - before, corner, corner + after])
    (rounded,) = round_bends(surface(FLOOR, WALL), [fine(strand(corners, bend))])
    assert tightest_m(rounded.points_m, bend) >= READ * bend
    along = points_at(
        np.linspace(0, length(rounded.points_m), 500), running_m(rounded.points_m), rounded.points_m
    )
    assert distances_m(along, np.concatenate([FLOOR, WALL])).min() >= STAND_OFF - 1e-3
    assert along[:, 0].max() < 0.5
    assert length(rounded.points_m) < length(corners)


def test_what_is_gentle_enough_is_left_alone() -> None:
    angle = np.linspace(0, 1.2, 200)
    arc = np.column_stack([0.1 * np.cos(angle), 0.1 * np.sin(angle), np.full(200, STAND_OFF)])
    (rounded,) = round_bends(surface(FLOOR), [strand(arc, 0.05)])
    np.testing.assert_array_equal(rounded.points_m, arc)


# --- tightening ---------------------------------------------------------------------------


@FEW
@given(seed=seeds)
def test_a_tightened_zigzag_on_a_plate_is_the_straight_line(seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners, _ = zigzag(rng, int(rng.integers(2, 7)), (0.08, 0.4), 80)
    (tight,) = tighten(surface(FLOOR), [strand(corners, 0.01)])
    straight = float(np.linalg.norm(corners[-1] - corners[0]))
    assume(straight > 0.2)
    assert length(tight.points_m) == pytest.approx(straight, rel=2e-3)
    assert length(tight.points_m) <= length(corners) + 1e-9
    np.testing.assert_array_equal(tight.points_m[[0, -1]], corners[[0, -1]])
    np.testing.assert_allclose(tight.points_m[:, 2], STAND_OFF, atol=1e-4)


@FEW
@given(seed=seeds)
def test_tightening_never_lengthens_and_never_enters_a_keep_out(seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners, _ = zigzag(rng, int(rng.integers(3, 7)), (0.15, 0.4), 80)
    run = running_m(corners)
    along = points_at(np.linspace(0, run[-1], 1000), run, corners)
    balls = []
    for _ in range(6):
        at = np.array([*rng.uniform(-0.6, 0.6, 2), STAND_OFF])
        radius, clearance = rng.uniform(0.02, 0.08), rng.uniform(0, 0.02)
        if np.linalg.norm(along - at, axis=1).min() > radius + clearance + RADIUS + 0.004:
            balls.append((at, radius, clearance))
    fields = tuple(ball((at[0], at[1], at[2]), radius, clearance) for at, radius, clearance in balls)
    (tight,) = tighten(surface(FLOOR), [strand(corners, 0.01, keep_outs=fields)])
    after = points_at(np.linspace(0, length(tight.points_m), 2000), running_m(tight.points_m), tight.points_m)
    assert length(tight.points_m) <= length(corners) + 1e-6
    assert length(tight.points_m) >= np.linalg.norm(corners[-1] - corners[0]) - 1e-9
    for at, radius, clearance in balls:
        assert np.linalg.norm(after - at, axis=1).min() >= radius + clearance + RADIUS
    # It goes by each ball on the side where it went before.
    for at, _, _ in balls:
        closed = np.concatenate([along, after[::-1]])[:, :2] - at[:2]
        around = np.unwrap(np.arctan2(closed[:, 1], closed[:, 0]))
        assert abs(around[-1] - around[0]) < 1.0


@FEW
@given(seed=seeds)
def test_over_an_inside_corner_it_is_the_unfolded_straight_line(seed: int) -> None:
    rng = np.random.default_rng(seed)
    reach, rise, y0, y1, ym = rng.uniform(0.2, 0.7), rng.uniform(0.2, 0.7), *rng.uniform(-0.5, 0.5, 3)
    # As far off as a way on the roadmap may be.
    ym = y0 + (y1 - y0) * reach / (reach + rise) + 0.2 * (ym - y0)
    corners = np.array(
        [
            (0.5 - STAND_OFF - reach, y0, STAND_OFF),
            (0.5 - STAND_OFF, ym, STAND_OFF),
            (0.5 - STAND_OFF, y1, STAND_OFF + rise),
        ]
    )
    (tight,) = tighten(surface(FLOOR, WALL), [strand(corners, 0.01)])
    exact = float(np.hypot(reach + rise, y1 - y0))
    assert length(tight.points_m) == pytest.approx(exact, rel=2e-3)
    assert length(tight.points_m) <= length(corners) + 1e-6


def round_a_plate(seed: int) -> tuple[Floats, Strand, Floats]:
    """A strand round the free end of a plate across the floor: its corners, tightened, and all sheets."""
    rng = np.random.default_rng(seed)
    end = rng.uniform(-0.2, 0.2)
    across = rectangle(np.array([0.0, -3, 0]), np.array([0, 3 + end, 0]), np.array([0, 0, 2.0]))
    y = end - rng.uniform(0.1, 0.4)
    corners = np.array([(-0.3, y, STAND_OFF), (0.0, end + 0.04, STAND_OFF), (0.35, y - 0.1, STAND_OFF)])
    (tight,) = tighten(surface(FLOOR, across), [strand(corners, 0.01)])
    return corners, tight, np.concatenate([FLOOR, across])


@FEW
@given(seed=seeds)
def test_tightening_does_not_pull_a_strand_through_a_sheet(seed: int) -> None:
    # Straight through is shorter.
    _, tight, sheets = round_a_plate(seed)
    points = tight.points_m
    hit, _ = meets(points[:-1], points[1:], sheets)
    assert not hit.any()
    along = points_at(np.linspace(0, length(points), 1000), running_m(points), points)
    assert distances_m(along, sheets).min() > STAND_OFF - 2e-3


def test_tightening_never_lengthens_round_the_end_of_a_plate() -> None:
    for seed in range(6):
        corners, tight, _ = round_a_plate(seed)
        assert length(tight.points_m) <= length(corners) + 1e-6


@FEW
@given(seed=seeds)
def test_round_the_end_of_a_plate_it_is_two_tangents_and_an_arc(seed: int) -> None:
    corners, tight, sheets = round_a_plate(seed)
    tip = np.array([0.0, sheets[2:, :, 1].max()])
    a, b = corners[0, :2] - tip, corners[-1, :2] - tip
    da, db = float(np.linalg.norm(a)), float(np.linalg.norm(b))
    behind = float((np.arctan2(a[1], a[0]) - np.arctan2(b[1], b[0])) % (2 * np.pi))
    around = max(behind, 2 * np.pi - behind)
    arc = STAND_OFF * (around - np.arccos(STAND_OFF / da) - np.arccos(STAND_OFF / db))
    exact = np.sqrt(da**2 - STAND_OFF**2) + np.sqrt(db**2 - STAND_OFF**2) + arc
    # Laid by hand, further off than a way on the roadmap: it may not get all the way (see `test_routes`).
    assert 0.998 * exact <= length(tight.points_m) <= 1.02 * exact


def through_the_wall(bend: float) -> Strand:
    """Along a wall, square through it, and on along its other side: at the stand-off right behind the hole."""
    x = np.array([0.488, 0.488, 0.4965, 0.5, 0.5035, 0.512, 0.512])
    y = np.array([-0.4, 0.0, 0.0, 0.0, 0.0, 0.0, 0.4])
    laid = strand(np.column_stack([x, y, np.ones(7)]), bend)
    laid.pinned[2:5] = True
    return laid.with_points(laid.points_m, laid.pinned, np.array([False, True, True, True, True, False]))


@pytest.fixture(scope="module")
def bowed() -> tuple[Surface, Blocked, Strand]:
    """With a bow out of the hole on either side, before its bends are rounded."""
    wall = surface(WALL)

    def blocked(from_m: Floats, to_m: Floats) -> npt.NDArray[np.bool_]:
        # in the hole the sheet is let pass
        off = np.linalg.norm(to_m[:, 1:] - [0.0, 1.0], axis=1)
        return np.asarray(wall.sheets.tube_blocked(from_m, to_m, RADIUS) & (off > 0.001))

    return wall, blocked, add_bows(resample(through_the_wall(0.02), 0.015), blocked)


def test_a_bend_is_mended_from_the_end_where_it_takes_no_search(
    bowed: tuple[Surface, Blocked, Strand], monkeypatch: pytest.MonkeyPatch
) -> None:
    wall, blocked, start = bowed
    (tight,) = round_bends(wall, [start])
    assert tightest_m(tight.points_m, 0.02) < 0.9 * 0.02  # its sheet pulls it into the corner
    (place,) = left_over([tight])

    def no_search(*more: object) -> None:
        raise AssertionError

    monkeypatch.setattr(turning._Search, "__init__", no_search)
    for way in (tight, reverse(tight)):
        mended = mend_bend(way, np.array(place.at_m), blocked)
        assert mended is not None
        # the same bend the other way round is mended as well, and both are no bend too tight any more
        assert all(np.linalg.norm(np.subtract(t.at_m, place.at_m)) > 0.01 for t in left_over([mended]))
