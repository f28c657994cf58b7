"""For all tests: nothing is read from or left in the user's cache."""

from __future__ import annotations

import os

from routecut.planning.chart_cache import OFF, VARIABLE

os.environ[VARIABLE] = OFF  # commands that tests start inherit it
