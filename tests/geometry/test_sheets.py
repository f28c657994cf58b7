"""Sheets against plain arithmetic over every triangle.

Source     `plain.py` beside this: first principles
Circular?  No: nothing of `routecut` is used for what is expected
"""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from routecut.geometry.frames import Frames
from routecut.geometry.sheets import Sheets
from routecut.geometry.triangles import split_to
from tests.geometry.plain import Floats, distances_m, meets, on_segment_m

SOME = settings(
    max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
seeds = st.integers(0, 2**32 - 1)


def soup(rng: np.random.Generator, count: int) -> Floats:
    """Loose triangles of 2 to 800 mm in a box of a metre, (n, 3, 3)."""
    size = np.exp(rng.uniform(np.log(0.002), np.log(0.8), count))
    return np.asarray(rng.random((count, 1, 3)) + size[:, None, None] * rng.uniform(-0.5, 0.5, (count, 3, 3)))


def plate(u: float, v: float) -> Floats:
    """A rectangle in the plane z = 0, (2, 3, 3)."""
    a, b, c, d = (0, 0, 0), (u, 0, 0), (u, v, 0), (0, v, 0)
    return np.array([[a, b, c], [a, c, d]], dtype=float)


# --- nearest -----------------------------------------------------------------------------


@SOME
@given(seed=seeds, reach=st.sampled_from([0.004, 0.03, 0.2, 0.7]))
def test_near_finds_every_face_within_reach_and_no_other(seed: int, reach: float) -> None:
    rng = np.random.default_rng(seed)
    triangles = soup(rng, 30)
    points = rng.uniform(-0.2, 1.2, (25, 3))
    exact = distances_m(points, triangles)
    found = Sheets(triangles).near(points, reach)
    got = np.full(exact.shape, np.inf)
    np.minimum.at(got, (found.point, found.face), found.distance_m)
    inside = exact < reach - 1e-9
    np.testing.assert_allclose(got[inside], exact[inside], atol=1e-9)
    assert np.isinf(got[exact > reach + 1e-9]).all()
    np.testing.assert_allclose(
        np.linalg.norm(points[found.point] - found.at_m, axis=1), found.distance_m, atol=1e-12
    )
    # Nearest first, and each place lies on the face it is said to be on.
    same = np.diff(found.point) == 0
    assert (np.diff(found.point) >= 0).all()
    assert (np.diff(found.distance_m)[same] >= 0).all()
    if len(found.at_m):
        on_own = distances_m(found.at_m, triangles)[np.arange(len(found.at_m)), found.face]
        assert on_own.max() < 1e-9


@SOME
@given(seed=seeds)
def test_near_takes_a_reach_for_each_point(seed: int) -> None:
    rng = np.random.default_rng(seed)
    triangles, points = soup(rng, 30), rng.random((40, 3))
    reach = np.exp(rng.uniform(np.log(0.002), np.log(0.6), len(points)))
    exact = distances_m(points, triangles)
    found = Sheets(triangles).near(points, reach)
    near = np.zeros(exact.shape, dtype=bool)
    near[found.point, found.face] = True
    assert near[exact < reach[:, None] - 1e-9].all()
    assert not near[exact > reach[:, None] + 1e-9].any()


@SOME
@given(seed=seeds)
def test_closest_is_the_least_distance_or_infinite(seed: int) -> None:
    rng = np.random.default_rng(seed)
    triangles, points = soup(rng, 20), rng.uniform(-0.3, 1.3, (30, 3))
    exact = distances_m(points, triangles).min(axis=1)
    distance, place, face = Sheets(triangles).closest(points, 0.15)
    within = exact < 0.15
    np.testing.assert_allclose(distance[within], exact[within], atol=1e-9)
    assert np.isinf(distance[~within]).all()
    assert (face[~within] == -1).all()
    np.testing.assert_allclose(np.linalg.norm(points - place, axis=1)[within], exact[within], atol=1e-9)


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_many_points_are_told_what_few_are(seed: int) -> None:
    """Asked all at once each is looked for no further than it can be; in tens as far as it was asked."""
    rng = np.random.default_rng(seed)
    sheets = Sheets(np.concatenate([soup(rng, 40), plate(0.3, 0.2)]))
    points = rng.uniform(-1.5, 1.5, (1200, 3))
    reach = rng.uniform(0.05, 1.0, len(points))
    together = sheets.closest(points, reach)
    for start in range(0, len(points), 40):
        part = slice(start, start + 40)
        for one, some in zip(together, sheets.closest(points[part], reach[part]), strict=True):
            assert np.array_equal(one[part], some)


@SOME
@given(seed=seeds)
def test_nearest_point_of_a_triangle_beats_all_samples(seed: int) -> None:
    rng = np.random.default_rng(seed)
    triangle = rng.random((1, 3, 3))
    point = rng.uniform(-0.5, 1.5, (1, 3))
    place = closest_on_triangles(point, triangle)
    u, v = np.meshgrid(np.linspace(0, 1, 60), np.linspace(0, 1, 60))
    u, v = u[u + v <= 1], v[u + v <= 1]
    a, b, c = triangle[0]
    samples = a + u[:, None] * (b - a) + v[:, None] * (c - a)
    best = float(np.linalg.norm(samples - point, axis=1).min())
    got = float(np.linalg.norm(place - point))
    assert got <= best + 1e-9
    assert got >= best - 0.04  # the samples are that close together
    assert np.linalg.norm(samples - place, axis=1).min() < 0.04


@SOME
@given(seed=seeds, height=st.sampled_from([1e-10, 1e-8, 1e-6]))
def test_nearest_point_of_a_sliver_is_that_of_its_longest_edge(seed: int, height: float) -> None:
    points, triangles, exact = slivers(seed, height)
    got = np.linalg.norm(closest_on_triangles(points, triangles) - points, axis=1)
    np.testing.assert_allclose(got, exact, atol=1e-7 + height)


def test_nearest_point_of_a_triangle_without_area_is_that_of_its_longest_edge() -> None:
    points, triangles, exact = slivers(0, 0.0)
    got = np.linalg.norm(closest_on_triangles(points, triangles) - points, axis=1)
    np.testing.assert_allclose(got, exact, atol=1e-7)


def closest_on_triangles(points: Floats, triangles: Floats) -> Floats:
    """Nearest point of each triangle to the point of the same row, (n, 3)."""
    rows = np.arange(len(points))
    point, _, place, _ = Frames.of(triangles).within(points, np.full(len(points), 9.0), (rows, rows))
    assert (point == rows).all()
    return place


def slivers(seed: int, height: float) -> tuple[Floats, Floats, Floats]:
    """Points, triangles of a height above their longest edge, and distances of the points to that edge."""
    rng = np.random.default_rng(seed)
    a, b, points = rng.random((300, 3)), rng.random((300, 3)), rng.uniform(-0.5, 1.5, (300, 3))
    side = np.cross(b - a, rng.normal(size=(300, 3)))
    c = a + rng.random((300, 1)) * (b - a) + height * side / np.linalg.norm(side, axis=1)[:, None]
    return points, np.stack([a, b, c], axis=1), on_segment_m(points, a, b)


@SOME
@given(seed=seeds, longest=st.sampled_from([0.05, 0.2]))
def test_pieces_cover_their_triangles_and_nothing_else(seed: int, longest: float) -> None:
    triangles = soup(np.random.default_rng(seed), 8)
    pieces, parent = split_to(triangles, longest)
    edges = np.linalg.norm(pieces - np.roll(pieces, -1, axis=1), axis=2)
    assert edges.max() <= longest

    def area(t: Floats) -> Floats:
        return np.asarray(np.linalg.norm(np.cross(t[:, 1] - t[:, 0], t[:, 2] - t[:, 0]), axis=1) / 2)

    np.testing.assert_allclose(np.bincount(parent, area(pieces), minlength=8), area(triangles), rtol=1e-9)
    corners = pieces.reshape(-1, 3)
    off = distances_m(corners, triangles)[np.arange(len(corners)), np.repeat(parent, 3)]
    assert off.max() < 1e-9


# --- rays ---------------------------------------------------------------------------------


@SOME
@given(seed=seeds)
def test_blocked_is_whether_a_triangle_lies_between(seed: int) -> None:
    rng = np.random.default_rng(seed)
    triangles = soup(rng, 40)
    start, end = rng.random((60, 3)), rng.random((60, 3))
    hit, miss = meets(start, end, triangles)
    blocked = Sheets(triangles).blocked(start, end)
    assert blocked[hit.any(axis=1)].all()
    assert not blocked[miss.all(axis=1)].any()


def test_segments_of_the_soup_are_of_both_kinds() -> None:
    # Or the test above would say nothing.
    rng = np.random.default_rng(1)
    hit, miss = meets(rng.random((300, 3)), rng.random((300, 3)), soup(rng, 40))
    assert hit.any(axis=1).sum() > 15
    assert miss.all(axis=1).sum() > 100
    # Few are too near to an edge to be told.
    assert (hit.any(axis=1) | miss.all(axis=1)).mean() > 0.98


@SOME
@given(seed=seeds, radius=st.sampled_from([0.002, 0.01, 0.05]))
def test_skin_is_blocked_where_one_of_eight_lines_meets_a_sheet(seed: int, radius: float) -> None:
    rng = np.random.default_rng(seed)
    triangles = soup(rng, 10)
    start, end = rng.random((30, 3)), rng.random((30, 3))
    sheets = Sheets(triangles)
    # What holds whichever eight lines these are: no sheet within the radius of the axis, no line is met; and a
    # tube is the axis or its skin.
    t = np.linspace(0, 1, 400)[:, None, None]
    samples = (start + t * (end - start)).reshape(-1, 3)
    least = distances_m(samples, triangles).min(axis=1).reshape(400, -1).min(axis=0)
    step = np.linalg.norm(end - start, axis=1) / 399
    skin = sheets.skin_blocked(start, end, radius)
    assert not skin[least > radius + step].any()
    np.testing.assert_array_equal(sheets.tube_blocked(start, end, radius), skin | sheets.blocked(start, end))


@SOME
@given(seed=seeds, gap=st.floats(-0.9, 0.9), turn=st.floats(0, 6.28))
def test_tube_is_blocked_by_the_edge_of_a_sheet_that_reaches_into_it(
    seed: int, gap: float, turn: float
) -> None:
    # A half plane square to the axis that begins `gap` radii beside it. Of eight lines round the axis one
    # reaches out by at least cos(22.5 deg), whichever way the axis runs and the edge lies.
    radius = 0.010
    frame, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    along, across, up = frame.T
    out, side = np.cos(turn) * across + np.sin(turn) * up, np.cos(turn) * up - np.sin(turn) * across
    near, far = gap * radius, 0.5
    a, b, c, d = (u * out + v * side for u, v in ((near, -0.5), (far, -0.5), (far, 0.5), (near, 0.5)))
    sheets = Sheets(np.array([[a, b, c], [a, c, d]]))
    start, end = -0.3 * along[None], 0.25 * along[None]
    assert bool(sheets.tube_blocked(start, end, radius)[0])
    assert bool(sheets.skin_blocked(start, end, radius)[0])
    if abs(gap) > 0.01:
        assert bool(sheets.blocked(start, end)[0]) == (gap < 0)
    # With the axis farther off than the radius nothing is met.
    aside = (1.01 - gap) * radius * -out
    assert not sheets.tube_blocked(start + aside, end + aside, radius)[0]


def test_rays_do_not_slip_through_shared_edges() -> None:
    rng = np.random.default_rng(7)
    sheets = Sheets(plate(1.0, 1.0))
    t = rng.uniform(0.01, 0.99, 4000)
    on_seam = np.stack([t, t, np.zeros_like(t)], axis=1)  # the diagonal both triangles share
    shift = rng.uniform(-0.3, 0.3, (4000, 3)) + np.array([0, 0, 0.5])
    assert sheets.blocked(on_seam - shift, on_seam + shift).all()


@SOME
@given(seed=seeds)
def test_what_is_kept_of_places_asked_about_before_changes_no_answer(seed: int) -> None:
    rng = np.random.default_rng(seed)
    triangles = soup(rng, 30)
    asked = Sheets(triangles)
    points = rng.uniform(-0.2, 1.2, (25, 3))
    for _ in range(4):
        reach = rng.choice([0.01, 0.012, 0.05, 0.3], 25)
        again, anew = asked.near(points, reach), Sheets(triangles).near(points, reach)
        np.testing.assert_array_equal(again.point, anew.point)
        np.testing.assert_array_equal(again.face, anew.face)
        np.testing.assert_array_equal(again.distance_m, anew.distance_m)
        exact = distances_m(points, triangles)
        assert len(set(zip(again.point.tolist(), again.face.tolist(), strict=True))) == (
            (exact <= reach[:, None]).sum()
        )
        points = points + rng.uniform(-0.03, 0.03, (25, 3))


def test_an_empty_body_blocks_nothing_and_has_nothing_near() -> None:
    sheets = Sheets(np.zeros((0, 3, 3)))
    points = np.random.default_rng(0).random((5, 3))
    assert not sheets.blocked(points, points[::-1]).any()
    assert not sheets.tube_blocked(points, points[::-1], 0.01).any()
    assert len(sheets.near(points, 1.0).point) == 0
    assert np.isinf(sheets.closest(points, 1.0)[0]).all()


@SOME
@given(seed=seeds)
def test_first_hit_is_the_nearest_face_along_the_ray(seed: int) -> None:
    rng = np.random.default_rng(seed)
    triangles = soup(rng, 12)
    start = rng.random((40, 3))
    direction = rng.normal(size=(40, 3))
    direction /= np.linalg.norm(direction, axis=1)[:, None]
    distance, face = Sheets(triangles).first_hit(start, direction, 0.8)
    seen = np.flatnonzero(face >= 0)
    assert (distance[seen] <= 0.8 + 1e-6).all()
    assert np.isinf(distance[face < 0]).all()
    places = start[seen] + distance[seen, None] * direction[seen]
    assert distances_m(places, triangles)[np.arange(len(seen)), face[seen]].max(initial=0) < 1e-5
    # Nothing before it: neither on the way to what was hit, nor within reach where nothing was.
    short = np.where(np.isfinite(distance), distance - 1e-4, 0.8)[:, None]
    hit, _ = meets(start, start + short * direction, triangles)
    assert not hit.any()
