"""A mesh nobody has described: unit, axes and alignment held against a tape, spaces from its free air."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from routecut.errors import OutOfRangeError
from routecut.model.body import Floats
from routecut.planning.new_mesh import job_round_mesh
from routecut.survey import survey_job
from routecut.survey.axes import parse_axes
from routecut.survey.free_air import propose_spaces
from routecut.survey.intake import (
    NamedBox,
    Source,
    axes_proposals,
    parse_align,
    parse_box,
    parse_tape,
    place,
    read_source,
    rows_of,
    unit_proposals,
    whole_mesh,
)
from routecut.survey.intake_parts import clean, pieces_of, split_boxes, split_pieces
from routecut.survey.mesh_raw import MeshFileError
from tests.survey.conftest import shell

IN = 0.0254


def vehicle() -> trimesh.Trimesh:
    """4 x 1.6 x 1.5 m with a bulkhead at x = 1, x to the rear, and a box on it that tells front and left."""
    mark = trimesh.creation.box(bounds=[[0.1, -0.7, 1.5], [0.5, -0.2, 1.7]])
    return trimesh.util.concatenate([shell(), mark])


def source(folder: Path, *, unit_m: float, turn: Floats | None = None, name: str = "in.ply") -> Source:
    body = vehicle()
    body.vertices = (body.vertices @ (np.eye(3) if turn is None else turn).T) / unit_m
    body.export(folder / name)
    return read_source(folder / name)


Y_UP = np.array([[0, 1.0, 0], [0, 0, 1], [1, 0, 0]])
"""From the vehicle's axes to a file with x to the right, y up, z to the rear."""

SAID = "+x right, +y up, +z rear"


def placed(src: Source, **how: object) -> Floats:
    given = {"unit": "", "axes": "", "align": {}, "tapes": []} | how
    points = place(src, **given).placed(src.points)  # type: ignore[arg-type]
    return np.unique(points.round(6), axis=0)


TRUE = np.unique((vehicle().vertices).round(6), axis=0)


def test_inches_with_y_up_come_out_as_they_were(tmp_path: Path) -> None:
    src = source(tmp_path, unit_m=IN, turn=Y_UP)
    for how in ({"unit": "in"}, {"tapes": [parse_tape("length = 4000 mm")]}):
        assert placed(src, axes=SAID, **how) == pytest.approx(TRUE, abs=1e-5)


@pytest.mark.parametrize("unit", ["mm", "cm", "m", "in", "ft"])
def test_the_tape_alone_tells_every_unit(tmp_path: Path, unit: str) -> None:
    in_m = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": IN, "ft": 0.3048}[unit]
    src = source(tmp_path, unit_m=in_m)
    how = place(src, unit="", axes="+x rear, +y right, +z up", align={}, tapes=[parse_tape("width = 1.62 m")])
    assert how.unit == unit
    assert how.off[0] == pytest.approx(1.6 / 1.62 - 1, abs=1e-4)


def test_an_answer_the_tape_speaks_against_is_refused_and_the_right_one_named(tmp_path: Path) -> None:
    src = source(tmp_path, unit_m=IN)
    with pytest.raises(OutOfRangeError, match="it would fit in"):
        placed(src, unit="cm", axes="+x rear, +y right, +z up", tapes=[parse_tape("length = 4000 mm")])
    with pytest.raises(OutOfRangeError, match="fits no unit"):
        placed(src, axes="+x rear, +y right, +z up", tapes=[parse_tape("length = 3000 mm")])
    with pytest.raises(OutOfRangeError, match="from corner to corner"):
        placed(src, unit="m", axes="+x rear, +y right, +z up")


def test_three_points_turn_a_mesh_that_lies_anyhow(tmp_path: Path) -> None:
    for seed in range(5):
        turn = Rotation.random(random_state=seed).as_matrix()
        src = source(tmp_path, unit_m=0.001, turn=turn)
        points = {"front": (0.0, 0.0, 0.0), "rear": (4.0, 0.0, 0.0), "right": (1.0, 0.8, 0.0)}
        texts = [
            f"{key}=tow eye {key}@{','.join(f'{v:.6f}' for v in turn @ p / 0.001)}"
            for key, p in points.items()
        ]
        align = parse_align(texts)
        assert align["rear"][0] == "tow eye rear"
        assert placed(src, unit="mm", align=align) == pytest.approx(TRUE, abs=2e-5)


@pytest.mark.parametrize(
    "texts",
    [
        ["front=1,2,3"],
        ["front=1,2", "rear=1,2,3", "right=1,2,3"],
        ["front=1,2,3", "front=1,2,3", "rear=4,5,6"],
        ["nose=1,2,3", "rear=1,2,3", "right=1,2,3"],
    ],
)
def test_points_that_are_not_three_are_refused(texts: list[str]) -> None:
    with pytest.raises(OutOfRangeError):
        parse_align(texts)


