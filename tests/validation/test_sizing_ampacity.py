"""Ampacity, bundles, hot spaces and fuses against printed tables and rules.

Source     33 CFR 183.425 Table 5 (30 degrees C, single conductors) as read in four copies; the
           engine-space column of a wiring page; NEC 2014 Table 310.15(B)(3)(a); 33 CFR 183.455;
           FCS 1362:2010 sec. 4.6; a vehicle fuse article for the series
Kind       published values, digits as printed
Circular?  The table of single conductors is the one the code reads: what is checked here is that
           the digits typed twice agree, and that they lead to the printed engine-space column,
           which the code has no table of
"""

from __future__ import annotations

import pytest

from routecut.errors import OutOfRangeError
from routecut.model.job import Stock
from routecut.sizing.ampacity import bundle_factor, heat_factor, table_a
from routecut.sizing.conductors import awg_area_mm2
from routecut.sizing.protection import least_rating_a, next_rating, ratings
from routecut.tables import profile_limits, read_rows
from tests.sizing import jobs

GAUGES = ("18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0")
COLUMNS = {
    60: (10, 15, 20, 25, 40, 55, 80, 105, 120, 140, 165, 195, 225, 260, 300),
    75: (10, 15, 20, 25, 40, 65, 95, 125, 145, 170, 195, 230, 265, 310, 360),
    80: (15, 20, 25, 35, 50, 70, 100, 130, 150, 175, 210, 245, 285, 330, 385),
    90: (20, 25, 30, 40, 55, 70, 100, 135, 155, 180, 210, 245, 285, 330, 385),
    105: (20, 25, 35, 45, 60, 80, 120, 160, 180, 210, 245, 285, 330, 385, 445),
    125: (25, 30, 40, 50, 70, 90, 125, 170, 195, 225, 265, 305, 355, 410, 475),
    200: (25, 35, 45, 55, 70, 100, 135, 180, 210, 240, 280, 325, 370, 430, 510),
}
ENGINE_SPACE_105 = (17, 21, 30, 38, 51, 68, 102, 136, 153, 178, 208, 242, 280, 327, 378)


@pytest.mark.parametrize("insulation_c", COLUMNS)
def test_table_of_single_conductors(insulation_c: int) -> None:
    """Exact: a row is met where an area is that of a gauge."""
    for gauge, printed in zip(GAUGES, COLUMNS[insulation_c], strict=True):
        assert table_a(awg_area_mm2(gauge), insulation_c) == pytest.approx(printed, rel=1e-9)


@pytest.mark.parametrize(("gauge", "printed"), list(zip(GAUGES, ENGINE_SPACE_105, strict=True)))
def test_engine_space_column(gauge: str, printed: float) -> None:
    """Printed in whole amperes, some rounded up: within 0.75 A."""
    here = table_a(awg_area_mm2(gauge), 105) * heat_factor(105, 50)
    assert here == pytest.approx(printed, abs=0.76)


@pytest.mark.parametrize(
    ("insulation_c", "printed"), [(60, 0.58), (75, 0.75), (80, 0.78), (90, 0.82), (105, 0.85), (125, 0.89)]
)
def test_hot_space_factors(insulation_c: int, printed: float) -> None:
    """33 CFR 183.425 note 1, all but the 105 row from memory: never above, at most 0.01 below."""
    assert printed - 0.011 <= heat_factor(insulation_c, 50) <= printed


@pytest.mark.parametrize(
    ("conductors", "printed"),
    [(1, 1), (3, 1), (4, 0.8), (6, 0.8), (7, 0.7), (9, 0.7), (10, 0.5), (20, 0.5), (21, 0.45), (31, 0.4), (41, 0.35),
     (200, 0.35)],
)  # fmt: skip
def test_raceway_factors(conductors: int, printed: float) -> None:
    """NEC 2014 Table 310.15(B)(3)(a), exact."""
    assert bundle_factor(conductors) == printed


@pytest.mark.parametrize(
    ("conductors", "factor"), [(2, 1), (3, 0.7), (4, 0.6), (6, 0.6), (7, 0.5), (24, 0.4 + 0.1)]
)
def test_sharper_factors_from_memory_only_tighten(conductors: int, factor: float) -> None:
    """33 CFR 183.425 note 2, from memory: taken where lower, never where higher."""
    assert bundle_factor(conductors, sharper=True) == min(factor, bundle_factor(conductors))


BLADE = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 40)
MAXI = (20, 30, 40, 50, 60, 70, 80)


def test_blade_series() -> None:
    """Every rating of the article is there; small ones as blades, the rest as maxi."""
    found = {amps: series for amps, series, _ in ratings()}
    assert [a for a, s in found.items() if s == "regular blade"] == list(BLADE)
    assert [a for a, s in found.items() if s == "maxi blade"] == [a for a in MAXI if a not in BLADE]
    assert list(found) == sorted(found)


