"""For all tests: nothing is read from or left in the user's cache, no network is asked, none fails for being slow."""

from __future__ import annotations

import os

import pytest
from hypothesis import Phase, settings

from routecut.planning.chart_cache import OFF, VARIABLE
from tests.offline import forbid_sockets

os.environ[VARIABLE] = OFF  # commands that tests start inherit it

MUTANTS = "MUTANT_UNDER_TEST" in os.environ  # set by mutmut, docs/mutation.md

settings.register_profile("untimed", deadline=None)
# that a mutant is seen is enough; its smallest example is not worth the time
settings.register_profile(
    "mutants", deadline=None, derandomize=True, database=None, phases=[Phase.explicit, Phase.generate]
)
settings.load_profile("mutants" if MUTANTS else "untimed")

forbid_sockets()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of the tests that may see a mutant the quick ones come first."""
    if MUTANTS:
        items.sort(key=lambda item: hasattr(getattr(item, "obj", None), "hypothesis"))