def test_points_in_a_line_turn_nothing() -> None:
    with pytest.raises(OutOfRangeError, match="one line"):
        rows_of("", parse_align(["front=0,0,0", "rear=4,0,0", "right=2,0.001,0"]))
    with pytest.raises(OutOfRangeError, match="same point"):
        rows_of("", parse_align(["front=0,0,0", "rear=0,0,0", "right=2,0.001,0"]))


@pytest.mark.parametrize(
    "text", ["", "4000 mm", "length = 4000", "size = 4 m", "1,2,3 to 1,2,3 = 4 m", "1,2 to 3 = 4 m"]
)
def test_a_tape_that_says_nothing_is_refused(text: str) -> None:
    with pytest.raises(OutOfRangeError, match="tape check"):
        parse_tape(text)


def test_what_is_likely_is_proposed_first_and_why(tmp_path: Path) -> None:
    src = source(tmp_path, unit_m=IN, turn=Y_UP)
    lines = unit_proposals(src)
    likely = [line.split(":")[0] for line in lines if line.endswith("a vehicle")]
    assert "in" in likely
    assert "m" not in likely
    assert lines[0].endswith("a vehicle")
    reason, *ways = axes_proposals(src)
    assert "longest along z" in reason
    assert SAID in ways
    assert len(ways) == 2
    for way in ways:
        parse_axes(way)


def test_what_is_no_mesh_is_refused_by_name(tmp_path: Path) -> None:
    (tmp_path / "x.ply").write_bytes(b"nothing")
    with pytest.raises(MeshFileError, match=r"x\.ply"):
        read_source(tmp_path / "x.ply")


def test_dirt_is_left_out_and_counted(tmp_path: Path) -> None:
    dirt = [
        trimesh.creation.box((0.01,) * 3, trimesh.transformations.translation_matrix([2, 0, 0.1 * k]))
        for k in range(5)
    ]
    both = trimesh.util.concatenate([vehicle(), *dirt])
    twice = np.concatenate([both.faces, both.faces[:7]])
    found = clean(both.vertices, twice, np.zeros(len(twice), dtype=np.int64), ["body"], file="x.ply")
    assert found.specks == 5
    assert len(found.faces) == len(vehicle().faces)
    assert [f.code for f in found.findings] == ["mesh-repaired"]


def test_parts_by_pieces_and_by_boxes(tmp_path: Path) -> None:
    src = source(tmp_path, unit_m=1.0)
    how = place(src, unit="m", axes="+x rear, +y right, +z up", align={}, tapes=[])
    mesh = clean(*whole_mesh(src, how), file="x.ply")
    pieces = split_pieces(mesh)
    assert set(pieces.parts) >= {"piece 1", "piece 2", "small pieces"}
    label = pieces_of(len(mesh.vertices_m), mesh.faces)
    for k in range(label.max() + 1):  # every piece is of one part
        assert len(set(pieces.face_part[label == k].tolist())) == 1
    boxes = split_boxes(mesh, [parse_box("mark = 0,-800,1550 to 600,0,2000", "mm")])
    named = boxes.faces[boxes.face_part == boxes.parts.index("mark")]
    middle = boxes.vertices_m[named].mean(axis=1)
    assert len(named)
    assert (middle[:, 2] > 1.55).all()
    assert isinstance(parse_box("a = 1,1,1 to 0,0,0", "m"), NamedBox)
    with pytest.raises(OutOfRangeError):
        parse_box("a = 1,1,1", "m")


def test_free_air_on_both_sides_of_a_bulkhead_is_two_spaces_with_seeds_in_them() -> None:
    body = vehicle()
    front, rear = propose_spaces(np.asarray(body.vertices), np.asarray(body.faces))
    assert front.high_m[0] == pytest.approx(1.0, abs=0.08)
    assert rear.low_m[0] == pytest.approx(1.0, abs=0.08)
    assert rear.high_m == pytest.approx((4.0, 0.8, 1.5), abs=0.1)
    assert front.air_m3 == pytest.approx(1.0 * 1.6 * 1.5, rel=0.2)
    for space in (front, rear):
        assert all(a < v < b for a, v, b in zip(space.low_m, space.seed_m, space.high_m, strict=True))
    assert front.seed_m[0] < 1.0 < rear.seed_m[0]


