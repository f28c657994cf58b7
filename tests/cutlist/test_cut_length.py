"""Cut lengths: the sum, its lines, and what may never happen.

Truth      sums worked by hand; two re-terminations from FAA AC 43.13-1B par. 11-118;
           the one-sided normal quantiles 1.645 at 95 % and 2.326 at 99 %, as printed in any
           table of the normal distribution
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from routecut.cutlist import cut_length, measure_first
from routecut.cutlist.errors import scale_sigma, sideways_m
from routecut.cutlist.places import legs
from routecut.errors import OutOfRangeError
from routecut.model.job import (
    Box,
    Cable,
    CableClass,
    CableType,
    Device,
    Exposure,
    HoleState,
    Job,
    Landmark,
    LengthPractice,
    PassThrough,
    Port,
    Position,
    Rules,
    Section,
    Space,
    TapeCheck,
    Vehicle,
)
from routecut.model.plan import CutLength, HingeCrossing, Passage, Route, Stretch

ORIGIN = Position(at_m=(0.0, 0.0, 0.0))
AXES = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def a_space(name: str, *exposure: Exposure) -> Space:
    unit = Box(low_m=(0.0, 0.0, 0.0), high_m=(1.0, 1.0, 1.0))
    return Space(name=name, boxes=(unit,), seed_m=(0.5, 0.5, 0.5), exposure=exposure)


SPACES = (
    a_space("cab", Exposure.DRY),
    a_space("boot", Exposure.DRY),
    a_space("engine bay", Exposure.WET, Exposure.HOT),
    a_space("outside", Exposure.WET, Exposure.STONES),
)


def make_job(
    *,
    scan: float = 0.0,
    point: float = 0.0,
    loops: tuple[float, float] = (0.0, 0.0),
    used: tuple[float, float] = (0.0, 0.0),
    sag_mm: float = 0.0,
    **lengths: Any,
) -> Job:
    practice = {"lay": 0.0, "round_up_to_m": 0.0, "drip_loop_m": 0.0, "hinge_loop_m": 0.0}
    devices = tuple(
        Device(
            name=name,
            position=ORIGIN,
            space="cab",
            ports=(
                Port(
                    device=name,
                    name="p",
                    position=ORIGIN,
                    termination=f"lug of {name}",
                    service_loop_m=loop,
                    length_used_by_termination_m=each,
                ),
            ),
        )
        for name, loop, each in zip(("radio", "battery"), loops, used, strict=True)
    )
    return Job(
        folder=Path(),
        title="",
        length_unit="mm",
        vehicle=Vehicle(
            mesh="m", mesh_unit="m", axes=AXES, axes_text="", scan_error=scan, point_error_m=point
        ),
        spaces=SPACES,
        devices=devices,
        lengths=LengthPractice(**(practice | lengths)),
        rules=Rules(limits=(("sag_mm", sag_mm),)),
    )


CABLE = Cable(
    name="P1",
    from_port="radio.p",
    to_port="battery.p",
    cable_class=CableClass.POWER,
    type=CableType(name="wire", cable_class=CableClass.POWER, diameter_m=0.005, min_bend_radius_m=0.05),
)


def make_route(length_m: float, spaces: tuple[str, ...] = ("cab",), **more: Any) -> Route:
    points = np.array([[0.0, 0, 0], [length_m, 0, 0]])
    return Route(points_m=points, length_m=length_m, spaces=spaces, bend_radius_m=0.05, **more)


def cut(job: Job, route: Route) -> CutLength:
    return cut_length(job=job, cable=CABLE, route=route)


def lines(found: CutLength) -> dict[str, float]:
    named = {line.what: line.length_m for line in found.lines}
    assert len(named) == len(found.lines)
    return named


# --- whole steps -------------------------------------------------------------------------


def test_a_cut_to_whole_steps_leaves_the_shop_rounding_out() -> None:
    """2.0 m and ends of 2 x 3 x 10 mm: 2.06 m, so four half waves of 0.638267 m, 2.553068 m."""
    job = make_job(used=(0.010, 0.010), round_up_to_m=0.05)
    found = cut_length(job=job, cable=CABLE, route=make_route(2.0), step_m=0.638267, step_is="half a wave")
    assert found.length_m == pytest.approx(4 * 0.638267)
    assert math.fsum(line.length_m for line in found.lines) == pytest.approx(found.length_m)
    assert found.lines[-1].why == "to 4 x 638 mm: half a wave"
    plain = cut(job, make_route(2.0))
    assert found.lines[:-1] == plain.lines[:-1]
    exact = cut_length(job=make_job(), cable=CABLE, route=make_route(2.0), step_m=0.5, step_is="half a wave")
    assert exact.length_m == pytest.approx(2.0)
    for wrong in (0.0, -0.5, math.nan):
        with pytest.raises(OutOfRangeError, match="step_m of P1"):
            cut_length(job=job, cable=CABLE, route=make_route(2.0), step_m=wrong)


# --- sums worked by hand -----------------------------------------------------------------


def test_a_full_sum() -> None:
    """4.137 m, 3 %, 2 x 10 mm and 2 x 15 mm, loops of 300 mm and 100 mm, one drip and one hinge loop."""
    job = make_job(
        loops=(0.3, 0.1), used=(0.010, 0.015), lay=0.03, round_up_to_m=0.05, drip_loop_m=0.075,
        hinge_loop_m=0.15, lay_error=0.0,
    )  # fmt: skip
    passage = Passage(name="grommet", at_route_m=1.0, from_space="engine bay", to_space="cab")
    route = make_route(
        4.137, ("engine bay", "cab"), passages=(passage,), hinges=(HingeCrossing(name="door", at_route_m=3),)
    )
    found = cut(job, route)
    assert lines(found) == pytest.approx(
        {
            "route": 4.137,
            "lay": 0.12411,
            "re-terminations at radio.p": 0.020,
            "service loop at radio.p": 0.300,
            "re-terminations at battery.p": 0.030,
            "service loop at battery.p": 0.100,
            "drip loop at grommet": 0.075,
            "hinge loop at door": 0.150,
            "rounding up": 0.01389,
        },
        abs=1e-12,
    )
    assert found.length_m == pytest.approx(4.95, abs=1e-12)
    assert found.lines[0].what == "route"
    assert found.lines[-1].what == "rounding up"
    assert found.probability == 0.95


def test_every_line_says_why_with_its_figure_and_source() -> None:
    job = make_job(
        loops=(0.3, 0.0), used=(0.010, 0.0), lay=0.03, round_up_to_m=0.05, drip_loop_m=0.075, scan=0.005
    )
    why = {line.what: line.why for line in cut(job, make_route(2.0, ("outside", "cab"))).lines}
    assert "3 % of the route" in why["lay"]
    assert "2 x 10 mm" in why["re-terminations at radio.p"]
    assert "lug of radio" in why["re-terminations at radio.p"]
    assert "FAA AC 43.13-1B par. 11-118" in why["re-terminations at radio.p"]
    assert "300 mm" in why["service loop at radio.p"]
    assert "75 mm" in why["drip loop at the border of outside and cab"]
    assert "0.5 % scale error over 2000 mm" in why["uncertainty"]
    assert "95 %" in why["uncertainty"]
    assert "50 mm" in why["rounding up"]
    # in the installer's own unit
    inches = {line.what: line.why for line in cut(replace(job, length_unit="in"), make_route(2.0)).lines}
    assert "11 3/4 in" in inches["service loop at radio.p"]


def test_what_is_spent_at_a_place_says_where() -> None:
    """Round a corner, 3 m: both ends, the hole after 1 m and the hinge after 2 m; the rest lies all along."""
    job = make_job(
        loops=(0.3, 0.1), used=(0.010, 0.015), lay=0.03, sag_mm=12.7, drip_loop_m=0.075, hinge_loop_m=0.15
    )
    moving = [replace(d, ports=(replace(d.ports[0], travel_m=0.2),)) for d in job.devices]
    hole = replace(HOLE, from_space="outside", to_space="cab")
    route = replace(
        bent([[0, 0, 0], [0.4, 0, 0], [0.4, 2.6, 0]]),
        spaces=("outside", "cab"),
        passages=(hole,),
        hinges=(HingeCrossing(name="door", at_route_m=2.0),),
    )
    places = {line.what: line.at_route_m for line in cut(replace(job, devices=tuple(moving)), route).lines}
    placed = {what: at for what, at in places.items() if at is not None}
    ends = ("re-terminations", "service loop", "travel")
    assert placed == pytest.approx(
        {f"{what} at radio.p": 0.0 for what in ends}
        | {f"{what} at battery.p": 3.0 for what in ends}
        | {"drip loop at hole": 1.0, "hinge loop at door": 2.0}
    )
    assert set(places) - set(placed) == {"route", "lay", "sag", "uncertainty", "rounding up"}


def test_nothing_asked_for_is_no_line() -> None:
    assert lines(cut(make_job(), make_route(2.0))) == {"route": 2.0, "lay": 0.0, "rounding up": 0.0}


@pytest.mark.parametrize(
    ("spaces", "loops"),
    [
        (("cab", "boot"), 0),
        (("engine bay", "outside"), 0),
        (("outside", "cab"), 1),
        (("cab", "outside"), 1),
        (("cab", "outside", "cab"), 2),
        (("engine bay", "cab", "boot", "outside"), 2),
    ],
)
def test_a_drip_loop_wherever_wet_meets_dry(spaces: tuple[str, ...], loops: int) -> None:
    found = cut(make_job(drip_loop_m=0.075), make_route(2.0, spaces))
    drips = [line for line in found.lines if line.what.startswith("drip loop")]
    assert [d.length_m for d in drips] == [0.075] * loops
    assert found.length_m == pytest.approx(2.0 + 0.075 * loops, abs=1e-12)


@pytest.mark.parametrize("spaces", [("cab", "outside"), ("outside", "cab")])
def test_a_drip_loop_says_which_side_is_wet_whichever_end_comes_first(spaces: tuple[str, ...]) -> None:
    (drip,) = [d for d in cut(make_job(drip_loop_m=0.075), make_route(2.0, spaces)).lines if "drip" in d.what]
    assert "comes from outside, which is wet, into cab" in drip.why
    assert drip.what == "drip loop at the border of outside and cab"


def test_each_drip_loop_names_its_own_hole() -> None:
    """In by one hole, out by another between the same two spaces: two loops, two names."""
    passages = (
        Passage(name="front", at_route_m=0.5, from_space="outside", to_space="cab"),
        Passage(name="rear", at_route_m=1.5, from_space="cab", to_space="outside"),
    )
    route = make_route(2.0, ("outside", "cab", "outside"), passages=passages)
    found = cut(make_job(drip_loop_m=0.075), route)
    assert {"drip loop at front", "drip loop at rear"} <= set(lines(found))


def test_uncertainty_is_the_quantile_times_the_deviation() -> None:
    """0.5 % of 4 m is 20 mm; two points at 5 mm make 7.07 mm; together 21.21 mm.

    Sideways the points add 2 x 25 mm2 / 4 m, 12.5 um, on average.
    """
    job = make_job(scan=0.005, point=0.005, confidence=0.95)
    assert lines(cut(job, make_route(4.0)))["uncertainty"] == pytest.approx(
        1.645 * 0.0212132 + 1.25e-5, abs=1e-5
    )
    job = make_job(scan=0.005, point=0.005, confidence=0.99)
    assert lines(cut(job, make_route(4.0)))["uncertainty"] == pytest.approx(
        2.326 * 0.0212132 + 1.25e-5, abs=1e-5
    )


def test_where_the_error_of_the_lay_is_not_the_jobs_own_it_says_that_it_has_no_source() -> None:
    for lay_error, said in ((None, True), (0.01, False)):
        made = make_job(lay=0.03, lay_error=lay_error)
        (why,) = [line.why for line in cut(made, make_route(4.0)).lines if line.what == "uncertainty"]
        assert "1 % error of the lay over 4000 mm" in why
        assert (
            "a third of the lay itself: from no lay at all to twice as much (common practice, no source)"
            in why
        ) is said


def test_a_short_strap_is_longer_whichever_way_its_ends_are_off() -> None:
    """70 mm, ends good to 4 mm: 0.46 mm on average; drawn in space 95 % suffice, within 0.5 points."""
    rng = np.random.default_rng(3)
    ends = 0.004 * rng.normal(size=(2, 40000, 3))
    real = np.linalg.norm(np.array([0.07, 0.0, 0.0]) + ends[1] - ends[0], axis=1)
    assert real.mean() == pytest.approx(0.07 + 2 * 0.004**2 / 0.07, abs=5e-5)
    found = cut(make_job(point=0.004), make_route(0.07))
    assert (real <= found.length_m).mean() == pytest.approx(0.95, abs=0.005)
    assert found.holds == pytest.approx(0.95, abs=1e-9)


def test_the_stated_probability_is_meant() -> None:
    """Drawn true lengths: scale error and two point errors, normal; the cut holds as often as said.

    40,000 draws put the share within 0.4 percentage points (3.5 standard errors) of 95 %.
    """
    rng = np.random.default_rng(11)
    n, length = 40000, 6.0
    true = length * (1 + 0.004 * rng.normal(size=n)) + 0.006 * (rng.normal(size=n) + rng.normal(size=n))
    found = cut(make_job(scan=0.004, point=0.006, confidence=0.95), make_route(length))
    assert (true <= found.length_m).mean() == pytest.approx(0.95, abs=0.004)


def test_what_was_measured_with_a_string_has_the_small_error_of_a_string() -> None:
    """3 mm and 0.1 % of 4 m: 5 mm, in place of 40 mm of scale, 40 mm of lay and the points."""
    stretch = Stretch(from_name="radio.p", to_name="battery.p", computed_m=3.9, measured_m=4.0)
    found = cut(
        make_job(scan=0.01, point=0.005, lay=0.03),
        replace(make_route(3.9, measured=(stretch,)), length_m=4.0),
    )
    assert lines(found)["uncertainty"] == pytest.approx(1.645 * 0.005, abs=1e-5)
    assert "measured with a string, 4000 mm in place of 3900 mm" in found.lines[0].why


def test_half_a_string_leaves_the_other_half() -> None:
    """A hole halfway along 4 m, the first half measured: 1 % of 2 m, the string and nothing of the hole."""
    hole = Passage(name="hole", at_route_m=2.0, from_space="cab", to_space="boot")
    stretch = Stretch(from_name="radio.p", to_name="hole", computed_m=2.0, measured_m=2.0)
    found = cut(make_job(scan=0.01), make_route(4.0, passages=(hole,), measured=(stretch,)))
    sigma = math.hypot(0.02, 0.003, 0.002)
    assert lines(found)["uncertainty"] == pytest.approx(1.645 * sigma, abs=1e-5)


def test_an_even_chance_takes_nothing_off() -> None:
    found = cut(make_job(scan=0.01, confidence=0.2), make_route(4.0))
    assert found.length_m == 4.0


@pytest.mark.parametrize(
    ("length", "total"), [(2.75, 2.75), (2.7500001, 2.8), (0.1 + 0.2, 0.3), (2.751, 2.8)]
)
def test_rounding_makes_no_step_of_noise(length: float, total: float) -> None:
    found = cut(make_job(round_up_to_m=0.05), make_route(length))
    assert found.length_m == pytest.approx(total, abs=1e-12)
    assert found.length_m >= length


@pytest.mark.parametrize("length", [-0.1, math.nan, math.inf])
def test_a_length_that_is_none_is_refused(length: float) -> None:
    with pytest.raises(OutOfRangeError, match="route of P1 has length_m"):
        cut(make_job(), replace(make_route(1.0), length_m=length))


@pytest.mark.parametrize("confidence", [0.0, 1.0, 1.5, math.nan])
def test_a_confidence_that_is_none_is_refused(confidence: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"lengths\.confidence"):
        cut(make_job(confidence=confidence), make_route(1.0))


# --- properties --------------------------------------------------------------------------

small = st.floats(0, 0.5)
practice = st.fixed_dictionaries(
    {
        "scan": st.floats(0, 0.05),
        "point": st.floats(0, 0.05),
        "loops": st.tuples(small, small),
        "used": st.tuples(small, small),
        "lay": st.floats(0, 0.3),
        "confidence": st.floats(0.01, 0.999),
        "round_up_to_m": st.sampled_from([0.0, 0.001, 0.01, 0.05, 0.0254, 1.0]),
        "drip_loop_m": small,
        "hinge_loop_m": small,
    }
)
ways = st.sampled_from([("cab",), ("outside", "cab"), ("outside", "cab", "engine bay")])
hinges = st.integers(0, 3).map(
    lambda n: tuple(HingeCrossing(name=f"door {k}", at_route_m=0.0) for k in range(n))
)


@settings(deadline=None, max_examples=300)
@given(given_=practice, length=st.floats(0, 40), way=ways, crossed=hinges)
def test_the_sum_holds(given_: dict[str, Any], length: float, way: tuple[str, ...], crossed: Any) -> None:
    """Total and lines agree; never below the route or below what is asked for; a whole number of steps."""
    found = cut(make_job(**given_), make_route(length, way, hinges=crossed))
    assert found.length_m == pytest.approx(math.fsum(line.length_m for line in found.lines), abs=1e-9)
    assert found.length_m >= length
    assert all(line.length_m >= 0.0 for line in found.lines)
    assert all(line.why for line in found.lines)
    needed = math.fsum(line.length_m for line in found.lines[:-1])
    assert found.length_m >= needed
    step = given_["round_up_to_m"]
    if step:
        assert found.length_m / step == pytest.approx(round(found.length_m / step), abs=1e-6)
        assert found.length_m - needed < step + 1e-9


@settings(deadline=None, max_examples=300)
@given(
    given_=practice,
    length=st.floats(0, 40),
    run=st.tuples(ways, hinges),
    more=st.floats(0, 1),
    what=st.sampled_from(
        ["length", "scan", "point", "loops", "used", "lay", "confidence", "drip_loop_m", "hinge_loop_m"]
    ),
)
def test_more_of_anything_is_never_shorter(
    given_: dict[str, Any], length: float, run: tuple[Any, Any], more: float, what: str
) -> None:
    way, crossed = run
    before = cut(make_job(**given_), make_route(length, way, hinges=crossed))
    grown = dict(given_)
    if what == "length":
        length += more
    elif what in ("loops", "used"):
        grown[what] = (given_[what][0], given_[what][1] + more)
    elif what == "confidence":
        grown[what] = given_[what] + (0.9995 - given_[what]) * more
    else:
        grown[what] = given_[what] + more
    after = cut(make_job(**grown), make_route(length, way, hinges=crossed))
    assert after.length_m >= before.length_m - 1e-9


# --- what the sum also holds -------------------------------------------------------------


def test_sag_is_the_shallow_arc_at_the_support_interval() -> None:
    """12.7 mm over 450 mm: 0.2124 % of the run, as worked out for the arc of a parabola."""
    found = cut(make_job(sag_mm=12.7), make_route(6.0))
    sag = next(line for line in found.lines if line.what == "sag")
    assert sag.length_m == pytest.approx(6.0 * 0.002124, abs=2e-6)
    assert "ISO 10133:2012 cl. 7.3" in sag.source
    assert "0.5 in" in sag.source


def test_a_port_that_moves_takes_its_travel() -> None:
    job = make_job()
    moving = replace(job.devices[0], ports=(replace(job.devices[0].ports[0], travel_m=0.24),))
    found = cut(replace(job, devices=(moving, job.devices[1])), make_route(2.0))
    assert lines(found)["travel at radio.p"] == 0.24


def test_what_a_terminal_takes_is_known_by_its_name() -> None:
    job = make_job(used=(0.0, 0.015))
    ring = replace(job.devices[0].ports[0], termination="ring M6")
    job = replace(job, devices=(replace(job.devices[0], ports=(ring,)), job.devices[1]))
    found = {line.what: line for line in cut(job, make_route(2.0)).lines}
    assert found["re-terminations at radio.p"].length_m == pytest.approx(0.020)
    assert "from memory" in found["re-terminations at radio.p"].source
    assert found["re-terminations at battery.p"].length_m == pytest.approx(0.030)
    assert found["re-terminations at battery.p"].source.endswith("the job")


def test_a_ready_made_lead_is_not_terminated_again() -> None:
    lead = replace(CABLE, ready_made=True)
    found = cut_length(job=make_job(used=(0.01, 0.01)), cable=lead, route=make_route(2.0))
    assert not [line for line in found.lines if line.what.startswith("re-terminations")]


def test_every_line_has_a_source() -> None:
    job = make_job(
        loops=(0.3, 0.1), used=(0.010, 0.015), lay=0.03, round_up_to_m=0.05, drip_loop_m=0.075,
        hinge_loop_m=0.15, sag_mm=12.7, scan=0.005,
    )  # fmt: skip
    route = make_route(3.0, ("outside", "cab"), hinges=(HingeCrossing(name="door", at_route_m=2.0),))
    found = cut(job, route)
    assert len(found.lines) == 11
    assert [line.what for line in found.lines if not line.source] == []


def test_a_right_angle_saves_the_rounding_of_its_corner() -> None:
    """(2 - pi/2) R: 21 mm at 50 mm, and twice that for two of them."""
    arc = [(0.05 * math.sin(a), 0.05 - 0.05 * math.cos(a), 0.0) for a in np.linspace(0, math.pi / 2, 60)]
    points = np.array([(-1.0, 0.0, 0.0), *arc, (0.05, 1.0, 0.0)])
    why = cut(make_job(), replace(make_route(2.0), points_m=points)).lines[0].why
    assert "turns through 90 degrees" in why
    assert "21 mm or more shorter" in why


def test_the_rounding_makes_the_cut_surer() -> None:
    """0.5 % of 4 m is 20 mm: 4.0329 m is enough with 95 %, 4.05 m is 2.5 sigmas, 99.4 %."""
    found = cut(make_job(scan=0.005, round_up_to_m=0.05), make_route(4.0))
    assert found.length_m == pytest.approx(4.05)
    assert found.holds == pytest.approx(0.99379, abs=1e-5)
    assert cut(make_job(), make_route(4.0)).holds is None


# --- which measurement helps -------------------------------------------------------------

HOLE = Passage(name="hole", at_route_m=1.0, from_space="cab", to_space="boot")


def test_the_long_stretch_is_the_one_to_measure() -> None:
    """4 m with a hole after 1 m: without the 3 m only 1 % of 1 m and a string of 4.2 mm are left."""
    found = cut(make_job(scan=0.01), make_route(4.0, passages=(HOLE,)))
    assert found.measure is not None
    assert (found.measure.from_name, found.measure.to_name) == ("hole", "battery.p")
    left = math.hypot(0.010, 0.003, 0.003)
    assert found.measure.saves_m == pytest.approx(1.645 * (0.04 - left), abs=1e-5)


def test_measuring_it_saves_what_was_promised() -> None:
    job, route = make_job(scan=0.01, point=0.004, lay=0.03), make_route(4.0, passages=(HOLE,))
    before = cut(job, route)
    assert before.measure is not None
    done = Stretch(from_name="hole", to_name="battery.p", computed_m=3.0, measured_m=3.0)
    after = cut(job, replace(route, measured=(done,)))
    saved = lines(before)["uncertainty"] - lines(after)["uncertainty"]
    assert saved == pytest.approx(before.measure.saves_m, abs=2e-5)  # and a little of what is sideways
    again = after.measure
    assert again is None or again.from_name == "radio.p"


@pytest.mark.parametrize("length", [0.02, 0.05, 0.2, 2.0])
def test_displaced_ends_add_what_they_add_on_average(length: float) -> None:
    """Two ends each off by 30 mm along each axis, drawn: 4e5 draws give the mean within 0.2 mm (3 sigma)."""
    rng = np.random.default_rng(6)
    ends = rng.normal(0.0, 0.03, (2, 400_000, 3))
    apart = np.linalg.norm([length, 0.0, 0.0] + ends[1] - ends[0], axis=1)
    added = sideways_m(make_job(point=0.03), CABLE, make_route(length))
    assert added == pytest.approx(apart.mean() - length, abs=2e-4)


def test_nothing_is_asked_for_that_saves_nothing() -> None:
    assert cut(make_job(scan=0.002), make_route(1.0)).measure is None


def test_holes_follow_each_other_as_on_the_way_not_by_name() -> None:
    """4 m, through Z after 1 m and A after 2 m."""
    first, second = replace(HOLE, name="Z"), replace(HOLE, name="A", at_route_m=2.0)
    for passages in ((first, second), (second, first)):
        runs = legs(CABLE, make_route(4.0, passages=passages))
        assert [(run.from_name, run.to_name, run.open_m) for run in runs] == [
            ("radio.p", "Z", 1.0), ("Z", "A", 1.0), ("A", "battery.p", 2.0),
        ]  # fmt: skip


# --- where points pull -------------------------------------------------------------------


def bent_at_the_hole() -> Route:
    """1 m along x to a hole through y, and back again on the other side of the sheet."""
    return Route(
        points_m=np.array([[1.0, 0.02, 0.0], [0.0, 0.02, 0.0], [0.0, -0.02, 0.0], [1.0, -0.02, 0.0]]),
        length_m=2.04,
        spaces=("cab", "boot"),
        bend_radius_m=0.01,
        passages=(Passage(name="hole", at_route_m=1.02, from_space="cab", to_space="boot"),),
    )


def test_a_hole_that_turns_the_way_back_pulls_twice() -> None:
    """Ends 1 each, the hole nearly 2: its error of 5 mm counts 10 mm."""
    found = cut(make_job(point=0.005), bent_at_the_hole())
    (points,) = found.errors
    assert points.what == "points"
    assert points.sigma_m == pytest.approx(0.005 * math.sqrt(1 + 1 + 4), rel=0.02)


def test_a_hole_on_a_straight_way_pulls_nothing() -> None:
    found = cut(make_job(point=0.005), make_route(4.0, passages=(HOLE,)))
    assert found.errors[0].sigma_m == pytest.approx(0.005 * math.sqrt(2.0), abs=1e-9)


def test_a_hole_moves_in_its_sheet_alone() -> None:
    """1 m along the axis of the hole, then 1 m square to it: only the second run pulls, 1 and not 1.41."""
    hole = PassThrough(
        name="hole", position=ORIGIN, axis=(1.0, 0.0, 0.0), diameter_m=0.03, state=HoleState.EXISTING,
        joins=("cab", "boot"),
    )  # fmt: skip
    route = Route(
        points_m=np.array([[-1.0, 0.0, 0.0], [0.0, 0.0, 0.0], [0.0, 1.0, 0.0]]),
        length_m=2.0,
        spaces=("cab", "boot"),
        bend_radius_m=0.01,
        passages=(replace(HOLE, at_route_m=1.0),),
    )
    found = cut(replace(make_job(point=0.005), pass_throughs=(hole,)), route)
    assert found.errors[0].sigma_m == pytest.approx(0.005 * math.sqrt(3.0), abs=1e-9)


def test_two_ports_of_one_device_move_alike() -> None:
    job = make_job(point=0.005)
    port = job.devices[0].ports[0]
    other = replace(port, name="q", offset_m=(0.1, 0.0, 0.0))
    both = replace(job.devices[0], ports=(replace(port, offset_m=(0.0, 0.0, 0.0)), other))
    cable = replace(CABLE, to_port="radio.q")
    found = cut_length(job=replace(job, devices=(both,)), cable=cable, route=make_route(1.0))
    assert found.errors == ()


def test_the_noise_of_a_scan_counts_for_each_metre() -> None:
    job = make_job()
    rough = replace(job, vehicle=replace(job.vehicle, noise_m=0.002))
    (error,) = cut(rough, make_route(4.0)).errors
    assert error.what == "roughness of the mesh"
    assert error.sigma_m == pytest.approx(0.008)
    assert "2.0 mm, two points in three within it" in error.why
    assert cut(job, make_route(4.0)).errors == ()


def test_an_error_says_of_what_length_it_is_a_share() -> None:
    """4 m, the first metre of it by string: 3 m are left for scale, roughness and lay."""
    job = make_job(scan=0.01, lay=0.03)
    job = replace(job, vehicle=replace(job.vehicle, noise_m=0.002))
    string = Stretch(from_name="radio.p", to_name="hole", computed_m=1.0, measured_m=1.0)
    errors = cut(job, make_route(4.0, passages=(HOLE,), measured=(string,))).errors
    assert {e.what: e.over_m for e in errors} == {
        "scale of the mesh": 3.0, "roughness of the mesh": 3.0, "lay": 3.0, "strings": 0.0,
    }  # fmt: skip


# --- tape checks -------------------------------------------------------------------------


def test_tape_checks_narrow_the_scale_where_they_rescale() -> None:
    """Two checks over 3 m and 4 m, landmarks good to 5 mm: 7.07 mm over 5 m is 0.1414 %."""
    marks = [("a", (0.0, 0.0, 0.0)), ("b", (3.0, 0.0, 0.0)), ("c", (0.0, 4.0, 0.0))]
    job = make_job(scan=0.01, point=0.005)
    vehicle = replace(
        job.vehicle,
        tape_checks=(
            TapeCheck(from_landmark="a", to_landmark="b", distance_m=3.01),
            TapeCheck(from_landmark="a", to_landmark="c", distance_m=4.0),
        ),
    )
    landmarks = tuple(Landmark(name=n, position=Position(at_m=at)) for n, at in marks)
    asked = replace(job, vehicle=replace(vehicle, rescale=True), landmarks=landmarks)
    assert scale_sigma(asked) == pytest.approx(0.0014142, abs=1e-7)
    assert scale_sigma(replace(job, vehicle=vehicle, landmarks=landmarks)) == 0.01
    taped = tuple(replace(m, position=replace(m.position, taped=True)) for m in landmarks)
    assert scale_sigma(replace(asked, landmarks=taped)) == 0.01
    why = {line.what: line.why for line in cut(asked, make_route(4.0)).lines}["uncertainty"]
    assert "0.141 % scale error" in why
    assert "rescaled by the tape checks (1 % before)" in why


def test_a_tape_check_is_proposed_where_it_helps_all_cables_more() -> None:
    """1 % over ten cables of 4 m; 5 mm landmarks 5 m apart would leave 0.14 %."""
    marks = [("striker", (0.0, 0.0, 0.0)), ("step", (5.0, 0.0, 0.0)), ("bolt", (1.0, 0.0, 0.0))]
    job = make_job(scan=0.01, point=0.005)
    job = replace(job, landmarks=tuple(Landmark(name=n, position=Position(at_m=at)) for n, at in marks))
    one = cut(job, make_route(4.0))
    assert one.measure is not None
    tip = measure_first(job, {f"P{k}": one for k in range(10)})
    assert tip is not None
    assert "tape check from striker to step" in tip.message
    sigma, after = math.hypot(0.04, 0.00707107), math.hypot(0.04 * 0.14142, 0.00707107)
    saved = re.search(r"together by (\d+) mm", tip.message)
    assert saved is not None
    assert float(saved[1]) == pytest.approx(1645 * 10 * (sigma - after), abs=1.5)
    string = measure_first(replace(job, landmarks=()), {"P1": one})
    assert string is not None
    assert string.where == "cable P1"
    assert "measure radio.p to battery.p of P1 with a string" in string.message
    assert measure_first(make_job(), {"P1": cut(make_job(), make_route(4.0))}) is None


# --- sections of the vehicle that are known less well --------------------------------------

WIDE = Section(name="cab length", axis=0, low_m=(-9, -9, -9), high_m=(9, 9, 9), error_m=0.9)  # 5 %


def with_sections(*sections: Section, **more: Any) -> Job:
    job = make_job(**more)
    return replace(job, vehicle=replace(job.vehicle, sections=sections))


def bent(points: list[list[float]]) -> Route:
    at = np.array(points)
    length = float(np.linalg.norm(np.diff(at, axis=0), axis=1).sum())
    return replace(make_route(1.0), points_m=at, length_m=length)


def section_error(section: Section, route: Route) -> float:
    found = [e for e in cut(with_sections(section), route).errors if e.what.startswith(section.name)]
    return found[0].sigma_m if found else 0.0


def test_a_section_counts_for_what_of_the_route_runs_along_it() -> None:
    """2 m along x in a section that may be 5 % off: 100 mm; across it nothing; at 45 degrees half."""
    assert section_error(WIDE, make_route(2.0)) == pytest.approx(0.100)
    assert section_error(WIDE, bent([[0, 0, 0], [0, 2, 0]])) == 0.0
    assert section_error(WIDE, bent([[0, 0, 0], [1, 1, 0]])) == pytest.approx(0.05 * math.sqrt(2.0) / 2)


def test_a_section_ends_at_its_box() -> None:
    half = replace(WIDE, low_m=(-1.0, -9, -9), high_m=(1.0, 9, 9), error_m=0.1)  # 5 % again
    assert section_error(half, make_route(3.0)) == pytest.approx(0.05, abs=0.05 * 0.005)


@given(
    st.lists(st.tuples(*[st.floats(-1.0, 1.0)] * 3), min_size=2, max_size=6, unique=True),
    st.integers(0, 2),
)
def test_a_section_moves_a_length_as_stretching_the_route_does(
    points: list[tuple[float, float, float]], axis: int
) -> None:
    """Against the route itself, made a millionth longer along the axis."""
    route = bent([list(p) for p in points])
    assume(route.length_m > 0.1)
    section = replace(WIDE, axis=axis)
    grown = np.array(points)
    grown[:, axis] *= 1.0 + 1e-6
    longer = float(np.linalg.norm(np.diff(grown, axis=0), axis=1).sum())
    assert section_error(section, route) == pytest.approx(0.05 * (longer - route.length_m) / 1e-6, abs=1e-6)


def test_a_string_takes_the_section_out_of_what_it_measured() -> None:
    strung = replace(
        make_route(2.0),
        measured=(Stretch(from_name="radio.p", to_name="battery.p", computed_m=2.0, measured_m=2.0),),
    )
    assert section_error(WIDE, strung) == 0.0


@pytest.mark.parametrize(("first", "last", "left_m"), [("radio.p", "hole", 2.0), ("hole", "battery.p", 1.0)])
def test_a_string_takes_nothing_else_out_of_a_section(first: str, last: str, left_m: float) -> None:
    """3 m with a hole after 1 m, either part measured: 5 % of the other."""
    done = 3.0 - left_m
    stretch = Stretch(from_name=first, to_name=last, computed_m=done, measured_m=done)
    route = replace(bent([[0, 0, 0], [0.3, 0, 0], [3, 0, 0]]), passages=(HOLE,), measured=(stretch,))
    assert section_error(WIDE, route) == pytest.approx(0.05 * left_m, abs=0.05 * 0.005)


@pytest.mark.parametrize("corner", [0.1, 2.9])
def test_a_section_ends_at_its_box_wherever_the_route_has_its_points(corner: float) -> None:
    half = replace(WIDE, low_m=(-1.0, -9, -9), high_m=(1.0, 9, 9), error_m=0.1)  # 5 % of the first metre
    route = bent([[0, 0, 0], [corner, 0, 0], [3, 0, 0]])
    assert section_error(half, route) == pytest.approx(0.05, abs=0.05 * 0.005)


def test_the_cut_tells_what_was_not_measured() -> None:
    job = with_sections(WIDE, replace(WIDE, name="width", axis=1, measured=True))
    why = next(
        line.why for line in cut(job, bent([[0, 0, 0], [1, 1, 0]])).lines if line.what == "uncertainty"
    )
    assert "cab length (not measured) 35 mm (900 mm one sigma over 18000 mm along x, which was not" in why
    assert "width 35 mm (900 mm one sigma over 18000 mm along y)" in why


def test_the_measurement_that_saves_most_is_that_of_the_section() -> None:
    section = replace(WIDE, measure="the cab from A to B (cab_length)")
    job = with_sections(section, point=0.005)
    found = cut(job, make_route(2.0))
    told = measure_first(job, {"P1": found, "P2": found})  # a string would help one of the two only
    assert told is not None
    assert "measure the cab from A to B (cab_length) and put it into the job" in told.message
    known = with_sections(replace(section, measured=True), point=0.005)
    again = cut(known, make_route(2.0))
    assert "cab_length" not in str(measure_first(known, {"P1": again, "P2": again}))
