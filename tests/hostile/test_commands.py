"""Commands given wrongly, and files of a job forged or spoilt: what each command says, and that nothing changes.

Truth: the folder as it was before; what is to be said stands beside each.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

import pytest

from tests.hostile.files import written
from tests.hostile.runner import Runner

MOST_SECONDS: Final = 10.0
MOST_BYTES: Final = 2_000_000_000

Spoil = Callable[[Path], object]
LANDMARK: Final = '[[landmark]]\nname = "{}"\nat = [-1, 0, 0]\n'


def nothing(folder: Path) -> None:
    """Leave the job as it is."""


def file(name: str, text: str | bytes) -> Spoil:
    return lambda folder: (folder / name).write_bytes(text if isinstance(text, bytes) else text.encode())


def picks(text: str | bytes) -> Spoil:
    return file("picks.toml", text)


def hole(text: str) -> Spoil:
    """The diameter of the hole replaced, in job.toml."""

    def change(folder: Path) -> None:
        job = folder / "job.toml"
        old = job.read_text(encoding="utf-8")
        assert "diameter = 30" in old
        job.write_text(old.replace("diameter = 30", text), encoding="utf-8")

    return change


def lines(*tables: Mapping[str, Any]) -> list[bytes]:
    """The lines of a record that check out, whatever they say."""
    made: list[bytes] = []
    previous = ""
    for number, table in enumerate(tables, start=1):
        line, previous = sealed({"line": number, **table, "previous": previous[:16]})
        made.append(line)
    return made


def sealed(table: Mapping[str, Any]) -> tuple[bytes, str]:
    """A line with its digest, and the digest."""
    body = json.dumps(table)[:-1].encode()
    digest = hashlib.sha256(body).hexdigest()
    return body + f', "digest": "{digest}"}}\n'.encode(), digest


def record(*tables: Mapping[str, Any]) -> Spoil:
    """A record of such lines."""
    return file("record.jsonl", b"".join(lines(*tables)))


def plan_without_cables(folder: Path) -> None:
    path = folder / "plan" / "plan.json"
    path.write_text(
        json.dumps({**json.loads(path.read_text(encoding="utf-8")), "cables": {}}), encoding="utf-8"
    )


def forged_plan(folder: Path) -> None:
    """A plan of the job as it was under another title, one of whose figures is no figure."""
    job, path = folder / "job.toml", folder / "plan" / "plan.json"
    title = 'title = "wall with holes"'
    job.write_text(job.read_text(encoding="utf-8").replace(title, 'title = "x"'), encoding="utf-8")
    plan = json.loads(path.read_text(encoding="utf-8"))
    plan["cables"][0]["route"]["spaces"] = [["front"], {"rear": []}]
    path.write_text(json.dumps(plan), encoding="utf-8")


ADD: Final = ("add", "JOB", "JOB/picks.toml", "--yes")
SHOW: Final = ("record", "JOB", "--show")
PHOTO: Final = {"what": "photo", "kind": "device", "name": "a", "file": "a\0b", "sha256": "0" * 64}
CUT: Final = {"what": "cut", "kind": "cable", "name": "C1", "length": "5 m", "corrects": 1}

SPOILT: Final[dict[str, tuple[Spoil, tuple[str, ...], int, str]]] = {
    # in words: what is done to the folder, the command, the exit code, what is said
    "additions, none": (picks("landmark = []\n"), ADD, 2, "nothing in it to add"),
    "additions, 4,000": (
        picks("".join(LANDMARK.format(k) for k in range(4_000))),
        ADD,
        2,
        "200 can be added at a time. Split the file",
    ),
    "additions, tables in tables in tables": (
        picks(
            '[[device]]\nname = "z"\nat = [1, 0, 0]\n[[device.port]]\nname = "p"\n[[device.port.sub]]\nk = 1\n'
        ),
        ADD,
        2,
        "[[device.port.sub]] can't be added",
    ),
    "additions, a number of 5,000 digits": (
        picks('[[landmark]]\nname = "x"\nat = [0x' + "f" * 5000 + ", 0, 0]\n"),
        ADD,
        2,
        "a number of more than 300 digits, line 3",
    ),
    "additions, 1e400": (picks(LANDMARK.format("x").replace("-1", "1e400")), ADD, 2, "at is 1e400"),
    "additions, a name of two lines": (
        picks('[[landmark]]\nname = "x\\n  all is well"\nat = [1, 0, 0]\n'),
        ADD,
        2,
        '"x   all is well"',
    ),
    "additions, UTF-16": (picks(LANDMARK.format("x").encode("utf-16")), ADD, 2, "Save it as UTF-8"),
    "record, an exponent of nine digits": (
        nothing,
        ("record", "JOB", "--cut", "C1=1e999999999"),
        2,
        "not a length",
    ),
    "record, 1e400": (nothing, ("record", "JOB", "--cut", "C1=1e400"), 2, "'1e400' is not a length"),
    "record, digits grouped": (nothing, ("record", "JOB", "--cut", "C1=1_000"), 2, "in digits 0 to 9"),
    "record, digits of another script": (
        nothing,
        ("record", "JOB", "--cut", "C1=\u0661\u0662"),
        2,
        "in digits 0 to 9",
    ),
    "record, volts in another script": (
        nothing,
        ("record", "JOB", "--volts", "a=\u0661"),
        2,
        "a number in V",
    ),
    "record, a photo that can't be": (nothing, ("record", "JOB", "--photo", "a=" + "x" * 3000), 2, "no file"),
    "record, a million letters of who": (
        nothing,
        ("record", "JOB", "--note", "x", "--who", "w" * 1_000_000),
        2,
        "--who has 1000000 letters; up to 200 are kept",
    ),
    "record file, a photo of a name with a nul": (record(PHOTO), SHOW, 0, "is not there"),
    "record file, a line that corrects itself": (record(CUT), SHOW, 0, "the number of a line before it"),
    "record file, nothing is taken back": (record({"what": "withdrawn"}), SHOW, 0, "corrects is missing"),
    "record file, 15,000 lines of nothing": (
        file("record.jsonl", "x\n" * 15_000),
        SHOW,
        1,
        "14900 more lines are at fault",
    ),
    "record file, a million lines": (
        file("record.jsonl", "\n" * 1_000_000),
        SHOW,
        1,
        "more than 20,000 lines",
    ),
    "record file, a pipe": (lambda folder: os.mkfifo(folder / "record.jsonl"), SHOW, 1, "is no file"),
    "order into the job": (
        nothing,
        ("order", "JOB", "--csv", "JOB/job.toml", "--force"),
        1,
        "made of such files",
    ),
    "order into the mesh": (
        nothing,
        ("order", "JOB", "--csv", "JOB/body.ply", "--force"),
        1,
        "made of such files",
    ),
    "order into a pipe": (
        lambda folder: os.mkfifo(folder / "o.csv"),
        ("order", "JOB", "--csv", "JOB/o.csv", "--force"),
        1,
        "no ordinary file",
    ),
    "survey page into the job": (nothing, ("survey", "JOB", "--to", "JOB/job.toml"), 1, "made of such files"),
    "survey page over a file of the user's": (
        file("survey.html", "notes"),
        ("survey", "JOB"),
        1,
        "there already",
    ),
    "learn into the record": (
        nothing,
        ("learn", "JOB", "--write", "JOB/record.jsonl"),
        1,
        "made of such files",
    ),
    "service, a plan without its cables": (
        plan_without_cables,
        ("service", "JOB", "a"),
        1,
        "no plan of the job",
    ),
    "service, a name of 100,000 letters": (nothing, ("service", "JOB", "x" * 100_000), 2, "xxx..."),
    "service, a forged plan of another title": (
        forged_plan,
        ("service", "JOB", "C1"),
        1,
        "no plan of the job",
    ),
    "service, what acts on a terminal": (nothing, ("service", "JOB", "\x1b[2J"), 2, "called '\\x1b[2J'"),
    "service, words that say nothing": (
        nothing,
        ("service", "JOB", "which of the"),
        2,
        "nothing in the plan",
    ),
    "record, a cut below nothing": (nothing, ("record", "JOB", "--cut", "C1=-5"), 2, "above 0"),
    "record, a place of no number": (nothing, ("record", "JOB", "--moved", "a=nan,0,0"), 2, "not a length"),
    "record, a hole 90 km away": (
        nothing,
        ("record", "JOB", "--moved", "H1=90000000,0,0"),
        2,
        "at most 100000",
    ),
    "record, watts of a cable that is no coax": (
        nothing,
        ("record", "JOB", "--power", "C1=5/500"),
        2,
        "cables of class coax",
    ),
    "record, a file of the machine's as a photo": (
        nothing,
        ("record", "JOB", "--photo", "a=/etc/passwd"),
        2,
        "lies outside the job folder",
    ),
    "demo, a sample elsewhere": (
        nothing,
        ("demo", "JOB/d", "--sample", "../../etc"),
        2,
        "there is river-rescue-boat",
    ),
    "demo, a sample of 100,000 letters": (nothing, ("demo", "JOB/d", "--sample", "x" * 100_000), 2, "xxx..."),
    "new, a pattern of 100,000 letters": (
        nothing,
        ("new", "JOB/n", "--pattern", "x" * 100_000),
        2,
        "xxx...",
    ),
    "order over the plan": (
        nothing,
        ("order", "JOB", "--csv", "JOB/plan/cut-list.csv", "--force"),
        1,
        "it belongs to the plan",
    ),
    "order, the table and the workbook in one file": (
        nothing,
        ("order", "JOB", "--csv", "JOB/o.csv", "--xlsx", "JOB/o.csv"),
        1,
        "named twice",
    ),
    "order of several, one of them none": (nothing, ("order", "JOB", "JOB/x"), 2, "no job.toml"),
    "compare with a plan": (nothing, ("compare", "JOB", "JOB/plan"), 2, "no job.toml"),
    "learn over the plan": (
        nothing,
        ("learn", "JOB", "--write", "JOB/plan/plan.json", "--force"),
        1,
        "it belongs to the plan",
    ),
    "catalogue, a name of 100,000 letters": (nothing, ("catalogue", "x" * 100_000), 2, "xxx..."),
    "a job with 1e400": (hole("diameter = 1e400"), ("check", "JOB"), 2, "diameter is 1e400"),
    "a job with a number of 5,000 digits": (
        hole("diameter = " + "9" * 5000),
        ("check", "JOB"),
        2,
        "300 digits",
    ),
    "a job with a key of 100,000 letters": (
        hole("diameter = 30\n" + "k" * 100_000 + " = 1"),
        ("check", "JOB"),
        2,
        "kkk...",
    ),
    "new, a measurement without its length": (
        nothing,
        ("new", "JOB/n", "--pattern", "panel van", "--set", "wheelbase"),
        2,
        "wanted is KEY=LENGTH, such as wheelbase=3",
    ),
    "new, a measurement in another script": (
        nothing,
        ("new", "JOB/n", "--pattern", "panel van", "--set", "wheelbase=\u0663\u0666\u0660\u0660"),
        2,
        "in digits 0 to 9",
    ),
    "new, a mesh of three bytes": (
        file("x.stl", "abc"),
        ("new", "JOB/n", "--mesh", "JOB/x.stl"),
        2,
        "3 bytes",
    ),
    "new, a mesh that is not there": (nothing, ("new", "JOB/n", "--mesh", "JOB/x.stl"), 2, "No such file"),
    "new, a mesh of an unknown kind": (
        file("x.step", "abc"),
        ("new", "JOB/n", "--mesh", "JOB/x.step"),
        2,
        "save it as one of .glb, .obj",
    ),
}


def copied(planned: Path, folder: Path) -> Path:
    for path in sorted(planned.rglob("*")):
        if path.is_file():
            target = folder / path.relative_to(planned)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())
    return folder


@pytest.mark.parametrize("what", SPOILT)
def test_what_a_command_says_of_what_is_spoilt(
    planned: Path, tmp_path: Path, runner: Runner, what: str
) -> None:
    held(copied(planned, tmp_path / "job"), runner, *SPOILT[what])


def held(folder: Path, runner: Runner, spoil: Spoil, words: tuple[str, ...], code: int, said: str) -> None:
    """Spoil a job folder and run a command: it says so, in time, and changes nothing."""
    spoil(folder)
    before = written(folder)
    ended = runner(*(word.replace("JOB", str(folder)) if len(word) < 100 else word for word in words))
    told = ended.out + ended.err
    assert ended.code == code, told[-2000:]
    assert said in told, told[-2000:]
    assert "Traceback" not in told
    assert not any(ord(letter) < 32 and letter != "\n" for letter in told)
    assert ended.seconds < MOST_SECONDS
    assert ended.peak_bytes < MOST_BYTES
    assert written(folder) == before


def test_a_survey_page_is_replaced_by_the_next_one(planned: Path, tmp_path: Path, runner: Runner) -> None:
    folder = copied(planned, tmp_path / "job")
    assert [runner("survey", folder).code for _ in range(2)] == [0, 0]


def test_200_entries_are_added_at_once(planned: Path, tmp_path: Path, runner: Runner) -> None:
    folder = copied(planned, tmp_path / "job")
    picks("".join(LANDMARK.format(k) for k in range(200)))(folder)
    ended = runner("add", folder, folder / "picks.toml", "--yes")
    assert ended.code == 0, ended.err
    assert ended.seconds < MOST_SECONDS
    assert (folder / "job.toml").read_text(encoding="utf-8").count("[[landmark]]") == 200


def test_a_text_of_the_record_stays_on_its_line(planned: Path, tmp_path: Path, runner: Runner) -> None:
    folder = copied(planned, tmp_path / "job")
    assert runner("record", folder, "--serial", "a=x\n   2  device a: forged").code == 0
    shown = runner("record", folder, "--show").out.splitlines()
    assert [line for line in shown if line.startswith("   2")] == []