def test_the_other_series_as_printed() -> None:
    """Mini blades and fusible links: the vehicle maker's, not picked; the digits stand in the table."""
    rows = read_rows("fuses")
    mini = [float(r["rating_a"]) for r in rows if r["series"] == "mini blade"]
    links = [float(r["rating_a"]) for r in rows if r["series"] == "fusible link"]
    assert mini == [2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30]
    assert links == [50, 100, 150]
    assert not {"mini blade", "fusible link"} & {series for _, series, _ in ratings()}


def test_limits_of_drop_as_the_sources_have_them() -> None:
    """ABYC E-11 and ISO 10133: 3 % out and back where it matters, 10 % elsewhere; FAA: 1 V of 28 V."""
    assert profile_limits("small craft")["max_total_drop_percent"].value == 3
    assert profile_limits("common practice")["max_drop_percent"].value == 3
    assert profile_limits("common practice")["max_total_drop_percent"].value == 10
    assert profile_limits("aircraft practice")["max_total_drop_percent"].value == pytest.approx(
        100 / 28, abs=0.005
    )


@pytest.mark.parametrize("amps", [3, 9, 17, 28, 45, 80])
def test_a_fuse_is_never_above_the_ampacity(amps: float) -> None:
    """FCS 1362:2010 4.6.2.1: the cable stands more than the fuse; 33 CFR 183.455(c) would allow 150 %."""
    sizing, _, _ = jobs.sized(
        jobs.job(
            jobs.power("P", "battery.positive", "radio.power", amps, drop=50),
            jobs.power("N", "radio.return", "battery.negative", None, type_name="wire-2/0awg-black"),
            stock=[Stock(type="wire-10awg-red", reel_m=10.0)],
        ),
        {"P": 2.0, "N": 2.0},
    )
    e = sizing.electrical["P"]
    assert e.ok
    assert e.fuse is not None
    assert e.fuse.rating_a <= e.ampacity.allowed_a * (1 + 1e-9)


def test_no_wire_by_gauge_thinner_than_16_in_small_craft() -> None:
    """33 CFR 183.425(e): 16 AWG for a single conductor; ISO 10133 cl. 7.7 has 1.0 mm2 for it."""
    made = jobs.job(
        jobs.power("P", "battery.positive", "radio.power", 0.1),
        profile="small craft",
        stock=[Stock(type="wire-10awg-red", reel_m=10.0)],
    )
    assert jobs.sized(made, {"P": 0.5})[1]["P"].name == "wire-16awg-red"


def test_ratings_from_memory_are_marked() -> None:
    assert {provenance for amps, _, provenance in ratings() if amps <= 80} == {"published-read"}
    assert {provenance for amps, _, provenance in ratings() if amps > 80} == {"from-memory"}


def test_125_per_cent_and_the_peak() -> None:
    """Fire apparatus specification: 125 % of the load."""
    assert least_rating_a(20, 0, 125) == 25
    assert least_rating_a(12, 20, 125) == 20
    rating = next_rating(25.1)
    assert rating is not None
    assert rating[0] == 30
    assert next_rating(501) is None


def test_seven_inches_along_the_conductor() -> None:
    """33 CFR 183.455(b): 7 in, 40 in when sheathed; 25.4 mm to the inch."""
    limits = profile_limits("small craft")
    assert limits["fuse_distance_mm"].value == pytest.approx(7 * 25.4)
    assert limits["fuse_distance_sheathed_mm"].value == pytest.approx(40 * 25.4)


def test_positive_only_or_both() -> None:
    """FCS 1362:2010 fuses the positive alone; a state's mobile-radio rule both."""
    cables = (
        jobs.power("P", "battery.positive", "radio.power", 10, type_name="wire-10awg-red"),
        jobs.power("N", "radio.return", "battery.negative", 10, type_name="wire-10awg-black"),
    )
    for profile, fused in (("vehicle code of practice", False), ("both leads fused", True)):
        sizing, _, _ = jobs.sized(jobs.job(*cables, profile=profile), {"P": 3.0, "N": 3.0})
        assert sizing.electrical["P"].fuse is not None
        assert (sizing.electrical["N"].fuse is not None) is fused


def test_thinnest_wire_of_the_profiles() -> None:
    """ISO 10133:2012 cl. 7.7: 0.75 mm2 in a sheath, 1.0 mm2 by itself."""
    for profile, least_mm2 in (("common practice", 0.75), ("small craft", 1.0)):
        made = jobs.job(jobs.power("P", "battery.positive", "radio.power", 0.1), profile=profile)
        sizing, _, _ = jobs.sized(made, {"P": 0.5})
        assert least_mm2 <= sizing.electrical["P"].conductor.area_mm2 < 1.35 * least_mm2


def test_air_hotter_than_the_insulation_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="too hot"):
        heat_factor(80, 80)
