"""What the pack tells for years later: where to test, and what room the holes have.

Stage      service; of a plan as it was built
"""

from __future__ import annotations

from routecut.model.fault import Later
from routecut.model.plan import Plan
from routecut.service.fault import fault_searches


def later(plan: Plan) -> Later:
    """All of it, worked out once for a pack."""
    return Later(searches=fault_searches(plan))
