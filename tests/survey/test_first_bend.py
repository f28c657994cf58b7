"""Room for the first bend before a port: found before a plan, at the distance the plan needs, and nowhere else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh

from routecut.model.finding import Finding
from routecut.planning import make_plan
from routecut.planning.open_sizes import first_sizes
from routecut.survey import first_bends, survey_job

BEND, DIAMETER, STAND_OFF = 40, 6, 12
NEED = 3 * DIAMETER + BEND + STAND_OFF
"""Straight behind the connector, a quarter turn, a clip: what is before a port that faces a wall. [mm]"""

HEAD = f"""title = "room"
length_unit = "mm"
[vehicle]
mesh = "body.ply"
mesh_unit = "m"
axes = "+x rear, +y right, +z up"
scan_error_percent = 0
[[surface]]
part = "*"
kind = "panel"
[[space]]
name = "room"
box = [[0, 0, 0], [600, 400, 300]]
[routing]
stand_off = {STAND_OFF}
[[cable_type]]
name = "lead"
class = "control"
diameter = {DIAMETER}
min_bend_radius = {BEND}
[[device]]
name = "far"
at = [500, 200, 20]
space = "room"
[[device.port]]
name = "p"
"""

Room = Callable[..., Path]


def port(name: str, at: tuple[float, float, float], leaves: tuple[float, float, float] | None) -> str:
    out = "" if leaves is None else f"leaves = {list(leaves)}\n"
    device = (
        f'[[device]]\nname = "{name}"\nat = {list(at)}\nspace = "room"\n[[device.port]]\nname = "p"\n{out}'
    )
    return f'{device}[[cable]]\nname = "C-{name}"\nfrom = "{name}.p"\nto = "far.p"\ntype = "lead"\n'


@pytest.fixture
def room(tmp_path: Path) -> Room:
    """A closed room of 600 x 400 x 300 mm, 0 at its front left lower corner."""

    def make(*more: str) -> Path:
        (tmp_path / "job.toml").write_text(HEAD + "".join(more), encoding="utf-8")
        box = trimesh.creation.box(bounds=[[0, 0, 0], [0.6, 0.4, 0.3]])
        box.export(tmp_path / "body.ply")
        return tmp_path

    return make


def cramped(folder: Path) -> list[Finding]:
    found = survey_job(folder)
    return list(first_bends(found.job, found.body, first_sizes(found.job)))


@pytest.mark.parametrize("off", [8, 30, NEED - 5, NEED + 1, 150])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_before_a_wall_it_takes_a_straight_a_quarter_turn_and_a_clip(
    room: Room, axis: int, off: float
) -> None:
    at, leaves = [250.0, 200.0, 150.0], [0.0, 0.0, 0.0]
    at[axis], leaves[axis] = off, -1.0
    found = cramped(room(port("near", (at[0], at[1], at[2]), (leaves[0], leaves[1], leaves[2]))))
    assert [f.code for f in found] == (["port-cramped"] if off < NEED else [])
    for f in found:
        assert f"about {NEED} mm are wanted" in f.message
        assert f"is {off:.0f} mm before it" in f.message
        assert '[[device]] "near"' in f.where


def test_it_says_which_way_there_is_room(room: Room) -> None:
    (found,) = cramped(room(port("near", (30, 200, 30), (-1, 0, 0))))
    assert "there is room to the rear, left, right or up (" in found.message


@pytest.mark.parametrize("height", [1, 4, 12, 40])
def test_along_a_panel_at_any_height_there_is_room(room: Room, height: float) -> None:
    assert cramped(room(port("near", (200, 200, height), (1, 0, 0)))) == []


def test_a_more_flexible_type_needs_less_room(room: Room) -> None:
    near = port("near", (40, 200, 150), (-1, 0, 0))
    folder = room(near)
    assert len(cramped(folder)) == 1
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert "min_bend_radius = 40" in text
    (folder / "job.toml").write_text(text.replace("radius = 40", "radius = 4"), encoding="utf-8")
    assert cramped(folder) == []


def test_a_port_that_leaves_anyhow_is_not_asked(room: Room) -> None:
    assert cramped(room(port("near", (5, 200, 150), None))) == []


def test_a_keep_out_takes_room_as_a_panel_does(room: Room) -> None:
    near = port("near", (200, 200, 150), (-1, 0, 0))
    wall = '[[keep_out]]\nname = "hot"\nbox = [[0, 0, 0], [{}, 400, 300]]\nclearance = 20\nreason = "hot"\n'
    (found,) = cramped(room(near, wall.format(160)))
    assert "the keep-out 'hot' is before it" in found.message
    assert cramped(room(near, wall.format(100))) == []


def test_a_tube_with_a_free_way_ahead_is_no_wall(room: Room) -> None:
    """Straight on is a way as well."""
    folder = room(port("near", (200, 200, 150), (1, 0, 0)))
    tube = trimesh.creation.cylinder(radius=0.02, height=0.15, sections=24)
    tube = trimesh.Trimesh(
        tube.vertices, tube.faces[np.abs(tube.face_normals[:, 2]) < 0.5], process=False
    )  # open at both ends
    tube.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, [0, 1, 0]))
    tube.apply_translation([0.26, 0.2, 0.15])
    trimesh.util.concatenate([trimesh.load(folder / "body.ply"), tube]).export(folder / "body.ply")
    assert cramped(folder) == []


def test_what_is_warned_of_a_plan_can_not_lay_and_the_rest_it_lays(room: Room) -> None:
    """One port too near to a wall, one so near that its plug does not go on, one just far enough."""
    ports = (
        port("tight", (NEED - 15, 120, 150), (-1, 0, 0)),
        port("on", (8, 200, 150), (-1, 0, 0)),
        port("good", (NEED + 2, 280, 150), (-1, 0, 0)),
    )
    folder = room(*ports)
    assert [f.found for f in cramped(folder)] == ["C-tight", "C-on"]
    plan, _ = make_plan(folder)
    assert {f.found for f in plan.findings if f.code == "port-cramped"} == {"C-tight", "C-on"}
    assert {f.where for f in plan.findings if f.code == "bend-not-kept"} == {"cable C-tight"}
    ok = {c.cable.name: c.verified is not None and c.verified.ok for c in plan.cables}
    assert ok["C-good"]
    assert not ok["C-tight"]
