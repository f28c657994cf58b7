"""From a job to its supply: polarity, branches, returns, bundles, fuses, and what is said."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from routecut.model.finding import Severity
from routecut.model.job import Access, CableClass, CableType, Load, Polarity, Stock
from routecut.model.sizing import Sizing
from routecut.sizing.ampacity import ampacity, copper_c
from routecut.sizing.bundles import side_by_side
from routecut.sizing.circuit import BODY, COMMON, SOURCE, beside_name, build_circuit
from routecut.sizing.conductors import sae_conductor
from routecut.sizing.names import is_battery, is_fused, is_ground, polarity_of
from routecut.tables import cable_types
from tests.sizing import jobs
from tests.sizing.jobs import codes, device, job, power, sized, straight

FEED = power("P1", "battery.positive", "block.feed", None, type_name="wire-4awg-red")
RADIO = power("P2", "block.out 1", "radio.power", 10, peak=14, type_name="wire-12awg-red")
OTHER = power("P3", "block.out 2", "second radio.power", 4, peak=6, type_name="wire-14awg-red")
BACK = power("N1", "block.return", "stud.lug", None, type_name="wire-4awg-black")
RADIO_BACK = power("N2", "radio.return", "block.return 1", None, type_name="wire-12awg-black")
LENGTHS = {"P1": 4.0, "P2": 1.0, "P3": 2.0, "N1": 1.0, "N2": 1.2}


@pytest.mark.parametrize(
    ("start", "end", "type_name", "expected"),
    [
        ("battery.positive", "block.feed", "", Polarity.POSITIVE),
        ("radio.return", "block.return 1", "", Polarity.NEGATIVE),
        ("battery.negative", "stud.lug", "", Polarity.NEGATIVE),
        ("block.out 1", "stud.lug", "", Polarity.NEGATIVE),
        ("block.out 1", "radio.sense", "wire-10awg-black", Polarity.NEGATIVE),
        ("block.out 1", "radio.sense", "wire-10awg-red", Polarity.POSITIVE),
        ("block.out 1", "radio.sense", "", Polarity.POSITIVE),
    ],
)
def test_polarity_from_words(start: str, end: str, type_name: str, expected: Polarity) -> None:
    cable = power("P", start, end, 1, type_name=type_name)
    assert polarity_of(job(cable), cable) is expected


def test_what_the_job_says_comes_first() -> None:
    cable = power("P", "radio.return", "stud.lug", 1, polarity=Polarity.POSITIVE)
    assert polarity_of(job(cable), cable) is Polarity.POSITIVE


def test_devices_by_their_words() -> None:
    assert is_battery(device("B1", kind="starter battery"))
    assert not is_battery(device("battery isolator"))
    assert not is_battery(device("battery", kind="fuse box"))
    assert is_ground(device("body stud"))
    assert not is_ground(device("studio monitor", kind="loudspeaker"))
    assert is_fused(device("D1", kind="distribution block"))
    assert not is_fused(device("bus bar"))


def test_both_trees_and_the_returns_that_are_not_in_the_job() -> None:
    made = job(FEED, RADIO, OTHER, BACK, RADIO_BACK)
    circuit = build_circuit(made, LENGTHS)
    assert set(circuit.out.edges) == {
        (SOURCE, ("block", "+")),
        (("block", "+"), ("radio", "+")),
        (("block", "+"), ("second radio", "+")),
    }
    assert set(circuit.back.edges) == {
        (COMMON, BODY),
        (BODY, ("block", "-")),
        (("block", "-"), ("radio", "-")),
        (("block", "-"), ("second radio", "-")),
    }
    assert circuit.beside("P3") is not None
    assert circuit.beside("P1") is None
    assert circuit.beside("P2") is None


def test_a_cable_written_from_load_to_battery_is_the_same_cable() -> None:
    turned = replace(FEED, from_port=FEED.to_port, to_port=FEED.from_port)
    here, there = (sized(job(c, RADIO, OTHER, BACK, RADIO_BACK), LENGTHS)[0] for c in (FEED, turned))
    assert here.supplies == there.supplies
    assert here.electrical["P1"] == there.electrical["P1"]


def test_a_return_wired_to_nothing_gets_its_way_back_assumed() -> None:
    """The block's return is in the job, the way on from it is not."""
    circuit = build_circuit(job(FEED, RADIO, RADIO_BACK), LENGTHS)
    assert (("block", "-"), ("radio", "-")) in circuit.back.edges
    assert circuit.beside("P1") is not None
    assert circuit.beside("P2") is None


