"""``routecut order``: one job, several, and the same job whether its plan was stored or not."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

from tests.cli.conftest import Run, change, world


def lines(run: Run, *jobs: Path) -> dict[str, Any]:
    ran = run("order", *jobs, "--json")
    assert ran.code == 0, ran.err
    return {line["what"]: line for line in json.loads(ran.out)["order"]}


def test_one_job(run: Run, job: Path) -> None:
    ran = run("order", job)
    assert ran.code == 0
    assert ran.out.startswith("cable\n")
    assert not (job / "plan").exists()


def test_a_stored_plan_orders_the_same_as_a_fresh_one(run: Run, job: Path) -> None:
    fresh = run("order", job, "--json").out
    assert run("plan", job).code == 0
    stored = run("order", job, "--json").out
    assert stored == fresh
    planned = json.loads((job / "plan" / "plan.json").read_text(encoding="utf-8"))["order"]
    assert planned == json.loads(stored)["order"]
    with (job / "plan" / "order-list.csv").open(encoding="utf-8", newline="") as file:
        assert [row["what"] for row in csv.DictReader(file)][: len(planned)] == [o["what"] for o in planned]
    assert (job / "plan" / "order-list.xlsx").read_bytes()[:2] == b"PK"


def test_a_job_named_twice_is_two_vehicles(run: Run, job: Path, tmp_path: Path) -> None:
    one, two = lines(run, job), lines(run, job, job)
    cable = next(line for line in one.values() if line["group"] == "cable")
    assert two[cable["what"]]["quantity"] == 2 * cable["quantity"]
    assert len(two[cable["what"]]["for"]) == 2
    other = world("wall-hole", tmp_path / "other")
    assert {w: o["quantity"] for w, o in lines(run, job, other).items()} == {
        w: o["quantity"] for w, o in two.items()
    }


def test_files_are_written_and_not_replaced(run: Run, job: Path, tmp_path: Path) -> None:
    table, book = tmp_path / "order.csv", tmp_path / "order.xlsx"
    assert run("order", job, "--csv", table, "--xlsx", book).code == 0
    before = book.read_bytes()
    ran = run("order", job, "--csv", table)
    assert ran.code == 1
    assert "is there already" in ran.err
    assert run("order", job, "--csv", table, "--xlsx", book, "--force").code == 0
    assert book.read_bytes() == before
    assert run("order", job, "--csv", tmp_path / "no" / "order.csv").code == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["job", "order.csv", "order.xlsx"]


def test_table_and_workbook_are_two_files(run: Run, job: Path, tmp_path: Path) -> None:
    ran = run("order", job, "--csv", tmp_path / "order", "--xlsx", tmp_path / "." / "order")
    assert ran.code == 1
    assert "named twice" in ran.err
    assert not (tmp_path / "order").exists()


def test_a_cable_without_a_route_leaves_the_order_incomplete(run: Run, blocked_job: Path) -> None:
    ran = run("order", blocked_job)
    assert ran.code == 1
    assert "nothing is ordered for" in ran.err


def test_a_bad_job_is_an_error(run: Run, bad_job: Path, job: Path) -> None:
    assert run("order", bad_job).code == 2


def test_a_hole_without_a_grommet_gets_one(run: Run, job: Path) -> None:
    assert not [o for o in lines(run, job).values() if o["group"] == "grommet"]
    change(job, "diameter = 30", "diameter = 30\ngrommet = false")
    assert [o["what"] for o in lines(run, job).values() if o["group"] == "grommet"] == [
        "grommet for a 30 mm hole"
    ]


def test_the_grommet_of_a_hole_to_drill_is_the_same_from_a_stored_plan(run: Run, job: Path) -> None:
    """Bore and hole stand on the drill card, which is not read back with the rest of a plan."""
    change(job, 'state = "existing"', 'state = "candidate"')
    fresh = run("order", job, "--json").out
    grommets = [o["what"] for o in json.loads(fresh)["order"] if o["group"] == "grommet"]
    assert grommets == ["grommet, 30 mm bore, 34 mm hole"]
    run("plan", job)
    assert run("order", job, "--json").out == fresh
