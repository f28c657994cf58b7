"""What nobody has looked for on the real vehicle is asked about; sections of the vehicle are read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from routecut.model.finding import Severity
from routecut.survey import load_job, survey_job

Write = Callable[..., Path]
SECTION = """
[[vehicle.section]]
name = "cab length"
box = [[1000, -800, 0], [4000, 800, 1500]]
along = "x"
error = 60
measure = "the cab, from bulkhead to rear wall"
[[surface]]"""


def change(folder: Path, old: str, new: str) -> Path:
    file = folder / "job.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


def test_an_unconfirmed_keep_out_is_a_warning_and_a_confirmed_one_is_none(write_job: Write) -> None:
    folder = write_job()
    codes = {f.code for f in survey_job(folder).findings}
    assert not codes & {"keep-out-unconfirmed", "pass-through-unconfirmed"}
    change(folder, 'name = "pedals"', 'name = "pedals"\nconfirmed = false')
    found = [f for f in survey_job(folder).findings if f.code == "keep-out-unconfirmed"]
    assert [(f.severity, f.table) for f in found] == [(Severity.WARNING, '[[keep_out]] "pedals"')]
    assert "Check this one: is it where the job says (moving)" in found[0].message
    assert "take out confirmed = false" in found[0].message
    change(folder, "confirmed = false", "confirmed = true")
    assert "keep-out-unconfirmed" not in {f.code for f in survey_job(folder).findings}


def test_an_unconfirmed_pass_through_says_what_to_look_for(write_job: Write) -> None:
    folder = change(write_job(), 'state = "existing"', 'state = "existing"\nconfirmed = false')
    found = [f for f in survey_job(folder).findings if f.code == "pass-through-unconfirmed"]
    assert len(found) == 1
    assert "is there a hole of 30 mm from engine bay to cab?" in found[0].message
    change(folder, 'state = "existing"', 'state = "candidate"')
    found = [f for f in survey_job(folder).findings if f.code == "pass-through-unconfirmed"]
    assert "can a hole be drilled of 30 mm" in found[0].message


def test_a_section_arrives_converted(write_job: Write) -> None:
    job, findings = load_job(change(write_job(), "[[surface]]", SECTION.strip("\n")))
    assert job is not None, findings
    (section,) = job.vehicle.sections
    assert (section.name, section.axis, section.error_m, section.measured) == ("cab length", 0, 0.06, False)
    assert (section.low_m, section.high_m) == ((1.0, -0.8, 0.0), (4.0, 0.8, 1.5))
    assert section.size_m == pytest.approx(3.0)
    assert job.vehicle.worst_scale_error == pytest.approx((0.02**2 + 0.005**2) ** 0.5)


def test_every_fault_of_a_section_is_told_at_once(write_job: Write) -> None:
    wrong = SECTION.replace('"x"', '"length"').replace("60", "-1").replace("[4000", "[900")
    job, findings = load_job(change(write_job(), "[[surface]]", wrong.strip("\n")))
    assert job is None
    told = {(f.code, f.key) for f in findings if f.severity is Severity.ERROR}
    assert told == {("not-allowed", "along"), ("out-of-range", "error"), ("out-of-range", "box")}


def test_a_section_is_rescaled_with_the_mesh(write_job: Write) -> None:
    folder = change(write_job(), "[[surface]]", SECTION.strip("\n"))
    change(folder, "point_error = 5", "point_error = 5\nrescale = true")
    change(folder, "distance = 1000", "distance = 1100")  # the landmarks are 1000 apart on the mesh
    job, findings = load_job(folder)
    assert job is not None, findings
    assert job.vehicle.sections[0].high_m == pytest.approx((4.4, 0.88, 1.65))


def test_two_sections_of_one_name_are_a_fault(write_job: Write) -> None:
    folder = change(write_job(), "[[surface]]", SECTION.strip("\n"))
    change(folder, "[[surface]]", SECTION.strip("\n"))
    _, findings = load_job(folder)
    assert [f.code for f in findings if f.severity is Severity.ERROR] == ["duplicate-name"]
