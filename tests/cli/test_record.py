"""``routecut record`` as it is typed."""

import json
import tomllib
from pathlib import Path

import pytest

from tests.cli.conftest import Run, change


def lines(job: Path) -> list[dict[str, object]]:
    return [json.loads(line) for line in (job / "record.jsonl").read_text(encoding="utf-8").splitlines()]


def test_everything_that_can_be_recorded_in_one_go(run: Run, job: Path) -> None:
    change(
        job,
        '[[device]]\nname = "a"',
        '[[landmark]]\nname = "left"\nat = [0, -1000, 0]\n[[landmark]]\nname = "right"\nat = [0, 1000, 0]\n'
        '[[landmark]]\nname = "top"\nat = [0, 0, 1000]\n\n[[device]]\nname = "a"',
    )
    (job / "h1.jpg").write_bytes(b"a photo")
    ran = run(
        "record", job, "--cut", "C1=2150", "--left-over", "C1=14 cm", "--moved", "b=6,-480,-1200",
        "--taped", "H1=left:1000,right:1000,top:1000,side:front", "--joint", "C1=700,front",
        "--string", "C1=a.p:H1:510", "--swapped", "a=another box", "--volts", "a=13.4/12.9",
        "--serial", "a=AB=12", "--photo", "H1=h1.jpg", "--note", "all went well", "--note", "rear=wet",
        "--who", "night shift", "--when", "Tuesday", "--why", "first fit",
    )  # fmt: skip
    assert ran.code == 0, ran.err
    assert "recorded in" in ran.out
    told = lines(job)
    assert [(x["what"], x["kind"], x["name"]) for x in told] == [
        ("cut", "cable", "C1"),
        ("left over", "cable", "C1"),
        ("moved", "device", "b"),
        ("moved", "pass-through", "H1"),
        ("joint", "cable", "C1"),
        ("string", "cable", "C1"),
        ("swapped", "device", "a"),
        ("volts", "device", "a"),
        ("serial", "device", "a"),
        ("photo", "pass-through", "H1"),
        ("note", "job", "job"),
        ("note", "space", "rear"),
    ]
    assert all((x["who"], x["when"], x["remark"]) == ("night shift", "Tuesday", "first fit") for x in told)
    assert told[0]["length"] == "2150 mm"
    assert told[8]["text"] == "AB=12"
    shown = json.loads(run("record", job, "--show", "--json").out)
    assert shown["lines"][1]["length_m"] == 0.14
    assert shown["lines"][3]["at_m"] == [0.0, 0.0, 0.0]
    assert shown["lines"][3]["taped"] is True
    assert not shown["findings"]
    said = run("record", job, "--show").out
    assert "cable C1: cut to 2150 mm; first fit; by night shift, Tuesday" in said
    assert "device a: 13.4 V at duty, 12.9 V at peak" in said


def test_nobody_named_and_no_clock_read_unless_asked(run: Run, job: Path) -> None:
    run("record", job, "--cut", "C1=2150")
    first = (job / "record.jsonl").read_bytes()
    assert (lines(job)[0]["who"], lines(job)[0]["when"]) == ("not given", "not given")
    (job / "record.jsonl").unlink()
    run("record", job, "--cut", "C1=2150")
    assert (job / "record.jsonl").read_bytes() == first
    run("record", job, "--cut", "C1=2150", "--now")
    assert str(lines(job)[1]["when"])[:2] == "20"
    assert run("record", job, "--cut", "C1=2150", "--now", "--when", "today").code == 2


