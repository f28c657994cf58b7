from __future__ import annotations

import pytest

from routecut.model.plan import Plan
from tests.documents import sample


@pytest.fixture(scope="session")
def plan() -> Plan:
    return sample.plan()
