"""The catalogue against what it must satisfy, and its figures against the sheets they were read from."""

from __future__ import annotations

import pytest

from routecut.errors import OutOfRangeError
from routecut.model.job import CableClass
from routecut.tables import cable_types, read_rows

# Outside diameters in mm as printed in a data sheet of SAE J1128 type GXL wire, read once.
GXL_MM = {"18awg": 2.6, "16awg": 3.0, "14awg": 3.5, "12awg": 4.1, "10awg": 4.8, "8awg": 5.9}
# Outside diameters in inches as printed in coax sheets; the table rounds to 0.01 mm, or 0.1 mm
# where the page itself gave 0.240 in.
COAX_IN = {"coax-58": 0.195, "coax-174": 0.101, "coax-213": 0.405, "coax-400": 0.405, "coax-240": 0.240}


@pytest.mark.parametrize(("gauge", "printed_mm"), GXL_MM.items())
@pytest.mark.parametrize("colour", ["red", "black"])
def test_wire_diameters_are_the_printed_ones(gauge: str, printed_mm: float, colour: str) -> None:
    assert cable_types()[f"wire-{gauge}-{colour}"].diameter_m * 1000 == pytest.approx(printed_mm, abs=1e-9)


@pytest.mark.parametrize(("name", "printed_in"), COAX_IN.items())
def test_coax_diameters_are_the_printed_ones(name: str, printed_in: float) -> None:
    assert cable_types()[name].diameter_m == pytest.approx(printed_in * 0.0254, abs=0.00006)


def test_thicker_gauges_are_thicker_and_stiffer() -> None:
    order = [f"{gauge}awg" for gauge in (20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, "1/0", "2/0")]
    wires = [cable_types()[f"wire-{gauge}-red"] for gauge in order]
    assert [w.diameter_m for w in wires] == sorted({w.diameter_m for w in wires})
    assert [w.min_bend_radius_m for w in wires] == sorted({w.min_bend_radius_m for w in wires})


def test_every_row_can_be_used_and_says_where_it_comes_from() -> None:
    rows = read_rows("cable_types")
    assert len({row["name"] for row in rows}) == len(rows) == len(cable_types())
    for row in rows:
        assert row["provenance"] in {"published-read", "from-memory"}
        assert row["source"]
        # Coax is never bent below 6 x its diameter (NASA-STD-8739.4 section 7.3), and nothing
        # below half of it, where the inside of the bend would have no length.
        least = 6.0 if row["class"] == "coax" else 0.5
        assert float(row["min_bend_radius_mm"]) >= least * float(row["diameter_mm"])
    assert {t.cable_class for t in cable_types().values()} == set(CableClass)


def test_memory_is_marked_in_the_source() -> None:
    assert cable_types()["control-8"].source.endswith("(from memory)")


def test_an_unknown_table_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="no table 'fuses-of-mars'"):
        read_rows("fuses-of-mars")
