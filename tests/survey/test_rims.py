"""Round rims in a mesh: middle within 1 mm, axis within 2 degrees, at 1 mm of noise."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from scipy.optimize import least_squares
from scipy.spatial import Delaunay
from scipy.spatial.transform import Rotation

from routecut.model.body import Body, Floats
from routecut.model.job import SurfaceKind, SurfaceRule
from routecut.survey.rims import _circle, find_rims


def sheet(
    outline: Floats,
    seed: int,
    *,
    noise: float = 0.0,
    cell: float = 0.005,
    size: float = 0.1,
    bent: bool = False,
) -> tuple[Body, Floats, Floats]:
    """A sheet with a hole of an outline, (n, 2), turned somehow, each point off by `noise` in x, y and z. [m]

    With the body come the rotation's matrix and the place of the middle of the outline.
    """
    random = np.random.default_rng(seed)
    grid = np.stack(np.meshgrid(*[np.arange(-size, size + cell / 2, cell)] * 2), axis=-1).reshape(-1, 2)
    grid += random.uniform(-0.2, 0.2, grid.shape) * cell
    ring = math.dist(*outline[:2])
    far = np.linalg.norm(grid[:, None] - outline[None], axis=2).min(axis=1) > 0.6 * ring
    outside = ~inside(grid, outline)
    flat = np.concatenate([outline, grid[far & outside]])
    faces = Delaunay(flat).simplices
    faces = faces[~inside(flat[faces].mean(axis=1), outline)]
    high = np.where(flat[:, 0] > 0.06, flat[:, 0] - 0.06, 0.0) if bent else np.zeros(len(flat))
    turn = Rotation.random(random_state=seed).as_matrix()
    place = random.uniform(-2, 2, 3)
    points = np.column_stack([flat, high]) @ turn.T + place + random.normal(0, noise or 1e-12, (len(flat), 3))
    body = Body(
        vertices_m=points,
        faces=faces.astype(np.int64),
        face_part=np.zeros(len(faces), dtype=np.int64),
        parts=("panel",),
        rules=(SurfaceRule(part="*", kind=SurfaceKind.PANEL),),
    )
    return body, turn, place


def inside(points: Floats, outline: Floats) -> np.ndarray:
    """Which points lie in a polygon, by the turns it takes round them."""
    way = outline[None] - points[:, None]
    angle = np.unwrap(np.arctan2(way[..., 1], way[..., 0]), axis=1)
    closing = np.arctan2(way[:, 0, 1], way[:, 0, 0]) - np.arctan2(way[:, -1, 1], way[:, -1, 0])
    closing = (closing + np.pi) % (2 * np.pi) - np.pi
    return np.asarray(np.abs(angle[:, -1] - angle[:, 0] + closing) > np.pi)


def circle(radius: float, count: int) -> Floats:
    turn = np.arange(count) * 2 * np.pi / count
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


@pytest.mark.parametrize(("radius", "count"), [(0.015, 40), (0.02, 40), (0.03, 40), (0.05, 60)])
@pytest.mark.parametrize("bent", [False, True])
def test_at_one_millimetre_of_noise_the_middle_is_within_one_and_the_axis_within_two_degrees(
    radius: float, count: int, bent: bool
) -> None:
    for seed in range(8):
        body, turn, place = sheet(circle(radius, count), seed, noise=0.001, bent=bent)
        near = [rim for rim in find_rims(body) if math.dist(rim.at_m, place) < radius]
        assert len(near) == 1, seed
        (rim,) = near
        assert math.dist(rim.at_m, place) < 0.001, seed
        angle = math.degrees(math.acos(min(1.0, abs(float(np.dot(rim.axis, turn[:, 2]))))))
        assert angle < 2.0, seed
        assert abs(rim.diameter_m - 2 * radius) < 0.001, seed


def test_a_clean_rim_is_found_exactly() -> None:
    body, turn, place = sheet(circle(0.02, 24), 5)
    (rim,) = [r for r in find_rims(body) if r.diameter_m < 0.1]
    assert rim.at_m == pytest.approx(tuple(place), abs=1e-6)
    assert rim.diameter_m == pytest.approx(0.04, abs=1e-6)
    assert abs(float(np.dot(rim.axis, turn[:, 2]))) == pytest.approx(1.0, abs=1e-9)
    assert (rim.edges, rim.part) == (24, "panel")


def test_what_it_says_of_its_own_error_is_so() -> None:
    """Of many rims the middles scatter, sideways, as each says of itself."""
    off, said = [], []
    for seed in range(40):
        body, turn, place = sheet(circle(0.02, 30), seed, noise=0.001)
        rim = min(find_rims(body), key=lambda r: math.dist(r.at_m, place))
        across = (np.array(rim.at_m) - place) @ turn[:, :2]
        off += across.tolist()
        said.append(rim.sigma_m)
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(np.mean(said), rel=0.25)


def test_a_slot_and_the_edge_of_the_sheet_are_no_round_holes() -> None:
    half = np.linspace(-0.03, 0.03, 15)[1:-1]
    ends = circle(0.02, 40)
    slot = np.concatenate(
        [
            ends[-10:] + np.array([0.03, 0]),
            ends[:11] + np.array([0.03, 0]),
            np.column_stack([half[::-1], np.full(13, 0.02)]),
            ends[10:31] - np.array([0.03, 0]),
            np.column_stack([half, np.full(13, -0.02)]),
        ]
    )
    body, _, _ = sheet(slot, 3, cell=0.004)
    assert find_rims(body) == ()


def test_a_hole_through_a_solid_has_two_rims_and_a_pin_on_it_none() -> None:
    """No edge is open there: the fold between the sheet and the wall of the hole counts."""
    ring = circle(0.02, 32)
    square = 0.1 * ring / np.abs(ring).max(axis=1, keepdims=True)
    k, n = np.arange(32), np.roll(np.arange(32), -1)
    points = np.concatenate(
        [np.column_stack([xy, np.full(32, z)]) for z in (0.0, 0.003) for xy in (ring, square)]
    )
    faces = [
        np.concatenate([np.column_stack([a + k, b + k, b + n]), np.column_stack([a + k, b + n, a + n])])
        for a, b in ((0, 32), (64, 96), (0, 64), (32, 96))
    ]
    pin = trimesh.creation.cylinder(0.01, 0.02, sections=24)
    pin.apply_translation([0.3, 0, 0])
    both = trimesh.util.concatenate([trimesh.Trimesh(points, np.concatenate(faces), process=False), pin])
    body = Body(
        vertices_m=np.asarray(both.vertices),
        faces=np.asarray(both.faces, dtype=np.int64),
        face_part=np.zeros(len(both.faces), dtype=np.int64),
        parts=("plate",),
        rules=(SurfaceRule(part="*", kind=SurfaceKind.PANEL),),
    )
    rims = find_rims(body)
    assert [round(r.at_m[2], 6) for r in rims] == [0.0, 0.003]
    for rim in rims:
        assert rim.at_m[:2] == pytest.approx((0.0, 0.0), abs=1e-9)
        assert rim.diameter_m == pytest.approx(0.04, abs=1e-9)
        assert rim.axis == pytest.approx((0.0, 0.0, 1.0), abs=1e-6)


def test_the_circle_of_a_piece_of_rim_is_the_one_a_general_solver_finds() -> None:
    """Distances squared, as an algebraic fit has them, are biased on an arc: by up to 0.4 mm here."""
    random = np.random.default_rng(11)
    biased = []
    for _ in range(30):
        turn = np.sort(random.uniform(0.0, np.radians(170.0), 30))
        true = np.array([*random.uniform(-0.1, 0.1, 2), random.uniform(0.01, 0.05)])
        flat = true[:2] + (true[2] + random.normal(0, 0.0015, 30))[:, None] * np.column_stack(
            [np.cos(turn), np.sin(turn)]
        )
        peer = least_squares(
            lambda p, at: np.linalg.norm(at - p[:2], axis=1) - p[2], true, args=(flat,), xtol=1e-12
        )
        centre, radius = _circle(flat)
        assert np.array([*centre, radius]) == pytest.approx(peer.x, abs=2e-6)
        matrix = np.column_stack([2 * flat, np.ones(30)])
        biased.append(
            np.linalg.norm(np.linalg.lstsq(matrix, (flat**2).sum(axis=1), rcond=None)[0][:2] - centre)
        )
    assert max(biased) > 2e-4


def test_two_thirds_of_a_round_edge_are_no_round_hole() -> None:
    """The rest is straight, and has no point of its own: all there are lie on the circle."""
    for part, said in ((0.66, 0), (0.70, 0), (0.78, 1), (0.85, 1)):
        turn = np.linspace(0.0, 2 * np.pi * part, 40)
        body, _, _ = sheet(0.02 * np.column_stack([np.cos(turn), np.sin(turn)]), 7, cell=0.02)
        assert len(find_rims(body)) == said, part


def test_an_axis_points_the_same_way_whichever_way_its_sheet_lies() -> None:
    for seed in range(6):
        body, _, _ = sheet(circle(0.02, 24), seed)
        turned = replace(body, faces=body.faces[:, ::-1])
        (one,), (other,) = find_rims(body), find_rims(turned)
        assert one.axis == pytest.approx(other.axis)
        assert max(one.axis, key=abs) > 0