def test_a_strap_from_battery_to_body_is_part_of_the_way() -> None:
    strap = power("N0", "battery.negative", "stud.lug", None, type_name="wire-4awg-black")
    circuit = build_circuit(job(FEED, strap, BACK, RADIO), {**LENGTHS, "N0": 0.5})
    assert (COMMON, ("stud", "-")) in circuit.back.edges
    assert circuit.return_of["block", "+"] == ("block", "-")
    assert circuit.legs["N1"].near == ("stud", "-")


def test_the_same_device_supplied_twice_is_two_branches() -> None:
    sense = power("P9", "block.out 2", "radio.sense", 0.5, type_name="wire-16awg-red")
    sizing, _, _ = sized(job(FEED, RADIO, sense, BACK), {**LENGTHS, "P9": 1.0})
    assert sizing.electrical["P1"].amps == pytest.approx(10.5)
    assert sizing.electrical["P9"].amps == pytest.approx(0.5)


def test_a_device_that_hands_current_on_counts_its_own_load_as_well() -> None:
    onward = power("P9", "radio.out", "second radio.power", 3, peak=5, type_name="wire-14awg-red")
    sizing, _, _ = sized(job(FEED, RADIO, onward, BACK), {**LENGTHS, "P9": 1.0})
    assert sizing.electrical["P2"].amps == pytest.approx(13)
    assert sizing.electrical["P1"].peak_amps == pytest.approx(19)
    roomy = replace(FEED, load=Load(amps=14))
    reserved, _, _ = sized(job(roomy, RADIO, onward, BACK), {**LENGTHS, "P9": 1.0})
    assert reserved.electrical["P1"].amps == pytest.approx(14)
    assert {s.device for s in sizing.supplies} == {"radio", "second radio"}


def test_a_feed_with_a_reserve_keeps_it_and_one_with_too_little_is_told() -> None:
    roomy = replace(FEED, load=Load(amps=30, peak_amps=40))
    sizing, _, findings = sized(job(roomy, RADIO, OTHER, BACK), LENGTHS)
    assert (sizing.electrical["P1"].amps, sizing.electrical["P1"].peak_amps) == (30, 40)
    assert sizing.electrical["N1"].amps == pytest.approx(30)
    assert "load-sum" not in codes(findings)
    tight = replace(FEED, load=Load(amps=12, peak_amps=40))
    sizing, _, findings = sized(job(tight, RADIO, OTHER, BACK), LENGTHS)
    assert sizing.electrical["P1"].amps == pytest.approx(14)
    [said] = [f for f in findings if f.code == "load-sum"]
    assert "12 A" in said.message
    assert "14 A at duty" in said.message


def test_without_a_battery_another_device_is_the_source_and_it_is_said() -> None:
    sizing, _, findings = sized(job(RADIO), {"P2": 1.0})
    assert sizing.electrical["P2"].fuse is not None
    [said] = [f for f in findings if f.code == "supply-assumed"]
    assert "block" in said.message


def test_a_feed_without_a_route_is_not_taken_for_a_battery_that_is_missing() -> None:
    """The battery is in the job: what is missing is a way to it, and what is sized without it is not to be bought."""
    lengths = {name: length for name, length in LENGTHS.items() if name != FEED.name}
    _, _, findings = sized(job(FEED, RADIO, OTHER, BACK), lengths)
    [said] = [f for f in findings if f.code == "supply-unlaid" and "source" in f.message]
    assert said.message.startswith("P1 has no route, so nothing feeds P2 in this plan: block is taken")
    assert said.severity is Severity.WARNING
    assert "supply-assumed" not in codes(findings)


