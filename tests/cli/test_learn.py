"""``routecut learn`` and the shop's own file, from end to end."""

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run, change

# eight cables side by side on the wall, from front to rear
MORE = "".join(
    f'\n[[device]]\nname = "f{k}"\nat = [-6, {y}, 400]\nspace = "front"\n[[device.port]]\nname = "p"\n'
    f'[[device]]\nname = "r{k}"\nat = [-6, {y}, {z}]\nspace = "front"\n[[device.port]]\nname = "p"\n'
    f'[[cable]]\nname = "W{k}"\nfrom = "f{k}.p"\nto = "r{k}.p"\ntype = "thread"\n'
    for k, (y, z) in enumerate((1200 - 300 * k, -600 - 60 * k) for k in range(8))
)


@pytest.fixture
def shop_job(job: Path) -> Path:
    path = job / "job.toml"
    path.write_text(path.read_text(encoding="utf-8") + MORE, encoding="utf-8")
    return job


def cuts(job: Path) -> dict[str, dict[str, float]]:
    cables = json.loads((job / "plan" / "plan.json").read_text(encoding="utf-8"))["cables"]
    return {c["name"]: {"cut": c["cut"]["length_m"], "route": c["route"]["length_m"]} for c in cables}


def test_learnt_written_named_and_used(run: Run, shop_job: Path, tmp_path: Path) -> None:
    assert run("plan", shop_job).code == 0
    asked: list[str] = []
    for k in range(8):
        found = cuts(shop_job)[f"W{k}"]
        # 6 % lay, a little more or less; what the plan has for sag is its own
        took = found["route"] * (1.06 + 0.002 * (-1) ** k)
        left = found["cut"] - took
        asked += ["--cut", f"W{k}={found['cut'] * 1000:.1f}", "--left-over", f"W{k}={left * 1000:.1f}"]
    before = (shop_job / "job.toml").read_bytes()
    few = run("learn", shop_job, "--write", tmp_path / "few.toml")
    assert few.code == 1
    assert "nothing is proposed" in few.out
    assert not (tmp_path / "few.toml").exists()
    assert run("record", shop_job, *asked).code == 0
    ran = run("learn", shop_job, "--write", shop_job / "shop.toml")
    assert ran.code == 0, ran.err
    assert "8 cables of 1 record say what laying takes" in ran.out
    assert "left out, no cut recorded: 1 cable" in ran.out
    told = json.loads(run("learn", shop_job, "--json").out)
    lay = told["lessons"][0]["lay"]
    sag = 8 * 0.013**2 / (3 * 0.3**2)
    assert lay["low"] < 0.06 < lay["high"] + sag
    assert lay["value"] == pytest.approx(0.06, abs=0.01)
    assert (shop_job / "job.toml").read_bytes() == before
    written = (shop_job / "shop.toml").read_text(encoding="utf-8")
    assert "lay_percent = " in written
    assert run("learn", shop_job, "--write", shop_job / "shop.toml").code == 1  # not replaced
    # never silently: without a name nothing changes
    (shop_job / "record.jsonl").unlink()
    old = cuts(shop_job)["C1"]["cut"]
    run("plan", shop_job)
    assert cuts(shop_job)["C1"]["cut"] == old
    path = shop_job / "job.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace(
            "[routing]", '[lengths]\ndefaults = "shop.toml"\nround_up_to = 1\n\n[routing]'
        ),
        encoding="utf-8",
    )
    ran = run("check", shop_job)
    assert ran.code == 0
    assert "From the shop's own file: lay_percent = " in ran.out
    run("plan", shop_job)
    planned = json.loads((shop_job / "plan" / "plan.json").read_text(encoding="utf-8"))
    line = next(x for x in planned["cables"][0]["cut"]["sum"] if x["what"] == "lay")
    percent = float(written.split("lay_percent = ")[1].split()[0])
    assert line["length_m"] == pytest.approx(
        percent / 100 * planned["cables"][0]["route"]["length_m"], abs=2e-4
    )
    assert "shop.toml" in (shop_job / "plan" / "pack.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("shopp.toml", "[lengths]\n", "The nearest known name is 'shop.toml'"),
        ("../shop.toml", "[lengths]\n", "copy the shop's file into it"),
        ("shop.toml", "[lengths]\nlay_percnt = 3\n", "shop.toml, [lengths], lay_percnt"),
        ("shop.toml", "[lengths]\nlay_percent = 300\n", "shop.toml, [lengths], lay_percent"),
        ("shop.toml", '[lengths]\ndefaults = "other.toml"\n', "shop.toml, [lengths], defaults"),
        ("shop.toml", "lay_percent = 3\n", "shop.toml, lay_percent"),
        ("shop.toml", "[lengths\n", "shop.toml is not valid TOML"),
        ("shop.toml", 'length_unit = "furlong"\n[lengths]\n', "shop.toml, length_unit"),
    ],
)
def test_faults_of_the_shops_file_are_said_with_its_name(
    run: Run, job: Path, name: str, text: str, said: str
) -> None:
    (job / "shop.toml").write_text(text, encoding="utf-8")
    (job.parent / "shop.toml").write_text("[lengths]\n", encoding="utf-8")
    change(job, "[routing]", f'[lengths]\ndefaults = "{name}"\n[routing]')
    ran = run("check", job)
    assert ran.code == 2
    assert said in ran.out, ran.out


