"""Every pattern: a job that reads well, checks, and takes a small fit-out that the real engine plans and verifies."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from routecut.geometry.keep_out import KeepOutField
from routecut.model.finding import Severity
from routecut.model.job import SurfaceKind
from routecut.patterns import PATTERNS, job_files, taken_all
from routecut.patterns.job_text import BEGIN, END
from routecut.planning import make_plan
from routecut.survey import survey_job

EVERY = pytest.mark.parametrize("name", PATTERNS)
ASKED = {"keep-out-unconfirmed", "pass-through-unconfirmed"}
NOTES = {"mesh-open"}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A folder of every pattern, nothing measured."""
    folders = {}
    for name, pattern in PATTERNS.items():
        folder = tmp_path_factory.mktemp(name.replace(" ", "-"))
        for file, data in job_files(pattern, taken_all(pattern, {}), title=name, unit="mm").items():
            (folder / file).write_bytes(data)
        folders[name] = folder
    return folders


def with_example(folder: Path, into: Path, more: str = "") -> Path:
    """The job with the # taken off its example."""
    text = (folder / "job.toml").read_text(encoding="utf-8")
    head, rest = text.split(BEGIN, 1)
    first, rest = rest.split("\n", 1)
    example, tail = rest.split(END, 1)
    assert all(line.startswith("# ") for line in example.splitlines())
    opened = re.sub(r"(?m)^# ", "", example)
    (into / "job.toml").write_text(f"{head}{BEGIN}{first}\n{opened}{END}{tail}{more}", encoding="utf-8")
    (into / "body.glb").write_bytes((folder / "body.glb").read_bytes())
    return into


@EVERY
def test_check_finds_nothing_but_what_is_to_be_checked(made: dict[str, Path], name: str) -> None:
    findings = survey_job(made[name]).findings
    warned = [str(f) for f in findings if f.severity is not Severity.NOTE and f.code not in ASKED]
    assert warned == []
    assert {f.code for f in findings} - ASKED <= NOTES
    assert {f.code for f in findings} >= ASKED


@EVERY
def test_the_text_is_commented_and_says_what_was_not_measured(made: dict[str, Path], name: str) -> None:
    text = (made[name] / "job.toml").read_text(encoding="utf-8")
    job = tomllib.loads(text)
    for m in PATTERNS[name].measurements:
        assert re.search(rf"(?m)^#   {m.key} +\d+   NOT measured", text)
    assert all(s["error"] > 0 and "measured" not in s for s in job["vehicle"]["section"])
    assert max(len(line) for line in text.splitlines()) <= 150
    assert "device" not in job


def test_a_boat_is_measured_from_its_keel_and_a_van_from_the_ground(made: dict[str, Path]) -> None:
    """The hull's lowest point is 0; the propeller hangs below."""
    boat, van = ((made[n] / "job.toml").read_text(encoding="utf-8") for n in ("small boat", "panel van"))
    assert "z from the lowest point of the keel" in boat
    assert "z from the ground" in van
    body = survey_job(made["small boat"]).body
    hull = body.faces[body.face_part == body.parts.index("hull")]
    assert abs(float(body.vertices_m[hull][..., 2].min())) < 0.001


@EVERY
def test_usual_keep_outs_are_there(made: dict[str, Path], name: str) -> None:
    job = survey_job(made[name]).job
    reasons = {k.reason.value for k in job.keep_outs}
    assert {"hot", "fuel", "moving"} <= reasons
    if name not in {"small boat", "tractor"}:
        assert {"airbag", "high-voltage"} <= reasons
    assert all(k.reason.value == "other" for k in job.keep_outs if k.confirmed)
    assert not any(h.confirmed for h in job.pass_throughs)


