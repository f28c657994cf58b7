"""Tape positions against cases with exact integer answers.

Source     invented from Pythagorean quadruples: 2-3-6-7, 6-3-6-9, 2-9-6-11; no publication
Kind       exact by arithmetic: every distance is a whole number, checked below
Tolerance  1e-9 of a unit: what a converged least-squares fit of exact data leaves
Circular?  No: the answers follow from the quadruples, not from the code
"""

from __future__ import annotations

import math

import pytest

from routecut.survey.tape import TapeError, trilaterate

# anchors, distances, solutions
MIRROR_PAIR = ([[0, 0, 0], [8, 0, 0], [0, 12, 0]], [7, 9, 11], [(2, 3, -6), (2, 3, 6)])
FOURTH_ANCHOR = ([[0, 0, 0], [8, 0, 0], [0, 12, 0], [0, 0, 12]], [7, 9, 11, 7], [(2, 3, 6)])
# the first case scaled by 3, turned by the rotation with rows (2,-2,1)/3, (1,2,2)/3, (-2,-1,2)/3,
# shifted by (30,-15,60)
TURNED = ([[30, -15, 60], [46, -7, 44], [6, 9, 48]], [21, 27, 33], [(22, -19, 41), (34, 5, 65)])
CASES = [MIRROR_PAIR, FOURTH_ANCHOR, TURNED]


@pytest.mark.parametrize(("anchors", "distances", "solutions"), CASES)
def test_the_cases_are_exact(
    anchors: list[list[int]], distances: list[int], solutions: list[tuple[int, ...]]
) -> None:
    for solution in solutions:
        assert [math.dist(solution, anchor) for anchor in anchors] == distances


@pytest.mark.parametrize(("anchors", "distances", "solutions"), CASES)
def test_every_solution_is_found_and_no_other(
    anchors: list[list[int]], distances: list[int], solutions: list[tuple[int, ...]]
) -> None:
    found = trilaterate("ABCD"[: len(anchors)], anchors, distances)
    assert len(found) == len(solutions)
    for fix, solution in zip(sorted(found, key=lambda f: f.at_m), solutions, strict=True):
        assert fix.at_m == pytest.approx(solution, abs=1e-9)
        assert fix.residual_m < 1e-9


def test_spheres_that_do_not_meet_name_their_anchors() -> None:
    # the first two spheres are 8 apart, their radii add up to 6; the third is out of it
    with pytest.raises(TapeError, match=r"'A' and 'B' are 8.000 m apart.*add up to only 6.000 m"):
        trilaterate("ABC", [[0, 0, 0], [8, 0, 0], [0, 12, 0]], [3, 3, 3], unit="m")


def test_anchors_in_line_are_refused() -> None:
    # a whole circle fits: x = 4, y^2 + z^2 = 9
    with pytest.raises(TapeError, match="'A', 'B', 'C' lie in one line"):
        trilaterate("ABC", [[0, 0, 0], [4, 0, 0], [8, 0, 0]], [5, 3, 5])


def test_two_distances_are_too_few() -> None:
    with pytest.raises(TapeError, match="2 distances are given"):
        trilaterate("AB", [[0, 0, 0], [8, 0, 0]], [7, 9])


def test_a_sphere_inside_another_is_named() -> None:
    with pytest.raises(TapeError, match=r"'A' and 'B' .* differ by"):
        trilaterate("ABC", [[0, 0, 0], [1, 0, 0], [0, 12, 0]], [9, 3, 9])
