"""Fixtures of the plan folder's tests."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from routecut.planning.output import write_plan_folder
from tests.planning.steps import OLD


@pytest.fixture(autouse=True)
def _quick_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a disk does on fsync can't be seen from here; that it is called is counted below."""
    monkeypatch.setattr(os, "fsync", lambda _: None)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A plan folder that holds the old plan, alone in its job folder."""
    job = tmp_path / "job"
    job.mkdir()
    write_plan_folder(job / "plan", OLD)
    return job / "plan"