def test_sides_of_a_space_lie_on_its_panels_not_a_cell_before_them() -> None:
    """A cable on the far side of a bulkhead would else lie in no space: 70 mm off, where 60 are taken for inexact."""
    box = trimesh.creation.box(bounds=[[0, -0.8, 0], [4.2, 0.8, 1.5]])
    for wall_x in np.arange(0.9, 1.0, 0.013):  # wherever the cells happen to fall
        wall = trimesh.creation.box(bounds=[[wall_x, -0.8, 0], [wall_x + 0.001, 0.8, 1.5]])
        body = trimesh.util.concatenate([box, wall])
        front, rear = propose_spaces(np.asarray(body.vertices), np.asarray(body.faces))
        assert (*front.low_m, *front.high_m) == pytest.approx((0, -0.8, 0, wall_x, 0.8, 1.5), abs=0.011)
        assert (*rear.low_m, *rear.high_m) == pytest.approx((wall_x, -0.8, 0, 4.2, 0.8, 1.5), abs=0.011)


def test_a_post_before_a_wall_is_not_taken_for_it() -> None:
    """What stands before less than half of a side is no wall of the space."""
    box = trimesh.creation.box(bounds=[[0, -0.8, 0], [4, 0.8, 1.5]])
    post = trimesh.creation.box(bounds=[[3.9, -0.8, 0.0], [3.95, -0.3, 1.5]])
    body = trimesh.util.concatenate([box, post])
    (one,) = propose_spaces(np.asarray(body.vertices), np.asarray(body.faces))
    assert (one.low_m[0], one.high_m[0]) == pytest.approx((0.0, 4.0), abs=0.011)


def test_a_side_that_is_mostly_open_is_not_pulled_to_a_lip() -> None:
    box = trimesh.creation.box(bounds=[[0, -0.8, 0], [4, 0.8, 1.5]])
    box.update_faces(
        box.triangles_center[:, 0] < 3.99
    )  # no rear: what is inside ends where roof and sides do
    lip = trimesh.creation.box(bounds=[[3.90, -0.8, 1.2], [3.91, 0.8, 1.5]])
    body = trimesh.util.concatenate([box, lip])
    (one,) = propose_spaces(np.asarray(body.vertices), np.asarray(body.faces))
    assert one.high_m[0] > 3.95


def test_holes_of_a_scan_do_not_let_the_spaces_run_out() -> None:
    points, faces = trimesh.remesh.subdivide_to_size(vehicle().vertices, vehicle().faces, 0.05)
    random = np.random.default_rng(5)
    middle = points[faces].mean(axis=1)
    spots = middle[random.choice(len(middle), 130)]
    torn = cKDTree(spots).query(middle)[0] < 0.08
    assert 0.05 < torn.mean() < 0.3
    assert len(propose_spaces(points, faces[~torn])) == 2


def test_the_job_is_sound_says_what_was_done_and_keeps_the_file(tmp_path: Path) -> None:
    src = source(tmp_path, unit_m=IN, turn=Y_UP)
    ends = "0,0,0 to 0,0,157.48"
    tapes = [parse_tape("length = 4100 mm"), parse_tape(f"{ends} = 4050 mm")]
    how = place(src, unit="", axes=SAID, align={}, tapes=tapes)
    made = job_round_mesh(src, how, title='van "3"', length_unit="mm", tapes=tapes)
    assert made.files["source-in.ply"] == (tmp_path / "in.ply").read_bytes()
    folder = tmp_path / "job"
    folder.mkdir()
    for name, data in made.files.items():
        (folder / name).write_bytes(data)
    found = survey_job(folder)
    assert not [f for f in found.findings if f.severity == "error"]
    assert len(found.job.spaces) == 3
    text = made.files["job.toml"].decode()
    assert tomllib.loads(text)["title"] == 'van "3"'
    assert tomllib.loads(text)["vehicle"]["scan_error_percent"] == 2.5  # 4000 for 4100
    assert "CHECK THESE" in text
    assert [(c.of, c.distance_m) for c in found.job.vehicle.tape_checks] == [("length", 4.1), ("", 4.05)]
    assert job_round_mesh(src, how, title='van "3"', length_unit="mm", tapes=tapes).files == made.files


def test_boxes_of_air_that_reach_into_each_other_are_parted_and_keep_their_seeds() -> None:
    """A bench across a room: the air over it reaches round it."""
    random = np.random.default_rng(3)
    for seed in range(6):
        low = np.array([0.8, -0.75, 0.1]) + random.uniform(0, 0.3, 3)
        high = np.array([2.5, 0.75, 0.6]) + random.uniform(0, 0.6, 3)
        bench = trimesh.creation.box(bounds=[low, high])
        shelf = trimesh.creation.box(bounds=[[2.6, -0.8, 0.7], [4.0, 0.5, 0.75]])
        body = trimesh.util.concatenate([shell(), bench, shelf])
        found = propose_spaces(np.asarray(body.vertices), np.asarray(body.faces))
        assert found, seed
        for one in found:
            assert all(a < v < b for a, v, b in zip(one.low_m, one.seed_m, one.high_m, strict=True)), seed


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.ply")
    with pytest.raises(MeshFileError, match=r"pipe\.ply: the mesh can't be used: it is no ordinary file"):
        read_source(tmp_path / "pipe.ply")
