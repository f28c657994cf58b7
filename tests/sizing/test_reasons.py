"""Returns at their peak, what is lost in the body behind a strap, and reasons that name the right fuse."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routecut.model.job import Load
from routecut.sizing.ampacity import ampacity, bundle_factor
from routecut.sizing.conductors import thin_wall_conductor
from tests.sizing.jobs import device, job, power, sized

FEED = power("P1", "battery.positive", "block.feed", None, type_name="wire-4awg-red")
BIG = power("P2", "block.out 1", "radio.power", 10, peak=14)
SMALL = power("P3", "block.out 2", "second radio.power", 2, peak=3)
BACK = power("N1", "block.return", "battery.negative", None, type_name="wire-4awg-black")
LENGTHS = {"P1": 2.0, "P2": 2.0, "P3": 2.0, "N1": 2.0, "N2": 2.0, "N3": 2.0, "N0": 0.5}


def test_a_return_that_is_said_to_carry_more_carries_it_at_peak_as_well() -> None:
    """Current others send back through it: at duty 20 A, at peak 40."""
    own = power("N1", "radio.return", "battery.negative", None, type_name="wire-4awg-black")
    for back in (BACK, own):
        sizing, _, _ = sized(job(FEED, BIG, replace(back, load=Load(amps=20, peak_amps=40))), LENGTHS)
        assert sizing.electrical["N1"].amps == pytest.approx(20)
        assert sizing.electrical["N1"].peak_amps == pytest.approx(40)


def test_what_is_lost_in_the_body_is_told_without_the_strap_before_it() -> None:
    strap = power("N0", "battery.negative", "stud.lug", None, type_name="wire-4awg-black")
    other = device("rear stud", "lug", kind="earth stud")
    back = power("N1", "block.return", "rear stud.lug", None, type_name="wire-4awg-black")
    sizing, _, _ = sized(job(FEED, BIG, strap, back, devices=[other]), LENGTHS)
    (radio,) = [s for s in sizing.supplies if s.device == "radio"]
    body_ohm = sizing.limit("body_return_mohm").value / 1000.0
    assert radio.peak_body_v == pytest.approx(14 * body_ohm, rel=1e-9)
    assert radio.body_v == pytest.approx(10 * body_ohm, rel=1e-9)


def test_a_return_names_the_fuse_of_the_supply_it_leads_back_from() -> None:
    """Not the largest of the job."""
    backs = (
        power("N2", "radio.return", "block.return 1", 10, peak=14),
        power("N3", "second radio.return", "block.return", 2, peak=3),
    )
    sizing, _, _ = sized(job(FEED, BIG, SMALL, *backs, BACK), LENGTHS)
    for name, supply in (("N2", "P2"), ("N3", "P3")):
        fuse = sizing.electrical[supply].fuse
        assert fuse is not None
        asked = f"may carry the {fuse.rating_a:g} A that the fuse of {supply} lets through"
        assert any(asked in why for why in sizing.electrical[name].why), sizing.electrical[name].why


def test_what_nothing_on_offer_may_carry_is_said() -> None:
    hard = power("P2", "block.out 1", "radio.power", 900, peak=1000)
    sizing, _, _ = sized(job(FEED, hard, BACK), LENGTHS)
    said = sizing.electrical["P2"].why[0]
    assert said.startswith("nothing thicker than ")
    assert said.endswith(" is on offer")


def test_the_sharper_rule_for_bundles_reaches_what_a_conductor_may_carry() -> None:
    wire = thin_wall_conductor("4")
    for many in (1, 3, 5, 9):
        for sharper in (False, True):
            found = ampacity(wire, air_c=30.0, conductors=many, sharper=sharper)
            assert found.bundle_factor == bundle_factor(many, sharper=sharper)
    assert bundle_factor(5, sharper=True) < bundle_factor(5)


def test_a_feed_that_states_just_what_hangs_on_it_is_not_told_that_it_is_too_little() -> None:
    exact = replace(FEED, load=Load(amps=12, peak_amps=17))
    for feed, short in ((exact, False), (replace(FEED, load=Load(amps=12, peak_amps=16.9)), True)):
        _, _, findings = sized(job(feed, BIG, SMALL, BACK), LENGTHS)
        assert ("load-sum" in [f.code for f in findings]) is short
