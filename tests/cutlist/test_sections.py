"""Sections of the vehicle, strings and steps where one ends and another begins; worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routecut.cutlist import cut_length
from routecut.cutlist.errors import tape_baselines_m
from routecut.model.job import Landmark, Position, TapeCheck
from routecut.model.plan import Stretch
from tests.cutlist.test_cut_length import CABLE, HOLE, WIDE, bent, make_job, make_route, section_error

STEP_M = 0.05 * 0.005  # 5 % of the longest step a piece of the route may be off by at the end of a box


def test_a_short_route_is_divided_at_the_end_of_a_section_too() -> None:
    """0.8 m, the first 0.3 m of it in the section: 5 % of that, and not of all or none of it."""
    first = replace(WIDE, low_m=(-1.7, -9, -9), high_m=(0.3, 9, 9), error_m=0.1)
    assert section_error(first, bent([[0, 0, 0], [0.8, 0, 0]])) == pytest.approx(0.05 * 0.3, abs=STEP_M)


def test_a_string_lets_nothing_in_that_lies_outside_the_section() -> None:
    """3 m, the first metre by string; the section has the last metre alone."""
    last = replace(WIDE, low_m=(2.0, -9, -9), high_m=(4.0, 9, 9), error_m=0.1)
    string = Stretch(from_name="radio.p", to_name="hole", computed_m=1.0, measured_m=1.0)
    route = make_route(3.0, passages=(HOLE,), measured=(string,))
    assert section_error(last, route) == pytest.approx(0.05, abs=STEP_M)


def test_two_strings_take_out_what_each_measured() -> None:
    """4 m: the first and the last metre by string, 2 m left."""
    second = replace(HOLE, name="second", at_route_m=3.0)
    strings = (
        Stretch(from_name="radio.p", to_name="hole", computed_m=1.0, measured_m=1.0),
        Stretch(from_name="second", to_name="battery.p", computed_m=1.0, measured_m=1.0),
    )
    route = make_route(4.0, passages=(HOLE, second), measured=strings)
    assert section_error(WIDE, route) == pytest.approx(0.05 * 2.0, abs=STEP_M)


def test_what_one_step_holds_is_one_step() -> None:
    found = cut_length(
        job=make_job(), cable=CABLE, route=make_route(0.5), step_m=0.638267, step_is="half a wave"
    )
    assert found.length_m == pytest.approx(0.638267, abs=1e-9)


def test_a_tape_check_to_what_is_not_on_the_mesh_says_nothing_of_it() -> None:
    """a and b on the mesh, 3 m apart; c was put in by tape."""
    marks = tuple(
        Landmark(name=name, position=Position(at_m=at, taped=name == "c"))
        for name, at in (("a", (0.0, 0.0, 0.0)), ("b", (3.0, 0.0, 0.0)), ("c", (0.0, 4.0, 0.0)))
    )
    checks = tuple(
        TapeCheck(from_landmark=one, to_landmark=other, distance_m=9.0) for one, other in ("ac", "cb", "ab")
    )
    job = make_job()
    job = replace(job, landmarks=marks, vehicle=replace(job.vehicle, tape_checks=checks))
    assert tape_baselines_m(job) == (3.0,)
