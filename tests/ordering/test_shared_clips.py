"""Clips that cables share: counted by hand on straight ways, and never further apart than allowed."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecut.ordering.shared_clips import clips_of, ties_between

Floats = npt.NDArray[np.float64]
EVERY_M = 0.45


def way(start: tuple[float, float, float], *steps: tuple[float, float, float]) -> Floats:
    return np.cumsum([start, *steps], axis=0, dtype=np.float64)


def counted(ways: dict[str, Floats], kinds: dict[str, str] | None = None) -> tuple[list[list[str]], int]:
    """The cables under each clip, and the ties between."""
    clips, along = clips_of(ways, EVERY_M, kinds or dict.fromkeys(ways, "signal"))
    return [c.cables for c in clips], len(ties_between(along))


def test_alone_one_every_450_mm() -> None:
    """2 m: at 450, 900, 1350 and 1800; a way of 1350 mm holds by two, its end being the third."""
    assert counted({"A": way((0, 0, 0), (2, 0, 0))}) == ([["A"]] * 4, 0)
    assert counted({"A": way((0, 0, 0), (1.35, 0, 0))}) == ([["A"]] * 2, 0)
    assert counted({"A": way((0, 0, 0), (0.45, 0, 0))}) == ([], 0)


def test_side_by_side_they_share_and_are_tied_between() -> None:
    """Three ways 20 mm apart take the four clips of one; 450 mm between two clips takes one tie each: three."""
    ways = {name: way((0, 0.02 * k, 0), (2, 0, 0)) for k, name in enumerate("ABC")}
    ways["C"] = way((0, -0.02, 0), (2, 0, 0))
    assert counted(ways) == ([["A", "B", "C"]] * 4, 3)


def test_one_that_joins_later_takes_the_clips_that_are_there() -> None:
    """B comes in 0.3 m along: the first clip it passes lies 150 mm on, and it takes all four."""
    ways = {"A": way((0, 0, 0), (2, 0, 0)), "B": way((0.3, 0.3, 0), (0, -0.28, 0), (1.7, 0, 0))}
    assert counted(ways) == ([["A", "B"]] * 4, 3)


def test_of_the_clips_that_are_there_no_more_are_taken_than_needed() -> None:
    """B lies between A and C, whose clips do not line up: it takes those of A, 450 mm apart, and leaves C's alone."""
    ways = {
        "A": way((0, 0, 0), (2.2, 0, 0)),
        "C": way((0.15, 0.07, 0), (2.1, 0, 0)),
        "B": way((0, 0.035, 0), (1.9, 0, 0)),
    }
    clips, _ = counted(ways)
    assert [c for c in clips if "A" in c] == [["A", "B"]] * 4
    assert [c for c in clips if "C" in c] == [["C"]] * 4


@pytest.mark.parametrize("gap_m", [0.045, 0.5])
def test_too_far_apart_they_do_not(gap_m: float) -> None:
    ways = {"A": way((0, 0, 0), (2, 0, 0)), "B": way((0, gap_m, 0), (2, 0, 0))}
    assert counted(ways) == ([["A"]] * 4 + [["B"]] * 4, 0)


def test_a_crossing_is_no_bundle() -> None:
    """B crosses A square, right over its second clip."""
    ways = {"A": way((0, 0, 0), (2, 0, 0)), "B": way((0.9, -0.5, 0.01), (0, 1, 0))}
    assert counted(ways) == ([["A"]] * 4 + [["B"]] * 2, 0)


def test_the_other_way_round_is_alongside_as_well() -> None:
    ways = {"A": way((0, 0, 0), (2, 0, 0)), "B": way((2, 0.02, 0), (-2, 0, 0))}
    clips, ties = counted(ways)
    assert ["A", "B"] in clips
    assert len(clips) == 4
    assert ties == 3


def test_other_kinds_have_clips_of_their_own() -> None:
    ways = {"A": way((0, 0, 0), (2, 0, 0)), "P": way((0, 0.02, 0), (2, 0, 0))}
    assert counted(ways, {"A": "signal", "P": "supply"}) == ([["A"]] * 4 + [["P"]] * 4, 0)


steps = st.tuples(*[st.floats(-0.7, 0.7)] * 3).filter(lambda s: math.dist(s, (0, 0, 0)) > 0.05)
routes = st.lists(steps, min_size=1, max_size=5).map(lambda s: way((0, 0, 0), *s))


@given(st.lists(routes, min_size=1, max_size=5), st.floats(0.2, 0.7))
def test_nothing_hangs_longer_than_allowed_and_none_takes_more_than_alone(
    found: list[Floats], every_m: float
) -> None:
    ways = {f"W{k}": points for k, points in enumerate(found)}
    clips, along = clips_of(ways, every_m, dict.fromkeys(ways, ""))
    for name, points in ways.items():
        length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
        stops = [0.0, *(at for at, _ in along[name]), length]
        assert (np.diff(stops) > -1e-9).all()
        assert (np.diff(stops) <= every_m * (1 + 1e-6)).all()
        mine = sum(c.cables[0] == name for c in clips)  # set for it, not for another before
        assert mine <= math.ceil(length / every_m - 1e-9) - 1 + 1e-9