def test_a_slip_of_a_key_is_asked_about_and_nothing_that_is_so_is_lost(run: Run, job: Path) -> None:
    assert run("plan", job).code == 0
    planned = json.loads((job / "plan" / "plan.json").read_text(encoding="utf-8"))["cables"][0]
    cut, long = (round(1000 * planned[k]["length_m"]) for k in ("cut", "route"))
    slips = [
        (("--cut", f"C1={cut}", "--left-over", f"C1={cut + 2}"), f"up to {cut} mm"),
        (("--left-over", f"C1={-cut - 2}"), f"{cut} mm planned to be cut"),
        (("--joint", f"C1={long + 2},front"), f"along a run of {long} mm"),
        (("--cut", f"C1={cut // 2 - 2}"), f"planned are {cut} mm"),
        (("--cut", f"C1={2 * cut + 2}"), f"planned are {cut} mm"),
    ]
    for asked, said in slips:
        ran = run("record", job, *asked)
        assert ran.code == 2
        assert said in " ".join(ran.err.split()), ran.err
        assert "add --sure" in ran.err
    assert not (job / "record.jsonl").exists()
    kept = 0
    for asked, _ in slips:
        assert run("record", job, *asked, "--sure").code == 0
        kept += len(asked) // 2
        assert len(lines(job)) == kept
    # what was cut counts, not what was planned
    assert run("record", job, "--cut", f"C1={2 * cut - 1}", "--left-over", f"C1={cut + 50}").code == 0
    assert (
        run("record", job, "--joint", f"C1={long}", "--cut", f"C1={cut}", "--left-over", f"C1={cut}").code
        == 0
    )


@pytest.mark.parametrize(("name", "most"), [("H1", 150), ("b", 500)])
def test_what_is_far_from_its_planned_place_is_asked_about(run: Run, job: Path, name: str, most: int) -> None:
    """A slip of a key moves a hole by 300 mm, hands hardly ever."""
    known = tomllib.loads((job / "job.toml").read_text(encoding="utf-8"))
    things = known["pass_through"] + known["device"]
    x, y, z = next(thing["at"] for thing in things if thing["name"] == name)
    far = f"{name}={x},{y},{z + 2 * most}"
    ran = run("record", job, "--moved", far)
    assert ran.code == 2
    assert f"{2 * most} mm from its planned place (Z +{2 * most} mm)" in " ".join(ran.err.split()), ran.err
    assert "add --sure" in ran.err
    assert not (job / "record.jsonl").exists()
    assert run("record", job, "--moved", f"{name}={x},{y},{z - most}").code == 0
    assert run("record", job, "--moved", far, "--sure").code == 0
    assert len(lines(job)) == 2


def test_all_faults_at_once_and_nothing_is_written(run: Run, job: Path) -> None:
    (job.parent / "outside.jpg").write_bytes(b"a photo")
    asked = ("--cut", "C1=2150", "--cut", "C2=1", "--left-over", "C1=long", "--moved", "H9=1,2,3",
             "--moved", "b=1,2", "--swapped", "C1=thred", "--string", "C1=a.p:H11:5", "--volts", "a=x",
             "--photo", "H1=../outside.jpg", "--resistance", "C1=3", "--serial", "a", "--corrects", "7",
             "--joint", "C1=4000,frnt")  # fmt: skip
    ran = run("record", job, *asked)
    assert ran.code == 2
    for said in (
        "'C2' is no cable of this job",
        "'long' is not a length",
        "'H9' is no device or pass-through",
        "wanted is [x, y, z]",
        "nearest known name is 'thread'",
        "nearest known name is 'H1'",
        "nearest known name is 'front'",
        "'x'; wanted is a number in V",
        "lies outside the job folder",
        "such a reading (cables of class power or bond)",
        "wanted is DEVICE=TEXT",
        "no line 7",
    ):
        assert said in ran.err, said
    assert not (job / "record.jsonl").exists()
    found = json.loads(run("record", job, *asked, "--json").out)["findings"]
    assert len(found) == 12


def test_a_cable_is_not_swapped_for_what_it_is_planned_as(run: Run, job: Path) -> None:
    other = '[[cable_type]]\nname = "cord"\nclass = "control"\ndiameter = 3\n\n[[cable_type]]'
    change(job, "[[cable_type]]", other)
    ran = run("record", job, "--swapped", "C1=thread")
    assert ran.code == 2
    assert "C1 is planned as thread already." in ran.err
    assert not (job / "record.jsonl").exists()
    assert run("record", job, "--swapped", "C1=cord").code == 0
    ran = run("record", job, "--swapped", "C1=thread", "--corrects", "1")
    assert (ran.code, len(lines(job))) == (2, 1)
    assert "take line 1 back instead: --withdraw 1" in ran.err


