"""Sizes of holes: bundles, plugs, grommets."""

from __future__ import annotations

import pytest

from routecut.drilling.size import Passing, fill_m, hole_size, passing_m, plug_of
from routecut.model.job import Cable as Cable_
from routecut.model.job import CableClass, CableType, Device, MadeUp, Port, Position
from tests.drilling.scenes import job_of

MM = 0.001


@pytest.mark.parametrize(("number", "ratio"), [(1, 1.3736), (2, 2.54), (3, 2.7386), (4, 3.1623)])
def test_the_hole_for_cables_by_the_fill_rule(number: int, ratio: float) -> None:
    """The ratios that follow from 53, 31 and 40 per cent."""
    assert fill_m([0.006] * number) == pytest.approx(0.006 * ratio, rel=1e-4)


def cable(*, ready_made: bool = False, made: tuple[MadeUp, MadeUp]) -> tuple[Cable_, Device]:
    ports = tuple(
        Port(device="box", name=n, position=Position(at_m=(0, 0, 0)), connector_diameter_m=d, made_up=m)
        for n, d, m in zip("ab", (0.022, 0.014), made, strict=True)
    )
    kind = CableType(name="t", cable_class=CableClass.DATA, diameter_m=0.006, min_bend_radius_m=0.02)
    return (
        Cable_(
            name="C",
            from_port="box.a",
            to_port="box.b",
            cable_class=CableClass.DATA,
            type=kind,
            ready_made=ready_made,
        ),
        Device(name="box", position=Position(at_m=(0, 0, 0)), space="above", ports=ports),
    )


def test_a_plug_has_to_pass_only_when_both_ends_have_theirs() -> None:
    """Then the smaller one leads."""
    for ready, made, plug in (
        (False, (MadeUp.BENCH, MadeUp.IN_VEHICLE), 0.0),
        (False, (MadeUp.BENCH, MadeUp.BENCH), 0.014),
        (True, (MadeUp.IN_VEHICLE, MadeUp.IN_VEHICLE), 0.014),
    ):
        wire, device = cable(ready_made=ready, made=made)
        assert plug_of(job_of(devices=(device,)), wire) == plug


def test_the_second_plug_passes_beside_the_first_cable() -> None:
    """16 mm plug first, then 14 mm beside its 6 mm cable: 20 mm; a bare cable comes last."""
    cables = [
        Passing(name="A", diameter_m=0.006, plug_m=0.016),
        Passing(name="B", diameter_m=0.005, plug_m=0.014),
        Passing(name="C", diameter_m=0.008),
    ]
    room, whose = passing_m(cables)
    assert room == pytest.approx(0.020)
    assert whose == "B"
    assert passing_m(cables[2:]) == (0.0, "")
    assert passing_m(cables[:1], in_use_m=0.010)[0] == pytest.approx(0.026)


def test_terminating_in_the_vehicle_is_the_alternative_with_its_size() -> None:
    """A 16 mm plug on a 6 mm cable: 16 mm clear; the cable alone needs 8.2 mm, so 10 mm will do."""
    size = hole_size(0.016, [Passing(name="C", diameter_m=0.006, plug_m=0.016)], thickness_m=0.001)
    assert size.needed_m == pytest.approx(0.016)
    assert "plug of C" in size.by
    assert size.alternative_m == pytest.approx(0.010)
    assert size.drill_m == pytest.approx(0.020)
    assert size.groove_m == 0.001
    bare = hole_size(0.016, [Passing(name="C", diameter_m=0.006)], thickness_m=0.001)
    assert bare.alternative == ""
    assert bare.bare_m == pytest.approx(0.006 + 2 * 0.009525)
