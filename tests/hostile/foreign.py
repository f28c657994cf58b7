"""What strangers can do to a record, to a file of additions and to the shop's own file, and folders that are no jobs.

Truth: what was spoilt, by hand; what is to be said stands beside each.
"""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Final

from tests.hostile.test_commands import (
    ADD,
    CUT,
    LANDMARK,
    PHOTO,
    SHOW,
    Spoil,
    file,
    lines,
    nothing,
    picks,
    record,
    sealed,
)

COMPARE: Final = ("compare", "JOB")
LEARN: Final = ("learn", "JOB")
CHECK: Final = ("check", "JOB")
NOTE: Final = {"what": "note", "kind": "job", "name": "job", "text": "x"}
CUT_3: Final = {**{key: value for key, value in CUT.items() if key != "corrects"}, "length": "3 m"}
ONE, TWO, THREE = lines(CUT_3, {**NOTE, "text": "second"}, NOTE)
MOST_LINES: Final = 19_999


def raw(*pieces: bytes) -> Spoil:
    """The record, byte by byte."""
    return file("record.jsonl", b"".join(pieces))


def large(name: str, letters: int) -> Spoil:
    """A file of nothing but one letter."""
    return lambda folder: (folder / name).write_bytes(b"x" * letters)


def link(name: str, to: str) -> Spoil:
    return lambda folder: (folder / name).symlink_to(to)


def pipe(name: str) -> Spoil:
    return lambda folder: os.mkfifo(folder / name)


def all_of(*spoils: Spoil) -> Spoil:
    def change(folder: Path) -> None:
        for spoil in spoils:
            spoil(folder)

    return change


def shop(text: str | bytes, name: str = "shop.toml") -> Spoil:
    """The shop's own file, and the job that asks for it."""
    return all_of(file("shop.toml", text), asks_for(name))


def asks_for(name: str) -> Spoil:
    return job_text("", f'\n[lengths]\ndefaults = "{name}"\n')


def job_text(before: str, after: str = "") -> Spoil:
    """More text before and after what job.toml holds."""

    def change(folder: Path) -> None:
        job = folder / "job.toml"
        job.write_text(before + job.read_text(encoding="utf-8") + after, encoding="utf-8")

    return change


def job_elsewhere(folder: Path) -> None:
    """job.toml is a link that leads out of the folder."""
    shutil.move(folder / "job.toml", folder.parent / "elsewhere.toml")
    (folder / "job.toml").symlink_to("../elsewhere.toml")


