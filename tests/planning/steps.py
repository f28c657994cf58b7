"""What the tests of the plan folder share: an old plan, a new one, and a writer whose steps can be broken."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from routecut.planning.kept import MANIFEST
from routecut.planning.output import write_plan_folder

OLD = {"plan.json": b"old", "views/front.png": b"old picture", "gone.txt": b"only in the old one"}
NEW = {"plan.json": b"new", "views/front.png": b"new picture", "views/top.png": b"one more"}


def read(folder: Path) -> dict[str, bytes]:
    """Every file but the list of the tool's own."""
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file() and p.name != MANIFEST
    }


def leftovers(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.parent.iterdir() if p != folder)


# --- Steps of the writer, counted and broken ------------------------------------------

STEPS = [
    (Path, "mkdir"),
    (Path, "open"),
    (Path, "rename"),
    (os, "fsync"),
    (os, "open"),
    (Path, "hardlink_to"),
    (Path, "symlink_to"),
]


class PowerCut(BaseException):
    """The process ends here: nothing of ours runs any more."""


@contextmanager
def breaking_at(number: int, error: BaseException) -> Iterator[list[str]]:
    """Let the step of that number fail; yields the names of the steps that were begun."""
    begun: list[str] = []

    def counted(name: str, real: Callable[..., object]) -> Callable[..., object]:
        def step(*args: object, **kwargs: object) -> object:
            if any(isinstance(e, PowerCut) for e in failed):
                raise failed[0]  # the machine is off: not even the tidying up happens
            begun.append(name)
            if len(begun) == number:
                failed.append(error)
                raise error
            return real(*args, **kwargs)

        return step

    failed: list[BaseException] = []
    with pytest.MonkeyPatch.context() as patch:
        for holder, name in STEPS:
            patch.setattr(holder, name, counted(name, getattr(holder, name)))
        # What is removed in the tidying up would be removed after the power cut.
        real_rmtree = shutil.rmtree
        patch.setattr(
            "shutil.rmtree",
            lambda *a, **k: None if any(isinstance(e, PowerCut) for e in failed) else real_rmtree(*a, **k),
        )
        yield begun


def number_of_steps(folder: Path) -> int:
    """How many steps an undisturbed run takes, run on a copy's terms."""
    with breaking_at(0, OSError()) as begun:
        write_plan_folder(folder, NEW)
    return len(begun)
