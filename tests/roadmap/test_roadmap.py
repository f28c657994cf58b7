"""The roadmap against plain arithmetic: where nodes lie, what hops meet, who may use them, which space is which.

Source     `tests/geometry/plain.py`, and formulas for balls, rods and blocks in `tests/properties/rooms.py`
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from scipy.sparse.csgraph import connected_components

from routecut.roadmap.build import Roadmap, build_roadmap
from tests.geometry.plain import distances_m, meets
from tests.properties.rooms import FRONT, REAR, Ball, Block, End, Hole, Rod, World, surveyed

Bools = npt.NDArray[np.bool_]

TWO_ROOMS = World(
    size=(0.9, 0.6, 0.5),
    wall=0.5,
    holes=(Hole(y=0.15, z=0.12, diameter=0.03, cut=True),),
    window=(0.3, 0.25, 0.48, 0.40),
    keep_outs=(
        Ball(at=(0.2, 0.3, 0.02), radius=0.06, clearance=0.02),
        Rod(start=(0.7, 0.1, 0.5), end=(0.7, 0.5, 0.5), radius=0.03, clearance=0.04),
        Block(low=(0.3, 0.5, 0.2), high=(0.42, 0.7, 0.3), clearance=0.01),
    ),
    start=End(at=(0.3, 0.3, 0.012)),
    end=End(at=(0.7, 0.4, 0.488)),
    loose=0.02,
)


@pytest.fixture(scope="module")
def roadmap() -> Roadmap:
    return build(TWO_ROOMS)


def build(world: World) -> Roadmap:
    seen = surveyed(world)
    return build_roadmap(seen.job, seen.body)


def in_room(roadmap: Roadmap, world: World, name: str) -> Bools:
    low, high = {n: (a, b) for n, a, b in world.rooms}[name]
    at = roadmap.nodes.at_m
    return np.asarray(((at > low) & (at < high)).all(axis=1))


def cable_kind(roadmap: Roadmap, radius: float = 0.003) -> Bools:
    return roadmap.usable(roadmap.kind("control", radius))


# --- nodes --------------------------------------------------------------------------------


def test_nodes_lie_at_the_stand_off_of_a_sheet(roadmap: Roadmap) -> None:
    least = distances_m(roadmap.nodes.at_m, roadmap.body.triangles_m).min(axis=1)
    # Next to an edge or a rim the stand-off can't be kept to all sheets and be exact.
    assert least.min() >= 0.97 * TWO_ROOMS.stand_off - 1e-9
    assert least.max() <= 1.5 * TWO_ROOMS.stand_off + 1e-9
    assert (np.abs(least - TWO_ROOMS.stand_off) < 1e-6).mean() > 0.85


def test_nodes_cover_both_sides_of_every_panel(roadmap: Roadmap) -> None:
    # No place on the stand-off of any wall is further from a node than a spacing.
    at, spacing = roadmap.nodes.at_m, 0.060
    low, high = np.zeros(3), np.array(TWO_ROOMS.size)
    for axis in range(3):
        u, v = (k for k in range(3) if k != axis)
        for level in (low[axis] + 0.012, low[axis] - 0.012, high[axis] - 0.012, high[axis] + 0.012):
            grid = np.stack(
                np.meshgrid(np.linspace(0.05, high[u] - 0.05, 12), np.linspace(0.05, high[v] - 0.05, 12)),
                axis=-1,
            ).reshape(-1, 2)
            places = np.insert(grid, axis, level, axis=1)
            gap = np.linalg.norm(places[:, None] - at[None], axis=2).min(axis=1)
            assert gap.max() < spacing, (axis, level)


def test_the_same_body_gives_the_same_roadmap(roadmap: Roadmap) -> None:
    again = build(TWO_ROOMS)
    np.testing.assert_array_equal(again.nodes.at_m, roadmap.nodes.at_m)
    np.testing.assert_array_equal(again.hops.a, roadmap.hops.a)
    np.testing.assert_array_equal(again.hops.b, roadmap.hops.b)
    np.testing.assert_array_equal(again.label, roadmap.label)


# --- hops ---------------------------------------------------------------------------------


def test_no_hop_meets_a_sheet(roadmap: Roadmap) -> None:
    at, hops = roadmap.nodes.at_m, roadmap.hops
    triangles = roadmap.body.triangles_m
    for rows in np.array_split(np.arange(len(hops.a)), 1 + len(hops.a) // 5000):
        hit, _ = meets(at[hops.a[rows]], at[hops.b[rows]], triangles)
        assert not hit.any()


def test_usable_hops_have_room_for_the_cable(roadmap: Roadmap) -> None:
    at, hops = roadmap.nodes.at_m, roadmap.hops
    thin, thick = cable_kind(roadmap, 0.002), cable_kind(roadmap, 0.0075)
    assert (thin | ~thick).all()
    assert thick.sum() < thin.sum()
    # Lines round a usable hop meet no sheet: above, below and beside it at the radius of the cable.
    rows = np.flatnonzero(thick & (hops.length_m > 1e-6))  # an edge may have two nodes at one place
    along = at[hops.b[rows]] - at[hops.a[rows]]
    along /= np.linalg.norm(along, axis=1)[:, None]
    for axis in np.eye(3):
        side = np.cross(along, axis)
        size = np.linalg.norm(side, axis=1)
        some = size > 0.1
        for sign in (-1, 1):
            # Eight lines leave gaps between them: at cos(22.5 deg) of the radius nothing slips through.
            shift = sign * 0.9 * 0.0075 * side[some] / size[some, None]
            hit, _ = meets(
                at[hops.a[rows[some]]] + shift, at[hops.b[rows[some]]] + shift, roadmap.body.triangles_m
            )
            assert hit.any(axis=1).mean() < 0.002


def test_hops_without_a_panel_behind_them_are_no_longer_than_a_bridge(roadmap: Roadmap) -> None:
    hops = roadmap.hops
    np.testing.assert_allclose(
        hops.length_m, np.linalg.norm(roadmap.nodes.at_m[hops.a] - roadmap.nodes.at_m[hops.b], axis=1)
    )
    assert (hops.a < hops.b).all()
    assert (~hops.supported).sum() > 100
    assert hops.length_m.max() <= TWO_ROOMS.bridge
    # What counts as supported has a sheet near all along it.
    rows = np.flatnonzero(hops.supported & (hops.length_m > 0.05))
    middle = (roadmap.nodes.at_m[hops.a[rows]] + roadmap.nodes.at_m[hops.b[rows]]) / 2
    assert distances_m(middle, roadmap.body.triangles_m).min(axis=1).max() < 1.9 * TWO_ROOMS.stand_off


def test_without_bridges_every_hop_is_supported() -> None:
    assert build(replace(TWO_ROOMS, bridge=0.0)).hops.supported.all()


@pytest.mark.parametrize("radius", [0.001, 0.003, 0.0075])
def test_usable_hops_keep_the_clearance_of_every_keep_out(roadmap: Roadmap, radius: float) -> None:
    usable = cable_kind(roadmap, radius)
    a, b = roadmap.nodes.at_m[roadmap.hops.a], roadmap.nodes.at_m[roadmap.hops.b]
    t = np.linspace(0, 1, 41)[:, None]
    lost = 0
    for keep_out in TWO_ROOMS.keep_outs:
        wanted = keep_out.clearance + radius
        gap = np.array([keep_out.distance(p + t * (q - p)).min() - wanted for p, q in zip(a, b, strict=True)])
        # Between two places that are asked about, a long hop may dip a little: tightening sees to that.
        assert gap[usable].min() > -0.002
        lost += int((gap < -0.002).sum())
    assert lost > 200


def test_far_from_keep_outs_hops_are_usable(roadmap: Roadmap) -> None:
    usable = cable_kind(roadmap)
    middle = (roadmap.nodes.at_m[roadmap.hops.a] + roadmap.nodes.at_m[roadmap.hops.b]) / 2
    clear = np.min([k.distance(middle) - k.clearance for k in TWO_ROOMS.keep_outs], axis=0)
    rows = roadmap.tube_free(0.0035) & (clear > roadmap.hops.length_m / 2 + 0.006)
    assert rows.sum() > 1000
    assert usable[rows].all()


def test_a_keep_out_of_another_class_does_not_matter() -> None:
    # The same keep-outs for power only: a control cable may use every hop there is room for.
    seen = surveyed(TWO_ROOMS)
    keep_outs = tuple(replace(k, applies_to=("power",)) for k in seen.job.keep_outs)
    roadmap = build_roadmap(replace(seen.job, keep_outs=keep_outs), seen.body)
    control, power = roadmap.kind("control", 0.003), roadmap.kind("power", 0.003)
    np.testing.assert_array_equal(roadmap.usable(control), roadmap.tube_free(control.radius_m))
    assert roadmap.usable(power).sum() < roadmap.usable(control).sum()


# --- spaces -------------------------------------------------------------------------------


def in_the_frame(roadmap: Roadmap) -> Bools:
    """Nodes in the frame of the window, of which nobody could say in which room they are."""
    window = Block(low=(0.5, 0.3, 0.25), high=(0.5, 0.48, 0.40))
    return np.asarray(window.distance(roadmap.nodes.at_m) < 0.03)


@pytest.mark.parametrize("loose", [0.0, 0.02, 0.06])
def test_every_node_is_in_the_space_of_its_room_or_in_none(loose: float) -> None:
    world = replace(TWO_ROOMS, loose=loose)
    roadmap = build(world)
    names = [s.name for s in roadmap.job.spaces]
    front, rear = in_room(roadmap, world, FRONT), in_room(roadmap, world, REAR)
    frame = in_the_frame(roadmap)
    assert (roadmap.label[front & ~frame] == names.index(FRONT)).mean() == 1.0
    assert (roadmap.label[rear & ~frame] == names.index(REAR)).mean() == 1.0
    outside = ~front & ~rear & (distances_m(roadmap.nodes.at_m, roadmap.body.triangles_m).min(axis=1) > 0.011)
    beyond = outside & ~frame
    assert beyond.sum() > 500
    assert (roadmap.label[beyond] == -1).all()


def test_no_usable_hop_leads_from_room_to_room_or_out(roadmap: Roadmap) -> None:
    # The window is open in the mesh and the hole is cut: both are seen through, neither is a way.
    front, rear = in_room(roadmap, TWO_ROOMS, FRONT), in_room(roadmap, TWO_ROOMS, REAR)
    a, b = roadmap.hops.a, roadmap.hops.b
    through = (front[a] & rear[b]) | (rear[a] & front[b])
    assert through.sum() > 25
    frame = in_the_frame(roadmap)
    usable = cable_kind(roadmap)
    assert not usable[through & ~frame[a] & ~frame[b]].any()
    count, group = connected_components(roadmap.graph(roadmap.kind("control", 0.003)), directed=False)
    assert count >= 2
    assert not set(group[front & ~frame]) & set(group[rear & ~frame])


def test_an_open_border_is_a_way() -> None:
    seen = surveyed(TWO_ROOMS)
    front, rear = seen.job.spaces
    roadmap = build_roadmap(replace(seen.job, spaces=(replace(front, open_to=(REAR,)), rear)), seen.body)
    a, b = roadmap.label[roadmap.hops.a], roadmap.label[roadmap.hops.b]
    assert cable_kind(roadmap)[(a >= 0) & (b >= 0) & (a != b)].any()


def test_noise_makes_hops_dearer_and_free_air_too(roadmap: Roadmap) -> None:
    kind = roadmap.kind("control", 0.003)
    cost, hops = roadmap.cost(kind), roadmap.hops
    np.testing.assert_allclose(cost[hops.supported], hops.length_m[hops.supported])
    assert (cost[~hops.supported] > np.sqrt(2) * hops.length_m[~hops.supported]).all()
    noisy = replace(TWO_ROOMS, more='[[noise_source]]\nname = "N"\nline = [[0, 0.1, 0], [0.9, 0.1, 0]]\n')
    louder = build(noisy)
    middle = (louder.nodes.at_m[louder.hops.a] + louder.nodes.at_m[louder.hops.b]) / 2
    beside = np.hypot(middle[:, 1] - 0.1, middle[:, 2]) < 0.1 - 1e-9
    beside &= (middle[:, 0] > 0) & (middle[:, 0] < 0.9)
    loud = louder.cost(louder.kind("control", 0.003))
    ratio = np.divide(loud, cost, out=np.ones_like(cost), where=cost > 0)
    beside &= cost > 0
    assert ratio[beside].min() > 1.5
    away = np.hypot(middle[:, 1] - 0.1, middle[:, 2]) > 0.1 + 1e-9
    np.testing.assert_allclose(ratio[away & (middle[:, 0] > 0) & (middle[:, 0] < 0.9)], 1.0)
