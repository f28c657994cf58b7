"""Job and mesh brought together: seated pass-throughs, snapped points, spaces, tape checks."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import trimesh

from routecut.model.body import Body
from routecut.model.finding import Finding, Severity
from routecut.model.job import (
    HoleState,
    Job,
    PassThrough,
    Position,
    Sphere,
    SurfaceKind,
    SurfaceRule,
    Vec3,
    Vehicle,
)
from routecut.survey import load_job, read_body, resolve, survey_job
from routecut.survey.sheets import Sheets

Write = Callable[..., Path]
AXES = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def of(findings: tuple[Finding, ...], code: str) -> list[Finding]:
    return [f for f in findings if f.code == code]


def resolved(folder: Path) -> tuple[Job, tuple[Finding, ...]]:
    job, first = load_job(folder)
    assert job is not None, first
    body, second = read_body(job)
    assert body is not None, second
    job, _, third = resolve(job, body)
    return job, third


# --- pass-throughs on sheets made for them ---------------------------------------------


def plate(
    at_x: float, *, hole: float = 0.0, slope: float = 0.0, size: float = 0.6, step: float = 0.01
) -> npt.NDArray[np.float64]:
    """Triangles of a plate through (at_x, 0, 0), with a hole, turned about Y by `slope` degrees."""
    ticks = np.arange(-size / 2, size / 2, step)
    found = []
    lean = math.tan(math.radians(slope))
    for y in ticks:
        for z in ticks:
            if math.hypot(y + step / 2, z + step / 2) < hole:
                continue
            a, b, c, d = (
                [at_x + lean * q, p, q]
                for p, q in ((y, z), (y + step, z), (y + step, z + step), (y, z + step))
            )
            found += [[a, b, c], [a, c, d]]
    return np.array(found)


def body_of(*plates: npt.NDArray[np.float64], kind: SurfaceKind = SurfaceKind.PANEL) -> Body:
    triangles = np.concatenate(plates)
    return Body(
        vertices_m=triangles.reshape(-1, 3),
        faces=np.arange(3 * len(triangles), dtype=np.int64).reshape(-1, 3),
        face_part=np.zeros(len(triangles), dtype=np.int64),
        parts=("body",),
        rules=(SurfaceRule(part="*", kind=kind),),
    )


def seated(
    body: Body, *, x: float = 0.0, axis: Vec3 = (1.0, 0.0, 0.0), depth: float = 0.0, diameter: float = 0.03
) -> tuple[PassThrough, tuple[Finding, ...]]:
    hole = PassThrough(
        name="grommet",
        position=Position(at_m=(x, 0.0033, 0.0021)),
        axis=axis,
        diameter_m=diameter,
        state=HoleState.EXISTING,
        joins=("front", "rear"),
        depth_m=depth,
    )
    vehicle = Vehicle(mesh="body.ply", mesh_unit="m", axes=AXES, axes_text="", point_error_m=0.005)
    job = Job(folder=Path(), title="", length_unit="mm", vehicle=vehicle, pass_throughs=(hole,))
    job, _, findings = resolve(job, body)
    return job.pass_throughs[0], findings


@pytest.mark.parametrize("off", [-0.055, -0.01, 0.0, 0.003, 0.055])
@pytest.mark.parametrize("hole", [0.0, 0.018])
def test_a_pass_through_is_moved_onto_its_sheet(off: float, hole: float) -> None:
    found, findings = seated(body_of(plate(1.0, hole=hole)), x=1.0 + off)
    assert found.position.at_m == pytest.approx((1.0, 0.0033, 0.0021), abs=1e-5)
    assert found.axis == pytest.approx((1, 0, 0), abs=1e-5)
    notes = of(findings, "pass-through-seated")
    assert len(notes) == (1 if abs(off) > 0.002 else 0)
    assert all(f"{abs(off) * 1000:.0f} mm" in f.message and f.severity is Severity.NOTE for f in notes)


@pytest.mark.parametrize("slope", [0.0, 20.0, 40.0])
@pytest.mark.parametrize("hole", [0.0, 0.018])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_the_axis_becomes_square_to_the_sheet_and_keeps_its_sense(
    slope: float, hole: float, sign: float
) -> None:
    found, findings = seated(body_of(plate(1.0, hole=hole, slope=slope)), x=1.02, axis=(sign, 0.0, 0.0))
    lean = math.radians(slope)
    assert found.axis == pytest.approx((sign * math.cos(lean), 0.0, -sign * math.sin(lean)), abs=1e-4)
    # on the plate: x = 1 + tan(slope) z, whatever the place in it
    x, _, z = found.position.at_m
    assert x == pytest.approx(1.0 + math.tan(lean) * z, abs=2e-5)
    assert ("turned by" in of(findings, "pass-through-seated")[0].message) == (slope > 5)


def test_a_sheet_too_steep_gives_the_place_but_not_the_axis() -> None:
    found, _ = seated(body_of(plate(1.0, slope=70.0)), x=1.02)
    assert found.axis == (1.0, 0.0, 0.0)


def test_the_rim_wins_over_what_shows_through_the_hole() -> None:
    # a windscreen 50 mm behind an opening: the decoy must not take the grommet
    found, _ = seated(body_of(plate(1.0, hole=0.018), plate(1.05)), x=1.0)
    assert found.position.at_m[0] == pytest.approx(1.0, abs=1e-5)


@pytest.mark.parametrize("x", [0.97, 1.0, 1.02, 1.04, 1.07])
@pytest.mark.parametrize("hole", [0.0, 0.018])
def test_a_passage_through_two_sheets_is_centred_between_them(x: float, hole: float) -> None:
    found, findings = seated(body_of(plate(1.0, hole=hole), plate(1.04, hole=hole)), x=x, depth=0.05)
    assert found.position.at_m[0] == pytest.approx(1.02, abs=1e-5)
    assert found.axis == (1.0, 0.0, 0.0)
    assert len(of(findings, "pass-through-seated")) == (0 if x == 1.02 else 1)


def test_a_second_sheet_beside_a_hole_without_depth_is_a_warning() -> None:
    found, findings = seated(body_of(plate(1.0), plate(1.04)), x=1.0)
    assert found.position.at_m[0] == pytest.approx(1.0, abs=1e-5)
    (warning,) = of(findings, "pass-through-seated")
    assert (warning.severity, warning.key) == (Severity.WARNING, "depth")
    assert "40 mm" in warning.message


def test_the_sheets_that_fit_the_depth_are_chosen() -> None:
    # 30 mm apart and a third 55 mm further: 40 mm of depth hold the first two only
    found, _ = seated(body_of(plate(1.0), plate(1.03), plate(1.085)), x=1.02, depth=0.04)
    assert found.position.at_m[0] == pytest.approx(1.015, abs=1e-5)


@pytest.mark.parametrize("kind", [SurfaceKind.PANEL, SurfaceKind.OBSTACLE])
def test_no_sheet_in_reach_keeps_the_place_with_a_warning(kind: SurfaceKind) -> None:
    x = 1.08 if kind is SurfaceKind.PANEL else 1.0  # an obstacle is nothing to pass through
    found, findings = seated(body_of(plate(1.0), kind=kind), x=x)
    assert found.position.at_m == (x, 0.0033, 0.0021)
    assert [(f.severity, f.table) for f in of(findings, "pass-through-unseated")] == [
        (Severity.WARNING, '[[pass_through]] "grommet"')
    ]


def test_seating_twice_changes_nothing(write_job: Write) -> None:
    found = survey_job(write_job(holes=True))
    again, _, findings = resolve(found.job, found.body)
    assert of(findings, "pass-through-seated") == []
    for a, b in zip(found.job.pass_throughs, again.pass_throughs, strict=True):
        assert a.position.at_m == pytest.approx(b.position.at_m, abs=1e-6)


# --- the whole job ---------------------------------------------------------------------


@pytest.mark.parametrize("holes", [False, True])
def test_the_full_job_fits_its_mesh(write_job: Write, holes: bool) -> None:
    job, findings = resolved(write_job(holes=holes))
    assert job.pass_throughs[0].position.at_m == pytest.approx((1.0, -0.55, 0.52), abs=1e-5)
    assert [(f.code, f.severity) for f in findings] == [("pass-through-seated", Severity.NOTE)]


def test_nearest_place_against_every_triangle() -> None:
    rng = np.random.default_rng(5)
    mesh = trimesh.creation.icosphere(subdivisions=2)
    sheets = Sheets(body_of(np.asarray(mesh.triangles)))
    for point in rng.uniform(-2, 2, (20, 3)):
        found = sheets.nearest(point)
        assert found is not None
        place, distance = found
        assert np.linalg.norm(place - point) == pytest.approx(distance, abs=1e-12)
        all_places = trimesh.triangles.closest_point(mesh.triangles, np.tile(point, (len(mesh.faces), 1)))
        assert distance == pytest.approx(np.linalg.norm(all_places - point, axis=1).min(), abs=1e-12)


def test_snapped_points_are_moved_and_their_ports_go_along(write_job: Write) -> None:
    folder = write_job(
        ("at = [3900, 500, 20]", "at = [3900, 500, 20]\nsnap = true"),
        ("at = [300, -400, 30]", "at = { at = [300, -400, 30], snap = true }"),
    )
    job, findings = resolved(folder)
    radio, battery = job.devices
    assert radio.position.at_m == pytest.approx((3.9, 0.5, 0.0), abs=1e-7)
    assert radio.position.snapped_m == pytest.approx(0.02)
    assert radio.ports[0].position.at_m == pytest.approx((3.96, 0.5, 0.0), abs=1e-7)  # by offset
    assert radio.ports[1].position.at_m == (3.9, 0.56, 0.02)  # by its own coordinates
    assert battery.position.at_m == pytest.approx((0.3, -0.4, 0.0), abs=1e-7)
    assert battery.ports[0].position.at_m == pytest.approx((0.3, -0.4, 0.0), abs=1e-7)
    notes = of(findings, "point-snapped")
    assert [(f.table, f.found) for f in notes] == [
        ('[[device]] "voice radio"', "20 mm"),
        ('[[device]] "battery"', "30 mm"),
    ]


def test_a_device_in_another_space_is_a_warning_that_names_both(write_job: Write) -> None:
    _, findings = resolved(write_job(("at = [300, -400, 30]", "at = [1500, -400, 30]")))
    (found,) = of(findings, "wrong-space")
    assert (found.severity, found.found) == (Severity.WARNING, "cab")
    assert found.table == '[[device]] "battery", [[device.port]] "positive"'
    _, findings = resolved(write_job(("at = [300, -400, 30]", "at = [1055, -400, 30]")))
    assert of(findings, "wrong-space") == []  # within the 60 mm that boxes may be off


def test_a_pass_through_that_joins_other_spaces_is_a_warning(write_job: Write) -> None:
    _, findings = resolved(write_job(('joins = ["engine bay", "cab"]', 'joins = ["cab", "outside"]')))
    assert of(findings, "wrong-space") == []  # the outside box holds everything, so both mouths may be in it
    _, findings = resolved(
        write_job(
            ("[1000, 800, 1500]]", "[500, 800, 1500]]"),
            ("box = [[-1000, -2000, -1000]", "box = [[-1000, -2000, 400]"),
        )
    )
    (found,) = of(findings, "wrong-space")
    assert (found.table, found.key) == ('[[pass_through]] "bulkhead grommet left"', "joins")


def test_a_port_out_of_a_cables_reach_is_a_warning(write_job: Write) -> None:
    _, findings = resolved(write_job(("at = [3900, 560, 20]", "at = [3000, 0, 750]")))
    assert [(f.table, f.found) for f in of(findings, "point-off-surface")] == [
        ('[[device]] "voice radio", [[device.port]] "aerial"', "750 mm")
    ]


def test_a_mirrored_mesh_is_noticed_by_its_landmarks(write_job: Write) -> None:
    folder = write_job()
    mesh = trimesh.load_mesh(folder / "body.ply")
    mesh.apply_transform(np.diag([1.0, -1.0, 1.0, 1.0]))
    mesh.apply_translation([0, -1.0, 0])  # an uneven body would not come back onto itself
    mesh.export(folder / "body.ply")
    _, findings = resolved(folder)
    (found,) = of(findings, "bad-position")
    assert (found.severity, found.table, found.found) == (
        Severity.WARNING, '[[landmark]] "left striker"', "right",
    )  # fmt: skip


# --- tape checks -----------------------------------------------------------------------


def test_a_tape_check_within_three_sigma_is_silent_and_beyond_is_a_warning(write_job: Write) -> None:
    # 1000 mm by the mesh; sigma = hypot(0.5 % of 1000, sqrt(2) x 5) = 8.7 mm, three of them 26 mm
    for distance, warned in ((1025, False), (975, False), (1028, True), (972, True)):
        _, findings = resolved(write_job(("distance = 1000", f"distance = {distance}")))
        assert [f.severity for f in of(findings, "tape-check")] == ([Severity.WARNING] if warned else [])


def test_length_width_and_height_are_held_against_the_whole_mesh(write_job: Write) -> None:
    # the shell is 4 x 1.6 x 1.5 m; sigma of its length is hypot(0.5 % of 4000, 7.1) = 21 mm, three of them 64 mm
    for of, distance, warned in (
        ("length", 4060, False), ("length", 4070, True), ("width", 1600, False), ("width", 1530, True),
        ("height", 1500, False), ("height", 1540, True),
    ):  # fmt: skip
        check = f'[[vehicle.tape_check]]\nof = "{of}"\ndistance = {distance}\n\n[[surface]]'
        _, findings = resolved(write_job(("[[surface]]", check)))
        said = [f.message for f in [f for f in findings if f.code == "tape-check"]]
        assert len(said) == warned, (of, distance)
        assert all(f"{of.capitalize()}: the tape says {distance} mm" in text for text in said)


def test_a_size_of_the_whole_rescales_nothing_and_has_no_ends(write_job: Write) -> None:
    alone = 'of = "length"\ndistance = 1000\n'
    landmarks = 'from = "left striker"\nto = "dash corner"\ndistance = 1000\n'
    job = write_job((landmarks, alone), ("point_error = 5", "point_error = 5\nrescale = true"))
    assert [(f.code, f.key) for f in load_job(job)[1] if f.severity is Severity.ERROR] == [
        ("missing-key", "tape_check")
    ]
    _, findings = load_job(write_job((landmarks, f'of = "length"\n{landmarks}')))
    assert ("not-allowed", "of") in [(f.code, f.key) for f in findings]
    _, findings = load_job(write_job((landmarks, 'of = "girth"\ndistance = 1000\n')))
    assert "of" in [f.key for f in findings if "girth" in f.found]


def test_rescaling_fits_mesh_and_coordinates_to_the_tape(write_job: Write) -> None:
    plain = survey_job(write_job())
    found = survey_job(
        write_job(
            ("distance = 1000", "distance = 1050"), ("point_error = 5", "point_error = 5\nrescale = true")
        )
    )
    assert found.job.vehicle.mesh_scale == pytest.approx(1.05)
    assert found.body.vertices_m == pytest.approx(plain.body.vertices_m * 1.05)
    for a, b in zip(found.job.landmarks, plain.job.landmarks, strict=True):
        assert a.position.at_m == pytest.approx(np.array(b.position.at_m) * 1.05)
    assert found.job.spaces[0].boxes[0].high_m == pytest.approx((1.05, 0.84, 1.575))
    assert found.job.spaces[0].seed_m == pytest.approx((0.525, 0.0, 0.7875))
    # what was measured with a tape stays as measured
    assert found.job.devices[0].ports[0].offset_m == (0.06, 0.0, 0.0)
    assert found.job.pass_throughs[0].diameter_m == 0.03
    pedals = found.job.keep_outs[1].shape
    assert isinstance(pedals, Sphere)
    assert pedals.at_m == pytest.approx((1.155, -0.315, 0.21))
    assert pedals.radius_m == 0.1
    (note,) = of(found.findings, "tape-check")
    assert (note.severity, note.found) == (Severity.NOTE, "1.05000")


def test_a_scale_that_no_scan_has_is_an_error(write_job: Write) -> None:
    _, findings = load_job(
        write_job(
            ("distance = 1000", "distance = 1500"), ("point_error = 5", "point_error = 5\nrescale = true")
        )
    )
    assert [(f.severity, f.found) for f in of(findings, "tape-check")] == [(Severity.ERROR, "1.5")]


def test_two_taped_landmarks_say_nothing_of_the_mesh(write_job: Write) -> None:
    at = (1000, -800, 700)
    marks = {"dash corner": (2000, -800, 700), "seat bolt": (1500, 0, 0), "lamp": (3000, 500, 1400)}
    tape = ", ".join(f'"{n}" = {math.dist(m, at)}' for n, m in marks.items())
    taped = f'at = {{ tape = {{ {tape} }}, side = "down" }}'
    job, _ = load_job(
        write_job(
            ("at = [1000, -800, 700]", f'{taped}\n[[landmark]]\nname = "lamp"\nat = [3000, 500, 1400]'),
            ("distance = 1000", "distance = 1050"),
            ("point_error = 5", "point_error = 5\nrescale = true"),
        )
    )  # fmt: skip
    assert job is not None
    assert job.vehicle.mesh_scale == 1.0


def test_a_cable_whose_ends_are_one_place_is_an_error(write_job: Write) -> None:
    job, _ = load_job(write_job())
    assert job is not None
    body, _ = read_body(job)
    assert body is not None
    assert not of(resolve(job, body)[2], "ports-together")
    cable = job.cables[0]
    place = {p.full_name: p.position for d in job.devices for p in d.ports}[cable.from_port]
    devices = tuple(
        replace(d, ports=tuple(replace(p, offset_m=None, position=place) for p in d.ports))
        for d in job.devices
    )
    found = of(resolve(replace(job, devices=devices), body)[2], "ports-together")
    assert found
    assert {f.severity for f in found} == {Severity.ERROR}
    assert cable.from_port in found[0].message
