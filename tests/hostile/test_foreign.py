"""Records, additions, the shop's own file and folders that strangers made: what is said, and that nothing changes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.hostile.foreign import NOTE, TABLES
from tests.hostile.runner import Runner
from tests.hostile.test_commands import copied, held, record


@pytest.mark.parametrize(("kind", "what"), [(kind, what) for kind, rows in TABLES.items() for what in rows])
def test_what_is_said_of_files_of_strangers(
    planned: Path, tmp_path: Path, runner: Runner, kind: str, what: str
) -> None:
    held(copied(planned, tmp_path / "job"), runner, *TABLES[kind][what])


def test_half_a_character_in_a_record_is_planned_with_and_read_back(
    planned: Path, tmp_path: Path, runner: Runner
) -> None:
    """As a file name of another encoding leaves it."""
    folder = copied(planned, tmp_path / "job")
    record({**NOTE, "text": "\udcff", "who": "\ud800", "remark": "</script>"})(folder)
    ended = runner("plan", folder)
    assert ended.code == 0, ended.err
    read = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    (line,) = read["as_built"]["lines"]
    assert (line["text"], line["who"]) == ("\udcff", "\ud800")
    pack = (folder / "plan" / "pack.html").read_text(encoding="utf-8")
    assert "\N{REPLACEMENT CHARACTER}; &lt;/script&gt;" in pack
    assert runner("compare", folder).err == ""  # the plan is read back, not made again