Row = tuple[Spoil, tuple[str, ...], int, str]
RECORDS: Final[dict[str, Row]] = {
    # in words: what is done to the folder, the command, the exit code, what is said
    "torn in its last line": (raw(ONE, TWO, THREE[:40]), SHOW, 0, "The line is torn"),
    "torn in the middle": (raw(ONE, TWO[:40] + b"\n", THREE), SHOW, 1, "can't be read any more"),
    "a figure edited": (raw(ONE.replace(b"3 m", b"4 m"), TWO), SHOW, 1, "no longer fits its digest"),
    "a figure edited, then learnt from": (
        raw(ONE.replace(b"3 m", b"4 m"), TWO),
        LEARN,
        1,
        "no longer fits its digest",
    ),
    "a line with a digest of its own put in": (
        raw(ONE, sealed({"line": 2, **CUT_3, "length": "9 m", "previous": "0" * 16})[0], THREE),
        SHOW,
        1,
        "does not follow the one that stands before it",
    ),
    "a line doubled": (raw(ONE, ONE, TWO), SHOW, 1, "has the number 1 of another line"),
    "lines the other way round": (raw(THREE, TWO, ONE), SHOW, 1, "lines between them were taken out"),
    "no number of a line": (
        record({**NOTE, "line": True}, {**NOTE, "line": -5}, {**NOTE, "line": 10**400}),
        SHOW,
        1,
        "has no number of a line",
    ),
    "100 MB": (large("record.jsonl", 100_000_000), SHOW, 1, "is larger than 50 MB; it is no record"),
    "100 MB, added to": (
        large("record.jsonl", 100_000_000),
        ("record", "JOB", "--note", "x"),
        1,
        "is larger than 50 MB; it is no record",
    ),
    "49 MB of who did it": (
        record({**NOTE, "who": "w" * 49_000_000}),
        SHOW,
        0,
        "by " + "w" * 200 + "..., when",
    ),
    "49 MB of one note": (record({**NOTE, "text": "w" * 49_000_000}), SHOW, 0, "text has 49000000 letters"),
    "as many lines as there may be": (
        raw(*lines(*[CUT_3] * MOST_LINES)),
        SHOW,
        0,
        f"NO LONGER HOLDS: see line {MOST_LINES}",
    ),
    "controls of a terminal in every text": (
        record(
            {
                **NOTE,
                "text": "\x1b[2J\x07",
                "who": "\x1b]0;x\x07",
                "when": "\u202ex",
                "remark": "</script>\r\n   9  forged",
            }
        ),
        SHOW,
        0,
        "</script>     9  forged",
    ),
    "names that act on what shows them": (
        record(*({**CUT_3, "name": name} for name in ("=cmd()", "</script>", "../../x", "\x1b[2J"))),
        SHOW,
        0,
        "'=cmd()' is no cable of this job",
    ),
    "clocks that run backwards": (
        record({**CUT_3, "when": "2026-05-01"}, {**CUT_3, "length": "2.5 m", "when": "1999-01-01"}),
        SHOW,
        0,
        "cut to 2500 mm; who: not given, 1999-01-01\n",
    ),
    "the record of another job": (
        record(*({**CUT_3, "name": f"Q{k}"} for k in range(50))),
        COMPARE,
        0,
        "The line is not used: the job has changed since, or it is of another job",
    ),
    "figures that are none": (
        raw(
            ONE, sealed({"line": 2, "what": "volts", "kind": "device", "name": "a", "peak": float("nan")})[0]
        ),
        SHOW,
        1,
        "peak is nan",
    ),
    "values of the wrong kind": (
        record(
            {"what": [], "kind": {}, "name": 3},
            {**CUT_3, "name": ["C1"], "length": {}},
            {"what": "moved", "kind": "device", "name": "a", "at": {"tape": {"x": None}, "side": {}}},
            {**CUT_3, "corrects": 10**30},
        ),
        SHOW,
        0,
        "corrects is 1000000000000000000000000000000",
    ),
    "tables in tables in tables": (
        raw(b'{"line": 1, "what": ' + b"[" * 100_000 + b', "digest": "' + b"0" * 64 + b'"}\n'),
        SHOW,
        1,
        "can't be read any more",
    ),
    "UTF-16": (raw((ONE + TWO).decode().encode("utf-16")), SHOW, 1, "is saved as UTF-16"),
    "UTF-16, added to": (
        raw((ONE + TWO).decode().encode("utf-16")),
        ("record", "JOB", "--note", "x"),
        1,
        "is saved as UTF-16",
    ),
    "UTF-8 with a mark": (raw(b"\xef\xbb\xbf" + ONE + TWO), SHOW, 0, "cut to 3000 mm"),
    "a letter to somebody": (raw(ONE, TWO, b"Dear colleague\n"), SHOW, 1, "is no line of a record"),
    "zeros at its end, as after a power cut": (raw(ONE, TWO, b"\0" * 4096), SHOW, 0, "The line is torn"),
    "a photo that is a pipe": (
        all_of(pipe("p.jpg"), record({**PHOTO, "file": "p.jpg"})),
        SHOW,
        0,
        "The photo p.jpg is not there",
    ),
    "a photo that is a link to itself": (
        all_of(link("p.jpg", "p.jpg"), record({**PHOTO, "file": "p.jpg"})),
        SHOW,
        0,
        "The photo p.jpg is not there",
    ),
    "a photo that is a link out of the folder": (
        all_of(link("p.jpg", "/etc/passwd"), record({**PHOTO, "file": "p.jpg"})),
        SHOW,
        0,
        "The photo p.jpg is not there",
    ),
    "a photo without end": (record({**PHOTO, "file": "/dev/zero"}), SHOW, 0, "/dev/zero is not there"),
    "a link": (
        all_of(file("r", ONE), link("record.jsonl", "r")),
        SHOW,
        1,
        "is a link; the record is a real file",
    ),
}
"""Of `record.jsonl`."""

