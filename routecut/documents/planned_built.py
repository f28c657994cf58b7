"""A figure of the sizing that is another one as built: both, each with what it is.

Stage      documents
"""

from __future__ import annotations

from routecut.model.plan import Plan
from routecut.model.sizing import Sizing


def planned_sizing(plan: Plan) -> Sizing | None:
    """As it was planned, also of a plan as it was built (see `built.as_fitted`)."""
    built = plan.as_built
    return plan.sizing if built is None or built.planned_sizing is None else built.planned_sizing


def built_sizing(plan: Plan) -> Sizing | None:
    """With the types that were fitted and the lengths that lie there; as planned where nothing was laid again."""
    built = plan.as_built
    return plan.sizing if built is None or built.sizing is None else built.sizing


def both_text(planned: float | None, built: float, digits: int, unit: str) -> str:
    """One figure where both print alike, else both.

    Examples
    --------
    >>> both_text(8.02, 8.04, 1, "V"), both_text(8.2, 8.0, 1, "V"), both_text(None, 8.0, 1, "V")
    ('8.0 V', 'planned 8.2, as built 8.0 V', '8.0 V')
    """
    now = f"{built:.{digits}f}"
    was = now if planned is None else f"{planned:.{digits}f}"
    return f"{now} {unit}" if was == now else f"planned {was}, as built {now} {unit}"