@EVERY
def test_wheel_arches_are_panels_and_wheels_are_not(made: dict[str, Path], name: str) -> None:
    """A glob over wheels once took the arches as well: nothing could be clipped over them."""
    body = survey_job(made[name]).body
    panels = {body.parts[k] for k in set(body.face_part[body.faces_of_kind(SurfaceKind.PANEL)].tolist())}
    arches = {part for part in body.parts if part.startswith("wheel-arch-")}
    assert arches <= panels
    assert not ({part for part in body.parts if part.startswith("wheel-")} - arches) & panels
    assert bool(arches) == (name not in {"small boat", "tractor"})


@EVERY
def test_the_same_measurements_give_the_same_bytes(made: dict[str, Path], name: str) -> None:
    pattern = PATTERNS[name]
    again = job_files(pattern, taken_all(pattern, {}), title=name, unit="mm")
    assert {file: (made[name] / file).read_bytes() for file in again} == again


HIGHEST = {
    "panel van": 1.3,
    "estate car": 1.1,
    "four-door pickup": 1.3,
    "ambulance box": 1.35,
    "tractor": 1.75,
}
"""Where supply leads stay below in the cab, m: the windscreen's foot and a bracket behind the dash."""


@EVERY
def test_a_small_fit_out_is_planned_and_verified(made: dict[str, Path], name: str, tmp_path: Path) -> None:
    """Battery, radio, antenna and three cables, on the full mesh, with coarser nodes to be quick."""
    folder = with_example(made[name], tmp_path, '\n[routing]\nnode_spacing = "100 mm"\n')
    planned, _ = make_plan(folder)
    if name in HIGHEST:  # along dash and sill, as anybody would: not up a post and along the roof
        (cab,) = [s for s in planned.job.spaces if s.name in {"cab", "cabin"}]
        for cable in [c for c in planned.cables if c.cable.name in {"P1", "P2"}]:
            assert cable.route is not None
            within = [p for p in cable.route.points_m if cab.holds(p)]
            assert max(z for _, _, z in within) < HIGHEST[name], cable.cable.name
    assert {c.cable.name for c in planned.cables} == {"P1", "P2", "X1"}
    assert planned.complete, [str(f) for f in planned.findings if f.severity is Severity.ERROR]
    for cable in planned.cables:
        assert cable.cut is not None
        assert any("(not measured)" in e.what for e in cable.cut.errors)


@EVERY
def test_a_measurement_shortens_the_cuts_by_its_error(made: dict[str, Path], name: str) -> None:
    """Nothing measured against all measured as the pattern has it: the same body, smaller errors."""
    pattern = PATTERNS[name]
    values = {m.key: m.default for m in pattern.measurements}
    files = job_files(pattern, taken_all(pattern, values), title=name, unit="mm")
    assert files["body.glb"] == (made[name] / "body.glb").read_bytes()
    every = tomllib.loads(files["job.toml"].decode())["vehicle"]["section"]
    none = tomllib.loads((made[name] / "job.toml").read_text(encoding="utf-8"))["vehicle"]["section"]
    assert [s["box"] for s in every] == [s["box"] for s in none]
    assert all(a["measured"] and a["error"] < b["error"] for a, b in zip(every, none, strict=True))


def test_the_estate_car_has_a_way_from_the_sill_over_the_wheel_arch_into_the_boot(
    made: dict[str, Path],
) -> None:
    """20 mm above the arch, from its front to the boot: inside, and kept out of by nothing."""
    surveyed = survey_job(made["estate car"])
    axle, tyre, arch = 3.650, 0.320, 0.395
    turns = np.radians(np.arange(20.0, 131.0, 5.0))
    out = arch + 0.020
    over = np.column_stack(
        [axle - out * np.cos(turns), np.full(len(turns), -0.79), tyre + out * np.sin(turns)]
    )
    assert {surveyed.job.space_at((x, y, z)) for x, y, z in over.tolist()} == {"cabin"}
    for keep_out in surveyed.job.keep_outs:
        field = KeepOutField(keep_out, surveyed.body)
        assert field.distance_m(over).min() >= field.clearance_m, keep_out.name
