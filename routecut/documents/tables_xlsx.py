"""`tables.xlsx`: every table of the job as one workbook: cut list, holes, power, fuses, coax, bonds, ends.

Stage      documents
Units      those of the lists it is made of; each column says its own
Leaves     no clock, no formula: same plan, same bytes, and a name that begins with ``=`` is a name
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import xlsxwriter

from routecut.documents import cut_list
from routecut.documents.figures import Lengths
from routecut.documents.order_list import EPOCH, heads
from routecut.documents.reading import (
    holes_left,
    holes_to_drill,
    holes_used,
    natural,
    pulling_order,
    state_text,
)
from routecut.model.plan import Plan
from routecut.plain import plain

Field = str | float | None

_WIDEST = 60


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet of the workbook; None is an empty field."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Field, ...], ...]


def tables(plan: Plan) -> list[Table]:
    """All tables that have a row; the order has a workbook of its own, with sums and how reels are cut."""
    found = [_cut_list(plan), _holes(plan), *_sized(plan), _ends(plan)]
    return [table for table in found if table.rows]


def tables_xlsx(plan: Plan) -> bytes:
    """The workbook.

    Text is written as text, whatever it begins with; figures as numbers.
    """
    written = io.BytesIO()
    book = xlsxwriter.Workbook(
        written, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    book.set_properties({"title": plain(f"Tables: {plan.job.title}"), "created": EPOCH})
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    text = book.add_format({"text_wrap": True, "valign": "top"})
    number = book.add_format({"valign": "top"})
    for table in tables(plan):
        sheet = book.add_worksheet(table.name)
        heads(sheet, table.columns, _widths(table), head)
        for row, fields in enumerate(table.rows, start=1):
            for column, field in enumerate(fields):
                if isinstance(field, str):
                    sheet.write_string(row, column, plain(field), text)
                elif field is not None and math.isfinite(field):
                    sheet.write_number(row, column, field, number)
        sheet.autofilter(0, 0, len(table.rows), len(table.columns) - 1)
    book.close()
    return written.getvalue()


def _widths(table: Table) -> list[int]:
    wide = []
    for column, name in enumerate(table.columns):
        longest = max(len(str(row[column] or "")) for row in table.rows)
        wide.append(min(max(longest, *map(len, name.split())) + 2, _WIDEST))
    return wide


def _numbered(columns: Sequence[str], fields: Sequence[str], bare: frozenset[str]) -> tuple[Field, ...]:
    """Fields of a list as figures where their column has a unit, or is one of `bare`."""
    return tuple(
        float(field)
        if field and (name.endswith("]") or name in bare) and _is_figure(field)
        else field or None
        for name, field in zip(columns, fields, strict=True)
    )


def _is_figure(field: str) -> bool:
    """A column of leads may hold two of them."""
    return field.replace(".", "", 1).isdecimal()


def _cut_list(plan: Plan) -> Table:
    names = cut_list.columns(plan.job.length_unit)
    rows = [cut_list.row_of(plan, n, c) for n, c in enumerate(pulling_order(plan), start=1)]
    return Table("cut list", names, tuple(_numbered(names, row, frozenset({"pull"})) for row in rows))


def _holes(plan: Plan) -> Table:
    lengths = Lengths(plan.job.length_unit)
    unit = lengths.column_unit
    names = (
        "hole",
        "state",
        "joins",
        "diameter [mm]",
        *(f"{axis} [{unit}]" for axis in "XYZ"),
        "cables",
        "why",
    )
    rows: list[tuple[Field, ...]] = [
        (
            h.pass_through.name,
            state_text(plan, h),
            " and ".join(h.pass_through.joins),
            round(h.pass_through.diameter_m * 1000.0, 1),
            *(float(lengths.number(v)) for v in h.at_m),
            ", ".join(h.cables) or None,
            h.refused or h.why or None,
        )
        for h in (*holes_to_drill(plan), *holes_used(plan), *holes_left(plan))
    ]
    return Table("holes", names, tuple(rows))


def _sized(plan: Plan) -> Iterator[Table]:
    sizing = plan.sizing
    if sizing is None:
        return
    lengths = Lengths(plan.job.length_unit)
    unit = lengths.column_unit
    by_name = sorted(sizing.electrical, key=natural)
    power: list[tuple[Field, ...]] = []
    fuses: list[tuple[Field, ...]] = []
    for name in by_name:
        e = sizing.electrical[name]
        power.append(
            (
                name,
                e.conductor.name,
                round(e.conductor.area_mm2, 2),
                float(lengths.number(e.length_m, "up")),
                e.amps,
                e.peak_amps,
                round(e.ampacity.allowed_a, 1),
                round(e.peak_drop_v, 3),
                round(e.peak_drop_percent, 2),
                e.max_drop_percent,
                round(e.resistance_ohm * 1000.0, 2),
                None,
                None,
            )
        )
        if e.fuse is not None:
            f = e.fuse
            far = None if f.in_block else float(lengths.number(f.distance_m, "up"))
            fed = plan.job.device_of(next(c.cable.to_port for c in plan.cables if c.cable.name == name)).name
            fuses.append((name, fed, f.rating_a, f.series, f.at, far, f.space, f.access or None))
    yield Table(
        "power",
        (
            "cable", "conductor", "area [mm\N{SUPERSCRIPT TWO}]", f"length [{unit}]", "duty [A]", "peak [A]",
            "may carry [A]", "lost at peak [V]", "lost at peak [%]", "allowed [%]", "end to end, cold [mohm]",
            "measured [mohm]", "measured [V]",
        ),
        tuple(power),
    )  # fmt: skip
    heads_of = (
        "cable",
        "device",
        "rating [A]",
        "kind",
        "at",
        f"along the conductor [{unit}]",
        "in",
        "access",
    )
    yield Table("fuses", heads_of, tuple(fuses))
    yield Table(
        "coax",
        (
            "cable", "at [MHz]", f"length [{unit}]", "loss [dB]", "least [dB]", "most [dB]", "allowed [dB]",
            "power left [%]", "reflected at most [%]", "forward measured [W]", "reflected measured [W]",
        ),
        tuple(
            (
                name,
                c.mhz,
                float(lengths.number(c.length_m, "up")),
                *(round(v, 2) for v in (c.loss_db, c.low_db, c.high_db)),
                c.max_loss_db,
                round(c.share_percent),
                round(c.reflected_percent, 1),
                None,
                None,
            )
            for name, c in sorted(sizing.coax.items(), key=lambda entry: natural(entry[0]))
        ),
    )  # fmt: skip
    yield Table(
        "bonds",
        (
            "cable", "from", "to", f"length [{unit}]", f"longest [{unit}]", "area [mm\N{SUPERSCRIPT TWO}]",
            "with both ends [mohm]", "allowed [mohm]", "measured [mohm]",
        ),
        tuple(
            (
                name,
                *next((c.cable.from_port, c.cable.to_port) for c in plan.cables if c.cable.name == name),
                float(lengths.number(b.length_m, "up")),
                float(lengths.number(b.longest_m, "down")),
                round(b.area_mm2, 1),
                round(b.resistance_ohm * 1000.0, 2),
                b.limit_ohm * 1000.0,
                None,
            )
            for name, b in sorted(sizing.bonds.items(), key=lambda entry: natural(entry[0]))
        ),
    )  # fmt: skip


def _ends(plan: Plan) -> Table:
    """The ends of all cables: what a label printer is fed with."""
    rows: list[tuple[Field, ...]] = []
    for c in pulling_order(plan):
        for here, there in ((c.cable.from_port, c.cable.to_port), (c.cable.to_port, c.cable.from_port)):
            port = plan.job.port(here)
            fitted = port.termination or None
            rows.append((c.cable.name, here, there, str(c.cable.cable_class), c.cable.type.name, fitted))
    return Table("ends", ("cable", "this end", "other end", "class", "type", "termination"), tuple(rows))
