"""What is true of every route in every world, in worlds nobody has picked.

`--worlds N` goes through N of them instead of a few.

Source     straight lines, unfolded boxes (the spider and the fly: Dudeney, 1903), a flood fill: `known.py`
Circular?  No: what is expected comes from formulas and from the verifier, which shares no code with the search
"""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.properties.draws import MANY, ends, keep_outs, motions, rooms, sizes, square_motions, worlds
from tests.properties.known import fill_says_yes, unfolded
from tests.properties.rooms import FRONT, REAR, Ball, End, Hole, KeepOut, Laid, Motion, Rod, World, lay

SLACK = 0.005
"""Two plans of one world may differ by this share: their points along the panels do."""

SLACK_M = 0.003

TURNED = 0.05
"""The same where a world is turned or mirrored. Faces are sampled in the order of where they lie, so that neither
names nor the order of a file move anything; turned, the points along the panels fall elsewhere, and in rooms of
half a metre a way may come down to its sheet at another place (0.81 or 0.85 m was seen)."""

LEFT_TO_THE_VERIFIER = {"verify-span"}
"""The search reports bends it can't keep, but no span it could not make shorter: the verifier alone does."""


def least_m(world: World) -> float:
    """No route is shorter: straight from end to end, by way of the nearest hole where there is a wall."""
    a, b = np.array(world.start.at), np.array(world.end.at)
    if world.wall is None:
        return float(np.linalg.norm(b - a))
    holes = [np.array([world.wall, h.y, h.z]) for h in world.holes]
    # Through the hole means through some point of it, not its middle.
    return min(float(np.linalg.norm(h - a) + np.linalg.norm(b - h)) for h in holes) - max(
        h.diameter for h in world.holes
    )


@worlds(1)
@given(world=rooms())
def test_a_route_without_an_error_is_accepted_by_the_verifier(world: World) -> None:
    # Where a stiff cable has no room every other way is tried, for up to a minute: not in a run of a few worlds.
    assume(MANY or fill_says_yes(world, margin=0.07 + world.bend))
    laid = lay(world)
    if laid.route is None:
        assert [f.code for f in laid.errors] == ["no-route"]
        return
    assert laid.length_m >= least_m(world) - 1e-6
    if laid.errors:
        return
    assert laid.verified is not None
    assert [f for f in laid.verified.findings if f.code not in LEFT_TO_THE_VERIFIER] == []
    # The chords that are handed over are what is said to be their length, from end to end.
    points = laid.route.points_m
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).sum() == pytest.approx(laid.length_m, abs=1e-9)
    assert math.dist(points[0], world.start.at) < 1e-6
    assert math.dist(points[-1], world.end.at) < 1e-6
    assert [p.from_space for p in laid.route.passages] == [FRONT] * (world.wall is not None)
    assert laid.route.spaces == tuple(name for name, _, _ in world.rooms)


@worlds(1)
@given(world=rooms(supple=True))
def test_where_a_flood_fill_gets_through_a_supple_cable_has_a_route(world: World) -> None:
    assume(fill_says_yes(world, margin=0.07))
    laid = lay(world)
    assert laid.route is not None
    assert "no-route" not in [f.code for f in laid.findings]


@st.composite
def bare_rooms(draw: st.DrawFn) -> World:
    """One room, a thread of a cable that follows the walls, nothing in its way."""
    size = draw(sizes())
    return World(
        size=size,
        start=draw(ends((0, 0, 0), size, 0.006, lead=False)),
        end=draw(ends((0, 0, 0), size, 0.006, lead=False)),
        diameter=0.002,
        bend=0.004,
        stand_off=0.006,
        bridge=0.0,
    )


@worlds(0.75)
@given(world=bare_rooms())
def test_in_a_bare_room_the_route_is_as_long_as_the_shortest_unfolding(world: World) -> None:
    assume(math.dist(world.start.at, world.end.at) > 0.25)
    laid = lay(world)
    assert laid.done
    exact, edges = min(unfolded(world.size, world.start.at, world.end.at, world.stand_off))
    # Each bend over an edge saves at most 2 - pi/2 of its radius; too short is the dangerous side.
    assert laid.length_m >= exact * 0.998 - edges * 0.43 * world.bend
    # Another way round that is hardly longer is no fault.
    assert laid.length_m <= exact * 1.01