def test_a_return_without_a_route_is_said_and_one_that_is_not_in_the_job_is_told_apart() -> None:
    _, _, findings = sized(job(FEED, RADIO, OTHER, BACK, RADIO_BACK), LENGTHS)
    assert "supply-unlaid" not in codes(findings)
    lengths = {name: length for name, length in LENGTHS.items() if name != BACK.name}
    _, _, findings = sized(job(FEED, RADIO, OTHER, BACK, RADIO_BACK), lengths)
    [said] = [f for f in findings if f.code == "supply-unlaid"]
    assert said.message.startswith(f"{BACK.name} has no route, so no return leads back from what ")
    assert "return-assumed" not in codes(findings)


def test_a_cable_without_a_route_is_not_blamed_for_what_hangs_on_others() -> None:
    """The return of P3 is not in the job, with or without a way for P2."""
    lengths = {name: length for name, length in LENGTHS.items() if name != RADIO.name}
    _, _, findings = sized(job(FEED, RADIO, OTHER, BACK, RADIO_BACK), lengths)
    [said] = [f for f in findings if f.code == "return-assumed"]
    assert said.where == "cable P3"
    assert "supply-unlaid" not in codes(findings)


def test_a_load_nobody_states_is_not_judged() -> None:
    silent = power("P2", "block.out 1", "radio.power", None, type_name="wire-12awg-red")
    sizing, _, findings = sized(job(FEED, silent, OTHER, BACK), LENGTHS)
    assert "P2" not in sizing.electrical
    assert [f.key for f in findings if f.code == "load-missing"] == ["P2"]


def test_an_unknown_conductor_is_not_guessed() -> None:
    own = CableType(name="auto-6mm", cable_class=CableClass.POWER, diameter_m=0.006, min_bend_radius_m=0.03)
    cable = replace(RADIO, type=own)
    sizing, _, findings = sized(job(FEED, cable, OTHER, BACK), LENGTHS)
    assert "P2" not in sizing.electrical
    [said] = [f for f in findings if f.code == "conductor-unknown"]
    assert "4.59 mm\N{SUPERSCRIPT TWO}" in said.message
    given = replace(RADIO, type=replace(own, conductor_mm2=4.59))
    sizing, _, findings = sized(job(FEED, given, OTHER, BACK), LENGTHS)
    assert sizing.electrical["P2"].conductor.area_mm2 == 4.59
    assert "conductor-unknown" not in codes(findings)


def test_drop_by_hand() -> None:
    """One lead, its return beside it: 2 x 3 m of 12 AWG SAE, 10 A, cold copper and no contacts.

    12 AWG SAE: 2.956 mm2 at least, 1.03 x 1/58 / 2.956 = 6.008 mohm/m: 2 x 3 x 6.008e-3 x 10 =
    0.3605 V. Conductor at 20 degrees C: air at 20, insulation so good that nothing warms.
    """
    made = job(
        power("P", "battery.positive", "radio.power", 10, type_name="wire-12awg-red"),
        limits=[("joint_mohm", 0), ("fuse_drop_mv", 0), ("ambient_c", 20), ("hot_space_c", 20)],
    )
    e = sized(made, {"P": 3.0})[0].electrical["P"]
    cold = 2 * 3.0 * e.conductor.r20_ohm_per_m * 10
    assert cold == pytest.approx(0.3605, abs=5e-4)
    warmed = (234.5 + e.conductor_c) / 254.5
    assert e.drop_v == pytest.approx(cold * warmed, rel=1e-9)
    assert e.drop_percent == pytest.approx(e.drop_v / 12 * 100)
    assert e.resistance_ohm == pytest.approx(3.0 * e.conductor.r20_ohm_per_m)
    assert e.return_length_m == 3.0


def test_contacts_are_counted() -> None:
    """Two joints of 0.5 mohm each way and 100 mV at the rating of a 15 A fuse, 10 A."""
    lead = power("P", "battery.positive", "radio.power", 10, type_name="wire-12awg-red")
    without = sized(job(lead, limits=[("joint_mohm", 0), ("fuse_drop_mv", 0)]), {"P": 3.0})[0].electrical["P"]
    with_them = sized(job(lead), {"P": 3.0})[0].electrical["P"]
    assert with_them.fuse is not None
    assert with_them.fuse.rating_a == 15
    assert with_them.drop_v - without.drop_v == pytest.approx(10 * (4 * 0.0005 + 0.1 / 15))


