"""How hot the air is that a cable runs through.

Stage      sizing
Units      degrees C
Safe side  the hottest space a route passes counts for the whole of it
"""

from __future__ import annotations

from collections.abc import Mapping

from routecut.model.job import Exposure, Job
from routecut.model.plan import Route
from routecut.model.sizing import Limit


def air_round_c(job: Job, route: Route | None, limits: Mapping[str, Limit]) -> float:
    """The hottest air on a route; that of ordinary spaces where there is none. [degrees C]"""
    hot = {s.name for s in job.spaces if Exposure.HOT in s.exposure}
    passes_hot = route is not None and bool(hot & set(route.spaces))
    return limits["hot_space_c" if passes_hot else "ambient_c"].value
