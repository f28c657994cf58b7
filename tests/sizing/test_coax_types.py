"""Coax the job leaves open, what it stands, and cuts to half waves; every case worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from routecut.model.finding import Severity
from routecut.model.job import Cable, CableClass, CableType, Signal, Stock
from routecut.sizing import cut_step_m
from routecut.sizing.coax import attenuation_of, rating_watts
from routecut.survey.read_fitout import thickest_of
from routecut.tables import cable_types
from tests.sizing import jobs
from tests.sizing.jobs import codes, job, sized

OWN = CableType(
    name="own", cable_class=CableClass.COAX, diameter_m=0.005, min_bend_radius_m=0.03,
    attenuation=((100.0, 10.0), (400.0, 20.0)), power_rating=((100.0, 300.0), (400.0, 140.0)),
    velocity_factor=0.8,
)  # fmt: skip


def open_coax(mhz: float, *, most: float | None = None, watts: float | None = None) -> Cable:
    stand_in = thickest_of(CableClass.COAX, cable_types())
    assert stand_in is not None
    cable = jobs.coax("X", "coax-58", mhz, most=most, watts=watts)
    return replace(cable, type=stand_in, type_assumed=True)


@pytest.mark.parametrize(
    ("length_m", "most", "expected"),
    [
        (1.0, 3.0, "coax-174"),  # 34 dB/100 m: half a dB with its plugs
        (4.0, 1.5, "coax-58"),  # 174 would lose 1.6, 58 loses 1.0
        (4.5, 1.1, "coax-240"),  # 58 loses 1.1 by its law and 1.17 by the worst of its tables
        (6.0, 1.0, "coax-240"),  # 58 would lose 1.4, mini-8 1.1
        (12.0, 1.0, "coax-400"),  # 240 would lose 1.4
    ],
)
def test_an_open_coax_becomes_the_thinnest_that_holds(length_m: float, most: float, expected: str) -> None:
    made = job(open_coax(155, most=most))
    sizing, picked, findings = sized(made, {"X": length_m})
    assert picked["X"].name == expected
    assert sizing.coax["X"].picked
    assert sizing.picks("X")
    assert sizing.coax["X"].ok
    assert codes(findings) == ["size-picked"]
    thinner = [t for t in cable_types().values() if t.cable_class is CableClass.COAX]
    for other in thinner:
        known = attenuation_of(other)
        if known is not None and other.diameter_m < picked["X"].diameter_m:
            assert known.band(155)[1] * length_m / 100 + 0.2 > most


@pytest.mark.parametrize(
    ("watts", "expected"),
    [(None, "coax-174"), (25.0, "coax-174"), (50.0, "coax-58"), (100.0, "coax-240"), (200.0, "coax-213")],
)
def test_an_open_coax_bears_its_transmitter_by_heat(watts: float | None, expected: str) -> None:
    """At 155 MHz in air of 30 degrees C: 174 bears 27 W, 58 81 W, 240 163 W, 213 286 W."""
    _, picked, findings = sized(job(open_coax(155, watts=watts)), {"X": 1.0})
    assert picked["X"].name == expected
    assert codes(findings) == ["size-picked"]


def test_where_no_coax_holds_the_one_that_loses_least_is_taken_and_the_error_stays() -> None:
    sizing, picked, findings = sized(job(open_coax(450, most=0.3)), {"X": 12.0})
    assert picked["X"].name == "coax-400"
    assert not sizing.coax["X"].ok
    assert codes(findings) == ["size-picked", "coax-loss"]
    assert [f.severity for f in findings] == [Severity.NOTE, Severity.ERROR]


def test_what_is_on_the_shelf_comes_before_what_is_thinner() -> None:
    shelf = [Stock(type="coax-240", reel_m=30.0)]
    assert sized(job(open_coax(155, most=1.5), stock=shelf), {"X": 4.0})[1]["X"].name == "coax-240"
    shelf = [Stock(type="coax-174", reel_m=30.0)]  # would lose too much
    assert sized(job(open_coax(155, most=1.5), stock=shelf), {"X": 4.0})[1]["X"].name == "coax-58"


def test_a_type_the_job_gives_is_never_changed() -> None:
    _, picked, findings = sized(job(jobs.coax("X", "coax-174", 155, most=0.5)), {"X": 4.0})
    assert picked == {}
    assert codes(findings) == ["coax-loss"]


def test_an_open_coax_stands_its_transmitter_where_the_rating_is_known() -> None:
    thin = replace(OWN, name="thin", diameter_m=0.002)
    thick = replace(OWN, name="thick", diameter_m=0.004, power_rating=((400.0, 1000.0),))
    shelf = [Stock(type=name, reel_m=9.0) for name in ("thin", "thick")]
    for watts, expected in ((100, "thin"), (500, "thick")):
        made = job(open_coax(150, watts=watts), types=(thin, thick), stock=shelf)
        assert sized(made, {"X": 2.0})[1]["X"].name == expected


def test_ratings_are_read_on_the_safe_side() -> None:
    assert rating_watts(OWN, 50) == 300
    assert rating_watts(OWN, 100) == 300
    assert rating_watts(OWN, 101) == 140  # between two points that of the higher frequency
    assert rating_watts(OWN, 400) == 140
    assert rating_watts(OWN, 401) is None
    assert rating_watts(cable_types()["coax-58"], 155) is None


@pytest.mark.parametrize(("watts", "expected"), [(140.0, []), (141.0, ["coax-power"])])
def test_a_transmitter_over_the_rating_is_an_error(watts: float, expected: list[str]) -> None:
    sizing, _, findings = sized(job(jobs.coax("X", "", 155, own=OWN, watts=watts)), {"X": 2.0})
    assert codes([f for f in findings if f.severity is Severity.ERROR]) == expected
    assert sizing.coax["X"].rating_watts == 140


# --- half waves --------------------------------------------------------------------------


def half(cable: Cable) -> Cable:
    assert cable.signal is not None
    return replace(cable, signal=replace(cable.signal, half_wave=True))


def test_half_a_wave_by_hand() -> None:
    """155 MHz: 299.792458 / 155 = 1.93414 m a wave; half of it x 0.66 is 0.63827 m."""
    step = cut_step_m(half(jobs.coax("X", "coax-58", 155)))
    assert step is not None
    assert step[0] == pytest.approx(0.638267, abs=1e-6)
    assert "155 MHz in coax-58, velocity factor 0.66" in step[1]
    own = cut_step_m(half(jobs.coax("X", "", 100, own=OWN)))
    assert own is not None
    assert own[0] == pytest.approx(1.19917, abs=1e-5)
    assert cut_step_m(jobs.coax("X", "coax-58", 155)) is None
    assert cut_step_m(replace(jobs.coax("X", "coax-58", 155), signal=None)) is None


@pytest.mark.parametrize(("mhz", "length_m"), [(1e-9, 3.0), (0.5, 3.0), (27.0, 3.0), (1e5, 500.0)])
def test_no_frequency_is_too_odd(mhz: float, length_m: float) -> None:
    """At 1e-9 MHz half a wave is longer than any road; at 100 GHz nothing a float can hold comes through 500 m."""
    sizing, _, findings = sized(job(half(jobs.coax("X", "coax-58", mhz, watts=25))), {"X": length_m})
    assert ("half-wave" in codes(findings)) is (mhz < 20)
    assert 0.0 <= sizing.coax["X"].share_percent <= 100.0


def test_half_waves_are_counted() -> None:
    sizing, _, findings = sized(job(half(jobs.coax("X", "coax-58", 155))), {"X": 5 * 0.638267})
    assert sizing.coax["X"].half_waves == 5
    assert findings == []
    assert sized(job(jobs.coax("X", "coax-58", 155)), {"X": 3.0})[0].coax["X"].half_waves is None


@pytest.mark.parametrize(
    ("cable", "reason"),
    [
        (replace(jobs.coax("X", "coax-58", 155), ready_made=True), "ready-made"),
        (open_coax(155), "leaves its type open"),
        (jobs.coax("X", "coax-58", 1), "longer than 6 m"),
        (
            jobs.coax("X", "", 155, own=replace(OWN, velocity_factor=None)),
            "velocity factor of own is not known",
        ),
    ],
)
def test_what_can_not_be_cut_to_half_waves_is_said(cable: Cable, reason: str) -> None:
    assert cut_step_m(half(cable)) is None
    sizing, _, findings = sized(job(half(cable)), {"X": 2.0})
    [found] = [f for f in findings if f.code == "half-wave"]
    assert reason in found.message
    assert found.severity is Severity.WARNING
    assert sizing.coax["X"].half_waves is None
    assert Signal(mhz=155).half_wave is False


def test_coax_that_says_nothing_may_lose_what_an_offshore_rule_allows() -> None:
    """Offshore Special Regulations 3.29.1: not more than 40 % power loss in the feeder of a 25 W marine radio."""
    sizing, _, _ = sized(job(jobs.coax("X", "coax-58", 155)), {"X": 3.0})
    assert sizing.coax["X"].max_loss_db == pytest.approx(10 * math.log10(1 / 0.6), abs=0.05)