def test_too_thin_for_its_fuse_and_too_lossy_are_two_errors_that_name_what_holds() -> None:
    made = job(power("P", "battery.positive", "radio.power", 30, peak=35, type_name="wire-16awg-red"))
    sizing, picked, findings = sized(made, {"P": 5.0})
    errors = [f for f in findings if f.severity is Severity.ERROR and f.where == "cable P"]
    assert codes(errors) == ["wire-thin", "drop-over"]
    assert not sizing.electrical["P"].ok
    assert picked == {}
    named = errors[-1].message.split("What holds: ")[1].rstrip(".")
    again = job(power("P", "battery.positive", "radio.power", 30, peak=35, type_name=named))
    assert sized(again, {"P": 5.0})[0].electrical["P"].ok


def test_the_peak_is_judged_not_the_duty() -> None:
    """12 AWG over 3 m and back: 5 A lose under 3 %, the 15 A of transmitting over 3 %."""
    lead = power("P", "battery.positive", "radio.power", 5, peak=15, type_name="wire-12awg-red")
    sizing, _, findings = sized(job(lead), {"P": 3.0})
    assert sizing.electrical["P"].drop_percent < 3.0 < sizing.electrical["P"].peak_drop_percent
    assert "drop-over" in codes(findings)


def test_the_way_as_a_whole_is_judged_and_open_sizes_grow_for_it() -> None:
    """Each leg within its own 9 %, both together over 10 %: the open one grows, a fixed one is told."""
    feed = power("P1", "battery.positive", "block.feed", 20, drop=9, type_name="wire-8awg-red")
    fixed = power("P2", "block.out 1", "radio.power", 20, drop=9, type_name="wire-10awg-red")
    lengths = {"P1": 6.0, "P2": 5.0}
    _, _, findings = sized(job(feed, fixed), lengths)
    [said] = [f for f in findings if f.where == "device radio"]
    assert said.code == "drop-over"
    assert "drop-over" not in codes([f for f in findings if f.where.startswith("cable")])
    sizing, picked, findings = sized(
        job(feed, replace(fixed, type_assumed=True, type=power("", "", "", 1).type)), lengths
    )
    assert not [f for f in findings if f.where == "device radio"]
    assert all(s.ok for s in sizing.supplies)
    assert picked["P2"].diameter_m > cable_types()["wire-10awg-red"].diameter_m


def test_picked_sizes_follow_the_stock() -> None:
    open_lead = power("P", "battery.positive", "radio.power", 10)
    for stock, start in (("wire-10awg-red", "wire-"), ("wire-6mm2-red", "wire-")):
        _, picked, _ = sized(job(open_lead, stock=[Stock(type=stock, reel_m=10.0)]), {"P": 3.0})
        assert picked["P"].name.startswith(start)
        assert ("mm2" in picked["P"].name) is ("mm2" in stock)
        assert picked["P"].name.endswith("red")
    _, picked, _ = sized(job(open_lead), {"P": 3.0})
    assert picked["P"].name.endswith("red")
    back = power("N", "radio.return", "battery.negative", 10)
    _, picked, _ = sized(job(open_lead, back), {"P": 3.0, "N": 3.0})
    assert picked["N"].name.endswith("black")


def test_one_that_can_not_grow_does_not_keep_the_others_thin() -> None:
    """The first loses over its own 0.1 % whatever it is; the feed still grows for the second radio."""
    feed = power("P1", "battery.positive", "block.feed", None, drop=50)
    hopeless = power("P2", "block.out 1", "radio.power", 10, drop=0.1)
    other = power("P3", "block.out 2", "second radio.power", 30, drop=50)
    sizing, _, findings = sized(job(feed, hopeless, other), {"P1": 8.0, "P2": 3.0, "P3": 3.0})
    assert "drop-over" in codes([f for f in findings if f.where == "cable P2"])
    assert all(s.ok for s in sizing.supplies)


