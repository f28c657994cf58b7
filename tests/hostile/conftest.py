"""One process that runs commands, for all tests of this folder."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.hostile.runner import Runner, running


@pytest.fixture(scope="session")
def runner() -> Iterator[Runner]:
    with running() as commands:
        yield commands
