"""``NAME=X,Y,Z``: what it is held to, and what goes along with a move."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from routecut.errors import JobError
from routecut.model.job import Job
from routecut.survey import load_job, read_body, survey_job, survey_moved
from routecut.survey.faults import Collector
from routecut.survey.moves import move

Write = Callable[..., Path]

DEVICE = '\n[[device]]\nname = "voice radio"'
CANDIDATE = (
    DEVICE,
    f"""
[[pass_through]]
name = "new"
at = [1004, 200, 600]
axis = [1, 0, 0]
diameter = 20
state = "candidate"
joins = ["engine bay", "cab"]
{DEVICE}""",
)


def ports(job: Job, device: str) -> dict[str, tuple[float, float, float]]:
    found = next(d for d in job.devices if d.name == device)
    return {p.name: p.position.at_m for p in found.ports}


def test_ports_by_offset_go_along_and_others_stay(write_job: Write) -> None:
    before, after, (moved,) = survey_moved(write_job(), ["voice radio=3100, -400, 20"])
    assert ports(before.job, "voice radio") == {"power": (3.96, 0.5, 0.02), "aerial": (3.9, 0.56, 0.02)}
    now = ports(after.job, "voice radio")
    assert now["power"] == pytest.approx((3.16, -0.4, 0.02), abs=1e-12)
    assert now["aerial"] == (3.9, 0.56, 0.02)
    assert (moved.along, moved.stay) == (("power",), ("aerial",))
    assert (moved.from_m, moved.to_m) == ((3.9, 0.5, 0.02), (3.1, -0.4, 0.02))
    assert (moved.from_space, moved.to_space) == ("cab", "cab")
    assert ports(after.job, "battery") == ports(before.job, "battery")


def test_ports_are_moved_before_the_fit_to_the_mesh_too(write_job: Write) -> None:
    """Not only by the fit, which adds the offsets once more."""
    job, _ = load_job(write_job())
    assert job is not None
    body, _ = read_body(job)
    assert body is not None
    collector = Collector()
    changed, _ = move(job, body, ["voice radio=3100,-400,20"], collector)
    assert not collector.findings
    assert ports(changed, "voice radio")["power"] == pytest.approx((3.16, -0.4, 0.02), abs=1e-12)


def test_a_device_is_in_the_space_it_is_moved_to(write_job: Write) -> None:
    _, after, (moved,) = survey_moved(write_job(), ["voice radio=500,400,20"])
    assert moved.to_space == "engine bay"
    assert next(d for d in after.job.devices if d.name == "voice radio").space == "engine bay"
    # at the very edge of the next space it is still in its own, as the boxes are never exact
    _, _, (moved,) = survey_moved(write_job(), ["voice radio=980,400,20"])
    assert moved.to_space == "cab"


def test_a_string_measured_to_where_it_was_holds_no_more(write_job: Write) -> None:
    folder = write_job(CANDIDATE)
    before, after, (moved,) = survey_moved(folder, ["voice radio=3100,-400,20"])
    assert [len(c.measured) for c in before.job.cables] == [1, 0]
    assert [len(c.measured) for c in after.job.cables] == [0, 0]
    assert moved.unmeasured == ("P1",)
    # nothing of this cable ends at the candidate
    _, after, (moved,) = survey_moved(folder, ["new=1000,100,600"])
    assert [len(c.measured) for c in after.job.cables] == [1, 0]
    assert moved.unmeasured == ()


def test_a_measured_stretch_to_a_port_that_stays_is_kept(write_job: Write) -> None:
    folder = write_job(("offset = [60, 0, 0]", "at = [3960, 500, 20]"))
    _, after, (moved,) = survey_moved(folder, ["voice radio=3100,-400,20"])
    assert (moved.along, moved.stay) == ((), ("power", "aerial"))
    assert len(after.job.cables[0].measured) == 1


def test_a_candidate_is_seated_where_it_is_moved_to(write_job: Write) -> None:
    """Given 30 mm off the bulkhead it is moved along its axis into it, as one in job.toml would be."""
    before, after, (moved,) = survey_moved(write_job(CANDIDATE), ["new=1030,350,700"])
    assert moved.kind == "pass-through"
    assert moved.from_m == pytest.approx((1.0, 0.2, 0.6), abs=1e-9)
    assert moved.to_m == pytest.approx((1.0, 0.35, 0.7), abs=1e-9)
    assert [h.name for h in after.job.pass_throughs] == [h.name for h in before.job.pass_throughs]


def test_the_same_place_changes_nothing(write_job: Write) -> None:
    folder = write_job()
    before, after, _ = survey_moved(folder, ["voice radio=[3900, 50 cm, 20]"])
    assert after.job.devices == before.job.devices == survey_job(folder).job.devices


def test_the_unit_is_that_of_the_job(write_job: Write) -> None:
    folder = write_job()
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert ports(survey_moved(folder, ["voice radio=3 m,0,20"])[1].job, "voice radio")["power"][0] == (
        pytest.approx(3.06)
    )
    assert text == (folder / "job.toml").read_text(encoding="utf-8")
    assert sorted(p.name for p in folder.iterdir()) == ["body.ply", "job.toml"]


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        ("voice radoi=1,2,3", "unknown-name", "The nearest known name is 'voice radio'"),
        ("voice radio.power=1,2,3", "unknown-name", "known are voice radio, battery, new"),
        ("place 1=1,2,3", "unknown-name", "known are voice radio, battery, new"),
        ("bulkhead grommet left=1,2,3", "not-allowed", "is a hole that is there"),
        ("voice radio", "bad-position", "NAME=X,Y,Z in mm"),
        ("=1,2,3", "bad-position", "NAME=X,Y,Z in mm"),
        ("", "bad-position", "NAME=X,Y,Z in mm"),
        ("voice radio=", "wrong-type", "no coordinates"),
        ("voice radio=1,2", "wrong-type", "2 coordinates; wanted is NAME=X,Y,Z in mm"),
        ("voice radio=1,5,2,3", "wrong-type", "A decimal sign is a point"),
        ("voice radio=1,,3", "wrong-type", "'' is not a length"),
        ("voice radio=left,2,3", "wrong-type", "'left' is not a length"),
        ("voice radio=1_0,2,3", "wrong-type", "'1_0' is not a length"),
        ("voice radio=nan,2,3", "wrong-type", "'nan' is not a length"),
        ("voice radio=1,inf,3", "wrong-type", "'inf' is not a length"),
        ("voice radio=1,2,1e9", "out-of-range", "at most 100000"),
        ("voice radio=4500,0,20", "out-of-range", "lies 500 mm outside the vehicle"),
        ("new=1000,0,-700", "out-of-range", "z 0 to 1500 mm; a cable reaches 400 mm beyond it"),
    ],
)
def test_bad_moves_are_said_with_what_is_wanted(write_job: Write, text: str, code: str, said: str) -> None:
    with pytest.raises(JobError) as caught:
        survey_moved(write_job(CANDIDATE), [text])
    (finding,) = caught.value.findings
    assert finding.code == code
    assert finding.where.startswith("--move, ")
    assert said in finding.message


def test_all_faults_at_once(write_job: Write) -> None:
    moves = ["voice radio=x,y,3", "nothing=1,2,3", "battery=300,-400,30", "battery=300,-300,30"]
    with pytest.raises(JobError) as caught:
        survey_moved(write_job(), moves)
    assert [f.code for f in caught.value.findings] == [
        "wrong-type",
        "wrong-type",
        "unknown-name",
        "duplicate-name",
    ]


def test_what_only_the_mesh_tells_is_said_of_the_move(write_job: Write) -> None:
    """In the middle of the cab there is no panel for the candidate, and no engine bay."""
    before, after, _ = survey_moved(write_job(CANDIDATE), ["new=1500,200,600"])
    more = [f for f in after.findings if f not in before.findings]
    assert "wrong-space" in {f.code for f in more}
    assert all(f.where.startswith('--move, [[pass_through]] "new"') for f in more)
    assert {f.file for f in after.findings if f in before.findings} <= {"job.toml"}


def test_cables_that_end_in_one_place_after_a_move(write_job: Write) -> None:
    with pytest.raises(JobError) as caught:
        survey_moved(write_job(), ["battery=3900,560,20"])
    assert [(f.code, f.file) for f in caught.value.findings if f.severity == "error"] == [
        ("ports-together", "--move")
    ]
    assert all(f.where.startswith("--move, ") for f in caught.value.findings)


def test_faults_of_the_job_come_first(write_job: Write) -> None:
    with pytest.raises(JobError) as caught:
        survey_moved(write_job(('kind = "panel"', 'kind = "pannel"')), ["nothing=1,2,3"])
    assert "--move" not in {f.file for f in caught.value.findings}
    assert any("pannel" in f.message for f in caught.value.findings)


def test_one_name_for_two_things_is_not_guessed(write_job: Write) -> None:
    old, new = CANDIDATE
    with pytest.raises(JobError) as caught:
        survey_moved(write_job((old, new.replace('"new"', '"battery"'))), ["battery=300,-300,30"])
    assert "is a device and a pass-through" in caught.value.findings[0].message