def test_nothing_thick_enough_is_said() -> None:
    made = job(power("P", "battery.positive", "radio.power", 300, drop=1))
    _, _, findings = sized(made, {"P": 10.0})
    assert "no-size" in codes(findings)
    made = job(power("P", "battery.positive", "radio.power", 450, drop=1))
    _, _, findings = sized(made, {"P": 10.0})
    assert any("Divide the load" in f.message for f in findings if f.code == "no-size")


def test_the_rise_of_the_copper_goes_with_the_square() -> None:
    """Half of what may be carried warms a quarter of the way from the air to what is stood."""
    conductor = sae_conductor("10", insulation_c=80)
    allowed = ampacity(conductor, air_c=40, conductors=1)
    assert copper_c(conductor, allowed, 0.0) == 40
    assert copper_c(conductor, allowed, allowed.allowed_a / 2) == pytest.approx(50)
    assert copper_c(conductor, allowed, allowed.allowed_a) == pytest.approx(80)


# --- bundles and hot spaces --------------------------------------------------------------


def test_side_by_side_counts_what_runs_along_not_what_crosses() -> None:
    along = np.array([[0.0, 0.0, 0.0], [2.0, 0.0, 0.0]])
    near = along + np.array([0.0, 0.01, 0.0])
    far = along + np.array([0.0, 0.50, 0.0])
    across = np.array([[1.0, -1.0, 0.01], [1.0, 1.0, 0.01]])
    ways = {"a": along, "b": near, "c": far, "d": across}
    assert side_by_side(ways, {"a": 1, "b": 2, "c": 1, "d": 1}) == {"a": 3, "b": 3, "c": 1, "d": 1}


def test_a_bundle_and_the_engine_space_take_from_the_ampacity() -> None:
    cables = [
        power(f"P{k}", "battery.positive", "radio.power", 2, type_name="wire-10awg-red") for k in range(4)
    ]
    lengths = {c.name: 2.0 for c in cables}
    alone = sized(job(*cables), lengths)[0].electrical["P0"].ampacity
    together = {c.name: straight(2.0, beside_m=0.001 * k) for k, c in enumerate(cables)}
    bundled = sized(job(*cables), lengths, routes=together)[0].electrical["P0"].ampacity
    assert alone.conductors == 2  # its own return lies beside it
    assert bundled.conductors > 4
    assert bundled.allowed_a < alone.allowed_a
    hot = {"P0": straight(2.0, beside_m=5.0, spaces=("engine bay", "cab"))}
    warm = sized(job(*cables), lengths, routes=hot)[0].electrical["P0"].ampacity
    assert warm.air_c == 50
    assert warm.allowed_a == pytest.approx(alone.allowed_a * 0.7746, abs=0.01)


# --- fuses and where they sit ------------------------------------------------------------


def test_the_fuse_of_the_feed_sits_along_the_conductor_and_branches_in_the_block() -> None:
    """Three terminations of 10 mm and the bend of 4 AWG wire, 34 mm: 64, up to 70 mm."""
    sizing, _, findings = sized(job(FEED, RADIO, OTHER, BACK), LENGTHS)
    feed, branch = sizing.electrical["P1"].fuse, sizing.electrical["P2"].fuse
    assert feed is not None
    assert branch is not None
    assert feed.distance_m == pytest.approx(0.07)
    assert (feed.in_block, feed.at, feed.space) == (False, "battery.positive", "engine bay")
    assert (branch.distance_m, branch.in_block, branch.at) == (0.0, True, "block.out 1")
    assert not {"fuse-distance", "fuse-access"} & set(codes(findings))
    assert sizing.electrical["N1"].fuse is None


def test_a_fuse_that_cannot_sit_near_enough_is_an_error() -> None:
    long_lug = device("battery two", "positive", kind="battery", used_m=0.060)
    lead = power("P", "battery two.positive", "radio.power", 10, type_name="wire-12awg-red")
    _, _, findings = sized(job(lead, devices=[long_lug]), {"P": 3.0})
    [said] = [f for f in findings if f.code == "fuse-distance"]
    assert said.severity is Severity.ERROR
    assert said.found == "200 mm"
    assert said.allowed == "177 mm"


