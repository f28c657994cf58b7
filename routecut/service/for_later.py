"""What the pack tells for years later: where to test, and what room the holes have.

Stage      service; of a plan as it was built
"""

from __future__ import annotations

from routecut.model.later import Later
from routecut.model.plan import Plan
from routecut.service.fault import fault_searches
from routecut.service.one_more import all_ways, spare_holes


def later(plan: Plan) -> Later:
    """All of it, worked out once for a pack."""
    return Later(searches=fault_searches(plan), holes=spare_holes(plan), ways=all_ways(plan))