def test_the_shops_file_has_its_own_unit_and_the_job_has_the_last_word(run: Run, job: Path) -> None:
    (job / "shop.toml").write_text(
        'length_unit = "in"\n[lengths]\ndrip_loop = 4\nlay_percent = 5\n', encoding="utf-8"
    )
    change(job, "[routing]", '[lengths]\ndefaults = "shop.toml"\nlay_percent = 2\n[routing]')
    ran = run("check", job)
    assert ran.code == 0
    assert "drip_loop = 4; lay_percent as the job says itself" in ran.out
    from routecut.survey import load_job

    read, _ = load_job(job)
    assert read is not None
    assert read.lengths.drip_loop_m == pytest.approx(0.1016)
    assert read.lengths.lay == 0.02


def test_what_was_laid_again_is_read_from_the_plan_made_with_the_same_record(run: Run, job: Path) -> None:
    run("record", job, "--moved", "b=6,-480,-1200", "--note", "b=by hand")
    first = run("compare", job)
    assert "laid anew" in first.err
    assert "planning, which takes its time" in first.err
    run("plan", job)
    quick = run("compare", job)
    assert (quick.out, quick.err) == (first.out, "")
    assert "device b  place" in quick.out
    run("record", job, "--volts", "b=12.1")
    slow = run("compare", job)
    assert "planning, which takes its time" in slow.err  # the plan was made with another record
    assert "volts" in run("compare", job, "--all").out


def test_plan_and_as_built_and_two_jobs_as_a_table(run: Run, job: Path, tmp_path: Path) -> None:
    run("plan", job)
    assert run("compare", job).out == "nothing is recorded yet\n"
    run("record", job, "--cut", "C1=2300", "--serial", "a=12")
    ran = run("compare", job)
    assert ran.code == 0
    assert "cable C1  cut length  " in ran.out
    assert "2300 mm" in ran.out
    assert "serial" not in ran.out
    assert "serial number" in run("compare", job, "--all").out
    import shutil

    other = tmp_path / "other"
    shutil.copytree(job, other)
    assert "no difference" in run("compare", job, other).out
    change(other, 'name = "H1"\nat = [0.0000, 0.0000, 0.0000]', 'name = "H1"\nat = [0, 60, 0]')
    text = (other / "job.toml").read_text(encoding="utf-8")
    (other / "job.toml").write_text(
        text + '\n[[device]]\nname = "new box"\nat = [-6, 0, 0]\nspace = "front"\n', encoding="utf-8"
    )
    rows = json.loads(run("compare", job, other, "--json").out)["rows"]
    assert {(r["about"], r["what"]) for r in rows} >= {
        ("pass-through H1", "place"),
        ("device new box", "device"),
        ("cable C1", "route"),
    }
    place = next(r for r in rows if r["what"] == "place")
    assert (place["before"], place["after"]) == ([0.0, 0.0, 0.0], [0.0, 0.06, 0.0])