def test_a_holder_at_the_end_of_a_short_lead_protects_it() -> None:
    holder = device("main fuse", "in", "out", kind="fuse holder", space="engine bay")
    short = power("P0", "battery.positive", "main fuse.in", None, type_name="wire-4awg-red")
    on = power("P1", "main fuse.out", "radio.power", 20, type_name="wire-4awg-red")
    sizing, _, _ = sized(job(short, on, devices=[holder]), {"P0": 0.15, "P1": 4.0})
    fuse = sizing.electrical["P0"].fuse
    assert fuse is not None
    assert (fuse.at, fuse.distance_m) == ("main fuse.in", 0.15)
    sizing, _, _ = sized(job(short, on, devices=[holder]), {"P0": 0.40, "P1": 4.0})
    fuse = sizing.electrical["P0"].fuse
    assert fuse is not None
    assert fuse.at == "battery.positive"  # too far away to protect the lead: it gets one of its own


def test_a_fuse_behind_trim_is_said() -> None:
    _, _, findings = sized(job(FEED, RADIO, OTHER, BACK, access=Access.SEALED), LENGTHS)
    assert [f.key for f in findings if f.code == "fuse-access"] == ["P1"]


def test_a_deviation_is_logged() -> None:
    sizing, _, findings = sized(job(FEED, RADIO, OTHER, BACK, limits=[("max_drop_percent", 5.0)]), LENGTHS)
    [said] = [f for f in findings if f.code == "rule-deviation"]
    assert "the profile says 3" in said.message
    assert sizing.limit("max_drop_percent").deviation
    assert sizing.electrical["P2"].max_drop_percent == pytest.approx(5.0)


def test_assumed_returns_are_named() -> None:
    _, _, findings = sized(job(FEED, RADIO, OTHER, BACK, RADIO_BACK), LENGTHS)
    [said] = [f for f in findings if f.code == "return-assumed"]
    assert said.where == "cable P3"
    assert beside_name("P3") == "return beside P3"


# --- coax and bonds ----------------------------------------------------------------------


def test_coax_loss_by_hand() -> None:
    """5 m of a cable with 10 dB/100 m at 100 MHz, two connectors of 0.1 dB: 0.7 dB, 85.1 % left."""
    own = CableType(
        name="own", cable_class=CableClass.COAX, diameter_m=0.005, min_bend_radius_m=0.03,
        attenuation=((100.0, 10.0), (400.0, 20.0)),
    )  # fmt: skip
    sizing, _, findings = sized(job(jobs.coax("X", "", 100, own=own, watts=25)), {"X": 5.0})
    x = sizing.coax["X"]
    assert x.loss_db == pytest.approx(0.7)
    assert x.share_percent == pytest.approx(85.11, abs=0.01)
    assert x.watts_left == pytest.approx(21.28, abs=0.01)
    assert x.reflected_percent == pytest.approx(4 * 10**-0.14)
    assert x.open_percent == pytest.approx(100 * 10**-0.14)
    assert x.half_wave_m is None
    assert findings == []
    with_joint = sized(job(jobs.coax("X", "", 100, own=own)), {"X": 5.0}, joints={"X": 1})[0].coax["X"]
    assert with_joint.loss_db == pytest.approx(0.9)
    assert with_joint.connectors == 4


def test_coax_over_its_limit_surely_and_perhaps() -> None:
    for most, severity in ((0.8, Severity.ERROR), (1.1, Severity.WARNING), (2.0, None)):
        sizing, _, findings = sized(job(jobs.coax("X", "coax-58", 155, most=most)), {"X": 4.5})
        x = sizing.coax["X"]
        found = [f.severity for f in findings if f.code == "coax-loss"]
        assert found == ([] if severity is None else [severity])
        assert x.ok is (severity is None)
        assert x.low_db < x.loss_db < x.high_db


