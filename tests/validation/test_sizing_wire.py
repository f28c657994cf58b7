"""Wire: areas and resistances against printed tables.

Source     named at each table; all read in copies, none in the standard itself. Second reader:
           none yet.
Kind       published values; the digits stand here as printed, the code uses laws or files of
           its own
Circular?  The gauge law, the copper law and the temperature law are formulas in the code.
           Where the code reads a printed table itself (tinned wire, 75 degrees C, class 5), what
           is checked here is that the table fits the laws of physics, row by row, which a slip
           of a digit would break
"""

from __future__ import annotations

import pytest

from routecut.errors import OutOfRangeError
from routecut.sizing.ampacity import ampacity
from routecut.sizing.conductors import (
    COPPER_OHM_MM2_PER_M,
    MM2_PER_CMIL,
    awg_area_mm2,
    gauge_number,
    resistance_ohm,
    sae_conductor,
    thin_wall_conductor,
    tinned_r20_ohm_per_m,
    true_area_of_outside_mm,
)
from routecut.tables import cable_types, read_rows

FT_M = 0.3048

# A university's physics reference page, wire gauge table (figures of the NBS Handbook 100 family),
# solid copper at 20 degrees C: gauge, circular mils, ohm per 1000 ft, diameter in inches.
GAUGES = [
    ("4/0", 211600, 0.049, 0.46), ("3/0", 167810, 0.0618, 0.40965), ("2/0", 133080, 0.078, 0.3648),
    ("1/0", 105530, 0.0983, 0.32485), ("1", 83694, 0.124, 0.2893), ("2", 66373, 0.1563, 0.25763),
    ("3", 52634, 0.197, 0.22942), ("4", 41742, 0.2485, 0.20431), ("5", 33102, 0.3133, 0.18194),
    ("6", 26250, 0.3951, 0.16202), ("7", 20816, 0.4982, 0.14428), ("8", 16509, 0.6282, 0.12849),
    ("9", 13094, 0.7921, 0.11443), ("10", 10381, 0.9989, 0.10189), ("11", 8234, 1.26, 0.09074),
    ("12", 6529, 1.588, 0.0808), ("13", 5178.4, 2.003, 0.07196), ("14", 4106.8, 2.525, 0.06408),
    ("15", 3256.7, 3.184, 0.05707), ("16", 2582.9, 4.016, 0.05082), ("17", 2048.2, 5.064, 0.04526),
    ("18", 1624.3, 6.385, 0.0403), ("19", 1288.1, 8.051, 0.03589), ("20", 1021.5, 10.15, 0.03196),
    ("21", 810.1, 12.8, 0.02846), ("22", 642.4, 16.14, 0.02535), ("23", 509.45, 20.36, 0.02257),
    ("24", 404.01, 25.67, 0.0201),
]  # fmt: skip

# NEC chapter 9 table 8, uncoated copper at 75 degrees C, read on a calculator's site:
# ohm per 1000 ft. The page calls all rows stranded; 14 to 8 are the solid ones.
SOLID_75C = [("14", 3.07), ("12", 1.93), ("10", 1.21), ("8", 0.764)]
STRANDED_75C = [("6", 0.491), ("4", 0.308), ("3", 0.245), ("2", 0.194), ("1", 0.154), ("1/0", 0.122)]

# FAA AC 43.13-1B CHG1 Table 11-9: largest ohm per 1000 ft of tinned wire at 20 degrees C.
TINNED = [
    ("24", 28.40), ("22", 16.20), ("20", 9.88),
    ("18", 6.23), ("16", 4.81), ("14", 3.06), ("12", 2.02), ("10", 1.26), ("8", 0.70), ("6", 0.44),
    ("4", 0.28), ("2", 0.18), ("1", 0.15), ("1/0", 0.12), ("2/0", 0.09), ("3/0", 0.07), ("4/0", 0.06),
]  # fmt: skip

# IEC 60228, largest ohm per km at 20 degrees C of class 5 plain copper; three copies agree.
CLASS_5 = [
    ("0.5", 39.0), ("0.75", 26.0), ("1", 19.5), ("1.5", 13.3), ("2.5", 7.98), ("4", 4.95), ("6", 3.3), ("10", 1.91),
]  # fmt: skip

# Data sheet of SAE J1128 type GXL wire: size, strands, gauge of a strand, label in mm2.
GXL = [("18", 16, 30, 1.0), ("16", 19, 29, 1.5), ("14", 19, 27, 2.5), ("12", 19, 25, 4.0),
       ("10", 19, 23, 6.0), ("8", 19, 21, 10.0)]  # fmt: skip

# The same sheet: outside diameter in mm.
GXL_DIAMETERS = {"18": 2.6, "16": 3.0, "14": 3.5, "12": 4.1, "10": 4.8, "8": 5.9}

