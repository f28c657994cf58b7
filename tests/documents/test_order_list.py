"""The order as CSV, workbook and text. Truth: lines made up here; the workbook is read with zip and XML alone."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from routecut.documents import order_json, order_list_csv, order_list_xlsx, order_text
from routecut.documents.order_list import COLUMNS, amount_text, to_buy_text, total_price
from routecut.model.plan import OrderLine

LINES = (
    OrderLine(
        what="wire-red",
        quantity=9.0503,
        unit="m",
        for_cables=("P1", "P2"),
        why="cut lengths P1 5 m",
        group="cable",
        on_hand=4.0,
        buy="1 reel of 15000 mm",
        price=41.5,
        cutting=("reel 1, 5000 mm, from the shelf: P2 4000 mm; 895 mm left, kept", "reel 2, 15000 mm, bought: P1"),
    ),
    OrderLine(
        what="lead 3 m",
        quantity=2.0,
        unit="piece",
        for_cables=("C1",),
        why="reaches",
        group="ready-made lead",
        on_hand=2.0,
        price=0.0,
    ),
    OrderLine(
        what="=cmd|' /C calc'!A0",
        quantity=5.0,
        unit="piece",
        for_cables=("P1",),
        why="at a.p (P1)",
        group="terminal or connector",
        spare="one in ten",
    ),
)  # fmt: skip
NAMESPACE = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_the_csv_says_what_to_buy() -> None:
    rows = rows_of(order_list_csv(LINES))
    assert list(rows[0]) == list(COLUMNS)
    assert [r["quantity"] for r in rows] == ["9.051", "2", "5", ""]
    assert [r["to buy"] for r in rows] == ["1 reel of 15000 mm", "nothing", "5 pieces", ""]
    assert rows[0]["on the shelf"] == "4.000"
    assert "reel 2, 15000 mm, bought: P1" in rows[0]["why"]
    assert rows[2]["what"].startswith("'=cmd")
    assert rows[3]["what"] == "total"
    assert rows[3]["price of what is bought [currency of the job]"] == "41.50"
    assert "1 line without a price" in rows[3]["why"]


def test_without_prices_there_is_no_total() -> None:
    bare = [replace(line, price=None) for line in LINES]
    assert len(rows_of(order_list_csv(bare))) == 3
    assert "total" not in order_text(bare)
    assert total_price(bare) == (0.0, 2)


def sheet(content: bytes, number: int) -> list[list[str]]:
    """Cells of a sheet as text, by the file format alone."""
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        shared = [
            "".join(t.text or "" for t in item.iter(f"{NAMESPACE}t"))
            for item in ElementTree.fromstring(book.read("xl/sharedStrings.xml"))  # noqa: S314 - our own file
        ]
        tree = ElementTree.fromstring(book.read(f"xl/worksheets/sheet{number}.xml"))  # noqa: S314
    rows = []
    for row in tree.iter(f"{NAMESPACE}row"):
        cells = []
        for cell in row:
            value = cell.find(f"{NAMESPACE}v")
            text = "" if value is None else str(value.text)
            cells.append(shared[int(text)] if cell.get("t") == "s" else text)
        rows.append(cells)
    return rows


def test_the_workbook_holds_the_same() -> None:
    content = order_list_xlsx(LINES)
    rows = sheet(content, 1)
    assert rows[0] == list(COLUMNS)
    assert rows[1][1] == "wire-red"
    assert float(rows[1][2]) == pytest.approx(9.051)
    assert float(rows[1][6]) == 41.5
    assert [r for r in rows if "total" in r]
    cuts = sheet(content, 2)
    assert [r[0] for r in cuts[1:]] == ["wire-red", "wire-red"]


def test_no_name_becomes_a_formula() -> None:
    with zipfile.ZipFile(io.BytesIO(order_list_xlsx(LINES))) as book:
        first = book.read("xl/worksheets/sheet1.xml").decode()
    assert re.findall(r"<f>(.*?)</f>", first) == ["SUM(G2:G4)"]


def test_same_lines_same_bytes_and_no_clock() -> None:
    first = order_list_xlsx(LINES)
    assert order_list_xlsx(LINES) == first
    with zipfile.ZipFile(io.BytesIO(first)) as book:
        assert {info.date_time[0] for info in book.infolist()} == {1980}
        assert "1980-01-01" in book.read("docProps/core.xml").decode()
        assert not re.search(r"20[2-9]\d-", book.read("docProps/core.xml").decode())


def test_text_and_json() -> None:
    text = order_text(LINES)
    assert "9.051 m  wire-red; buy 1 reel of 15000 mm, 41.50" in text
    assert "2 pieces  lead 3 m; buy nothing" in text
    assert text.index("cable") < text.index("ready-made lead") < text.index("terminal")
    assert text.endswith(
        "total: 41.50 in the currency of the job for what has a price; 1 line without a price"
    )
    read = json.loads(order_json(["van"], LINES))
    assert read["jobs"] == ["van"]
    assert read["total_price"] == 41.5
    assert read["order"][0]["cutting"] == list(LINES[0].cutting)
    assert order_text([]) == "Nothing to order."


def test_nothing_is_bought_twice() -> None:
    assert to_buy_text(replace(LINES[1], on_hand=1.0)) == "1 piece"


@pytest.mark.parametrize("unit", ["in", "ft"])
def test_a_job_of_inches_or_feet_orders_by_the_foot(unit: str) -> None:
    """9.0503 m are 29.69 ft: 29.7, rounded up; 4 m on the shelf are 13.2; pieces stay pieces. JSON stays in metres."""
    rows = rows_of(order_list_csv(LINES, unit))
    assert [(r["quantity"], r["unit"], r["on the shelf"]) for r in rows[:2]] == [
        ("29.7", "ft", "13.2"),
        ("2", "piece", "2"),
    ]
    assert "29.7 ft  wire-red" in order_text(LINES, unit)
    assert to_buy_text(replace(LINES[0], buy="", on_hand=0.0), unit) == "29.7 ft"
    assert float(sheet(order_list_xlsx(LINES, unit), 1)[1][2]) == pytest.approx(29.7)
    # exactly ten feet is no more than ten feet
    assert amount_text(3.048, "m", unit) == "10.0 ft"
    assert json.loads(order_json(["van"], LINES))["order"][0]["unit"] == "m"
