"""What hypothesis may draw: rooms, keep-outs, cables, motions.

Figures are drawn in whole millimetres, so that a world that fails can be read and built again.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
from hypothesis import Phase, assume, settings
from hypothesis import strategies as st

from tests.properties.rooms import Ball, Block, End, Hole, KeepOut, Motion, Rod, Vec, World, vec

WORLDS = settings.get_profile("worlds")
"""Registered by `conftest.py`, for which `--worlds` says how many."""


MANY = Phase.shrink in WORLDS.phases
"""Whether `--worlds` was given."""


def worlds(share: float) -> settings:
    """Settings for a test that runs a share of the worlds asked for."""
    return settings(WORLDS, max_examples=max(1, round(share * WORLDS.max_examples)))


MOST_BEND_M = 0.05
"""A quarter turn and back needs four of it: there is no room for more in these rooms."""

APART_M = 0.25
"""Between the two ends in one room: a stiff cable can't turn from one connector into another beside it."""


END_ROOM_M = 0.005
"""What a port has beyond the clearance its cable needs."""


def mm(low: int, high: int) -> st.SearchStrategy[float]:
    return st.integers(low, high).map(lambda v: v / 1000)


@st.composite
def sizes(draw: st.DrawFn) -> Vec:
    return (draw(mm(600, 1300)), draw(mm(450, 800)), draw(mm(400, 700)))


@st.composite
def ends(
    draw: st.DrawFn, low: Vec, high: Vec, stand_off: float, *, skip: tuple[Any, ...] = (), lead: bool = True
) -> End:
    """A port at the stand-off of one of the faces of a room (not one of `skip`), away from its edges."""
    faces = [(axis, side) for axis in range(3) for side in (0, 1) if (axis, side) not in skip]
    axis, side = draw(st.sampled_from(faces))
    at = [low[k] + draw(mm(150, 850)) * (high[k] - low[k]) for k in range(3)]
    at[axis] = (low[axis] + stand_off) if side == 0 else (high[axis] - stand_off)
    leaves = None
    if lead and draw(st.booleans()):
        along = [0.0, 0.0, 0.0]
        along[draw(st.sampled_from([k for k in range(3) if k != axis]))] = draw(st.sampled_from([-1.0, 1.0]))
        leaves = vec(along)
    return End(at=vec(at), leaves=leaves)


@st.composite
def keep_outs(draw: st.DrawFn, size: Vec, *, round_only: bool = False) -> KeepOut:
    """A ball, rod or block anywhere in the room, its clearance included never larger than a third of it."""
    kind = draw(st.sampled_from(["ball", "rod"] if round_only else ["ball", "rod", "block"]))
    at = vec(draw(mm(0, 1000)) * s for s in size)
    clearance = draw(mm(0, 50))
    if kind == "ball":
        return Ball(at=at, radius=draw(mm(20, 120)), clearance=clearance)
    if kind == "rod":
        along = [0.0, 0.0, 0.0]
        along[draw(st.integers(0, 2))] = draw(mm(100, 600))
        return Rod(
            start=at,
            end=vec(a + b for a, b in zip(at, along, strict=True)),
            radius=draw(mm(10, 80)),
            clearance=clearance,
        )
    half = [draw(mm(20, 150)) for _ in range(3)]
    return Block(
        low=vec(a - b for a, b in zip(at, half, strict=True)),
        high=vec(a + b for a, b in zip(at, half, strict=True)),
        clearance=clearance,
    )


@st.composite
def cables(draw: st.DrawFn, *, supple: bool = False) -> dict[str, float]:
    """Diameter, bend radius, stand-off and bridge of a world."""
    diameter = draw(mm(2, 6 if supple else 15))
    factor = draw(st.sampled_from((1, 2, 4) if supple else (4, 6, 10)))
    return {
        "diameter": diameter,
        "bend": round(max(diameter / 2, min(factor * diameter, MOST_BEND_M)), 6),
        "stand_off": draw(mm(10, 18)),
        "bridge": draw(st.sampled_from((0.3, 0.45, 0.6))),
    }


