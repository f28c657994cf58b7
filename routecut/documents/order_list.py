"""The order list: as CSV, as a workbook, as text and for programs; of one job or of many.

Stage      documents; lines in, text or bytes out
Units      metres for what is sold by length, feet in jobs of inches or feet; prices as the job gives them
Leaves     no clock in the workbook: same lines, same bytes
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any, Final

import xlsxwriter

from routecut.documents.figures import metres
from routecut.documents.rounding import rounded
from routecut.model.plan import OrderLine
from routecut.plain import defused
from routecut.units import to_m

PRICE: Final = "price of what is bought [currency of the job]"

COLUMNS: Final = (
    "group",
    "what",
    "quantity",
    "unit",
    "on the shelf",
    "to buy",
    PRICE,
    "spare rule",
    "for",
    "why",
)

CUTTING_COLUMNS: Final = ("what", "reel and cuts")

EPOCH: Final = datetime(1980, 1, 1, tzinfo=UTC)
_WIDTHS: Final = (20, 42, 10, 7, 12, 24, 14, 28, 30, 80)
_LEAST: Final = 1e-9

NOTHING: Final = "nothing"
"""What is to buy where there is enough."""


def to_buy_text(line: OrderLine, length_unit: str = "mm") -> str:
    """How much of a line has to be bought: by reels where it comes on reels."""
    if line.buy:
        return line.buy
    missing = max(line.quantity - line.on_hand, 0.0)
    if missing <= _LEAST:
        return NOTHING
    return amount_text(missing, line.unit, length_unit)


def amount_text(quantity: float, unit: str, length_unit: str = "mm") -> str:
    """A quantity with its unit, for a job in `length_unit`.

    Examples
    --------
    >>> amount_text(3.0, "piece"), amount_text(1.0, "piece"), amount_text(9.05, "m")
    ('3 pieces', '1 piece', '9.050 m')
    >>> amount_text(9.05, "m", "ft")
    '29.7 ft'
    """
    if unit == "m":
        return f"{_number(unit, quantity, length_unit)} {sold_by(unit, length_unit)}"
    return f"{_number(unit, quantity, length_unit)} {unit}{'' if quantity <= 1.0 else 's'}"


def sold_by(unit: str, length_unit: str) -> str:
    """What a line is sold by where a job speaks of lengths in `length_unit`.

    Examples
    --------
    >>> sold_by("m", "cm"), sold_by("m", "in"), sold_by("piece", "in")
    ('m', 'ft', 'piece')
    """
    return "ft" if unit == "m" and length_unit in {"in", "ft"} else unit


def total_price(lines: Sequence[OrderLine]) -> tuple[float, int]:
    """The prices that are known added up, and how many lines have to be bought at a price nobody gave."""
    known = math.fsum(line.price for line in lines if line.price is not None)
    unknown = sum(line.price is None and to_buy_text(line) != NOTHING for line in lines)
    return known, unknown


def total_text(lines: Sequence[OrderLine]) -> str:
    """The total in words; empty where no price is known."""
    known, unknown = total_price(lines)
    if all(line.price is None for line in lines):
        return ""
    rest = f"; {unknown} {'line' if unknown == 1 else 'lines'} without a price" if unknown else ""
    return f"{known:.2f} in the currency of the job for what has a price{rest}"


def _number(unit: str, quantity: float, length_unit: str) -> str:
    """The bare figure, rounded up: pieces, millimetres of a metre, tenths of a foot."""
    sold = sold_by(unit, length_unit)
    if sold == "m":
        return metres(quantity, "up")
    if sold == "ft":
        return f"{math.ceil(round(quantity / to_m(1.0, 'ft') * 10.0, 6)) / 10.0:.1f}"
    return f"{math.ceil(quantity - _LEAST):d}"


def row_of(line: OrderLine, length_unit: str) -> list[str]:
    """One line: a field for each of `COLUMNS`."""
    return [
        line.group,
        line.what,
        _number(line.unit, line.quantity, length_unit),
        sold_by(line.unit, length_unit),
        _number(line.unit, line.on_hand, length_unit) if line.on_hand > 0.0 else "",
        to_buy_text(line, length_unit),
        "" if line.price is None else f"{line.price:.2f}",
        line.spare,
        ", ".join(line.for_cables),
        "; ".join([line.why, *line.cutting]),
    ]


def order_list_csv(lines: Sequence[OrderLine], length_unit: str = "mm") -> str:
    """The order for a spreadsheet, comma separated as RFC 4180 has it; the total of known prices last.

    Parameters
    ----------
    lines : sequence of OrderLine
    length_unit : str
        Of the job: what is sold by length is in feet where that is inches or feet.
    """
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for line in lines:
        writer.writerow([defused(field) for field in row_of(line, length_unit)])
    total = total_text(lines)
    if total:
        row = [""] * len(COLUMNS)
        row[1], row[6], row[9] = "total", f"{total_price(lines)[0]:.2f}", total
        writer.writerow(row)
    return written.getvalue()


def order_list_xlsx(lines: Sequence[OrderLine], length_unit: str = "mm") -> bytes:
    """The order as a workbook: the list with a sum over its prices, and how reels are cut.

    Text is written as text, whatever it begins with.
    """
    written = io.BytesIO()
    book = xlsxwriter.Workbook(
        written, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    book.set_properties({"title": "Order list", "created": EPOCH})
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    text = book.add_format({"text_wrap": True, "valign": "top"})
    formats = {
        "m": book.add_format({"num_format": "0.000", "valign": "top"}),
        "ft": book.add_format({"num_format": "0.0", "valign": "top"}),
        "piece": book.add_format({"num_format": "0", "valign": "top"}),
        "price": book.add_format({"num_format": "0.00", "valign": "top"}),
    }
    total_format = book.add_format({"bold": True, "num_format": "0.00", "top": 1})
    sheet = book.add_worksheet("order")
    heads(sheet, COLUMNS, _WIDTHS, head)
    for number, line in enumerate(lines, start=1):
        for column, field in enumerate(row_of(line, length_unit)):
            if COLUMNS[column] in {"quantity", "on the shelf"} and field:
                sheet.write_number(number, column, float(field), formats[sold_by(line.unit, length_unit)])
            elif COLUMNS[column] == PRICE and field:
                sheet.write_number(number, column, float(field), formats["price"])
            else:
                sheet.write_string(number, column, field, text)
    last = len(lines)
    if last and total_text(lines):
        sheet.write_string(last + 1, 1, "total", head)
        sheet.write_formula(last + 1, 6, f"=SUM(G2:G{last + 1})", total_format, total_price(lines)[0])
        sheet.write_string(last + 1, 9, total_text(lines), text)
    if last:
        sheet.autofilter(0, 0, last, len(COLUMNS) - 1)
    cutting = book.add_worksheet("cutting")
    heads(cutting, CUTTING_COLUMNS, (30, 120), head)
    rows = [(line.what, reel) for line in lines for reel in line.cutting]
    for number, (what, reel) in enumerate(rows, start=1):
        cutting.write_string(number, 0, what, text)
        cutting.write_string(number, 1, reel, text)
    book.close()
    return written.getvalue()


def heads(sheet: Any, columns: Sequence[str], widths: Sequence[int], head: Any) -> None:
    """The head of a sheet, which stays in sight and is printed on each page."""
    for column, (name, width) in enumerate(zip(columns, widths, strict=True)):
        sheet.write_string(0, column, name, head)
        sheet.set_column(column, column, width)
    sheet.freeze_panes(1, 0)
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


def order_text(lines: Sequence[OrderLine], length_unit: str = "mm") -> str:
    """The order to read: by group, what is bought, and how reels are cut."""
    if not lines:
        return "Nothing to order."
    found: list[str] = []
    group = ""
    for line in lines:
        if line.group != group:
            group = line.group
            found += ["", group] if found else [group]
        needed = amount_text(line.quantity, line.unit, length_unit)
        bought = to_buy_text(line, length_unit)
        more = "" if bought == needed else f"; buy {bought}"
        price = "" if line.price is None or line.price <= 0.0 else f", {line.price:.2f}"
        found.append(f"  {needed}  {line.what}{more}{price}")
        found += [f"      {reel}" for reel in line.cutting]
    total = total_text(lines)
    return "\n".join([*found, "", f"total: {total}"] if total else found)


def ordered_json(line: OrderLine) -> dict[str, Any]:
    """One line for programs."""
    return {
        "what": line.what,
        "quantity": rounded(line.quantity),
        "unit": line.unit,
        "for": list(line.for_cables),
        "why": line.why,
        "group": line.group,
        "spare": line.spare,
        "on_hand": rounded(line.on_hand),
        "buy": line.buy,
        "price": rounded(line.price),
        "cutting": list(line.cutting),
    }


def order_json(jobs: Sequence[str], lines: Sequence[OrderLine]) -> str:
    """The order of some jobs as JSON text, one trailing newline."""
    known, unknown = total_price(lines)
    document = {
        "jobs": list(jobs),
        "order": [ordered_json(line) for line in lines],
        "total_price": rounded(known),
        "lines_without_price": unknown,
    }
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
