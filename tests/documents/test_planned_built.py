"""A figure of the sizing that is another one as built: both are told, wherever it stands."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from routecut.documents import as_fitted, service_text
from routecut.documents.difference_text import sides
from routecut.documents.markup import html as written
from routecut.documents.pack_power import power_and_coax
from routecut.model.as_built import AsBuilt, Relaid
from routecut.model.plan import Plan
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.model.sizing import Limit, Sizing, Supply
from routecut.planning.service import answers
from routecut.records.deviations import rows
from tests.service.test_answer import fed


def sizing_of(plan: Plan, ohm: float, drop_v: float, volts: float) -> Sizing:
    """P2 has this resistance and loses so much, the radio has so many volts."""
    assert plan.sizing is not None
    p2 = replace(plan.sizing.electrical["P2"], resistance_ohm=ohm, drop_v=drop_v, peak_drop_v=drop_v)
    limits = tuple(
        Limit(name=name, value=13.6, unit="V", meaning="m", source="s", provenance="p")
        for name in ("test_volts", "system_volts")
    )
    supply = Supply(
        device="radio", amps=1.0, peak_amps=2.0, drop_v=0.3, peak_drop_v=0.3, drop_percent=2.0,
        peak_drop_percent=2.0, volts=volts, peak_volts=volts - 0.2, ok=True,
    )  # fmt: skip
    return replace(
        plan.sizing, limits=limits, electrical={**plan.sizing.electrical, "P2": p2}, supplies=(supply,)
    )


@pytest.fixture(scope="module")
def plan() -> Plan:
    """P2 was laid again and is shorter as built; its resistance and the radio's volts were read."""
    before = fed()
    before = replace(before, sizing=sizing_of(before, 0.0082, 0.12, 12.9))
    facts = (
        Fact(what=What.RESISTANCE, kind=Kind.CABLE, name="P2", ohm=0.0081),
        Fact(what=What.VOLTS, kind=Kind.DEVICE, name="radio", duty=13.0, peak=12.8),
        Fact(what=What.VOLTS, kind=Kind.CABLE, name="P2", duty=0.1, peak=0.1),
    )
    record = Record(lines=tuple(RecordLine(number=n, fact=f) for n, f in enumerate(facts, start=1)))
    route = next(c.route for c in before.cables if c.cable.name == "P2")
    built = AsBuilt(
        record=record,
        relaid={"P2": Relaid(why="a string", route=route)},
        sizing=sizing_of(before, 0.0080, 0.11, 13.0),
        service=before.service,
    )
    return replace(before, as_built=replace(built, rows=rows(before, built)))


def test_an_answer_tells_both_and_one_where_they_print_alike(plan: Plan) -> None:
    fitted = as_fitted(plan)
    told = " ".join(service_text(fitted, answers(fitted, "radio"), Record()).split())
    assert "P2: planned 8.2, as built 8.0 m\N{GREEK CAPITAL LETTER OMEGA} end to end" in told
    assert "loses planned 0.12, as built 0.11 V at duty" in told
    assert told.count("planned 12.9, as built 13.0 V at duty") == 2  # in short, and with the readings
    assert "P1: 10.0 m\N{GREEK CAPITAL LETTER OMEGA} end to end" in told or "P1" not in told
    same = replace(plan, as_built=None)
    assert "as built" not in service_text(same, answers(same, "radio"), Record())


def test_the_test_sheet_tells_both(plan: Plan) -> None:
    told = re.sub(r"<[^>]+>", "|", written(power_and_coax(plan))).replace("\N{NO-BREAK SPACE}", " ")
    assert "planned 8.2, as built 8.0 m\N{GREEK CAPITAL LETTER OMEGA}" in told
    assert "as built 0.11 / 0.11 V" in told
    assert "as built 13.0 / 12.8 V" in told
    assert told.count("as built") == 3
    assert "as built" not in written(power_and_coax(replace(plan, as_built=None)))


def test_the_table_tells_what_was_planned_beside_what_is_expected_as_built(plan: Plan) -> None:
    assert plan.as_built is not None
    told = {(r.about, r.what): sides(r, plan.job)[0] for r in plan.as_built.rows}
    omega = "m\N{GREEK CAPITAL LETTER OMEGA}"
    assert told["cable P2", "resistance, end to end"] == f"8.2 {omega}; as built 8 {omega} expected"
    assert told["device radio", "volts there at duty"] == "12.90 V; as built 13.00 V expected"
    assert told["cable P2", "volts lost at duty"] == "0.12 V; as built 0.11 V expected"
    assert plan.as_built.sizing is not None
    as_planned = replace(plan, sizing=plan.as_built.sizing)
    assert all(r.planned is None for r in rows(as_planned, plan.as_built))