@st.composite
def rooms(
    draw: st.DrawFn,
    *,
    divided: bool | None = None,
    keep_out_count: int = 2,
    supple: bool = False,
    round_only: bool = False,
    window: bool = True,
) -> World:
    """A world of one or two rooms."""
    size = draw(sizes())
    cable = draw(cables(supple=supple))
    two = draw(st.booleans()) if divided is None else divided
    out = tuple(
        draw(keep_outs(size, round_only=round_only)) for _ in range(draw(st.integers(0, keep_out_count)))
    )
    common: dict[str, Any] = {
        **cable,
        "size": size,
        "keep_outs": out,
        "loose": draw(mm(0, 30)),
        "cells": draw(st.sampled_from((1, 5))),
    }
    if not two:
        start = draw(ends((0, 0, 0), size, cable["stand_off"]))
        end = draw(ends((0, 0, 0), size, cable["stand_off"]))
        assume(math.dist(start.at, end.at) > APART_M)
        return _with_room_at_ends(World(start=start, end=end, **common))
    wall = round(draw(mm(350, 650)) * size[0], 4)
    diameter = math.ceil(1000 * max(0.025, 1.6 * cable["diameter"])) / 1000
    holes = tuple(
        Hole(
            y=round(draw(mm(200, 800)) * size[1], 4),
            z=round(draw(mm(200, 450)) * size[2], 4),
            diameter=diameter,
            cut=draw(st.booleans()),
        )
        for _ in range(draw(st.integers(1, 2)))
    )
    opening = None
    if window and draw(st.booleans()):
        y, z = draw(mm(200, 600)) * size[1], 0.65 * size[2]
        opening = (round(y, 4), round(z, 4), round(y + draw(mm(60, 200)), 4), round(z + draw(mm(60, 120)), 4))
    return _with_room_at_ends(
        World(
            start=draw(ends((0, 0, 0), (wall, size[1], size[2]), cable["stand_off"], skip=((0, 1),))),
            end=draw(ends((wall, 0, 0), size, cable["stand_off"], skip=((0, 0),))),
            wall=wall,
            holes=holes,
            window=opening,
            **common,
        )
    )


def _with_room_at_ends(world: World) -> World:
    """The world without keep-outs that a port itself breaks: no route can help that."""
    ends_at = np.array([world.start.at, world.end.at])
    kept = tuple(
        k
        for k in world.keep_outs
        if k.distance(ends_at).min() > k.clearance + world.diameter / 2 + END_ROOM_M
    )
    return replace(world, keep_outs=kept)


@st.composite
def square_motions(draw: st.DrawFn) -> Motion:
    """A turn by right angles, mirrored or not, and a shift."""
    order = draw(st.permutations(range(3)))
    signs = [draw(st.sampled_from([-1.0, 1.0])) for _ in range(3)]
    turn = np.zeros((3, 3))
    turn[range(3), order] = signs
    return Motion(turn, np.array([draw(mm(-2000, 2000)) for _ in range(3)]))


@st.composite
def motions(draw: st.DrawFn) -> Motion:
    """Any turn, mirrored or not, and a shift."""
    turn = np.eye(3)
    for axis in range(3):
        angle = math.radians(draw(st.integers(-180, 180)))
        u, v = (k for k in range(3) if k != axis)
        one = np.eye(3)
        one[[u, u, v, v], [u, v, u, v]] = math.cos(angle), -math.sin(angle), math.sin(angle), math.cos(angle)
        turn = one @ turn
    if draw(st.booleans()):
        turn = turn @ np.diag([-1.0, 1.0, 1.0])
    return Motion(turn, np.array([draw(mm(-2000, 2000)) for _ in range(3)]))
