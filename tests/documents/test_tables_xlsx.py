from __future__ import annotations

import csv
import io
import re
import zipfile
from dataclasses import replace
from types import SimpleNamespace
from typing import cast

from routecut.documents import cut_list_csv, tables_xlsx
from routecut.documents.tables_xlsx import Table, tables
from routecut.model.plan import Plan
from routecut.model.sizing import Bond, Electrical, Sizing
from tests.documents.sample import renamed
from tests.documents.test_order_list import sheet


def named(plan: Plan, name: str) -> Table:
    return next(t for t in tables(plan) if t.name == name)


def sized(plan: Plan) -> Plan:
    fuse = SimpleNamespace(
        rating_a=15.0, series="regular blade", in_block=False, distance_m=0.0801, at="battery.p3",
        space="engine bay", access="open",
    )  # fmt: skip
    found = {
        name: SimpleNamespace(
            conductor=SimpleNamespace(name="10 AWG", area_mm2=4.7), length_m=4.6, amps=10.0, peak_amps=14.0,
            ampacity=SimpleNamespace(allowed_a=42.0), peak_drop_v=0.231, peak_drop_percent=1.93,
            max_drop_percent=3.0, resistance_ohm=0.0161, fuse=fused, least_fuse_a=15.0,
        )
        for name, fused in (("P1", fuse), ("P2", None))
    }  # fmt: skip
    return replace(
        plan, sizing=Sizing(profile="", limits=(), electrical=cast("dict[str, Electrical]", found))
    )


def test_the_cut_list_of_the_workbook_is_that_of_the_csv_with_figures_as_numbers(plan: Plan) -> None:
    table = named(plan, "cut list")
    rows = list(csv.DictReader(io.StringIO(cut_list_csv(plan), newline="")))
    assert len(table.rows) == len(rows) == len(plan.cables)
    for fields, row in zip(table.rows, rows, strict=True):
        for column, field in zip(table.columns, fields, strict=True):
            if isinstance(field, float):
                assert field == float(row[column])
            else:
                assert (field or "") == row[column]
    cut = table.columns.index("cut length [mm]")
    assert all(isinstance(row[cut], float) for row in table.rows[:-1])
    lead = table.columns.index("lead to order [mm]")
    assert {row[lead] for row in table.rows} == {None, 5000.0, "3000 + 3000"}


def test_every_hole_once_those_to_drill_first(plan: Plan) -> None:
    table = named(plan, "holes")
    assert sorted(str(row[0]) for row in table.rows) == sorted(h.pass_through.name for h in plan.holes)
    states = [row[1] == "to be drilled" for row in table.rows]
    assert states == sorted(states, reverse=True)
    assert next(row for row in table.rows if row[0] == "partition left")[3:7] == (28.0, 2400.0, -780.0, 450.0)


def test_the_fuse_map_names_the_device_and_leaves_out_what_has_no_fuse(plan: Plan) -> None:
    table = named(sized(plan), "fuses")
    assert table.rows == (
        ("P1", "voice radio", 15.0, "regular blade", "battery.p3", 81.0, "engine bay", "open"),
    )
    power = named(sized(plan), "power")
    assert [row[0] for row in power.rows] == ["P1", "P2"]
    assert power.rows[0][3:] == (4600.0, 10.0, 14.0, 42.0, 0.231, 1.93, 3.0, 16.1, None, None)


def test_both_ends_of_every_cable_for_a_label_printer(plan: Plan) -> None:
    table = named(plan, "ends")
    assert {(row[0], row[1], row[2]) for row in table.rows} == {
        pair
        for c in plan.cables
        for pair in (
            (c.cable.name, c.cable.from_port, c.cable.to_port),
            (c.cable.name, c.cable.to_port, c.cable.from_port),
        )
    }


def test_the_workbook_holds_the_tables_and_no_formula_whatever_the_names(plan: Plan) -> None:
    first, *others = renamed(plan, '"<&>').cables
    formula = replace(first, cable=replace(first.cable, name='=HYPERLINK("http://x")'))
    hostile = replace(plan, cables=(formula, *others), job=renamed(plan, '"<&>').job)
    content = tables_xlsx(hostile)
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        sheets = [n for n in book.namelist() if n.startswith("xl/worksheets/sheet")]
        assert len(sheets) == len(tables(hostile))
        assert not any(re.search(r"<f>|<hyperlink", book.read(name).decode()) for name in sheets)
    for number, table in enumerate(tables(hostile), start=1):
        rows = sheet(content, number)
        assert tuple(rows[0]) == table.columns
        for row, fields in zip(rows[1:], table.rows, strict=True):
            assert [f for f in fields if isinstance(f, str)] == [f for f in row if f in fields]


def test_same_plan_same_bytes_and_no_clock(plan: Plan) -> None:
    first = tables_xlsx(sized(plan))
    assert tables_xlsx(sized(plan)) == first
    with zipfile.ZipFile(io.BytesIO(first)) as book:
        assert {info.date_time[0] for info in book.infolist()} == {1980}
        assert "1980-01-01" in book.read("docProps/core.xml").decode()


def test_bonds_have_a_table_and_the_order_has_its_own_workbook(plan: Plan) -> None:
    name = plan.cables[0].cable.name
    bond = Bond(
        length_m=0.1501, width_m=0.012, area_mm2=6.64, resistance_ohm=0.0015, limit_ohm=0.0025,
        longest_m=0.3, ok=True,
    )  # fmt: skip
    with_bond = replace(plan, sizing=Sizing(profile="", limits=(), bonds={name: bond}))
    (row,) = named(with_bond, "bonds").rows
    cable = plan.cables[0].cable
    assert row == (name, cable.from_port, cable.to_port, 151.0, 300.0, 6.6, 1.5, 2.5, None)
    assert plan.order
    assert "order" not in {t.name for t in tables(plan)}
    power = named(sized(plan), "power")
    assert "area [mm\N{SUPERSCRIPT TWO}]" in power.columns
