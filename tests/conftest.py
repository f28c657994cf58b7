"""For all tests: nothing is read from or left in the user's cache, and none fails for being slow."""

from __future__ import annotations

import os

from hypothesis import settings

from routecut.planning.chart_cache import OFF, VARIABLE

os.environ[VARIABLE] = OFF  # commands that tests start inherit it

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