def same_length(world: World, motion: Motion) -> None:
    here, there = lay(world), lay(world.moved(motion))
    # Where one of two runs fails at a bend, lengths are of different ways: nothing to compare.
    assume(here.done and there.done)
    as_long(world, here, there)


def as_long(world: World, here: Laid, there: Laid) -> None:
    """That a world and the same one moved have routes of one length, through the same holes but for a tie."""
    assert here.route is not None
    assert there.route is not None
    assert there.length_m == pytest.approx(here.length_m, rel=TURNED, abs=SLACK_M)
    own, other = ([p.name for p in laid.route.passages] for laid in (here, there) if laid.route is not None)
    if own != other:
        # Only of two holes between which there is nothing to choose: without its own it is no longer here either.
        tied = lay(replace(world, cable_more=f"{world.cable_more}avoid = {json.dumps(own)}\n"))
        assert tied.done
        assert tied.length_m == pytest.approx(here.length_m, rel=TURNED, abs=SLACK_M)


@worlds(0.4)
@given(world=rooms(supple=True, divided=True, keep_out_count=1), motion=square_motions())
def test_a_world_turned_by_right_angles_mirrored_and_shifted_has_routes_as_long(
    world: World, motion: Motion
) -> None:
    same_length(world, motion)


@worlds(0.4)
@given(world=rooms(supple=True, divided=False, keep_out_count=1, round_only=True), motion=motions())
def test_a_room_turned_anyhow_has_routes_as_long(world: World, motion: Motion) -> None:
    assert all(isinstance(k, Ball | Rod) for k in world.keep_outs)
    # The box of the space is grown round the turned room: more than it could be trusted for without its seed.
    same_length(world, motion)


@worlds(0.5)
@given(data=st.data())
def test_one_more_keep_out_never_makes_a_cable_shorter(data: st.DataObject) -> None:
    world = data.draw(rooms(supple=True, keep_out_count=1))
    more: KeepOut = data.draw(keep_outs(world.size))
    at = np.array([world.start.at, world.end.at])
    assume(more.distance(at).min() > more.clearance + world.diameter / 2 + world.bend + 0.02)
    free = lay(world)
    assume(free.done)
    kept = lay(replace(world, keep_outs=(*world.keep_outs, more)))
    if not kept.done:
        return
    assert kept.length_m >= free.length_m * (1 - SLACK) - SLACK_M


@worlds(0.5)
@given(world=rooms(supple=True, divided=True))
def test_without_its_holes_there_is_no_route_and_the_space_is_named(world: World) -> None:
    laid = lay(replace(world, holes=()))
    assert laid.route is None
    (finding,) = laid.errors
    assert finding.code == "no-route"
    if "nothing a cable can be clipped to" not in finding.message:
        assert f'can\'t leave "{FRONT}"' in finding.message
        assert f'a pass-through from "{FRONT}" to "{REAR}"' in finding.message


def test_of_two_holes_as_near_a_turned_world_may_take_the_other() -> None:
    """Found by thousands of worlds: two holes of one diameter 41 mm apart, both as long within a per cent."""
    holes = (Hole(y=0.1265, z=0.12, diameter=0.025), Hole(y=0.1346, z=0.08, diameter=0.025))
    world = World(
        size=(0.938, 0.45, 0.4),
        start=End(at=(0.09132, 0.0675, 0.39), leaves=None),
        end=End(at=(0.928, 0.0675, 0.06), leaves=None),
        wall=0.6088,
        holes=holes,
        window=(0.09, 0.26, 0.15, 0.32),
        keep_outs=(Ball(at=(0.0, 0.0, 0.0), radius=0.02, clearance=0.0),),
        diameter=0.002,
        bend=0.002,
        stand_off=0.01,
        bridge=0.3,
        cells=5,
    )
    here, there = lay(world), lay(world.moved(Motion(turn=-np.eye(3))))
    assert here.done
    assert there.done
    as_long(world, here, there)
