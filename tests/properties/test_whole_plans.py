"""What a whole plan may not depend on, in worlds at random: the units of a job, and the order of its tables.

`--worlds N` goes through as many as it says, each test through a quarter. Two cables through one wall.

Circular?  No: one plan is held against another, both through the doors that a job folder comes through
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from routecut.planning import make_plan
from tests.properties import written
from tests.properties.draws import ends, rooms, worlds
from tests.properties.known import fill_says_yes
from tests.properties.rooms import FRONT, REAR, Motion, World, text

SLACK = 0.005
"""Two plans of one world may differ by this share: their points along the panels do."""

SLACK_M = 0.003

CUT_STEP_M = 0.05
"""Cut lengths are rounded up to this: one step is the least by which two that straddle it differ."""

Change = Callable[[Path], None]


@dataclass(frozen=True, kw_only=True)
class Told:
    """What a plan says of its cables, in the order of `CABLES`."""

    lengths_m: tuple[float, ...]
    cuts_m: tuple[float, ...]
    holes: tuple[tuple[str, ...], ...]
    drilled: int
    sound: bool


HOLE_COST_M = 0.4


def plan(world: World, change: Change = lambda folder: None) -> Told | None:
    """The whole plan of a world, its job changed; None where a cable has no route."""
    with tempfile.TemporaryDirectory() as place:
        world.write(Path(place))
        change(Path(place))
        planned, _ = make_plan(place)
    cables = sorted(planned.cables, key=lambda c: (c.cable.type.diameter_m, c.cable.from_port[:1] < "b"))
    if any(c.route is None or c.cut is None for c in cables):
        return None
    return Told(
        lengths_m=tuple(c.route.length_m for c in cables if c.route is not None),
        cuts_m=tuple(c.cut.length_m for c in cables if c.cut is not None),
        holes=tuple(tuple(p.name for p in c.route.passages) for c in cables if c.route is not None),
        drilled=sum(hole.drill for hole in planned.holes),
        sound=all(c.verified is not None and c.verified.ok for c in cables)
        and not any(f.code in {"bend-not-kept", "span-not-kept"} for f in planned.findings),
    )


@st.composite
def pairs(draw: st.DrawFn) -> World:
    """Two rooms with a wall, and two cables that go through it: the second is thinner, and goes back."""
    world = draw(rooms(supple=True, divided=True, keep_out_count=1, window=False))
    world = replace(world, loose=0.0)
    wall = world.wall or 0.0
    there = draw(
        ends((0, 0, 0), (wall, world.size[1], world.size[2]), world.stand_off, skip=((0, 1),), lead=False)
    )
    back = draw(ends((wall, 0, 0), world.size, world.stand_off, skip=((0, 0),), lead=False))
    free = replace(world, start=there, end=back)
    assume(fill_says_yes(world, margin=0.07) and fill_says_yes(free, margin=0.07))
    return replace(world, more=second(world, there.at, back.at, Motion()))


def second(world: World, there: object, back: object, move: Motion) -> str:
    """The lines of a job for the second cable."""
    lines = [
        f'[[device]]\nname = "{name}"\nat = {text(move(at))}\nspace = "{space}"\n'
        f'[[device.port]]\nname = "q"\nat = {text(move(at))}'
        for name, at, space in (("c", there, FRONT), ("d", back, REAR))
    ]
    return "\n".join(
        [
            *lines,
            '[[cable_type]]\nname = "u"\nclass = "data"\ndiameter = 0.0015\nmin_bend_radius = 0.002',
            '[[cable]]\nname = "D"\nfrom = "d.q"\nto = "c.q"\ntype = "u"',
            f"[drilling]\nhole_cost = {HOLE_COST_M}",
        ]
    )


def agree(one: Told | None, other: Told | None) -> None:
    """The same lengths within the accuracy, and as many holes drilled."""
    assume(one is not None and other is not None)
    assert one is not None
    assert other is not None
    assume(one.sound and other.sound)
    assert other.lengths_m == pytest.approx(one.lengths_m, rel=SLACK, abs=SLACK_M)
    for a, b in zip(one.cuts_m, other.cuts_m, strict=True):
        assert abs(a - b) <= CUT_STEP_M + SLACK * a
    assert other.drilled == one.drilled


@worlds(0.25)
@given(world=pairs(), unit=st.sampled_from(("mm", "cm", "in", "ft")))
def test_in_other_units_a_job_has_the_same_plan(world: World, unit: str) -> None:
    here, there = plan(world), plan(world, lambda folder: written.in_unit(folder, unit))
    agree(here, there)
    assert here is not None
    assert there is not None
    assert there.holes == here.holes


@worlds(0.25)
@given(world=pairs())
def test_in_another_order_a_job_has_the_same_plan(world: World) -> None:
    here, there = plan(world), plan(world, written.reordered)
    agree(here, there)
    assert here is not None
    assert there is not None
    assert there.lengths_m == here.lengths_m  # nothing of it is read in the order of the file
    assert there.holes == here.holes


@worlds(0.25)
@given(world=pairs())
def test_by_other_names_of_the_parts_of_its_mesh_a_job_has_the_same_plan(world: World) -> None:
    here, there = plan(world), plan(world, written.parts_renamed)
    agree(here, there)
    assert here is not None
    assert there is not None
    assert there.lengths_m == here.lengths_m  # no name has a say in where the panels are sampled
    assert there.holes == here.holes
