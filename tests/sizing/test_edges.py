"""Sizing at the edges: figures at a limit, orders that hide nothing, refusals; every case worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from routecut.errors import OutOfRangeError
from routecut.model.finding import Finding, Severity
from routecut.model.job import CableClass, CableType, Job, Signal, Stock
from routecut.model.sizing import Limit
from routecut.sizing.bonds import braid_area_mm2
from routecut.sizing.circuit import build_circuit
from routecut.sizing.coax import SPEED_OF_LIGHT_M_PER_S, attenuation_of, fit, half_wave_m, rating_watts
from routecut.sizing.coax_heat import given_off_w_per_m
from routecut.sizing.coax_types import highest_db
from tests.sizing.jobs import coax, codes, device, job, power, sized
from tests.sizing.test_coax_types import OWN, half, open_coax

# --- where the cables come from that no battery feeds ------------------------------------


def unfed(*leads: tuple[str, str, str]) -> list[tuple[str, str]]:
    """A job whose battery feeds nothing: leads by name and devices, and what is taken as their source."""
    boxes = [device(name, "in", "out", kind="distribution block") for name in "abcd"]
    cables = [power(name, f"{one}.out", f"{other}.in", 5) for name, one, other in leads]
    return build_circuit(job(*cables, devices=boxes), {name: 1.0 for name, *_ in leads}).supply_assumed


def test_the_device_that_no_lead_leads_to_is_the_source() -> None:
    """Named so that neither the first lead nor the end of one is right."""
    assert unfed(("L1", "b", "c"), ("L2", "a", "b")) == [("a", "L2")]
    assert unfed(("L1", "b", "c"), ("L2", "c", "d"), ("L3", "a", "b")) == [("a", "L3")]


def test_in_a_ring_the_first_lead_says_the_source() -> None:
    assert unfed(("L1", "b", "c"), ("L2", "c", "a"), ("L3", "a", "b")) == [("b", "L1")]


# --- the law of attenuation --------------------------------------------------------------


def test_the_residual_is_how_far_the_worst_point_lies_from_the_law() -> None:
    """0.5 sqrt(f) + 0.02 f through two points is exact; a third 10 % over it is not."""
    exact = [(f, 0.5 * math.sqrt(f) + 0.02 * f) for f in (25.0, 100.0, 900.0)]
    law = fit(exact)
    assert law.k1 == pytest.approx(0.5)
    assert law.k2 == pytest.approx(0.02)
    assert law.residual == pytest.approx(0.0, abs=1e-12)
    off = fit([*exact[:2], (900.0, exact[2][1] * 1.1)])
    by_hand = max(abs(off.db_per_100_m(f) / a - 1) for f, a in [*exact[:2], (900.0, exact[2][1] * 1.1)])
    assert off.residual == pytest.approx(by_hand)
    assert 0.01 < off.residual < 0.1


@pytest.mark.parametrize(
    "points",
    [
        [], [(0.0, 5.0)], [(5.0, 0.0)], [(-1.0, 5.0)], [(5.0, -1.0)], [(-5.0, -1.0)], [(math.inf, 5.0)],
        [(5.0, math.inf)], [(math.nan, 5.0)], [(5.0, math.nan)], [(100.0, 10.0), (400.0, 0.0)],
        [(100.0, 10.0), (math.inf, math.inf)],
    ],
)  # fmt: skip
def test_a_law_wants_points_above_nothing(points: list[tuple[float, float]]) -> None:
    with pytest.raises(OutOfRangeError, match="all above 0"):
        fit(points)


def test_a_rating_holds_at_its_own_frequency_and_for_rounding_of_it() -> None:
    assert rating_watts(OWN, 100.0 * (1 + 5e-10)) == 300
    assert rating_watts(OWN, 100.0 * (1 + 5e-9)) == 140
    assert rating_watts(OWN, 400.0 * (1 + 5e-9)) is None


@pytest.mark.parametrize(
    ("mhz", "factor"),
    [(0.0, 0.66), (-1.0, 0.66), (155.0, 0.0), (155.0, -0.1), (155.0, 1.01), (math.nan, 0.5)],
)
def test_no_half_wave_of_what_can_not_be(mhz: float, factor: float) -> None:
    with pytest.raises(OutOfRangeError, match="at most 1"):
        half_wave_m(mhz, factor)


def test_half_a_wave_to_the_digit() -> None:
    """In nothing but air, at 149.896229 MHz: one metre, as the speed of light is exact."""
    assert half_wave_m(SPEED_OF_LIGHT_M_PER_S / 2e6, 1.0) == pytest.approx(1.0, rel=1e-12)
    assert half_wave_m(SPEED_OF_LIGHT_M_PER_S / 2e6, 0.8) == pytest.approx(0.8, rel=1e-12)


def test_the_heat_a_thin_cable_gives_off_step_by_step() -> None:
    """10 mm at 60 degrees C in air of 20, worked by hand at the film of 40 degrees C = 313.15 K.

    Viscosity 1.332e-5 x (313.15 / 273.15)^1.75 = 1.69235e-5 m2/s, conductivity 0.0241 x 1.14644^0.86 = 0.027106
    W/(m K); Rayleigh 9.80665 / 313.15 x 40 x 1e-6 x 0.71 / viscosity^2 = 3105.3; Nusselt after Churchill and Chu.
    """
    kelvin = 313.15
    viscosity = 1.332e-5 * (kelvin / 273.15) ** 1.75
    rayleigh = 9.80665 / kelvin * 40 * 0.01**3 * 0.71 / viscosity**2
    root = 0.60 + 0.387 * rayleigh ** (1 / 6) / (1 + (0.559 / 0.71) ** (9 / 16)) ** (8 / 27)
    convected = root**2 * 0.0241 * (kelvin / 273.15) ** 0.86 / 0.01 * 40
    radiated = 0.9 * 5.670374419e-8 * (333.15**4 - 293.15**4)
    assert given_off_w_per_m(0.01, 60.0, 20.0) == pytest.approx(
        math.pi * 0.01 * (convected + radiated), rel=1e-6
    )
    assert given_off_w_per_m(0.01, 20.0, 20.0) == 0.0
    assert given_off_w_per_m(0.01, 10.0, 20.0) == 0.0


def test_copper_of_a_braid_to_the_digit() -> None:
    """20 800 circular mils of 0.000506707 mm2 on 19.05 mm."""
    assert braid_area_mm2(0.01905) == pytest.approx(20_800 * math.pi / 4 * 0.0254**2, rel=1e-6)


# --- coax types ---------------------------------------------------------------------------


def kinds(*changes: dict[str, object]) -> list[CableType]:
    """Types like `OWN`, 2 mm thick, one for each change."""
    return [replace(OWN, **({"name": f"k{i}", "diameter_m": 0.002} | c)) for i, c in enumerate(changes)]  # type: ignore[arg-type]


def picked(made: Job, length_m: float = 2.0) -> tuple[str, list[Finding]]:
    _, types, findings = sized(made, {"X": length_m})
    return types["X"].name, findings


def on_shelf(types: list[CableType], prices: list[float | None], reels: list[float]) -> list[Stock]:
    return [Stock(type=t.name, reel_m=r, price=p) for t, p, r in zip(types, prices, reels, strict=True)]


def test_of_two_alike_the_one_that_is_cheaper_by_the_metre_is_taken() -> None:
    """30 for 10 m is dearer than 40 for 20 m; what has no price comes last."""
    types = kinds({}, {}, {})
    shelf = on_shelf(types, [None, 30.0, 40.0], [10.0, 10.0, 20.0])
    name, [note] = picked(job(open_coax(150), types=types, stock=shelf))
    assert name == "k2"
    assert "the thinnest on hand or used in this job that" in note.message
    shelf = on_shelf(types, [None, 30.0, 70.0], [10.0, 10.0, 20.0])
    assert picked(job(open_coax(150), types=types, stock=shelf))[0] == "k1"


def test_what_is_picked_from_the_catalogue_is_not_said_to_be_on_hand() -> None:
    name, [note] = picked(job(open_coax(155)))
    assert name == "coax-174"
    assert "the thinnest that loses" in note.message


def test_a_type_that_is_out_is_passed_over_and_not_those_behind_it() -> None:
    """Stiffer than the way was laid for; no point read so high; thicker than the way was laid for."""
    stand_in = open_coax(150).type
    types = kinds(
        {"min_bend_radius_m": stand_in.min_bend_radius_m + 0.001},
        {"attenuation": ((10.0, 1.0), (100.0, 4.0))},
        {"diameter_m": stand_in.diameter_m + 0.001},
        {},
    )
    shelf = on_shelf(types, [1.0, 1.0, 1.0, 90.0], [10.0] * 4)
    assert picked(job(open_coax(150), types=types, stock=shelf))[0] == "k3"
    alone = types[:3]
    name, _ = picked(job(open_coax(150), types=alone, stock=on_shelf(alone, [1.0] * 3, [10.0] * 3)))
    assert name.startswith("coax-")


def test_a_type_is_adequate_up_to_the_limit_with_both_plugs() -> None:
    """10 dB/100 m at 100 MHz over 4 m and two plugs of 0.1 dB: 0.6 dB; rated 300 W there."""
    types = kinds({})
    shelf = on_shelf(types, [1.0], [10.0])
    at = replace(types[0], attenuation=((100.0, 10.0),))
    for most, watts, expected in (
        (0.6, 300.0, True), (0.599, 300.0, False), (0.6, 300.1, False), (0.6, None, True),
    ):  # fmt: skip
        made = job(open_coax(100, most=most, watts=watts), types=[at], stock=shelf)
        assert (picked(made, 4.0)[0] == "k0") is expected


def test_a_joint_is_two_plugs_more() -> None:
    plain, _, _ = sized(job(coax("X", "coax-58", 155)), {"X": 4.0})
    joined, _, _ = sized(job(coax("X", "coax-58", 155)), {"X": 4.0}, joints={"X": 2})
    assert (plain.coax["X"].connectors, joined.coax["X"].connectors) == (2, 6)
    known = attenuation_of(OWN)
    assert known is not None
    limits = {
        "connector_loss_db": Limit(
            name="connector_loss_db", value=0.1, unit="dB", meaning="", source="", provenance=""
        )
    }
    for joints, db in ((0, 0.6), (1, 0.8), (3, 1.2)):  # 10 dB/100 m over 4 m, 0.1 dB a plug
        found = highest_db(known, Signal(mhz=100.0), length_m=4.0, joints=joints, limits=limits)
        assert found == pytest.approx(db, rel=1e-9)


# --- what is said of a coax ---------------------------------------------------------------


def test_every_figure_of_a_coax_by_hand() -> None:
    """OWN is 1 dB/100 m for each root of a MHz: at 225 MHz 15 dB/100 m, 0.6 dB over 4 m; plugs 0.1 dB each."""
    lead = coax("X", "", 225, own=OWN, watts=100)
    found, _, findings = sized(job(lead), {"X": 4.0}, joints={"X": 1})
    x = found.coax["X"]
    assert findings == []
    assert (x.mhz, x.length_m, x.connectors, x.watts, x.rating_watts) == (225, 4.0, 4, 100, 140)
    assert x.cable_db == pytest.approx(0.6)
    assert [x.loss_db, x.low_db, x.high_db] == pytest.approx([1.0] * 3)
    assert x.share_percent == pytest.approx(79.4328, abs=1e-3)
    assert x.watts_left == pytest.approx(79.4328, abs=1e-3)
    assert x.open_percent == pytest.approx(63.0957, abs=1e-3)
    assert x.half_wave_m == pytest.approx(0.8 * 299.792458 / 225 / 2)
    assert x.half_waves is None
    assert x.inside
    assert x.ok
    assert x.bears_watts is None
    assert not x.picked
    assert len(x.why) == 2


def test_without_a_velocity_factor_there_is_no_half_wave() -> None:
    own = replace(OWN, velocity_factor=None)
    assert sized(job(coax("X", "", 225, own=own)), {"X": 4.0})[0].coax["X"].half_wave_m is None


SAID = {
    "coax-loss": (coax("X", "", 225, own=OWN, most=0.5), Severity.ERROR, "own loses 0.80 dB at 225 MHz"),
    "coax-power": (coax("X", "", 225, own=OWN, watts=141), Severity.ERROR, "own is rated for 140 W"),
    "coax-heat": (coax("X", "coax-58", 155, watts=82), Severity.WARNING, "heat coax-58 bears about 81 W"),
    "half-wave": (half(coax("X", "coax-58", 1)), Severity.WARNING, "X is not cut to half waves"),
    "coax-range": (coax("X", "", 401, own=replace(OWN, power_rating=())), Severity.WARNING, "No table of own"),
    "coax-blind": (coax("X", "", 225, own=replace(OWN, attenuation=((225.0, 170.0),)), most=99), Severity.WARNING,
                   "even a missing antenna reads only"),
}  # fmt: skip


@pytest.mark.parametrize("code", SAID)
def test_what_is_said_of_a_coax_is_said_at_its_cable(code: str) -> None:
    cable, severity, text = SAID[code]
    found, _, findings = sized(job(cable), {"X": 4.0})
    assert codes(findings) == [code]
    assert (findings[0].severity, findings[0].key) == (severity, "X")
    assert text in findings[0].message
    assert found.coax["X"].ok is (code != "coax-loss")


def test_what_only_the_worst_table_breaks_is_a_warning() -> None:
    """58 over 4.5 m at 155 MHz: 1.1 dB by its law with its plugs, 1.17 by the worst of its tables."""
    x = sized(job(coax("X", "coax-58", 155)), {"X": 4.5})[0].coax["X"]
    most = 0.5 * (x.loss_db + x.high_db)
    [found] = sized(job(coax("X", "coax-58", 155, most=most)), {"X": 4.5})[2]
    assert (found.code, found.severity, found.key) == ("coax-loss", Severity.WARNING, "X")
    assert f"coax-58 may lose {x.high_db:.2f} dB at 155 MHz" in found.message


def test_at_the_limit_nothing_is_said() -> None:
    """What it bears and what may come back are no faults at the figure itself."""
    assert sized(job(coax("X", "coax-58", 155, watts=81)), {"X": 3.0})[2] == []


# --- which share a fuse is asked by -------------------------------------------------------


@pytest.mark.parametrize(
    ("amps", "peak", "fuse", "asked"),
    [
        (10, 14, 14.5, "110 % of the 14 A at peak"),
        (10, 10.5, 11, "125 % of the 10 A at duty"),
        (0.5, 0.5, 0.55, "duty"),
    ],
)
def test_the_share_that_asks_for_more_is_told(amps: float, peak: float, fuse: float, asked: str) -> None:
    """125 % of the duty against 110 % of the peak, of loads above and below 1 A."""
    lead = power("P", "battery.positive", "radio.power", amps, peak=peak, type_name="wire-10awg-red")
    assert lead.load is not None
    lead = replace(lead, load=replace(lead.load, fuse_amps=fuse))
    [found] = [f for f in sized(job(lead), {"P": 1.0})[2] if f.code == "fuse-small"]
    assert asked in found.message
    assert lead.cable_class is CableClass.POWER