def test_a_type_that_the_plan_picked_counts_where_the_job_leaves_it_open(run: Run, job: Path) -> None:
    change(job, 'type = "thread"\nclass', "class")
    asked = ("record", job, "--swapped", "C1=thread")
    for text in (None, "no json", '{"cables": [{"name": "C1", "type": "cord"}]}'):
        if text is not None:
            (job / "plan").mkdir(exist_ok=True)
            (job / "plan" / "plan.json").write_text(text, encoding="utf-8")
        assert run(*asked).code == 0, text
    plan = '{"cables": [{"name": "C1", "type": "thread"}]}'
    (job / "plan" / "plan.json").write_text(plan, encoding="utf-8")
    ran = run(*asked)
    assert (ran.code, len(lines(job))) == (2, 3)
    assert "C1 is planned as thread already; take line 3 back" in ran.err


def test_a_correction_is_a_line_that_names_the_one_it_stands_for(run: Run, job: Path) -> None:
    run("record", job, "--cut", "C1=2150", "--serial", "a=1")
    before = (job / "record.jsonl").read_bytes()
    assert run("record", job, "--cut", "C1=2250", "--corrects", "1").code == 0
    assert (job / "record.jsonl").read_bytes().startswith(before)
    assert lines(job)[2]["corrects"] == 1
    told = json.loads(run("record", job, "--show", "--json").out)["lines"]
    assert [line["stands"] for line in told] == [False, True, True]
    assert "Line 1 was corrected by line 3" in run("record", job, "--cut", "C1=1", "--corrects", "1").err
    assert run("record", job, "--cut", "C1=1", "--cut", "C1=2", "--corrects", "3").code == 2
    assert run("record", job, "--withdraw", "3").code == 0
    told = json.loads(run("record", job, "--show", "--json").out)["lines"]
    assert [line["stands"] for line in told] == [False, True, False, False]
    assert "NO LONGER HOLDS: see line 3" in run("record", job, "--show").out


def test_a_changed_line_is_said_and_can_be_made_good(run: Run, job: Path) -> None:
    run("record", job, "--cut", "C1=2150", "--serial", "a=1")
    path = job / "record.jsonl"
    path.write_text(path.read_text(encoding="utf-8").replace("2150", "2510"), encoding="utf-8")
    ran = run("record", job, "--show")
    assert ran.code == 1
    assert "record.jsonl, line 1: The line no longer fits its digest" in ran.err
    assert "2510" not in ran.out
    assert run("record", job, "--cut", "C1=2150", "--corrects", "1").code == 0
    ran = run("record", job, "--show")
    assert ran.code == 0
    assert "A later line stands in its place" in ran.err


def test_a_line_about_what_the_job_has_no_longer_is_said_and_not_used(run: Run, job: Path) -> None:
    run("record", job, "--cut", "C1=2150", "--serial", "a=1")
    change(job, 'name = "C1"', 'name = "C7"')
    ran = run("record", job, "--show")
    assert ran.code == 0
    assert "[record-unused]" in ran.err
    assert "'C1' is no cable of this job" in ran.err
    assert "cut to" not in ran.out


def test_a_photo_that_changed_is_said(run: Run, job: Path) -> None:
    (job / "h1.jpg").write_bytes(b"a photo")
    run("record", job, "--photo", "H1=h1.jpg")
    assert run("record", job, "--show").err == ""
    (job / "h1.jpg").write_bytes(b"another")
    assert "h1.jpg has changed since" in run("record", job, "--show").err
    (job / "h1.jpg").unlink()
    assert "h1.jpg is not there" in run("record", job, "--show").err


def test_a_job_with_faults_is_told_first(run: Run, bad_job: Path) -> None:
    ran = run("record", bad_job, "--cut", "C1=2150")
    assert ran.code == 2
    assert "pannel" in ran.err
    assert not (bad_job / "record.jsonl").exists()


def test_nothing_to_record_says_what_could_be(run: Run, job: Path) -> None:
    ran = run("record", job)
    assert ran.code == 2
    assert "--cut" in ran.err
    assert "--show" in ran.err
    assert run("record", job, "--show", "--cut", "C1=1").code == 2
    assert run("record", job, "--show").out == "nothing is recorded yet\n"
