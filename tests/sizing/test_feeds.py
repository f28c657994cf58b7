"""Rings, batteries in parallel, second feeds; a sheathed lead; the fuse the job asks for; odd supplies."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routecut.model.finding import Finding, Severity
from routecut.model.job import Load
from routecut.sizing.circuit import build_circuit
from routecut.tables import cable_types
from tests.sizing.jobs import codes, device, job, power, sized

FEED = power("P1", "battery.positive", "block.feed", None, type_name="wire-4awg-red")
RADIO = power("P2", "block.out 1", "radio.power", 10, peak=14, type_name="wire-10awg-red")
RADIO_BACK = power("N2", "radio.return", "block.return 1", None, type_name="wire-10awg-black")
BACK = power("N1", "block.return", "stud.lug", None, type_name="wire-4awg-black")
SECOND = device("second battery", "positive", "negative", kind="battery", space="engine bay")
OTHER_BLOCK = device("rear block", "feed", "out", kind="distribution block")
LENGTHS = {"P1": 3.0, "P2": 1.0, "N2": 1.0, "N1": 1.0, "P8": 2.0, "P9": 2.0}


def said(findings: list[Finding], code: str) -> list[tuple[Severity, str | None]]:
    return [(f.severity, f.key) for f in findings if f.code == code]


def test_a_ring_of_supply_leads_is_said_and_each_lead_has_one_place() -> None:
    """Battery to block, block to rear block, rear block to block: the last closes the ring."""
    on = power("P8", "block.out 2", "rear block.feed", None, type_name="wire-10awg-red")
    ring = power("P9", "rear block.out", "block.out 3", None, type_name="wire-10awg-red")
    block = device(
        "block", "feed", "out 1", "out 2", "out 3", "return", "return 1", kind="distribution block"
    )
    made = job(FEED, RADIO, RADIO_BACK, BACK, on, ring, devices=[OTHER_BLOCK])
    made = replace(made, devices=tuple(block if d.name == "block" else d for d in made.devices))
    _, _, findings = sized(made, LENGTHS)
    assert said(findings, "supply-ring") == [(Severity.WARNING, "P9")]
    assert "fuse at each" in next(f.message for f in findings if f.code == "supply-ring")
    assert set(build_circuit(made, LENGTHS).legs) >= {"P1", "P2", "P8", "P9"}


def test_two_leads_in_parallel_are_a_ring_and_the_first_is_sized_for_all() -> None:
    twin = power("P9", "battery.positive", "block.feed", None, type_name="wire-4awg-red")
    sizing, _, findings = sized(job(FEED, twin, RADIO, RADIO_BACK, BACK), LENGTHS)
    assert said(findings, "supply-ring") == [(Severity.WARNING, "P9")]
    assert "load-missing" not in codes(findings)
    assert sizing.electrical["P1"].amps == pytest.approx(10)
    assert "P9" not in sizing.electrical


def test_two_leads_to_one_terminal_are_a_ring_too() -> None:
    twin = power("P9", "block.out 2", "radio.power", 10, type_name="wire-10awg-red")
    _, _, findings = sized(job(FEED, RADIO, twin, RADIO_BACK, BACK), LENGTHS)
    assert said(findings, "supply-ring") == [(Severity.WARNING, "P9")]


def test_two_batteries_joined_need_a_fuse_at_each() -> None:
    link = power("P9", "battery.positive", "second battery.positive", 50, type_name="wire-2awg-red")
    _, _, findings = sized(job(FEED, RADIO, RADIO_BACK, BACK, link, devices=[SECOND]), LENGTHS)
    [found] = [f for f in findings if f.code == "supply-ring"]
    assert "joins two sources" in found.message
    assert found.severity is Severity.WARNING


def test_two_batteries_apart_are_two_sources_and_no_ring() -> None:
    own = power("P9", "second battery.positive", "second radio.power", 5, type_name="wire-10awg-red")
    sizing, _, findings = sized(job(FEED, RADIO, RADIO_BACK, BACK, own, devices=[SECOND]), LENGTHS)
    assert not {"supply-ring", "second-feed"} & set(codes(findings))
    assert sizing.electrical["P1"].amps == pytest.approx(10)  # not what the second battery feeds
    fuse = sizing.electrical["P9"].fuse
    assert fuse is not None
    assert fuse.at == "second battery.positive"


def test_an_ignition_feed_is_a_branch_of_its_own_and_a_note() -> None:
    sense = power("P9", "block.out 2", "radio.sense", 0.5, type_name="wire-16awg-red")
    sizing, _, findings = sized(job(FEED, RADIO, RADIO_BACK, BACK, sense), LENGTHS)
    assert said(findings, "second-feed") == [(Severity.NOTE, "P9")]
    assert sizing.electrical["P9"].amps == pytest.approx(0.5)


def test_a_second_return_is_not_asked_for_a_load() -> None:
    more = power("P9", "radio.return", "stud.lug", None, type_name="wire-10awg-black")
    _, _, findings = sized(job(FEED, RADIO, RADIO_BACK, BACK, more), LENGTHS)
    assert len(said(findings, "second-feed")) == 1
    severity, name = said(findings, "second-feed")[0]
    assert severity is Severity.NOTE
    assert name not in {key for _, key in said(findings, "load-missing")}
    missing = [f.message for f in findings if f.code == "load-missing"]
    assert all("returns through N1 alone" in message for message in missing)


# --- fuses -------------------------------------------------------------------------------


def test_in_a_sheath_the_fuse_may_be_40_inches_away() -> None:
    """Three terminations of 60 mm and the bend are over 177.8 mm; 33 CFR 183.455(b)(2) allows 1016 sheathed."""
    long_lug = device("battery two", "positive", kind="battery", used_m=0.060)
    lead = power("P", "battery two.positive", "radio.power", 10, type_name="wire-12awg-red")
    for sheathed, expected in ((False, ["fuse-distance"]), (True, [])):
        _, _, findings = sized(job(replace(lead, sheathed=sheathed), devices=[long_lug]), {"P": 3.0})
        assert [c for c in codes(findings) if c == "fuse-distance"] == expected
    longer = device("battery two", "positive", kind="battery", used_m=0.340)
    _, _, findings = sized(job(replace(lead, sheathed=True), devices=[longer]), {"P": 3.0})
    [found] = [f for f in findings if f.code == "fuse-distance"]
    assert found.allowed == "1016 mm"
    assert "sheath over" not in found.message


def test_a_sheathed_lead_reaches_a_holder_on_the_wing() -> None:
    holder = device("main fuse", "in", "out", kind="fuse holder", space="engine bay")
    short = power("P0", "battery.positive", "main fuse.in", None, type_name="wire-4awg-red")
    on = power("P1", "main fuse.out", "radio.power", 20, type_name="wire-4awg-red")
    for sheathed, at in ((False, "battery.positive"), (True, "main fuse.in")):
        made = job(replace(short, sheathed=sheathed), on, devices=[holder])
        fuse = sized(made, {"P0": 0.40, "P1": 4.0})[0].electrical["P0"].fuse
        assert fuse is not None
        assert fuse.at == at


def test_a_fuse_has_room_over_the_peak() -> None:
    """2 A at duty, 4 A at peak: 110 % of the peak is 4.4 A, so a fuse of 5 A and not one of 4."""
    lead = power("P", "battery.positive", "radio.power", 2, peak=4, type_name="wire-14awg-red")
    for limits, amps in (([], 5.0), ([("fuse_peak_percent", 100.0)], 4.0)):
        fuse = sized(job(lead, limits=limits), {"P": 1.0})[0].electrical["P"].fuse
        assert fuse is not None
        assert fuse.rating_a == amps


def test_the_fuse_of_the_maker_comes_first_and_the_wires_must_carry_it() -> None:
    """The radio asks for 30 A; wire of 14 gauge may not carry that, supply and return alike."""
    load = Load(amps=10, peak_amps=14, fuse_amps=30)
    feed = replace(power("P", "battery.positive", "radio.power", 10), load=load)
    back = power("N", "radio.return", "battery.negative", None)
    sizing, picked, findings = sized(job(feed, back), {"P": 0.4, "N": 0.4})
    said = {f.key: f.message for f in findings if f.code == "size-picked"}
    assert "may carry the 30 A of its fuse" in said["P"]
    assert "may carry the 30 A that the fuse of P lets through" in said["N"]
    for name in ("P", "N"):
        assert sizing.electrical[name].ampacity.allowed_a >= 30
    fuse = sizing.electrical["P"].fuse
    assert fuse is not None
    assert (fuse.rating_a, fuse.series) == (30.0, "regular blade")
    plain, thinner, _ = sized(
        job(replace(feed, load=Load(amps=10, peak_amps=14)), back), {"P": 0.4, "N": 0.4}
    )
    for name in ("P", "N"):
        assert thinner[name].diameter_m < picked[name].diameter_m
        assert plain.electrical[name].ok


def test_a_return_thicker_than_the_fuse_before_it_asks_for_says_why() -> None:
    """The maker wants 15 A; a fuse for 14 A at peak would have 20, and the return is taken for that."""
    feed = replace(
        power("P", "battery.positive", "radio.power", 10), load=Load(amps=10, peak_amps=14, fuse_amps=15)
    )
    back = power("N", "radio.return", "battery.negative", 10, peak=14)
    _, _, findings = sized(job(feed, back), {"P": 0.4, "N": 0.4})
    said = {f.key: f.message for f in findings if f.code == "size-picked"}
    assert (
        "may carry the 20 A a fuse for its own load would be rated at (the fuse of P has 15 A)" in said["N"]
    )


def test_a_fuse_below_the_peak_is_said_and_odd_ratings_are_kept() -> None:
    lead = power("P", "battery.positive", "radio.power", 10, type_name="wire-8awg-red")
    lead = replace(lead, load=Load(amps=10, peak_amps=14, fuse_amps=12))
    sizing, _, findings = sized(job(lead), {"P": 1.0})
    assert said(findings, "fuse-small") == [(Severity.WARNING, "P")]
    fuse = sizing.electrical["P"].fuse
    assert fuse is not None
    assert (fuse.rating_a, fuse.series) == (12.0, "of the maker of the load")


@pytest.mark.parametrize(
    ("fuse", "words"),
    [(15.0, "15.4 A or more (110 % of the 14 A at peak)"), (15.4, ""), (20.0, ""), (12.0, "may open while")],
)
def test_a_fuse_of_the_job_below_what_the_rules_ask_for_is_said_with_the_rule(
    fuse: float, words: str
) -> None:
    """110 % of a peak of 14 A is 15.4 A: a 15 A fuse carries the peak, and has less room than the rules want."""
    lead = power("P", "battery.positive", "radio.power", 10, type_name="wire-8awg-red")
    lead = replace(lead, load=Load(amps=10, peak_amps=14, fuse_amps=fuse))
    found = [f for f in sized(job(lead), {"P": 1.0})[2] if f.code == "fuse-small"]
    assert [f.severity for f in found] == [Severity.WARNING] * bool(words)
    assert all(words in f.message for f in found)


# --- odd supplies ------------------------------------------------------------------------


def test_24_volts_halve_the_per_cent_and_not_the_volts() -> None:
    lead = power("P", "battery.positive", "radio.power", 10, type_name="wire-10awg-red")
    twelve = sized(job(lead), {"P": 3.0})[0]
    double, _, findings = sized(job(lead, limits=[("system_volts", 24.0)]), {"P": 3.0})
    one, other = twelve.electrical["P"], double.electrical["P"]
    assert other.drop_v == pytest.approx(one.drop_v)
    assert other.drop_percent == pytest.approx(one.drop_percent / 2)
    assert double.supplies[0].volts == pytest.approx(27.2 - other.drop_v)
    assert {f.key for f in findings if f.code == "rule-deviation"} == {"system_volts"}


@pytest.mark.parametrize("amps", [150.0, 400.0])
def test_hundreds_of_amperes(amps: float) -> None:
    """What no wire of the catalogue may carry is an error that says so, and names a fuse of the load."""
    sizing, picked, findings = sized(job(power("P", "battery.positive", "radio.power", amps)), {"P": 1.0})
    e = sizing.electrical["P"]
    errors = [f for f in findings if f.severity is Severity.ERROR]
    fuse = e.fuse.rating_a if e.fuse is not None else None
    assert fuse is None or fuse >= 1.25 * amps
    if e.ok:
        assert not errors
        assert fuse is not None
        assert e.ampacity.allowed_a >= fuse
    else:
        assert {"no-size", "drop-over"} & set(codes(errors))
        assert picked["P"].diameter_m == max(
            t.diameter_m for n, t in cable_types().items() if n.startswith("wire-")
        )


def test_thirty_metres_at_ten_amperes() -> None:
    """0.36 V less four ends (20 mV) and the fuse (67 mV of 100 at 15 A) over 60 m and 10 A: 0.455 mohm/m.

    1 AWG of SAE size has 0.451 at 20 and 0.468 at 30 degrees C, 1/0 has 0.354.
    """
    sizing, picked, findings = sized(job(power("P", "battery.positive", "radio.power", 10)), {"P": 30.0})
    e = sizing.electrical["P"]
    assert e.ok
    assert picked["P"].name == "wire-1/0awg-red"
    assert not [f for f in findings if f.severity is Severity.ERROR]
