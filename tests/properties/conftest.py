"""How many worlds the property tests go through: `--worlds N`."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, settings

FEW = 8


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--worlds",
        type=int,
        default=None,
        metavar="N",
        help=f"go through N random worlds instead of {FEW}, other ones in every run",
    )


def pytest_configure(config: pytest.Config) -> None:
    asked = config.getoption("worlds", None)
    settings.register_profile(
        "worlds",
        max_examples=asked or FEW,
        # The same few worlds in every run; of many, other ones each time (the seed is printed).
        derandomize=asked is None,
        # To look for the simplest world that fails takes minutes: only where many are asked for.
        phases=[Phase.explicit, Phase.generate, *([Phase.shrink] if asked else [])],
        database=None,
        deadline=None,
        print_blob=True,
        suppress_health_check=list(HealthCheck),
    )
