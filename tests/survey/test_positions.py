"""Positions by tape and the meaning of axes: round trips, mirror pairs, rings, residuals."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from routecut.errors import OutOfRangeError
from routecut.model.finding import Finding, Severity
from routecut.survey import load_job
from routecut.survey.axes import DIRECTIONS, parse_axes
from routecut.survey.tape import trilaterate

Write = Callable[..., Path]
COORDINATE = st.floats(min_value=-3.0, max_value=3.0, allow_nan=False)
POINT = st.tuples(COORDINATE, COORDINATE, COORDINATE)


def errors(findings: tuple[Finding, ...]) -> list[Finding]:
    return [f for f in findings if f.severity is Severity.ERROR]


# --- tape ------------------------------------------------------------------------------


@given(st.lists(POINT, min_size=3, max_size=6), POINT)
def test_exact_distances_lead_back_to_the_point(
    anchors: list[tuple[float, float, float]], point: tuple[float, float, float]
) -> None:
    array = np.array(anchors)
    spread = np.linalg.svd(array - array.mean(axis=0), compute_uv=False)
    # anchors in a heap or nearly in line amplify rounding without bound: out of the claim
    assume(spread[1] > 0.2 * spread[0])
    assume(spread[1] > 0.2)
    distances = np.linalg.norm(array - point, axis=1)
    assume(distances.min() > 0.05)
    found = trilaterate([str(i) for i in range(len(anchors))], array, distances)
    # the point is among the answers, to the error that the tape is said to have
    assert min(math.dist(fix.at_m, point) for fix in found) < 0.011
    assert found[0].residual_m < 1e-6
    for fix in found:
        left = np.linalg.norm(array - fix.at_m, axis=1) - distances
        assert fix.residual_m == pytest.approx(np.sqrt(np.mean(left**2)), abs=1e-12)
        # a second answer is offered only where the tape's error of 5 mm can't exclude it
        assert fix.residual_m <= 3 * 0.005


def taped(side: str = "", **more: float) -> str:
    """The battery at (1500, 300, 600) by tape from the three landmarks, which all lie below y = 300."""
    marks = {"left striker": (1000, -800, 700), "dash corner": (2000, -800, 700), "seat bolt": (1500, 0, 0)}
    said = {name: math.dist(at, (1500, 300, 600)) for name, at in marks.items()} | more
    listed = ", ".join(f'"{name}" = {d}' for name, d in said.items())
    return f"at = {{ tape = {{ {listed} }}" + (f', side = "{side}"' if side else "") + " }"


GIVEN = 'at = [300, -400, 30]\nspace = "engine bay"'


def by_tape(position: str) -> tuple[str, str]:
    return (GIVEN, f'{position}\nspace = "cab"')


@pytest.mark.parametrize("side", ["right", "up"])
def test_a_taped_device_is_found_on_the_said_side(write_job: Write, side: str) -> None:
    job, findings = load_job(write_job(by_tape(taped(side))))
    assert job is not None
    assert errors(findings) == []
    position = job.devices[1].position
    assert position.taped
    assert position.at_m == pytest.approx((1.5, 0.3, 0.6), abs=1e-9)
    assert job.devices[1].ports[0].position == position


@pytest.mark.parametrize("side", ["left", "down"])
def test_the_other_side_is_the_mirrored_point(write_job: Write, side: str) -> None:
    job, _ = load_job(write_job(by_tape(taped(side))))
    assert job is not None
    at = np.array(job.devices[1].position.at_m)
    # mirrored in the plane of the landmarks: same distances, other place
    for mark in job.landmarks:
        distance = np.linalg.norm(at - mark.position.at_m)
        assert distance == pytest.approx(math.dist(mark.position.at_m, (1.5, 0.3, 0.6)), abs=1e-9)
    assert at[1] < 0.3 - 0.1


@pytest.mark.parametrize("side", ["", "front", "rear"])
def test_a_mirror_pair_that_is_not_told_apart_is_an_error(write_job: Write, side: str) -> None:
    _, findings = load_job(write_job(by_tape(taped(side))))
    (error,) = errors(findings)
    assert (error.code, error.table, error.key) == ("bad-position", '[[device]] "battery", at', "side")
    assert error.allowed == "left, right, up, down"
    assert "[1500, 300, 600]" in error.message


def test_a_fourth_landmark_off_the_plane_needs_no_side(write_job: Write) -> None:
    mark = (
        '[[landmark]]\nname = "seat bolt"',
        '[[landmark]]\nname = "rear"\nat = [3500, 500, 900]\n\n[[landmark]]\nname = "seat bolt"',
    )
    position = taped(rear=math.dist((3500, 500, 900), (1500, 300, 600)))
    job, findings = load_job(write_job(mark, by_tape(position)))
    assert job is not None
    assert errors(findings) == []
    assert job.devices[1].position.at_m == pytest.approx((1.5, 0.3, 0.6), abs=1e-9)


def test_distances_that_disagree_are_reported_with_the_worst(write_job: Write) -> None:
    mark = (
        '[[landmark]]\nname = "seat bolt"',
        '[[landmark]]\nname = "rear"\nat = [3500, 500, 900]\n\n[[landmark]]\nname = "seat bolt"',
    )
    job, findings = load_job(write_job(mark, by_tape(taped(rear=2030 + 120))))
    assert job is not None
    (found,) = [f for f in findings if f.code == "tape-residual"]
    assert found.severity is Severity.WARNING
    assert job.devices[1].position.residual_m > 0.015
    _, findings = load_job(write_job(mark, by_tape(taped(rear=2032 + 8))))
    (found,) = [f for f in findings if f.code == "tape-residual"]
    assert found.severity is Severity.NOTE


def by_marks(*marks: str, first: int = 900, more: str = "") -> str:
    """A position 900 mm from every landmark but the first."""
    tape = ", ".join(f'"{mark}" = {900 if number else first}' for number, mark in enumerate(marks))
    return f"at = {{ tape = {{ {tape} }}{more} }}"


@pytest.mark.parametrize(
    ("position", "code", "key"),
    [
        (by_marks("left striker", "dash corner"), "bad-position", "tape"),
        (by_marks("left striker", "dash corner", "seat bolt", first=10), "bad-position", "tape"),
        (by_marks("left strikr", "dash corner", "seat bolt"), "unknown-name", "left strikr"),
        (by_marks("left striker", "dash corner", "seat bolt", first=-9), "out-of-range", "left striker"),
        (by_marks("left striker", "dash corner", "seat bolt", more=', side = "rigt"'), "not-allowed", "side"),
        ("at = { snap = true }", "bad-position", "tape"),
        ('at = "here"', "wrong-type", "at"),
        ("at = { at = [1, 2, 3], sidee = 1 }", "unknown-key", "sidee"),
    ],
)  # fmt: skip
def test_positions_at_fault(write_job: Write, position: str, code: str, key: str) -> None:
    _, findings = load_job(write_job(by_tape(position)))
    assert [(f.code, f.key) for f in errors(findings)] == [(code, key)]


def test_a_landmark_taped_from_others_is_solved_before_what_hangs_on_it(write_job: Write) -> None:
    marks = {"left striker": (1000, -800, 700), "dash corner": (2000, -800, 700), "lamp": (3000, 500, 1400)}
    tape = ", ".join(f'"{n}" = {math.dist(at, (1500, 0, 0))}' for n, at in marks.items())
    # "seat bolt" is taped from "lamp", which stands below it in the file
    job, findings = load_job(
        write_job(
            (
                "at = [1500, 0, 0]",
                f'at = {{ tape = {{ {tape} }}, side = "down" }}\n\n[[landmark]]\nname = "lamp"\nat = [3000, 500, 1400]',
            ),
            by_tape(taped("right")),
        )
    )
    assert job is not None
    assert errors(findings) == []
    assert job.landmarks[2].position.at_m == pytest.approx((1.5, 0.0, 0.0), abs=1e-9)
    assert job.devices[1].position.at_m == pytest.approx((1.5, 0.3, 0.6), abs=1e-8)


def test_landmarks_taped_in_a_ring_are_refused(write_job: Write) -> None:
    def ring(of: str) -> str:
        return f'at = {{ tape = {{ "{of}" = 500, "seat bolt" = 900 }} }}'

    _, findings = load_job(
        write_job(
            ("at = [1000, -800, 700]", ring("dash corner")), ("at = [2000, -800, 700]", ring("left striker"))
        )
    )
    found = errors(findings)
    assert {(f.code, f.table) for f in found} == {
        ("bad-position", '[[landmark]] "left striker"'),
        ("bad-position", '[[landmark]] "dash corner"'),
    }
    assert all("'left striker', 'dash corner'" in f.message for f in found)


# --- axes ------------------------------------------------------------------------------


def statements() -> list[tuple[str, np.ndarray]]:
    """All 48 signed axis orders with their matrix: column j is where the file's axis j points."""
    words = {
        "front": (-1, 0, 0),
        "rear": (1, 0, 0),
        "left": (0, -1, 0),
        "right": (0, 1, 0),
        "up": (0, 0, 1),
        "down": (0, 0, -1),
    }
    found = []
    for chosen in itertools.product(words, repeat=3):
        matrix = np.array([words[w] for w in chosen], dtype=float).T
        if abs(round(np.linalg.det(matrix))) == 1:
            found.append((", ".join(f"+{a} {w}" for a, w in zip("xyz", chosen, strict=True)), matrix))
    return found


