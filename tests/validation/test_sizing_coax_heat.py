"""What a coax bears by its heat, against worked cases and published ratings as they are remembered.

Source     convection and radiation of a horizontal pipe: an example of a textbook of heat transfer,
           from memory (diameter 0.1 m, 165 degrees C in air of 23: 325 W/m by convection, and by
           radiation what Stefan and Boltzmann say); power ratings of coax: data sheets, from memory,
           as orders of magnitude only
Kind       first principles, worked by hand here; no figure of this file is in the code
Tolerance  2 % on the pipe; that the estimate is below what makers allow, and above a tenth of it
Circular?  No
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecut.model.finding import Severity
from routecut.model.job import Access, Box, Exposure, Space
from routecut.sizing.coax import attenuation_of
from routecut.sizing.coax_heat import STANDS_C, bears_watts, given_off_w_per_m
from routecut.tables import cable_types
from tests.sizing import jobs
from tests.sizing.jobs import codes

KNOWN = ("coax-174", "coax-58", "coax-mini-8", "coax-240", "coax-213", "coax-400")


def bears(name: str, mhz: float, *, air_c: float = 30.0, reflected: float = 4.0) -> float:
    known = attenuation_of(cable_types()[name])
    assert known is not None
    found = bears_watts(
        cable_types()[name], db_per_100_m=known.band(mhz)[1], air_c=air_c, reflected_percent=reflected
    )
    assert found is not None
    return found


def test_a_hot_pipe_in_still_air() -> None:
    radiated = 0.9 * 5.670e-8 * (438.15**4 - 296.15**4) * math.pi * 0.1
    assert given_off_w_per_m(0.1, 165.0, 23.0) == pytest.approx(325.0 + radiated, rel=0.02)


def test_the_balance_closes() -> None:
    """58 size at 155 MHz, 30 degrees C: the heat worked out backwards from the power, layer by layer."""
    watts = bears("coax-58", 155.0)
    known = attenuation_of(cable_types()["coax-58"])
    assert known is not None
    db_per_m = known.band(155)[1] / 100 * math.sqrt(314.5 / 254.5)
    heat = watts * (1 - 10 ** (-db_per_m / 10)) * 1.2**2  # 4 % comes back: 0.2 of the voltage
    rise = heat / (2 * math.pi) * (math.log(2.95 / 0.9) / 0.30 + math.log(4.95 / 2.95) / 0.15)
    assert heat == pytest.approx(0.5 * given_off_w_per_m(0.00495, 80.0 - rise, 30.0), rel=1e-6)


@pytest.mark.parametrize(
    ("name", "mhz", "allowed"),
    [("coax-58", 150, 150), ("coax-213", 150, 500), ("coax-240", 150, 600), ("coax-174", 150, 70)],
)
def test_below_what_makers_allow_and_not_absurdly(name: str, mhz: float, allowed: float) -> None:
    """Data sheets from memory, at 40 degrees C: never an estimate above them."""
    assert 0.1 * allowed < bears(name, mhz, air_c=40.0) < allowed


@given(
    name=st.sampled_from(KNOWN),
    mhz=st.floats(10, 900),
    more=st.floats(1.001, 5),
    air_c=st.floats(-20, 70),
    hotter=st.floats(0.01, 9),
)
def test_more_of_what_heats_bears_less(
    name: str, mhz: float, more: float, air_c: float, hotter: float
) -> None:
    here = bears(name, mhz, air_c=air_c)
    assert bears(name, mhz * more, air_c=air_c) < here
    assert bears(name, mhz, air_c=air_c + hotter) < here
    assert bears(name, mhz, air_c=air_c, reflected=4.0 * more) < here


def test_nothing_is_said_of_what_is_not_known() -> None:
    own = replace(cable_types()["coax-58"], name="own")
    assert bears_watts(own, db_per_100_m=20.0, air_c=30.0, reflected_percent=4.0) is None
    assert bears("coax-58", 155, air_c=STANDS_C) == 0.0


def test_a_transmitter_that_is_too_much_is_a_warning_in_a_hot_space_alone() -> None:
    """60 W at 155 MHz: 58 bears 81 W in air of 30 degrees C and 47 W in 50."""
    box = Box(low_m=(-9.0, -9.0, -9.0), high_m=(9.0, 9.0, 9.0))
    hot = Space(
        name="bay", boxes=(box,), seed_m=(0.0, 0.0, 0.0), exposure=(Exposure.HOT,), access=Access.OPEN
    )
    made = replace(jobs.job(jobs.coax("X", "coax-58", 155, watts=60)), spaces=(hot,))
    sizing, _, findings = jobs.sized(made, {"X": 3.0})
    assert codes(findings) == []
    assert sizing.coax["X"].bears_watts == pytest.approx(81)
    through = jobs.straight(3.0, spaces=("bay",))
    sizing, _, findings = jobs.sized(made, {"X": 3.0}, routes={"X": through})
    assert codes(findings) == ["coax-heat"]
    assert findings[0].severity is Severity.WARNING
    assert sizing.coax["X"].bears_watts == pytest.approx(47)


def test_an_estimate_has_two_digits_and_is_rounded_down() -> None:
    """213 size at 155 MHz: 286 W, said as 280."""
    assert bears("coax-213", 155) == pytest.approx(286, abs=1)
    sizing, _, _ = jobs.sized(jobs.job(jobs.coax("X", "coax-213", 155)), {"X": 3.0})
    assert sizing.coax["X"].bears_watts == pytest.approx(280)
