"""Files as strangers may send them, each through ``routecut check`` in a process of its own.

Truth: the list, written by hand. A file is refused with exit code 2, or read with a finding, in one
message, under ten seconds and 2 GB, and nothing is written.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.hostile.files import faults, written
from tests.hostile.listed import CASES
from tests.hostile.runner import Runner


@pytest.mark.parametrize("name", CASES)
def test_a_file_is_refused_or_read_with_one_message_quickly_and_in_little_memory(
    tmp_path: Path, runner: Runner, name: str
) -> None:
    case = CASES[name]
    folder = tmp_path / "job"
    folder.mkdir()
    case.build(folder)
    before = written(tmp_path)
    ended = runner("check", folder)
    assert faults(case, ended) == [], ended
    assert written(tmp_path) == before
    for path in folder.iterdir():  # some are large
        path.unlink()


def test_what_a_command_takes_is_measured(tmp_path: Path, runner: Runner) -> None:
    """Or no limit would mean anything."""
    folder = tmp_path / "job"
    folder.mkdir()
    CASES["an obj of 30 million"].build(folder)
    large = runner("check", folder)
    (folder / "body.obj").unlink()
    small = runner("check", folder)
    assert large.code == small.code == 2
    assert large.peak_bytes > small.peak_bytes + 2 * 240_000_000 * 0.9  # read whole, once more to look at it
    assert large.seconds > small.seconds > 0
