"""scikit-image's ``MCP_Geometric`` on the band; its cells can't be told from their neighbours behind a sheet, so the
sheets are made as thick as a cell.
"""

from __future__ import annotations

import numpy as np
from skimage.graph import MCP_Geometric

from routecut.geometry.sheets import Sheets
from routecut.survey import Survey
from tests.bench.band import make
from tests.bench.paths import Paths, ends_m


def plan(seen: Survey, pitch_m: float) -> Paths:
    """A way for each cable, by a wave from its first port."""
    sheets = Sheets(seen.body.triangles_m)
    band = make(seen, sheets, pitch_m, least_m=0.55 * pitch_m, most_m=0.012 + 1.6 * pitch_m)
    costs = np.where(band.open, 1.0, np.inf)
    found: Paths = {}
    for name, ends in ends_m(seen).items():
        first, last = band.nearest(ends)
        wave = MCP_Geometric(costs)
        reached, _ = wave.find_costs([tuple(first)], [tuple(last)])
        if not np.isfinite(reached[tuple(last)]):
            continue
        way = np.array(wave.traceback(tuple(last)))
        found[name] = np.concatenate([ends[:1], band.at_m(way), ends[1:]])
    return found
