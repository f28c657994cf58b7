"""Readings are held against what was to be expected, on either side."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecut.documents.markup import html as written
from routecut.documents.pack_power import power_and_coax
from routecut.documents.service_readings import reading_lines
from routecut.model.as_built import AsBuilt
from routecut.model.job import Position
from routecut.model.plan import Plan
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.model.sizing import CoaxLoss, Electrical, Limit, Sizing, Supply
from routecut.records import readings
from routecut.records.deviations import rows
from tests.documents import sample
from tests.service.test_answer import sized

COAX = CoaxLoss(
    mhz=155.0, length_m=2.5, connectors=2, cable_db=0.4, loss_db=0.5, low_db=0.5, high_db=0.5, max_loss_db=1.5,
    share_percent=89.0, reflected_percent=3.2, open_percent=79.0, half_wave_m=None, watts=25.0,
)  # fmt: skip


@pytest.fixture(scope="module")
def plan() -> Plan:
    """The made-up van, sized: P1 reads 10 mohm over 1 m, A1 gives 25 W, the radio has 12.9 and 12.5 V."""
    found = sample.plan()
    supply = Supply(
        device="voice radio", amps=10.0, peak_amps=14.0, drop_v=0.7, peak_drop_v=1.1, drop_percent=5.0,
        peak_drop_percent=8.0, volts=12.9, peak_volts=12.5, ok=True,
    )  # fmt: skip
    limits = tuple(
        Limit(name=name, value=value, unit="V", meaning="", source="", provenance="")
        for name, value in (("test_volts", 13.6), ("system_volts", 12.0))
    )
    wire: Electrical = sized("battery.plus")
    return replace(
        found,
        sizing=Sizing(
            profile="", limits=limits, electrical={"P1": wire}, coax={"A1": COAX}, supplies=(supply,)
        ),
    )


def built(*facts: Fact) -> AsBuilt:
    return AsBuilt(record=Record(lines=tuple(RecordLine(number=n, fact=f) for n, f in enumerate(facts, 1))))


def marks(plan: Plan, *facts: Fact) -> dict[str, str]:
    return {row.what: row.why for row in rows(plan, built(*facts)) if row.marked}


@pytest.mark.parametrize(
    ("milliohm", "said"),
    [
        (2.6, "less than four fifths"),
        (7.9, "less than"),
        (8.1, ""),
        (12.4, ""),
        (12.6, "more than a quarter"),
    ],
)
def test_a_resistance_is_marked_on_either_side(plan: Plan, milliohm: float, said: str) -> None:
    fact = Fact(what=What.RESISTANCE, kind=Kind.CABLE, name="P1", ohm=milliohm / 1000)
    found = marks(plan, fact).get("resistance, end to end", "")
    assert found.startswith(said)
    assert bool(found) == bool(said)
    assert ("common practice, no source" in found) == bool(said)


def test_a_resistance_is_expected_of_the_wire_that_lies_there(plan: Plan) -> None:
    """Half as long a wire reads half: then that is not odd, and the planned figure is."""
    read = Fact(what=What.RESISTANCE, kind=Kind.CABLE, name="P1", ohm=0.005)
    cut = Fact(what=What.CUT, kind=Kind.CABLE, name="P1", length_m=0.5)
    assert "resistance, end to end" in marks(plan, read)
    assert "resistance, end to end" not in marks(plan, read, cut)


@pytest.mark.parametrize(
    ("duty", "peak", "marked"),
    [
        (13.1, 12.4, {"volts there at peak"}),
        (12.6, 12.5, {"volts there at duty"}),
        (13.2, 12.9, set()),
        (14.2, 13.9, {"volts there at duty", "volts there at peak"}),
        (12.86, 12.46, set()),  # what two meters differ by
    ],
)
def test_volts_are_marked_on_either_side(plan: Plan, duty: float, peak: float, marked: set[str]) -> None:
    fact = Fact(what=What.VOLTS, kind=Kind.DEVICE, name="voice radio", duty=duty, peak=peak)
    assert {what for what in marks(plan, fact) if what.startswith("volts")} == marked


@pytest.mark.parametrize(
    ("forward", "reflected", "marked"),
    [
        (25.0, 0.4, set()),
        (25.0, 2.5, {"reflected, at the radio"}),
        (25.0, 0.0, {"reflected, at the radio"}),
        (15.0, 0.1, {"forward, at the radio"}),
        (40.0, 0.4, {"forward, at the radio"}),
    ],
)
def test_power_is_marked_on_either_side(
    plan: Plan, forward: float, reflected: float, marked: set[str]
) -> None:
    fact = Fact(what=What.POWER, kind=Kind.CABLE, name="A1", forward=forward, reflected=reflected)
    assert set(marks(plan, fact)) == marked


def test_a_reading_that_is_off_is_marked_where_it_is_shown(plan: Plan) -> None:
    """On the test sheet of the pack, and with the answer about service."""
    fact = Fact(what=What.RESISTANCE, kind=Kind.CABLE, name="P1", ohm=0.0026)
    for ohm, times in ((0.0026, 1), (0.010, 0)):
        one = built(replace(fact, ohm=ohm))
        told = replace(plan, as_built=replace(one, rows=rows(plan, one)))
        assert written(power_and_coax(told)).count("NOT AS EXPECTED, resistance") == times
        (line,) = [x for x in reading_lines(told, ["P1"], [], one.record) if x.startswith("P1")]
        assert line.count("NOT AS EXPECTED, resistance") == times


@given(st.floats(1e-4, 1.0), st.floats(1e-5, 10.0))
def test_what_is_marked_is_marked_for_every_scale(expected: float, read: float) -> None:
    ratio = read / expected
    for edge in (readings.LESS, readings.MORE):
        if math.isclose(ratio, edge, rel_tol=1e-9):
            return
    assert readings.resistance(read, expected).marked == (not readings.LESS < ratio < readings.MORE)


@pytest.mark.parametrize("kind", [Kind.HOLE, Kind.DEVICE])
def test_what_was_moved_is_a_deviation_also_where_nothing_could_be_laid_there(plan: Plan, kind: Kind) -> None:
    things = plan.job.devices if kind is Kind.DEVICE else plan.job.pass_throughs
    thing = things[0]
    x, y, z = thing.position.at_m
    fact = Fact(what=What.MOVED, kind=kind, name=thing.name, position=Position(at_m=(x, y + 0.2, z)))
    (row,) = [r for r in rows(plan, built(fact)) if r.what == "place"]
    assert (row.about, row.marked, row.after) == (f"{kind} {thing.name}", True, (x, y + 0.2, z))
