"""How much cable is used up on the way.

Truth      a run of 3 m round a corner, worked by hand: 10 % of lay spread evenly, 300 mm at the first end,
           150 mm at a hinge after 2 m
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routecut.cutlist import Spent
from routecut.model.plan import CutLength, SumLine
from tests.cutlist.test_cut_length import bent, make_route


def line(what: str, length_m: float, at_route_m: float | None = None) -> SumLine:
    return SumLine(what=what, length_m=length_m, why="", source="", at_route_m=at_route_m)


def a_cut(*lines: SumLine) -> CutLength:
    return CutLength(length_m=sum(one.length_m for one in lines), probability=0.95, lines=lines)


CORNER = bent([[0, 0, 0], [0.4, 0, 0], [0.4, 2.6, 0]])
ROUTE, LAY = line("route", 3.0), line("lay", 0.3)
MARGIN = (line("uncertainty", 0.08), line("rounding up", 0.02))


def test_lay_is_spent_evenly_and_loops_where_they_are() -> None:
    spent = Spent(CORNER, a_cut(ROUTE, LAY, line("loop", 0.3, 0.0), line("hinge", 0.15, 2.0), *MARGIN))
    assert spent.end_m == pytest.approx(3.0)
    assert spent.total_m == pytest.approx(3.75)
    assert spent.margin_m == pytest.approx(0.08)
    lengths = [0.0, 0.3, 0.3 + 1.1, 2.5, 2.6, 2.65, 2.65 + 0.55, 3.75]
    assert spent.place_of(np.array(lengths)) == pytest.approx([0, 0, 1, 2, 2, 2, 2.5, 3.0])


def test_without_loops_a_place_is_its_share_of_the_whole() -> None:
    spent = Spent(CORNER, a_cut(ROUTE, LAY, *MARGIN))
    assert spent.place_of(np.array([0.0, 0.55, 1.1, 3.3])) == pytest.approx([0, 0.5, 1, 3])
    short = Spent(make_route(0.5), a_cut(line("route", 0.5), line("lay", 0.05)))
    assert short.place_of(np.array([0.0, 0.11, 0.55])) == pytest.approx([0, 0.1, 0.5])


def test_what_lies_past_an_end_is_spent_there() -> None:
    spent = Spent(CORNER, a_cut(ROUTE, line("loop", 0.2, -0.1), line("loop", 0.1, 3.2)))
    assert spent.place_of(np.array([0.1, 0.2, 3.2, 3.3])) == pytest.approx([0, 0, 3, 3])
    nothing = replace(make_route(0.0), points_m=np.zeros((2, 3)))
    at_once = Spent(nothing, a_cut(line("route", 0.0), line("loop", 0.2, 0.0)))
    assert float(at_once.place_of(0.1)) == 0.0
    assert at_once.total_m == pytest.approx(0.2)