# Data sheet of thin-wall wire, conductor of ISO 6722 class B, PVC for 105 degrees C: mm2, nominal A,
# largest outside diameter in mm.
THIN_WALL = [
    ("0.5", 11, 1.7), ("0.75", 14, 1.9), ("1", 16.5, 2.1), ("1.5", 21, 2.4), ("2", 25, 2.8), ("2.5", 29, 3.0),
    ("3", 33, 3.4), ("4", 39, 3.7), ("4.5", 42, 4.1), ("6", 50, 4.3), ("8.5", 63, 5.6), ("10", 70, 6.0),
]  # fmt: skip

# IEC 60228, largest ohm per km at 20 degrees C: mm2, class 1 and 2 plain, class 5 plain, class 5 tinned.
IEC_60228 = [
    ("0.5", 36.0, 39.0, 40.1), ("0.75", 24.5, 26.0, 26.7), ("1", 18.1, 19.5, 20.0), ("1.5", 12.1, 13.3, 13.7),
    ("2.5", 7.41, 7.98, 8.21), ("4", 4.61, 4.95, 5.09), ("6", 3.08, 3.3, 3.39), ("10", 1.83, 1.91, 1.95),
    ("16", 1.15, 1.21, 1.24), ("25", 0.727, 0.78, 0.795), ("35", 0.524, 0.554, 0.565),
    ("50", 0.387, 0.386, 0.393),
]  # fmt: skip


@pytest.mark.parametrize(("gauge", "cmil", "ohm", "inches"), GAUGES)
def test_gauge_law(gauge: str, cmil: float, ohm: float, inches: float) -> None:
    """0.025 % on area and 0.1 % on ohms: what the printed digits of neighbours scatter by."""
    assert awg_area_mm2(gauge) / MM2_PER_CMIL == pytest.approx(cmil, rel=2.5e-4)
    r20 = COPPER_OHM_MM2_PER_M / awg_area_mm2(gauge)
    assert resistance_ohm(r20, 1000 * FT_M, 20.0) == pytest.approx(ohm, rel=1e-3)
    assert (awg_area_mm2(gauge) / MM2_PER_CMIL) ** 0.5 / 1000 == pytest.approx(inches, rel=2e-4)


@pytest.mark.parametrize(("gauge", "swapped"), [("8", 0.6529), ("10", 0.8441)])
def test_two_printed_errors_are_far_from_the_law(gauge: str, swapped: float) -> None:
    """An old wire table prints 8 AWG with swapped digits and 10 AWG wrong: not to be reproduced."""
    r20 = COPPER_OHM_MM2_PER_M / awg_area_mm2(gauge)
    assert abs(resistance_ohm(r20, 1000 * FT_M, 20.0) / swapped - 1) > 0.035


@pytest.mark.parametrize(("gauge", "ohm"), SOLID_75C)
def test_solid_wire_at_75_degrees(gauge: str, ohm: float) -> None:
    """0.5 %: three printed digits."""
    r20 = COPPER_OHM_MM2_PER_M / awg_area_mm2(gauge)
    assert resistance_ohm(r20, 1000 * FT_M, 75.0) == pytest.approx(ohm, rel=5e-3)


@pytest.mark.parametrize(("gauge", "ohm"), STRANDED_75C)
def test_stranded_wire_at_75_degrees_is_never_taken_for_less(gauge: str, ohm: float) -> None:
    """Printed for the full AWG area; wire of SAE size has less copper, 1 to 20 % more ohms.

    What the code uses lies at or above the printed figure, by no more than SAE wire is thinner.
    """
    if gauge == "3":  # not an SAE size
        return
    used = resistance_ohm(sae_conductor(gauge, insulation_c=80).r20_ohm_per_m, 1000 * FT_M, 75.0)
    assert ohm * (1 - 1e-9) <= used <= ohm * 1.14


@pytest.mark.parametrize(("gauge", "ohm"), TINNED)
def test_tinned_wire_lies_over_the_law(gauge: str, ohm: float) -> None:
    """Maximum resistance of real wire: 0.97 to 1.275 of solid copper, two printed digits."""
    used = tinned_r20_ohm_per_m(gauge) * 1000 * FT_M
    assert used == pytest.approx(ohm, rel=1e-12)
    assert 0.97 <= ohm / (COPPER_OHM_MM2_PER_M / awg_area_mm2(gauge) * 1000 * FT_M) <= 1.275


@pytest.mark.parametrize(("size", "solid", "plain", "tinned"), IEC_60228)
def test_every_row_of_iec_60228(size: str, solid: float, plain: float, tinned: float) -> None:
    """Typed a second time; and within what a conductor can be: 1.03 to 1.16 of solid copper, tinned over plain."""
    row = next(r for r in read_rows("wire_iec60228") if r["area_mm2"] == size)
    printed = (
        row["class1_2_plain_ohm_per_km"],
        row["class5_plain_ohm_per_km"],
        row["class5_tinned_ohm_per_km"],
    )
    assert [float(ohm) for ohm in printed] == [solid, plain, tinned]
    nominal = COPPER_OHM_MM2_PER_M / float(size) * 1000
    assert 1.03 <= solid / nominal <= 1.125
    assert 1.10 <= plain / nominal <= 1.16
    assert 1.015 <= tinned / plain <= 1.031


