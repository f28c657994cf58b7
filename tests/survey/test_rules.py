"""Rule profiles, and the keys of the job that sizing reads."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from routecut.model.finding import Finding, Severity
from routecut.model.job import Polarity
from routecut.survey.job_reader import load_job
from routecut.tables import limits_in_force, profile_limits, profiles

Write = Callable[..., Path]


def errors(findings: tuple[Finding, ...]) -> list[tuple[str, str, str]]:
    return [(f.code, f.key, f.nearest) for f in findings if f.severity is Severity.ERROR]


@pytest.mark.parametrize("profile", profiles())
def test_every_profile_can_be_chosen_and_has_every_limit(write_job: Write, profile: str) -> None:
    job, findings = load_job(write_job(('profile = "common practice"', f'profile = "{profile}"')))
    assert errors(findings) == []
    assert job is not None
    assert job.rules.profile == profile
    assert set(profile_limits(profile)) == set(profile_limits("common practice"))


def test_every_limit_says_what_it_rests_on() -> None:
    for profile in profiles():
        for limit in profile_limits(profile).values():
            assert limit.source
            assert limit.provenance in {"published-read", "from-memory"}
            assert limit.lowest <= limit.value <= limit.highest
            assert not limit.deviation


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('"common practice"', '"comon practice"', ("unknown-name", "profile", "common practice")),
        ("fuse_load_percent = 135", "fuse_lod_percent = 135", ("unknown-key", "fuse_lod_percent", "fuse_load_percent")),
        ("fuse_load_percent = 135", "fuse_load_percent = 90", ("out-of-range", "fuse_load_percent", "")),
        ("fuse_load_percent = 135", "system_volts = 0", ("out-of-range", "system_volts", "")),
        ("fuse_load_percent = 135", "ambient_c = nan", ("out-of-range", "ambient_c", "")),
        ("fuse_load_percent = 135", "hot_space_c = 80", ("out-of-range", "hot_space_c", "")),
        ("fuse_load_percent = 135", "hot_space_c = 105\ninsulation_c = 125", ("out-of-range", "hot_space_c", "")),
        ("max_loss_db = 1.5", "max_loss_db = 1.5, watts = 0", ("out-of-range", "watts", "")),
        ('surplus = "coil"', 'polarity = "minus"', ("not-allowed", "polarity", "")),
        ("diameter = 6.5", "diameter = 6.5\nconductor_mm2 = -1", ("out-of-range", "conductor_mm2", "")),
        ("diameter = 6.5", "diameter = 6.5\nattenuation = 9.9", ("out-of-range", "attenuation", "")),
        ("diameter = 6.5", "diameter = 6.5\nattenuation = [[150]]", ("out-of-range", "attenuation", "")),
        ("diameter = 6.5", 'diameter = 6.5\nattenuation = [[150, "9"]]', ("out-of-range", "attenuation", "")),
        ("diameter = 6.5", "diameter = 6.5\nattenuation = [[150, -9]]", ("out-of-range", "attenuation", "")),
        ("diameter = 6.5", "diameter = 6.5\nattenuation = [[150, nan]]", ("out-of-range", "attenuation", "")),
        ("diameter = 6.5", "diameter = 6.5\nattenuation = [[150, 9], [450, 9]]", ("out-of-range", "attenuation", "")),
        ("diameter = 6.5", "diameter = 6.5\npower_rating = [[1, 9], [2, 9]]", ("out-of-range", "power_rating", "")),
        ("diameter = 6.5", "diameter = 6.5\npower_rating = [[150, 0]]", ("out-of-range", "power_rating", "")),
        ("diameter = 6.5", "diameter = 6.5\nvelocity_factor = 66", ("out-of-range", "velocity_factor", "")),
        ("max_loss_db = 1.5", 'max_loss_db = 1.5, half_wave = "yes"', ("wrong-type", "half_wave", "")),
        ('surplus = "coil"', "sheathed = 1", ("wrong-type", "sheathed", "")),
        ("amps = 12,", "amps = 0,", ("out-of-range", "amps", "")),
        ("amps = 12,", "amps = -12,", ("out-of-range", "amps", "")),
        ("peak_amps = 20", "peak_amps = 11", ("out-of-range", "peak_amps", "")),
        ("peak_amps = 20", "peak_amps = 20, fuse_amps = 0", ("out-of-range", "fuse_amps", "")),
    ],
)  # fmt: skip
def test_a_slip_is_one_error(write_job: Write, old: str, new: str, expected: tuple[str, str, str]) -> None:
    _, findings = load_job(write_job((old, new)))
    assert errors(findings) == [expected]


def test_what_is_given_arrives(write_job: Write) -> None:
    job, findings = load_job(
        write_job(
            ("max_loss_db = 1.5", "max_loss_db = 1.5, watts = 25, half_wave = true"),
            ('surplus = "coil"', 'polarity = "negative"\nsheathed = true'),
            (
                "diameter = 6.5",
                (
                    "diameter = 6.5\nconductor_mm2 = 4.59\nattenuation = [[450, 17.3], [150, 9.9]]\n"
                    "power_rating = [[450, 200], [150, 350]]\nvelocity_factor = 0.83"
                ),
            ),
        )
    )
    assert errors(findings) == []
    assert job is not None
    assert job.cables[0].polarity is Polarity.NEGATIVE
    assert job.cables[1].signal is not None
    assert (job.cables[1].signal.watts, job.cables[1].signal.half_wave) == (25, True)
    assert job.cables[0].sheathed
    assert job.cable_types[0].power_rating == ((150.0, 350.0), (450.0, 200.0))
    assert job.cable_types[0].velocity_factor == 0.83
    assert job.cable_types[0].conductor_mm2 == 4.59
    assert job.cable_types[0].attenuation == ((150.0, 9.9), (450.0, 17.3))


def test_another_jacket_of_a_catalogue_wire_keeps_its_copper(write_job: Write) -> None:
    own = '[[cable_type]]\nname = "wire-10awg-red"\nclass = "power"\ndiameter = 5.6\n'
    job, findings = load_job(write_job(("[routing]", f"{own}[routing]")))
    assert errors(findings) == []
    assert job is not None
    assert job.cables[0].type.diameter_m == 0.0056
    assert job.cables[0].type.conductor == "SAE 10"


def test_readings_go_with_the_volts_of_the_vehicle() -> None:
    assert limits_in_force("common practice", [("system_volts", 24.0)])["test_volts"].value == pytest.approx(
        27.2
    )
    both = limits_in_force("common practice", [("system_volts", 24.0), ("test_volts", 26.0)])
    assert both["test_volts"].value == 26.0
    assert limits_in_force("common practice", [])["test_volts"].value == 13.6
