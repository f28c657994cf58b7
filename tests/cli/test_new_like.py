"""``routecut new DIR --like JOB``: the next vehicle begins where the record of the last one ended."""

import json
import tomllib
from pathlib import Path

from tests.cli.conftest import Run, change

WANTED = """[[pass_through]]
name = "spare"   # by the door
at = [0, 400, 0]
axis = [1, 0, 0]
diameter = 20
state = "candidate"
joins = ["front", "rear"]

[[cable_type]]
name = "thin"
class = "control"
diameter = 1.5
min_bend_radius = 1

"""


def recorded(run: Run, job: Path) -> None:
    change(job, "[[cable_type]]", f"{WANTED}[[cable_type]]")
    (job / "h1.jpg").write_bytes(b"a photo")
    ran = run(
        "record", job, "--moved", "spare=0,415,-10", "--moved", "b=6,-480,-1190", "--swapped", "C1=thin",
        "--cut", "C1=2300", "--left-over", "C1=-25", "--serial", "a=12", "--photo", "H1=h1.jpg",
    )  # fmt: skip
    assert ran.code == 0, ran.err
    assert run("record", job, "--string", "C1=a.p:H1:520").code == 0


def test_the_next_job_has_what_was_built_and_lists_what_to_check(run: Run, job: Path, tmp_path: Path) -> None:
    recorded(run, job)
    before = {p.name: p.read_bytes() for p in job.iterdir()}
    new = tmp_path / "van-8"
    ran = run("new", new, "--like", job)
    assert ran.code == 0, ran.err
    assert {p.name for p in new.iterdir()} == {"job.toml", "body.ply"}  # no record, no photo
    assert {p.name: p.read_bytes() for p in job.iterdir()} == before
    text = (new / "job.toml").read_text(encoding="utf-8")
    made = tomllib.loads(text)
    assert made["title"] == "van-8"
    holes = {h["name"]: h for h in made["pass_through"]}
    assert holes["spare"]["at"] == [0, 415, -10]
    assert holes["spare"]["state"] == "candidate"  # not drilled on this vehicle yet
    assert holes["H1"]["at"] == [0, 0, 0]
    assert {d["name"]: d["at"] for d in made["device"]}["b"] == [6, -480, -1190]
    (cable,) = made["cable"]
    assert cable["type"] == "thin"
    assert cable["measured"] == [{"from": "a.p", "to": "H1", "length": 520}]
    assert "# cut to 2300 mm in job, 25 mm too short" in text
    assert "# by the door" in text  # comments of the user stay
    for said in (
        "not drilled here yet: look behind",
        "thin was fitted in job",
        "lay a string again",
        "a hint",
    ):
        assert said in ran.out, said
    assert "serial" not in text
    assert run("check", new).code == 0
    # all else is as it was
    old = tomllib.loads(before["job.toml"].decode())
    for kind in ("space", "surface", "routing", "cable_type", "vehicle"):
        assert made[kind] == old[kind]


def test_a_string_laid_before_its_end_moved_is_left_out(run: Run, job: Path, tmp_path: Path) -> None:
    run("record", job, "--string", "C1=a.p:H1:520")
    run("record", job, "--moved", "H1=0,50,0")
    ran = run("new", tmp_path / "next", "--like", job, "--json", "--title", "van 9")
    told = json.loads(ran.out)["findings"]
    assert any("before one of its ends moved: left out" in f["message"] for f in told)
    made = tomllib.loads((tmp_path / "next" / "job.toml").read_text(encoding="utf-8"))
    assert "measured" not in made["cable"][0]
    assert made["title"] == "van 9"


def test_a_mesh_in_a_folder_comes_along(run: Run, job: Path, tmp_path: Path) -> None:
    (job / "scan").mkdir()
    (job / "body.ply").rename(job / "scan" / "body.ply")
    change(job, 'mesh = "body.ply"', 'mesh = "scan/body.ply"')
    assert run("new", tmp_path / "next", "--like", job).code == 0
    assert run("check", tmp_path / "next").code == 0


def test_without_a_record_and_with_faults(run: Run, job: Path, bad_job: Path, tmp_path: Path) -> None:
    ran = run("new", tmp_path / "next", "--like", bad_job)
    assert ran.code == 2
    assert not (tmp_path / "next").exists()
    assert run("new", tmp_path / "n", "--like", tmp_path / "nowhere").code == 2
    assert run("new", tmp_path / "n", "--like", job, "--pattern", "panel van").code == 2
