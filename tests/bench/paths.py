"""What planners hand over, and what is common to those that search a grid."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from routecut.model.body import Floats
from routecut.survey import Survey

Bools = npt.NDArray[np.bool_]
Paths = dict[str, Floats]
"""Polylines by cable name, (n, 3) each; a cable without a way is left out."""


def ends_m(seen: Survey) -> dict[str, Floats]:
    """Both ports of every cable, (2, 3). [m]"""
    job = seen.job
    return {
        c.name: np.array([job.port(p).position.at_m for p in (c.from_port, c.to_port)]) for c in job.cables
    }
