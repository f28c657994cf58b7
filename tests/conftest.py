"""For all tests: nothing is read from or left in the user's cache, no network is asked, none fails for being slow."""

from __future__ import annotations

import os

from hypothesis import settings

from routecut.planning.chart_cache import OFF, VARIABLE
from tests.offline import forbid_sockets

os.environ[VARIABLE] = OFF  # commands that tests start inherit it

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

forbid_sockets()