@pytest.mark.parametrize(("size", "amps", "diameter_mm"), THIN_WALL)
def test_thin_wall_sheet(size: str, amps: float, diameter_mm: float) -> None:
    """The nominal current is never exceeded, whatever the table of ampacity would allow; diameters as printed."""
    conductor = thin_wall_conductor(size)
    assert conductor.rated_a == amps
    assert conductor.insulation_c == 105
    assert ampacity(conductor, air_c=30, conductors=1).allowed_a <= amps
    for colour in ("red", "black"):
        assert cable_types()[f"wire-{size}mm2-{colour}"].diameter_m == pytest.approx(diameter_mm / 1000)


@pytest.mark.parametrize(("gauge", "diameter_mm"), GXL_DIAMETERS.items())
def test_diameters_of_sae_wire(gauge: str, diameter_mm: float) -> None:
    for colour in ("red", "black"):
        assert cable_types()[f"wire-{gauge}awg-{colour}"].diameter_m == pytest.approx(diameter_mm / 1000)


@pytest.mark.parametrize(("size", "ohm_per_km"), CLASS_5)
def test_metric_wire_is_class_5(size: str, ohm_per_km: float) -> None:
    """1.10 to 1.16 of solid copper of the nominal area, the spread of the rows read."""
    conductor = thin_wall_conductor(size)
    assert conductor.r20_ohm_per_m * 1000 == pytest.approx(ohm_per_km, rel=1e-12)
    assert 1.10 <= ohm_per_km / 1000 * float(size) / COPPER_OHM_MM2_PER_M <= 1.16
    assert conductor.area_mm2 <= float(size)


@pytest.mark.parametrize(
    ("from_c", "to_c", "printed", "digits"),
    [
        (20, 75, 0.82, 0.005),  # IEC 60228 correction table and a reader's note on NEC table 8
        (20, 40, 0.926, 0.0015),  # IEC 60228; the law gives 0.9271
        (20, 100, 0.758, 0.003),  # IEC 60228; the law gives 0.7608
    ],
)
def test_temperature(from_c: float, to_c: float, printed: float, digits: float) -> None:
    """Tolerance: the printed factors round a little differently, as noted."""
    ratio = resistance_ohm(1.0, 1.0, from_c) / resistance_ohm(1.0, 1.0, to_c)
    assert ratio == pytest.approx(printed, abs=digits)


def test_length_factors_of_the_faa_formula() -> None:
    """FAA AC 43.13-1B par. 11-66d(4): L2 = 254.5 L1 / (234.5 + T2); exact."""
    assert 1.0 / resistance_ohm(1.0, 1.0, 60.0) == pytest.approx(254.5 / 294.5, rel=1e-12)
    assert 1.0 / resistance_ohm(1.0, 1.0, 105.0) == pytest.approx(254.5 / 339.5, rel=1e-12)


@pytest.mark.parametrize(("size", "strands", "strand", "label_mm2"), GXL)
def test_sae_wire_has_less_copper_than_its_number_and_its_label(
    size: str, strands: int, strand: int, label_mm2: float
) -> None:
    """Strand arithmetic of the sheet; the code may only be lower, by the 5 % minima allow."""
    counted = strands * awg_area_mm2(str(strand))
    used = sae_conductor(size, insulation_c=80).area_mm2
    assert 0.94 * counted <= used <= counted
    assert used < awg_area_mm2(size)
    assert used < 0.85 * label_mm2


@pytest.mark.parametrize(
    ("sold", "strands", "strand_mm", "true_mm2"),
    [(3, 14, 0.32, 1.13), (4, 23, 0.32, 1.84), (5, 36, 0.32, 2.9), (6, 57, 0.32, 4.59)],
)
def test_cable_sold_by_its_outside(sold: float, strands: int, strand_mm: float, true_mm2: float) -> None:
    """Automotive cable list of a wholesaler; strands counted agree with it within 0.02 mm2."""
    used = true_area_of_outside_mm(sold)
    assert used == pytest.approx(true_mm2, abs=1e-9)
    assert strands * 3.14159265 / 4 * strand_mm**2 == pytest.approx(used, abs=0.02)


def test_gauges_written_either_way() -> None:
    assert [gauge_number(g) for g in ("0000", "4/0", "0", "1/0", "1", "40")] == [-3, -3, 0, 0, 1, 40]
    for wrong in ("", "5/0", "41", "00000", "1.5", "-3", "ten"):
        with pytest.raises(OutOfRangeError, match="no wire gauge"):
            gauge_number(wrong)
