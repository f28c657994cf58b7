"""The engine broken on purpose, one piece at a time: a test must fail each time.

    python -m tests.properties.breaks

runs the folders below once whole and once with each break, and prints how many tests failed. The
breaks take hold in the memory of that run alone; nothing on the disk is touched.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from typing import Any, Final

import numpy as np
import pytest

from routecut.geometry.keep_out import KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.roadmap.build import Roadmap

FOLDERS: Final = ("tests/geometry", "tests/roadmap", "tests/routes", "tests/properties")
VARIABLE: Final = "ROUTECUT_BREAK"

Patch = Callable[[Any, str, Any], None]


def rays(patch: Patch) -> None:
    """No ray meets a sheet."""
    for name in ("blocked", "skin_blocked", "tube_blocked"):
        patch(Sheets, name, lambda self, a, b, *radius: np.zeros(len(a), dtype=bool))


def clearance(patch: Patch) -> None:
    """A keep-out is kept out of, but not its clearance."""
    whole = KeepOutField.__init__

    def bare(self: KeepOutField, *args: Any, **more: Any) -> None:
        whole(self, *args, **more)
        self.clearance_m = 0.0

    patch(KeepOutField, "__init__", bare)


def keep_out(patch: Patch) -> None:
    """Every keep-out is a metre further off than it is."""
    whole = KeepOutField.distance_m
    patch(KeepOutField, "distance_m", lambda self, points: whole(self, points) + 1.0)


def spaces(patch: Patch) -> None:
    """A cable may change space anywhere."""
    patch(Roadmap, "same_space", lambda self: np.ones(len(self.hops.a), dtype=bool))


def fillet(patch: Patch) -> None:
    """Bends are left as sharp as they are, and none is mended."""
    from routecut.routes import bends, route_all

    for module in (bends, route_all):
        patch(module, "round_bends", lambda surface, strands, *more: list(strands))
    patch(route_all, "add_bows", lambda strand, *more, **known: strand)
    patch(route_all, "mend_bend", lambda *more: None)


BREAKS: Final = {f.__name__: f for f in (rays, clearance, keep_out, spaces, fillet)}


def pytest_configure(config: pytest.Config) -> None:
    """As a plugin: breaks what the environment names, before any test is read."""
    if name := os.environ.get(VARIABLE):
        BREAKS[name](setattr)


def main() -> None:
    """Print for each break and folder how many tests failed, and one of them."""
    for name in ("", *BREAKS):
        for folder in FOLDERS:
            run = subprocess.run(
                [sys.executable, "-m", "pytest", "-q", "-n", "0", "-p", "tests.properties.breaks", folder],
                env={**os.environ, VARIABLE: name},
                capture_output=True,
                text=True,
                check=False,
            )
            failed = re.findall(r"^FAILED (\S+)", run.stdout, re.M)
            example = failed[0].split("::", 1)[1] if failed else run.stdout.splitlines()[-1]
            sys.stdout.write(f"{name or 'whole':10} {folder:18} {len(failed):3} failed, {example}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
