"""What a whole plan may not depend on, and which way it may move, in worlds at random.

Units, order and names say nothing about where a cable lies; one more hole can only help; one more keep-out and a
thicker cable can only hinder. `--worlds N` goes through as many as it says, each test through a part of them. Two
cables through one wall.

Circular?  No: one plan is held against another, both through the doors that a job folder comes through
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from routecut.drilling.choice import SIZE_FEE
from routecut.planning import make_plan
from tests.properties import written
from tests.properties.draws import MANY, ends, keep_outs, mm, rooms, square_motions, worlds
from tests.properties.known import fill_says_yes
from tests.properties.rooms import FRONT, REAR, Hole, KeepOut, Motion, World, text

SLACK = 0.005
"""Two plans of one world may differ by this share: their points along the panels do."""

SLACK_M = 0.003

TURNED = 0.08
"""The same where a world is turned or mirrored, see `test_worlds_at_random`: a little more, since the second cable
joins the line of the first, to steps of 20 mm, in rooms of half a metre (0.79 and 0.83 m was seen)."""

CUT_STEP_M = 0.05
"""Cut lengths are rounded up to this: one step is the least by which two that straddle it differ."""

Change = Callable[[Path], None]


@dataclass(frozen=True, kw_only=True)
class Told:
    """What a plan says of its cables, the thinnest first."""

    lengths_m: tuple[float, ...]
    cuts_m: tuple[float, ...]
    holes: tuple[tuple[str, ...], ...]
    drilled: int
    cost_m: float
    sound: bool


HOLE_COST_M = 0.4


def as_it_is(folder: Path) -> None:
    """No change."""


def plan(world: World, change: Change = as_it_is) -> Told | None:
    """The whole plan of a world, its job changed; None where a cable has no route."""
    with tempfile.TemporaryDirectory() as place:
        world.write(Path(place))
        change(Path(place))
        planned, _ = make_plan(place)
    cables = sorted(planned.cables, key=lambda c: c.cable.type.diameter_m)
    if any(c.route is None or c.cut is None for c in cables):
        return None
    lengths_m = tuple(c.route.length_m for c in cables if c.route is not None)
    new = [hole.pass_through for hole in planned.holes if hole.drill]
    return Told(
        lengths_m=lengths_m,
        cuts_m=tuple(c.cut.length_m for c in cables if c.cut is not None),
        holes=tuple(tuple(p.name for p in c.route.passages) for c in cables if c.route is not None),
        drilled=len(new),
        cost_m=sum(lengths_m) + sum(HOLE_COST_M + SIZE_FEE * hole.diameter_m for hole in new),
        sound=all(c.verified is not None and c.verified.ok for c in cables)
        and not any(f.code in {"bend-not-kept", "span-not-kept"} for f in planned.findings),
    )


@dataclass(frozen=True, kw_only=True)
class Pair:
    """Two rooms with a wall, and two cables through it: the second is thinner, and goes back."""

    world: World
    there: tuple[float, float, float]
    back: tuple[float, float, float]

    def moved(self, motion: Motion) -> World:
        """The world moved, with both cables."""
        return replace(self.world, more=second(self.there, self.back, motion)).moved(motion)


@st.composite
def pairs(draw: st.DrawFn) -> Pair:
    """A pair both of whose cables have a way."""
    world = draw(rooms(supple=True, divided=True, keep_out_count=1, window=False))
    world = replace(world, loose=0.0)
    wall = world.wall or 0.0
    there = draw(
        ends((0, 0, 0), (wall, world.size[1], world.size[2]), world.stand_off, skip=((0, 1),), lead=False)
    )
    back = draw(ends((wall, 0, 0), world.size, world.stand_off, skip=((0, 0),), lead=False))
    free = replace(world, start=there, end=back)
    assume(fill_says_yes(world, margin=0.07) and fill_says_yes(free, margin=0.07))
    more = second(there.at, back.at, Motion())
    return Pair(world=replace(world, more=more), there=there.at, back=back.at)


def second(there: object, back: object, move: Motion) -> str:
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


# --- what it does not depend on ----------------------------------------------------------------


def agree(one: Told | None, other: Told | None, *, share: float = SLACK) -> None:
    """The same lengths within the accuracy, the same holes, and as many of them drilled."""
    assume(one is not None and other is not None)
    assert one is not None
    assert other is not None
    assume(one.sound and other.sound)
    assert other.lengths_m == pytest.approx(one.lengths_m, rel=share, abs=SLACK_M)
    for a, b in zip(one.cuts_m, other.cuts_m, strict=True):
        assert abs(a - b) <= CUT_STEP_M + share * a
    assert other.drilled == one.drilled
    assert other.holes == one.holes


FAR_MM: Final = 1234
"""The shift that is tried first, where few worlds are: the simplest would be none."""


@worlds(0.125)
@given(
    pair=pairs(),
    shift=st.tuples(*[mm(-5000, 5000).map(lambda v: v + FAR_MM / 1000)] * 3),
    unit=st.sampled_from(("in", "mm", "cm", "ft", "m")),
)
def test_moved_by_a_vector_and_in_other_units_a_job_has_the_same_plan(
    pair: Pair, shift: tuple[float, ...], unit: str
) -> None:
    moved = pair.moved(Motion(shift=np.array(shift)))
    agree(plan(pair.world), plan(moved, lambda folder: written.in_unit(folder, unit)))


@worlds(0.125)
@given(pair=pairs(), motion=square_motions())
def test_turned_by_right_angles_or_mirrored_a_job_has_the_same_plan(pair: Pair, motion: Motion) -> None:
    agree(plan(pair.world), plan(pair.moved(motion)), share=TURNED)


def all_at_once(folder: Path) -> None:
    """In another order, and everything by another name."""
    for change in WRITTEN_OTHERWISE:
        change(folder)


WRITTEN_OTHERWISE: Final = (written.reordered, written.parts_renamed, written.renamed)


@pytest.mark.parametrize("change", WRITTEN_OTHERWISE if MANY else [all_at_once])
@worlds(0.125)
@given(pair=pairs())
def test_in_another_order_or_by_other_names_a_job_has_the_same_plan(change: Change, pair: Pair) -> None:
    here, there = plan(pair.world), plan(pair.world, change)
    agree(here, there)
    assert here is not None
    assert there is not None
    assert there.lengths_m == here.lengths_m  # neither order nor names have a say in where anything lies


# --- which way it may move ---------------------------------------------------------------------


@st.composite
def more_holes(draw: st.DrawFn, pair: Pair) -> Hole:
    """One more hole in the wall, there already or to be drilled."""
    size, first = pair.world.size, pair.world.holes[0]
    return Hole(
        y=round(draw(mm(150, 850)) * size[1], 4),
        z=round(draw(mm(150, 850)) * size[2], 4),
        diameter=first.diameter,
        more=draw(st.sampled_from(("", 'state = "candidate"\n'))),
    )


def cheaper(one: Told | None, other: Told | None) -> None:
    """`other` costs no more than `one`, beyond the accuracy."""
    assume(one is not None and one.sound)
    assert one is not None
    assert other is not None
    assume(other.sound)
    assert other.cost_m <= one.cost_m * (1 + SLACK) + len(one.lengths_m) * SLACK_M


@worlds(0.125)
@given(data=st.data())
def test_one_more_hole_never_makes_a_plan_dearer(data: st.DataObject) -> None:
    pair = data.draw(pairs())
    hole: Hole = data.draw(more_holes(pair))
    cheaper(plan(pair.world), plan(replace(pair.world, holes=(*pair.world.holes, hole))))


@worlds(0.125)
@given(data=st.data())
def test_one_more_keep_out_never_makes_a_plan_cheaper(data: st.DataObject) -> None:
    pair = data.draw(pairs())
    more: KeepOut = data.draw(keep_outs(pair.world.size))
    at = np.array([pair.world.start.at, pair.world.end.at, pair.there, pair.back])
    assume(more.distance(at).min() > more.clearance + pair.world.diameter / 2 + pair.world.bend + 0.02)
    kept = plan(replace(pair.world, keep_outs=(*pair.world.keep_outs, more)))
    assume(kept is not None)
    cheaper(kept, plan(pair.world))


@worlds(0.125)
@given(pair=pairs(), factor=st.sampled_from((1.25, 1.5, 2.0)))
def test_a_thicker_cable_never_makes_a_plan_cheaper(pair: Pair, factor: float) -> None:
    """As supple as the thin one: one that is stiffer cuts corners, and may be shorter."""
    diameter = round(factor * pair.world.diameter, 6)
    assume(diameter < 2 * pair.world.stand_off and diameter <= 2 * pair.world.bend)
    thick = plan(replace(pair.world, diameter=diameter))
    assume(thick is not None)
    cheaper(thick, plan(pair.world))