ADDITIONS: Final[dict[str, Row]] = {
    "keys of 60,000 dots": (picks("[" + "a." * 60_000 + "a]\n"), ADD, 2, "nested too deeply"),
    "arrays in arrays": (picks("landmark = " + "[" * 20_000), ADD, 2, "nested too deeply"),
    "a megabyte": (
        picks(LANDMARK.format("x") + "#" * 1_000_000),
        ADD,
        2,
        "larger than 200 kB; it was not read",
    ),
    "20,000 keys": (
        picks(LANDMARK.format("x") + "".join(f"k{k} = 1\n" for k in range(15_000))),
        ADD,
        2,
        "There are more than",
    ),
    "a device without a name": (
        picks('[[device]]\n[[device.port]]\nname = "p"\n'),
        ADD,
        2,
        "name is missing",
    ),
    "names that are none": (
        picks("[[device]]\nname = []\nat = [1, 0, 0]\n[[landmark]]\nname = 1\n[[cable]]\nname = true\n"),
        ADD,
        2,
        "[[cable]] number 2",
    ),
    "a unit that is a table": (
        picks("length_unit = {a = 1}\n" + LANDMARK.format("x")),
        ADD,
        2,
        "length_unit is {",
    ),
    "another unit, and figures that are none": (
        picks('length_unit = "in"\n' + LANDMARK.format("x").replace("-1, 0", "nan, inf")),
        ADD,
        2,
        "'nan in' is not a length",
    ),
    "to a job with a figure in that place": (
        all_of(picks(LANDMARK.format("x")), job_text("landmark = 3\n")),
        ADD,
        2,
        "landmark of the job is 3",
    ),
    "to a job with a table in that place": (
        all_of(picks(LANDMARK.format("x")), job_text("", "\n[landmark]\nx = 1\n")),
        ADD,
        2,
        "landmark of the job is {'x': 1}",
    ),
    "to a job that is a link out of the folder": (
        all_of(picks(LANDMARK.format("x")), job_elsewhere),
        ADD,
        2,
        "a link that leaves the job folder",
    ),
    "another mesh": (picks('[vehicle]\nmesh = "../x"\n'), ADD, 2, "'vehicle' can't be added"),
    "the job itself": (nothing, ("add", "JOB", "JOB/job.toml", "--yes"), 2, "'C1' already"),
    "a file of the machine's": (nothing, ("add", "JOB", "/etc/passwd", "--yes"), 2, "not valid TOML"),
    "what has no end": (nothing, ("add", "JOB", "/dev/zero", "--yes"), 2, "zero is no file"),
    "a pipe": (pipe("picks.toml"), ADD, 2, "picks.toml is no file"),
}
"""Of a file for `routecut add`."""

