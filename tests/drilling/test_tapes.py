"""Finding a hole with a tape: what is printed is what happens on the panel."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from routecut.drilling.scene import Scene
from routecut.drilling.tapes import choose, fix, half_axes, read, spread, tape_sigma_m
from routecut.geometry.triangles import plane_axes
from routecut.model.body import Floats
from routecut.model.drilling import CHI95, TapeFix
from tests.drilling.scenes import OBSTACLE, PANEL, body_of, box, job_of, plate

UP = np.array([0.0, 0.0, 1.0])
ORIGIN = np.zeros(3)


def marked(
    landmarks: Floats, distances: Floats, at: Floats, axis: Floats, sigma: Floats | None = None
) -> Floats:
    """Where somebody with these tapes makes the mark on the panel: least squares, not linearised, (2,)."""
    across, up = plane_axes(axis)
    frame = np.vstack([across, up])
    weight = 1.0 if sigma is None else 1 / sigma

    def misfit(uv: Floats) -> Floats:
        off: Floats = (np.linalg.norm(at + uv @ frame - landmarks, axis=1) - distances) * weight
        return off

    return np.asarray(least_squares(misfit, np.zeros(2), xtol=1e-12, ftol=1e-12, gtol=1e-12).x)


@pytest.mark.parametrize(("point", "scale"), [(0.0, 0.0), (0.004, 0.004)], ids=["tape", "and model"])
def test_the_mark_lies_in_the_ellipse_as_often_as_it_says(point: float, scale: float) -> None:
    """500 random holes with their best landmarks of six, 3 mm tapes, four marks each."""
    rng = np.random.default_rng(4)
    inside, total = 0, 0
    while total < 500 * 4:
        axis = rng.normal(size=3)
        axis /= np.linalg.norm(axis)
        landmarks = rng.uniform(-1.1, 1.1, size=(6, 3))
        landmarks = landmarks[np.linalg.norm(landmarks, axis=1) > 0.2]
        reading = read(landmarks, ORIGIN, axis)
        assert (reading.sigma_m == 0.003).all()
        rows = choose(reading)
        if rows is None:
            continue
        chosen, own = landmarks[list(rows)], reading.of(rows)
        covariance = spread(own, point, scale)
        assert covariance is not None
        long, short, direction = half_axes(covariance)
        for _ in range(4):
            # the vehicle is not the model: every landmark is elsewhere, all lengths are off together
            real = (chosen + rng.normal(size=chosen.shape) * point) / (1 + rng.normal() * scale)
            taped = own.distance_m + rng.normal(size=len(rows)) * 0.003
            off = marked(real, taped, ORIGIN, axis)
            a, b = off @ direction, off @ np.array([-direction[1], direction[0]])
            inside += int((a / long) ** 2 + (b / short) ** 2 <= 1)
            total += 1
    assert 0.93 <= inside / total <= 0.97


@pytest.mark.parametrize(("angle", "rms_mm"), [(90, 4.2), (30, 8.5), (15, 16.4)])
def test_arcs_that_cross_at_a_narrow_angle_place_badly(angle: float, rms_mm: float) -> None:
    """Two tapes of 3 mm: sigma * sqrt(2) / sin(angle), worked by hand."""
    turn = np.radians(angle)
    landmarks = np.array([[1.0, 0, 0], [np.cos(turn), np.sin(turn), 0]])
    covariance = spread(read(landmarks, ORIGIN, UP))
    assert covariance is not None
    assert 1000 * np.sqrt(np.trace(covariance)) == pytest.approx(rms_mm, abs=0.1)


def test_of_many_landmarks_the_best_are_taken() -> None:
    """Two at right angles beat any pair of a bunch; one straight above the hole says nothing of it."""
    landmarks = np.array(
        [[1, 0, 0], [1, 0.1, 0], [1, 0.2, 0], [0, 1, 0], [0, 0, 0.5], [0.99, -0.1, 0]], dtype=np.float64
    )
    reading = read(landmarks, ORIGIN, UP)
    rows = choose(reading)
    assert rows is not None
    assert 3 in rows
    assert 4 not in rows
    # no pair and no triple is better than what was chosen by more than the third tape has to pay
    from itertools import combinations

    def long(some: tuple[int, ...]) -> float:
        covariance = spread(reading.of(some))
        return float("inf") if covariance is None else half_axes(covariance)[0]

    best = min(long(s) for n in (2, 3) for s in combinations(range(6), n))
    assert long(rows) <= best / 0.9


def test_arcs_that_do_not_cross_are_no_fix() -> None:
    assert choose(read(np.array([[1.0, 0, 0], [2.0, 0, 0]]), ORIGIN, UP)) is None
    assert choose(read(np.array([[1.0, 0, 0]]), ORIGIN, UP)) is None


def test_a_long_tape_is_worse() -> None:
    assert tape_sigma_m(np.array([0.5, 2.0, 3.0])).tolist() == pytest.approx([0.003, 0.003, 0.0045])


LANDMARKS = {"east": (0.45, 0.0, 0.0), "north": (0.0, 0.45, 0.0), "south west": (-0.3, -0.3, 0.0)}


def found(scene: Scene, at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> tuple[TapeFix | None, str]:
    return fix(scene, np.array(at), UP, "above")


def test_a_landmark_behind_a_wall_is_not_used() -> None:
    job = job_of(landmarks=LANDMARKS)
    clear = Scene.of(job, body_of({"floor": (plate(0.0), PANEL)}))
    seen, _ = found(clear)
    assert seen is not None
    assert {t.landmark for t in seen.tapes} | {seen.check.landmark if seen.check else ""} == {
        *LANDMARKS,
        *([""] if seen.check is None else []),
    }
    wall = box((0.2, -0.2, 0.0), (0.21, 0.2, 0.3))
    hidden = Scene.of(job, body_of({"floor": (plate(0.0), PANEL), "wall": (wall, OBSTACLE)}))
    less, _ = found(hidden)
    assert less is not None
    assert "east" not in {t.landmark for t in less.tapes}
    assert less.check is None


def test_the_distances_are_those_of_the_job() -> None:
    """The tape of a fix, laid out again by an arithmetic of its own, gives the hole."""
    rng = np.random.default_rng(1)
    scene = Scene.of(job_of(landmarks=LANDMARKS), body_of({"floor": (plate(0.0), PANEL)}))
    for _ in range(20):
        at = np.array([*rng.uniform(-0.2, 0.2, size=2), 0.0])
        seen, _ = found(scene, tuple(at))
        assert seen is not None
        real = np.array([LANDMARKS[t.landmark] for t in seen.tapes])
        off = marked(real, np.array([t.distance_m for t in seen.tapes]), at, UP)
        assert np.linalg.norm(off) < 1e-6


def test_two_arcs_cross_twice_and_the_right_one_is_named() -> None:
    """Landmarks along Y=0, the hole 0.2 m to the right of that line: +Y is right."""
    job = job_of(landmarks={"a": (-0.2, 0.0, 0.0), "b": (0.2, 0.0, 0.0)})
    seen, _ = found(Scene.of(job, body_of({"floor": (plate(0.0), PANEL)})), (0.0, 0.2, 0.0))
    assert seen is not None
    assert seen.which == "right"
    assert seen.crossing_deg == pytest.approx(90.0, abs=1e-6)


def test_the_check_tells_a_wrong_mark_from_a_right_one() -> None:
    """Marks made with 3 mm tapes pass it, a mark two arcs off by 25 mm does not."""
    scene = Scene.of(job_of(landmarks=LANDMARKS), body_of({"floor": (plate(0.0), PANEL)}))
    seen, _ = found(scene)
    assert seen is not None
    assert seen.check is not None
    real = np.array([LANDMARKS[t.landmark] for t in seen.tapes])
    distance = np.array([t.distance_m for t in seen.tapes])
    far = np.array(LANDMARKS[seen.check.landmark])
    rng = np.random.default_rng(2)
    across, up = plane_axes(UP)
    failed = 0
    for _ in range(300):
        off = marked(real, distance + rng.normal(size=len(distance)) * 0.003, ORIGIN, UP)
        taped = np.linalg.norm(off @ np.vstack([across, up]) - far) + rng.normal() * 0.003
        failed += int(abs(taped - seen.check.distance_m) > seen.check_within_m)
    assert failed <= 5  # three sigma: 0.8 of 300
    along = far / np.linalg.norm(far)
    assert abs(np.linalg.norm(0.025 * along - far) - seen.check.distance_m) > seen.check_within_m


def test_a_better_landmark_is_named_where_the_arcs_run_along_each_other() -> None:
    job = job_of(landmarks={"a": (0.45, 0.02, 0.0), "b": (0.45, -0.06, 0.0)})
    seen, _ = found(Scene.of(job, body_of({"floor": (plate(0.0), PANEL)})))
    assert seen is not None
    assert seen.rms_m > 0.005
    assert "corner of floor at X" in seen.better
    good, _ = found(Scene.of(job_of(landmarks=LANDMARKS), body_of({"floor": (plate(0.0), PANEL)})))
    assert good is not None
    assert good.rms_m < 0.005
    assert good.better == ""


def test_where_no_corner_is_in_sight_it_says_that_too() -> None:
    """A hood over the hole and two landmarks in a bunch: nothing else can be taped to."""
    hood = box((-0.1, -0.15, -0.01), (0.47, 0.15, 0.2))
    job = job_of(landmarks={"a": (0.45, 0.02, 0.0), "b": (0.45, -0.06, 0.0)})
    scene = Scene.of(job, body_of({"floor": (plate(0.0), PANEL), "hood": (hood, OBSTACLE)}))
    seen, _ = found(scene)
    assert seen is not None
    assert "no corner of the body is in sight" in seen.better


def test_without_landmarks_it_says_so_and_what_would_do() -> None:
    nothing, why = found(Scene.of(job_of(), body_of({"floor": (plate(0.0), PANEL)})))
    assert nothing is None
    assert "in sight: none" in why
    assert "corner of floor" in why


def test_the_ellipse_is_of_95_per_cent() -> None:
    assert 1 - np.exp(-(CHI95**2) / 2) == pytest.approx(0.95, abs=1e-12)
