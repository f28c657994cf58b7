"""What must hold whatever the job: thicker, longer, hotter, more; nothing too thin; fuses."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.model.finding import Severity
from routecut.model.fitout import Stock
from routecut.model.job import CableClass, Job, Polarity
from routecut.model.sizing import Conductor, Sizing
from routecut.sizing.ampacity import ampacity, bundle_factor, copper_c, heat_factor, table_a
from routecut.sizing.conductors import conductor_of, resistance_ohm, sae_conductor
from routecut.sizing.offers import offered_sizes
from routecut.sizing.protection import ratings
from routecut.tables import cable_types
from tests.sizing import jobs

GAUGES = ("18", "16", "14", "12", "10", "8", "6", "4", "2", "1", "1/0", "2/0")
AMPS = st.floats(0.5, 60.0)
METRES = st.floats(0.3, 12.0)
QUICK = settings(max_examples=40, deadline=None)


def one_lead(amps: float, length_m: float, type_name: str = "", **given: float) -> Sizing:
    made = jobs.job(
        jobs.power(
            "P1", "battery.positive", "radio.power", amps, peak=given.pop("peak", 0.0), type_name=type_name
        ),
        limits=[*given.items()],
    )
    return jobs.sized(made, {"P1": length_m})[0]


@QUICK
@given(AMPS, METRES, st.floats(1.0, 3.0), st.sampled_from(GAUGES))
def test_longer_never_drops_less(amps: float, length_m: float, factor: float, gauge: str) -> None:
    wire = f"wire-{gauge}awg-red"
    short, long = one_lead(amps, length_m, wire), one_lead(amps, length_m * factor, wire)
    assert long.electrical["P1"].drop_v >= short.electrical["P1"].drop_v * (1 - 1e-12)


@QUICK
@given(AMPS, METRES, st.floats(1.0, 3.0), st.sampled_from(GAUGES))
def test_more_current_never_drops_less(amps: float, length_m: float, factor: float, gauge: str) -> None:
    """Over the copper and its ends; a larger fuse has less resistance of its own, so it is left out."""
    wire = f"wire-{gauge}awg-red"
    low = one_lead(amps, length_m, wire, fuse_drop_mv=0.0)
    high = one_lead(amps * factor, length_m, wire, fuse_drop_mv=0.0)
    assert high.electrical["P1"].drop_v >= low.electrical["P1"].drop_v * (1 - 1e-12)


@QUICK
@given(AMPS, METRES, st.floats(30.0, 50.0), st.sampled_from(GAUGES))
def test_hotter_never_drops_less_and_never_carries_more(
    amps: float, length_m: float, air_c: float, gauge: str
) -> None:
    wire = f"wire-{gauge}awg-red"
    cool, hot = one_lead(amps, length_m, wire), one_lead(amps, length_m, wire, ambient_c=air_c)
    assert hot.electrical["P1"].drop_v >= cool.electrical["P1"].drop_v * (1 - 1e-12)
    assert hot.electrical["P1"].ampacity.allowed_a <= cool.electrical["P1"].ampacity.allowed_a


@QUICK
@given(AMPS, METRES, st.integers(0, len(GAUGES) - 2))
def test_thicker_never_drops_more_and_never_carries_less(amps: float, length_m: float, at: int) -> None:
    thin, thick = (one_lead(amps, length_m, f"wire-{g}awg-red") for g in GAUGES[at : at + 2])
    assert thick.electrical["P1"].drop_v <= thin.electrical["P1"].drop_v
    assert thick.electrical["P1"].ampacity.allowed_a >= thin.electrical["P1"].ampacity.allowed_a


@given(st.integers(1, 60), st.booleans())
def test_a_larger_bundle_never_carries_more(conductors: int, sharper: bool) -> None:
    assert bundle_factor(conductors + 1, sharper=sharper) <= bundle_factor(conductors, sharper=sharper)


@given(
    st.sampled_from((60.0, 75.0, 80.0, 90.0, 105.0, 125.0, 200.0)), st.floats(0.0, 58.0), st.floats(0.0, 1.0)
)
def test_warmer_air_never_allows_more(insulation_c: float, air_c: float, more: float) -> None:
    assert heat_factor(insulation_c, air_c + more) <= heat_factor(insulation_c, air_c) <= 1.0


@given(st.floats(0.05, 150.0), st.floats(1.0, 2.0), st.sampled_from((60.0, 80.0, 105.0, 200.0)))
def test_more_copper_is_never_allowed_less(area_mm2: float, factor: float, insulation_c: float) -> None:
    assert table_a(area_mm2 * factor, insulation_c) >= table_a(area_mm2, insulation_c) * (1 - 1e-12)


@given(st.floats(0.0, 500.0), st.sampled_from(GAUGES), st.integers(1, 30))
def test_copper_stays_between_air_and_insulation(amps: float, gauge: str, conductors: int) -> None:
    conductor = sae_conductor(gauge, insulation_c=80)
    allowed = ampacity(conductor, air_c=50, conductors=conductors)
    assert 50 <= copper_c(conductor, allowed, amps) <= 80
    assert resistance_ohm(1.0, 1.0, copper_c(conductor, allowed, amps)) >= resistance_ohm(1.0, 1.0, 50)


LOADS = st.tuples(st.floats(0.2, 25.0), st.floats(1.0, 2.5), st.floats(0.3, 6.0))


@st.composite
def supplies(draw: st.DrawFn) -> tuple[Job, dict[str, float]]:
    """A feed to a block and two radios on it, all sizes open; a return or none."""
    first, second = draw(LOADS), draw(LOADS)
    cables = [
        jobs.power("feed", "battery.positive", "block.feed", None),
        jobs.power("first", "block.out 1", "radio.power", first[0], peak=first[0] * first[1]),
        jobs.power("second", "block.out 2", "second radio.power", second[0], peak=second[0] * second[1]),
    ]
    lengths = {"feed": draw(METRES), "first": first[2], "second": second[2]}
    if draw(st.booleans()):
        cables.append(jobs.power("back", "block.return", "stud.lug", None))
        lengths["back"] = draw(st.floats(0.2, 3.0))
    profile = draw(st.sampled_from(("common practice", "small craft", "both leads fused")))
    return jobs.job(*cables, profile=profile), lengths


@QUICK
@given(supplies())
def test_every_limit_is_held_or_said_to_be_broken(case: tuple[Job, dict[str, float]]) -> None:
    sizing, picked, findings = jobs.sized(*case)
    broken = {f.key for f in findings if f.severity is Severity.ERROR}
    for name, cable in sizing.electrical.items():
        assert picked[name].name == cable.type_name
        if cable.fuse is not None:
            assert cable.fuse.rating_a >= max(1.25 * cable.amps, cable.peak_amps) * (1 - 1e-9)
            assert cable.fuse.rating_a in {amps for amps, _, _ in ratings()}
        if name in broken:  # only where nothing thicker is to be had
            assert picked[name].name.startswith("wire-2/0awg")
            continue
        assert cable.ok
        assert cable.peak_drop_percent <= cable.max_drop_percent * (1 + 1e-9)
        assert cable.ampacity.allowed_a >= cable.peak_amps * (1 - 1e-9)
        if cable.fuse is not None:
            assert cable.fuse.rating_a <= cable.ampacity.allowed_a * (1 + 1e-9)
    total_broken = any(f.where.startswith("device") for f in findings)
    assert total_broken or all(s.ok for s in sizing.supplies)


@QUICK
@given(supplies())
def test_the_feed_carries_the_sum_of_its_branches(case: tuple[Job, dict[str, float]]) -> None:
    sizing, _, _ = jobs.sized(*case)
    feed, first, second = (sizing.electrical[n] for n in ("feed", "first", "second"))
    assert feed.amps == pytest.approx(first.amps + second.amps)
    assert feed.peak_amps == pytest.approx(first.peak_amps + second.peak_amps)
    if "back" in sizing.electrical:
        assert sizing.electrical["back"].amps == pytest.approx(feed.amps)


@QUICK
@given(supplies())
def test_what_a_device_loses_is_the_sum_along_its_way(case: tuple[Job, dict[str, float]]) -> None:
    sizing, _, _ = jobs.sized(*case)
    for supply, branch in (("radio", "first"), ("second radio", "second")):
        found = next(s for s in sizing.supplies if s.device == supply)
        way = sizing.electrical["feed"].peak_drop_v + sizing.electrical[branch].peak_drop_v
        body_v = 0.0
        if "back" in sizing.electrical:
            feed = sizing.electrical["feed"]
            body_v = feed.peak_amps * 0.005  # the body: 5 mohm
            way += sizing.electrical["back"].peak_drop_v + body_v
        assert found.peak_drop_v == pytest.approx(way, rel=1e-9)
        assert found.peak_volts == pytest.approx(13.6 - way, rel=1e-9)
        assert found.peak_body_v == pytest.approx(body_v, rel=1e-9)


@QUICK
@given(AMPS, METRES)
def test_one_size_thinner_would_not_hold(amps: float, length_m: float) -> None:
    """The size picked is never less than needed, and no more than that."""
    sizing = one_lead(amps, length_m)
    cable = sizing.electrical["P1"]
    if not cable.ok or not all(s.ok for s in sizing.supplies):
        return
    thickest = max(c.area_mm2 for n, c in _named_conductors() if "mm2" in n)
    offered = {
        c.area_mm2: n
        for n, c in _named_conductors()
        if c.area_mm2 >= 0.75 and ("mm2" in n or c.area_mm2 > thickest)
    }  # a job in mm
    below = [a for a in sorted(offered) if a < cable.conductor.area_mm2 * (1 - 1e-6)]
    if not below:
        return
    thinner = offered[below[-1]]
    again = one_lead(amps, length_m, thinner).electrical["P1"]
    assert not again.ok


def _named_conductors() -> list[tuple[str, Conductor]]:
    found = []
    for name, cable_type in cable_types().items():
        if cable_type.cable_class is CableClass.POWER and not name.endswith("black"):
            conductor = conductor_of(cable_type, insulation_c=80)
            assert conductor is not None
            found.append((name, conductor))
    return found


@pytest.mark.parametrize(
    ("unit", "stock", "first", "then"),
    [("mm", (), "mm2", "awg"), ("in", (), "awg", ""), ("mm", ("wire-8awg-red",), "awg", ""),
     ("in", ("wire-6mm2-red",), "mm2", "")],
)  # fmt: skip
def test_wires_are_offered_as_they_are_sold_where_the_tape_has_that_unit(
    unit: str, stock: tuple[str, ...], first: str, then: str
) -> None:
    """What stock or another cable names goes before; past the thickest by mm2 the thicker ones by gauge follow."""
    job = replace(jobs.job(), cables=(), length_unit=unit, stock=tuple(Stock(type=name) for name in stock))
    names = [
        cable_type.name
        for cable_type, _ in offered_sizes(
            job, Polarity.POSITIVE, within=None, insulation_c=80, least_mm2=0.75
        )
    ]
    kinds = [first if first in name else then if then and then in name else "other" for name in names]
    change = kinds.index(then) if then else len(kinds)
    assert set(kinds[:change]) == {first}
    assert set(kinds[change:]) <= {then}
    assert bool(kinds[change:]) == bool(then)


@QUICK
@given(AMPS, METRES)
def test_more_load_never_means_thinner_wire(amps: float, length_m: float) -> None:
    low, high = one_lead(amps, length_m), one_lead(amps * 1.3, length_m)
    assert high.electrical["P1"].least_fuse_a >= low.electrical["P1"].least_fuse_a
    if high.electrical["P1"].ok and low.electrical["P1"].ok:
        assert high.electrical["P1"].conductor.area_mm2 >= low.electrical["P1"].conductor.area_mm2 * 0.999
