from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

import pytest

from routecut.documents import cut_list_csv
from routecut.documents.reading import pulling_order
from routecut.model.plan import Plan
from routecut.plain import defused
from tests.documents.sample import renamed


def rows(plan: Plan) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(cut_list_csv(plan), newline="")))


def test_one_line_for_each_cable_and_units_in_the_headers(plan: Plan) -> None:
    found = rows(plan)
    assert {row["name"] for row in found} == {c.cable.name for c in plan.cables}
    assert len(found) == len(plan.cables)
    lengths = [h for h in found[0] if re.search("length|lead|loop", h)]
    assert lengths
    assert all(h.endswith(("[mm]", "[m]")) for h in lengths)


def test_the_cut_length_is_whole_millimetres_and_the_same_in_metres(plan: Plan) -> None:
    cuts = {c.cable.name: c.cut for c in plan.cables}
    for row in rows(plan):
        cut = cuts[row["name"]]
        if cut is None:
            assert row["cut length [mm]"] == row["cut length [m]"] == ""
            assert "do not cut" in row["notes"]
            continue
        assert int(row["cut length [mm]"]) == pytest.approx(cut.length_m * 1000, abs=1e-6)
        assert row["cut length [m]"] == f"{int(row['cut length [mm]']) / 1000:.3f}"


def test_the_sum_as_printed_adds_up(plan: Plan) -> None:
    for row in rows(plan):
        if row["sum"]:
            *lines, total = (int(n) for n in re.findall(r"(\d+) mm(?= \+| =|$)", row["sum"]))
            assert sum(lines) == total == int(row["cut length [mm]"])


def test_an_inch_job_has_eighths_and_is_never_shorter_than_the_cut(plan: Plan) -> None:
    inches = replace(plan, job=replace(plan.job, length_unit="ft"))
    cuts = {c.cable.name: c.cut for c in plan.cables}
    for row in rows(inches):
        cut = cuts[row["name"]]
        if cut is not None:
            shown = float(row["cut length [in]"])
            assert (shown * 8).is_integer()
            assert cut.length_m - 1e-9 <= shown * 0.0254 < cut.length_m + 0.0254 / 8


def test_pulling_order_plugs_first_then_thick_then_long(plan: Plan) -> None:
    names = [c.cable.name for c in pulling_order(plan)]
    assert names[-1] == "D5"  # no route
    assert set(names[:5]) == {"D1", "C1", "C2", "A1", "A2"}  # connectors have to pass a hole
    assert names[5] == "B1"  # the thickest of the rest
    power = [n for n in names if n.startswith("P")]
    lengths = {c.cable.name: c.route.length_m for c in plan.cables if c.route is not None}
    assert power == sorted(power, key=lambda n: -round(lengths[n], 4))


def test_ready_made_leads_say_what_to_order_and_that_they_are_not_cut(plan: Plan) -> None:
    found = {row["name"]: row for row in rows(plan)}
    assert found["D1"]["lead to order [mm]"] == "3000 + 3000"
    assert "comes ready made: don't cut it" in found["D1"]["notes"]
    assert found["P1"]["lead to order [mm]"] == ""


@pytest.mark.parametrize("mark", ["=", "+", "-", "@", "\t=", "\uff1d"])
def test_a_name_that_begins_like_a_formula_is_defused(plan: Plan, mark: str) -> None:
    p1 = plan.cables[0]
    evil = replace(p1, cable=replace(p1.cable, name=f'{mark}HYPERLINK("http://x","y")'))
    (row,) = rows(replace(plan, cables=(evil,)))
    assert row["name"].startswith("'")
    assert defused(row["name"]) == row["name"]


def test_no_field_of_hostile_names_breaks_the_table(plan: Plan) -> None:
    found = rows(renamed(plan, '",\r\n=1+1;\x1b[2J'))
    assert len(found) == len(plan.cables)
    assert all(None not in row and len(row) == len(rows(plan)[0]) for row in found)
    fields = [field for row in found for field in row.values()]
    assert not any("\n" in f or "\x1b" in f for f in fields)
    assert not any(f.lstrip().startswith(("=", "+", "-", "@")) for f in fields)