def test_every_right_handed_statement_gives_its_rotation_and_no_other_passes() -> None:
    taken = refused = 0
    for text, matrix in statements():
        if np.linalg.det(matrix) > 0:
            assert np.array_equal(parse_axes(text), matrix)
            taken += 1
        else:
            with pytest.raises(OutOfRangeError, match="left-handed"):
                parse_axes(text)
            refused += 1
    assert (taken, refused) == (24, 24)  # half of the 48 signed permutations are rotations


OPPOSITE = {"front": "rear", "rear": "front", "left": "right", "right": "left", "up": "down", "down": "up"}


@given(
    st.sampled_from([t for t, m in statements() if np.linalg.det(m) > 0]),
    st.permutations(range(3)),
    st.data(),
)
def test_order_and_sign_change_nothing_when_the_word_turns_too(
    text: str, order: list[int], data: st.DataObject
) -> None:
    parts = text.split(", ")
    written = []
    for place in order:
        axis, word = parts[place][1:].split()
        minus = data.draw(st.booleans())
        written.append(
            f"-{axis} {OPPOSITE[word]}" if minus else data.draw(st.sampled_from(["+", ""])) + f"{axis} {word}"
        )
    assert parse_axes(" , ".join(written)) == parse_axes(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("+x rear, +y right", "z is not named"),
        ("+x rear, +x right, +z up", "x is named twice"),
        ("+x rear, +y front, +z up", "same line"),
        ("+x rear, +y rigth, +z up", "'rigth' is no direction"),
        ("rear, right, up", "'rear' is not understood"),
    ],
)
def test_what_is_no_statement_is_refused(text: str, said: str) -> None:
    with pytest.raises(OutOfRangeError, match=said):
        parse_axes(text)


def test_words_and_vectors_agree_with_iso_4130() -> None:
    assert set(DIRECTIONS) == set(OPPOSITE)
    for word, other in OPPOSITE.items():
        assert np.array_equal(np.add(DIRECTIONS[word], DIRECTIONS[other]), np.zeros(3))
