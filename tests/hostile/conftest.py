"""One process that runs commands, and one job that is planned, for all tests of this folder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.hostile.runner import Runner, running
from tests.hostile.wall import wall_job


@pytest.fixture(scope="session")
def runner() -> Iterator[Runner]:
    with running() as commands:
        yield commands


@pytest.fixture(scope="session")
def planned(tmp_path_factory: pytest.TempPathFactory, runner: Runner) -> Path:
    """A job folder with its plan, to be copied."""
    folder = wall_job(tmp_path_factory.mktemp("planned") / "job")
    assert runner("plan", folder).code == 0
    return folder