SHOPS: Final[dict[str, Row]] = {
    "keys of 49,000 dots": (shop("[" + "a." * 49_000 + "a]\n"), CHECK, 2, "nested too deeply"),
    "arrays in arrays": (shop("[lengths]\nlay_percent = " + "[" * 40_000), CHECK, 2, "nested too deeply"),
    "a number of 5,000 digits": (
        shop("[lengths]\nlay_percent = 0x" + "f" * 5000),
        CHECK,
        2,
        "300 digits, line 2",
    ),
    "1e400": (shop("[lengths]\nlay_percent = 1e400\n"), CHECK, 2, "lay_percent is 1e400"),
    "no number": (shop("[lengths]\nlay_percent = nan\n"), CHECK, 2, "lay_percent is nan"),
    "a megabyte": (shop("#" * 1_000_000), CHECK, 2, "larger than 100 kB; it was not read"),
    "UTF-16": (shop("[lengths]\n".encode("utf-16")), CHECK, 2, "Save it as UTF-8"),
    "a key given twice": (
        shop("[lengths]\nlay_percent = 1\nlay_percent = 2\n"),
        CHECK,
        2,
        "Cannot overwrite a value",
    ),
    "a file that asks for itself": (
        shop('[lengths]\ndefaults = "shop.toml"\n'),
        CHECK,
        2,
        "There is no key 'defaults'",
    ),
    "cables as well": (shop('[lengths]\n[[cable]]\nname = "x"\n'), CHECK, 2, "There is no key 'cable'"),
    "a unit that is an array": (shop("length_unit = []\n[lengths]\n"), CHECK, 2, "length_unit is []"),
    "a key that acts on a terminal": (shop('[lengths]\n"\\u001b[2J" = 1\n'), CHECK, 2, "no key '\\x1b[2J'"),
    "a link out of the folder": (
        all_of(link("shop.toml", "/etc/passwd"), asks_for("shop.toml")),
        CHECK,
        2,
        "leaves the job folder",
    ),
    "a path out of the folder": (asks_for("../shop.toml"), CHECK, 2, "leaves the job folder"),
    "a pipe": (all_of(pipe("shop.toml"), asks_for("shop.toml")), CHECK, 2, "There is no file 'shop.toml'"),
    "a name of 5,000 letters": (asks_for("x" * 5000), CHECK, 2, "There is no file 'xxx"),
    "no such file, beside one whose name acts on a terminal": (
        all_of(file("\x1b[2J.toml", "x"), asks_for("x.toml")),
        CHECK,
        2,
        "nearest known name is '\\x1b[2J.toml'",
    ),
}
"""Of the shop's own file of defaults, which a job asks for."""


def forged_sizes(drilling: object) -> Spoil:
    """A plan whose holes are said to be of sizes that are none."""

    def change(folder: Path) -> None:
        path = folder / "plan" / "plan.json"
        plan = json.loads(path.read_text(encoding="utf-8"))
        plan["drilling"] = drilling
        path.write_text(json.dumps(plan), encoding="utf-8")

    return change


SIZE: Final = {
    **dict.fromkeys(
        ("clear_m", "drill_m", "pilot_m", "needed_m", "enough_m", "alternative_m", "bare_m"), 0.03
    ),
    "by": "",
    "alternative": "",
    "groove_m": "wide",
}
FOREIGN: Final[dict[str, Row]] = {
    "compare with a folder that is no job": (nothing, ("compare", "JOB", "/etc"), 2, "no job.toml"),
    "compare with what is no folder": (nothing, ("compare", "JOB", "/dev/zero"), 2, "no job.toml"),
    "compare with a name of 5,000 letters": (
        nothing,
        ("compare", "JOB", "x" * 5000),
        2,
        "File name too long",
    ),
    "learn from folders that are no jobs": (nothing, ("learn", "/etc", "/proc/self"), 2, "no job.toml"),
    "learn from a job that is a pipe": (
        all_of(lambda folder: (folder / "o").mkdir(), pipe("o/job.toml")),
        ("learn", "JOB", "JOB/o"),
        2,
        "job.toml is no file",
    ),
    "learn from one job two hundred times": (nothing, ("learn", *["JOB"] * 200), 1, "0 cables"),
    "begin with a folder that is no job": (nothing, ("new", "JOB/n", "--like", "/etc"), 2, "no job.toml"),
    "order, a plan whose holes are a number": (forged_sizes(7), ("order", "JOB"), 0, "1.950 m  thread"),
    "order, a plan whose hole is as wide as a word": (
        forged_sizes([{"name": "H1", "size": SIZE}]),
        ("order", "JOB"),
        0,
        "1.950 m  thread",
    ),
}
"""Folders of others, and plans that were changed by hand."""

TABLES: Final[dict[str, dict[str, Row]]] = {
    "record": RECORDS,
    "additions": ADDITIONS,
    "shop's file": SHOPS,
    "folders": FOREIGN,
}
