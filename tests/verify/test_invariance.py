"""Where a vehicle stands, which way it points and how large it is changes no verdict."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.model.body import Body
from routecut.model.job import Box, Cable, Capsule, KeepOut, Position, Sphere
from routecut.model.plan import Route, Verification
from routecut.verify import verify_route
from tests.verify.scenes import RADIUS, Scene, flat_scene, length, vec, wall_scene

TURNS = [
    np.array(m, dtype=float)
    for m in (
        [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
        [[0, -1, 0], [1, 0, 0], [0, 0, 1]],
        [[0, 0, 1], [0, 1, 0], [-1, 0, 0]],
        [[-1, 0, 0], [0, 0, 1], [0, 1, 0]],
        [[0, 1, 0], [0, 0, 1], [1, 0, 0]],
        [[1, 0, 0], [0, -1, 0], [0, 0, 1]],  # a mirrored vehicle, too
    )
]


class Moved:
    """A scene turned by a quarter about some axis, scaled and shifted."""

    def __init__(self, turn: np.ndarray, scale: float, shift: tuple[float, float, float]) -> None:
        self.turn, self.scale, self.shift = turn, scale, np.array(shift)

    def points(self, points: Any) -> np.ndarray:
        return np.asarray(np.asarray(points, dtype=float) @ self.turn.T * self.scale + self.shift)

    def point(self, point: Any) -> tuple[float, float, float]:
        return vec(self.points(point))

    def box(self, box: Box) -> Box:
        corners = self.points([box.low_m, box.high_m])
        return Box(low_m=vec(corners.min(axis=0)), high_m=vec(corners.max(axis=0)))

    def position(self, position: Position) -> Position:
        return replace(position, at_m=self.point(position.at_m))

    def keep_out(self, keep_out: KeepOut) -> KeepOut:
        match keep_out.shape:
            case Box() as shape:
                moved: Any = self.box(shape)
            case Sphere() as shape:
                moved = Sphere(at_m=self.point(shape.at_m), radius_m=shape.radius_m * self.scale)
            case Capsule() as shape:
                moved = Capsule(
                    from_m=self.point(shape.from_m),
                    to_m=self.point(shape.to_m),
                    radius_m=shape.radius_m * self.scale,
                )
            case _ as shape:
                moved = shape
        sweep = vec(self.turn @ np.array(keep_out.sweep_m) * self.scale)
        return replace(keep_out, shape=moved, sweep_m=sweep, clearance_m=keep_out.clearance_m * self.scale)

    def scene(self, scene: Scene) -> Scene:
        job, body, cable, route = scene
        s = self.scale
        devices = tuple(
            replace(
                d,
                position=self.position(d.position),
                ports=tuple(replace(p, position=self.position(p.position)) for p in d.ports),
            )
            for d in job.devices
        )
        holes = tuple(
            replace(
                h,
                position=self.position(h.position),
                axis=vec(self.turn @ np.array(h.axis)),
                diameter_m=h.diameter_m * s,
                depth_m=h.depth_m * s,
            )
            for h in job.pass_throughs
        )
        job = replace(
            job,
            devices=devices,
            pass_throughs=holes,
            keep_outs=tuple(self.keep_out(k) for k in job.keep_outs),
            spaces=tuple(
                replace(x, boxes=tuple(self.box(b) for b in x.boxes), seed_m=self.point(x.seed_m))
                for x in job.spaces
            ),
            routing=replace(
                job.routing, stand_off_m=job.routing.stand_off_m * s, bridge_m=job.routing.bridge_m * s
            ),
        )
        body = replace(body, vertices_m=self.points(body.vertices_m))
        kind = cable.type
        cable = replace(
            cable,
            type=replace(kind, diameter_m=kind.diameter_m * s, min_bend_radius_m=kind.min_bend_radius_m * s),
        )
        points = self.points(route.points_m)
        passages = tuple(replace(p, at_route_m=p.at_route_m * s) for p in route.passages)
        return (
            job,
            body,
            cable,
            replace(route, points_m=points, length_m=route.length_m * s, passages=passages),
        )


def bent(scene: Scene, where: np.ndarray, by: np.ndarray) -> Scene:
    job, body, cable, route = scene
    points = route.points_m + where[:, None] * by
    return job, body, cable, replace(route, points_m=points, length_m=length(points))


def cases() -> dict[str, Scene]:
    """Right and wrong, each by more than any tolerance at half the size."""
    flat, wall = flat_scene(), wall_scene()
    hot = KeepOut(
        name="pipe",
        shape=Capsule(from_m=(0.5, 0.4, 0.1), to_m=(0.5, 0.9, 0.1), radius_m=0.02),
        clearance_m=0.15,
        sweep_m=(0.1, 0.05, 0.0),
    )
    seat = KeepOut(name="seat", shape=Box(low_m=(0.6, 0.5, 0), high_m=(0.9, 0.8, 0.3)), sweep_m=(0, -0.3, 0))
    wide = wall[3].points_m
    return {
        "flat": flat,
        "wall": wall,
        "skins": wall_scene(skins=(-0.02, 0.02), depth=0.04),
        "shallow": wall_scene(skins=(-0.03, 0.03), depth=0.0),
        "keep-outs": flat_scene(keep_outs=(hot, seat)),
        "undeclared": (*wall[:3], replace(wall[3], passages=())),
        "end off": bent(flat, np.eye(len(flat[3].points_m))[0], np.array([0, 0.004, 0])),
        "sunk": bent(flat, np.ones(len(flat[3].points_m)), np.array([0, 0, -0.0105])),
        "lifted": bent(flat, np.ones(len(flat[3].points_m)), np.array([0, 0, 0.4])),
        "beside": bent(wall, np.ones(len(wide)), np.array([0, 0.1, 0])),
        "stray": bent(wall, np.exp(-(((wide[:, 2] - 0.8) / 0.2) ** 2)), np.array([0.9, 0, 0])),
    }


CASES = cases()


def verdict(scene: Scene) -> tuple[Verification, Counter[str]]:
    job, body, cable, route = scene
    verified = verify_route(job=job, body=body, cable=cable, route=route)
    return verified, Counter(f.code for f in verified.findings)


EXPECTED = {
    "flat": set(),
    "wall": set(),
    "skins": set(),
    "shallow": {"verify-crossing"},
    "keep-outs": {"verify-clearance"},
    "undeclared": {"verify-crossing", "verify-space"},
    "end off": {"verify-ends"},
    "sunk": {"verify-ends", "verify-clearance"},
    "lifted": {"verify-ends", "verify-span"},
    "beside": {"verify-ends", "verify-crossing", "verify-space"},
}


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_the_cases_are_what_they_are_meant_to_be(name: str) -> None:
    """Exactly these violations and no other, so that the property below says something."""
    assert set(verdict(CASES[name])[1]) - {"verify-clearance"} == EXPECTED[name] - {"verify-clearance"}
    assert EXPECTED[name] <= set(verdict(CASES[name])[1])


@pytest.mark.parametrize("name", sorted(CASES))
@settings(deadline=None, max_examples=8)
@given(
    turn=st.sampled_from(TURNS),
    scale=st.sampled_from([1.0, 0.5, 2.0, 1.3]),
    shift=st.tuples(*[st.floats(-20, 20)] * 3),
)
def test_moving_everything_together_changes_nothing(
    name: str, turn: np.ndarray, scale: float, shift: tuple[float, float, float]
) -> None:
    here, codes_here = verdict(CASES[name])
    there, codes_there = verdict(Moved(turn, scale, shift).scene(CASES[name]))
    assert set(codes_there) == set(codes_here)
    assert there.crossings == here.crossings
    assert there.longest_span_m == pytest.approx(here.longest_span_m * scale, abs=0.012 * max(scale, 1))
    assert there.least_sheet_m == pytest.approx(here.least_sheet_m * scale, abs=1e-4)
    for keep_out, least in here.least_clearance_m.items():
        assert there.least_clearance_m[keep_out] == pytest.approx(least * scale, abs=3e-4)
    if np.isfinite(here.least_bend_radius_m) and here.least_bend_radius_m >= 0.97 * RADIUS:
        assert there.least_bend_radius_m >= 0.97 * RADIUS * scale


@pytest.mark.parametrize("name", sorted(CASES))
def test_the_other_way_round_is_the_same(name: str) -> None:
    """A cable listed from its other end."""
    job, body, cable, route = CASES[name]
    total = length(route.points_m)
    turned: Route = replace(
        route,
        points_m=route.points_m[::-1].copy(),
        spaces=route.spaces[::-1],
        passages=tuple(
            replace(p, at_route_m=total - p.at_route_m, from_space=p.to_space, to_space=p.from_space)
            for p in route.passages[::-1]
        ),
    )
    other: Cable = replace(cable, from_port=cable.to_port, to_port=cable.from_port)
    here, codes_here = verdict((job, body, cable, route))
    there, codes_there = verdict((job, body, other, turned))
    assert set(codes_there) == set(codes_here)
    assert there.crossings == here.crossings
    assert there.least_clearance_m == pytest.approx(here.least_clearance_m, abs=1e-9)
    assert there.length_m == pytest.approx(here.length_m, abs=1e-9)


@pytest.mark.parametrize("name", sorted(CASES))
def test_how_the_mesh_is_written_is_the_same(name: str) -> None:
    """Faces in another order, wound the other way, some twice: what scans and drawings do."""
    job, body, cable, route = CASES[name]
    rng = np.random.default_rng(5)
    order = rng.permutation(len(body.faces))
    order = np.concatenate([order, order[: len(order) // 3]])
    flip = rng.random(len(order)) < 0.5
    faces = np.where(flip[:, None], body.faces[order][:, ::-1], body.faces[order])
    again: Body = replace(body, faces=faces, face_part=body.face_part[order])
    here, codes_here = verdict((job, body, cable, route))
    there, codes_there = verdict((job, again, cable, route))
    assert codes_there == codes_here
    assert there.crossings == here.crossings
    assert there.least_sheet_m == pytest.approx(here.least_sheet_m, abs=1e-12)
    assert there.least_clearance_m == here.least_clearance_m
    assert there.longest_span_m == here.longest_span_m