def test_coax_outside_the_tables_unknown_and_blind() -> None:
    _, _, findings = sized(job(jobs.coax("X", "coax-400", 2400)), {"X": 4.0})
    assert codes(findings) == ["coax-range"]
    sizing, _, findings = sized(job(jobs.coax("X", "satellite-position-coax", 155)), {"X": 4.0})
    assert codes(findings) == ["coax-unknown"]
    assert sizing.coax == {}
    _, _, findings = sized(job(jobs.coax("X", "coax-174", 460, most=20)), {"X": 11.0})
    assert codes(findings) == ["coax-blind"]


def test_bonds_are_short_and_of_little_resistance() -> None:
    """12 mm braid: 20 800 cmil for 19.05 mm gives 6.64 mm2; 0.15 m: 1.16/58/6.64 x 0.15 + 1 mohm."""

    def strap(width_m: float, length_m: float) -> tuple[Sizing, list[str]]:
        kind = CableType(name="s", cable_class=CableClass.BOND, diameter_m=width_m, min_bend_radius_m=0.02)
        cable = replace(jobs.coax("B", "coax-58", 1), cable_class=CableClass.BOND, type=kind, signal=None)
        sizing, _, findings = sized(job(cable), {"B": length_m})
        return sizing, codes(findings)

    sizing, said = strap(0.012, 0.15)
    assert said == []
    assert sizing.bonds["B"].ok
    assert sizing.bonds["B"].area_mm2 == pytest.approx(6.64, abs=0.01)
    assert sizing.bonds["B"].resistance_ohm == pytest.approx(0.001452, abs=2e-6)
    assert strap(0.012, 0.30)[1] == ["bond-long"]
    assert strap(0.002, 0.15)[1] == ["bond-resistance"]


def lost(why: tuple[str, ...]) -> tuple[float, list[float]]:
    """The drop that a reason states, and its pieces. [V]"""
    (said,) = [line for line in why if " lost at " in line]
    total, pieces = said.split(": ")
    return float(total.split(" V")[0]), [float(v) for v in re.findall(r"(\d+\.\d+) V", pieces)]


@pytest.mark.parametrize("with_return", [True, False])
def test_the_drop_adds_up_from_the_pieces_that_are_printed(with_return: bool) -> None:
    """Copper, ends, fuse, and the return where the job has none: to half a millivolt a piece."""
    back = [power("B", "radio.return", "battery.negative", 10, peak=14)] if with_return else []
    sizing, _, _ = sized(
        job(power("P", "battery.positive", "radio.power", 10, peak=14), *back), {"P": 3.0, "B": 3.0}
    )
    e = sizing.electrical["P"]
    total, pieces = lost(e.why)
    assert len(pieces) == (3 if with_return else 4)
    assert (e.return_length_m == 0.0) is with_return
    assert total == pytest.approx(e.peak_drop_v, abs=5.1e-4)
    assert sum(pieces) == pytest.approx(total, abs=5e-4 * 5)
    assert pieces[1] == pytest.approx(14 * 2 * 0.0005)


def test_a_size_that_grew_says_what_the_thinner_one_would_lose() -> None:
    own = power("P", "battery.positive", "radio.power", 10, peak=14)
    sizing, _, _ = sized(job(own), {"P": 6.0})
    (grown,) = [line for line in sizing.electrical["P"].why if line.startswith("grown to")]
    over, back, limit = (float(v) for v in re.findall(r"(\d+\.\d+) V", grown))
    assert limit == pytest.approx(0.36)
    assert over > limit >= sizing.electrical["P"].peak_drop_v
    assert back < over
    feed = power("P1", "battery.positive", "block.feed", 20, drop=9, type_name="wire-8awg-red")
    behind = power("P2", "block.out 1", "radio.power", 20, drop=9)
    sizing, _, _ = sized(job(feed, behind), {"P1": 6.0, "P2": 5.0})
    (grown,) = [line for line in sizing.electrical["P2"].why if "the whole way" in line]
    way, part, limit = (float(v) for v in re.findall(r"(\d+\.\d+) V", grown))
    assert "of it in P2" in grown
    assert way > limit == pytest.approx(1.2)
    assert part < way
