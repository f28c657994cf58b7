"""routecut: plan, cut and document the cables of a two-way radio fit-out.

The public names are few on purpose: survey a job folder, plan it, ask the plan and its
harness graph. Whatever is not in ``__all__`` may change from version to version.

Everything heavy is imported when a name is first used, so that ``routecut --help`` and
``import routecut`` stay quick.

Examples
--------
>>> import routecut
>>> sorted(routecut.__all__)[:4]
['Finding', 'JobError', 'KeptPlan', 'Plan']
"""

from __future__ import annotations

import importlib
from importlib import metadata
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from routecut.documents import plan_json
    from routecut.errors import JobError, RoutecutError
    from routecut.model.finding import Finding
    from routecut.model.plan import Plan
    from routecut.planning import KeptPlan, harness_graph, make_plan, stored_plan
    from routecut.survey import Survey, survey_job, survey_moved

try:
    __version__ = metadata.version("routecut")
except metadata.PackageNotFoundError:  # a source tree that was never installed
    __version__ = "0.1.0"

_HOMES: Final = {
    "Finding": "routecut.model.finding",
    "JobError": "routecut.errors",
    "KeptPlan": "routecut.planning",
    "Plan": "routecut.model.plan",
    "RoutecutError": "routecut.errors",
    "Survey": "routecut.survey",
    "harness_graph": "routecut.planning",
    "make_plan": "routecut.planning",
    "plan_json": "routecut.documents",
    "stored_plan": "routecut.planning",
    "survey_job": "routecut.survey",
    "survey_moved": "routecut.survey",
}

__all__ = [
    "Finding",
    "JobError",
    "KeptPlan",
    "Plan",
    "RoutecutError",
    "Survey",
    "__version__",
    "harness_graph",
    "make_plan",
    "plan_json",
    "stored_plan",
    "survey_job",
    "survey_moved",
]


def __getattr__(name: str) -> object:
    """A public name, imported from its home when it is first asked for (PEP 562)."""
    if name not in _HOMES:
        message = f"module 'routecut' has no attribute {name!r}"
        raise AttributeError(message)
    found: object = getattr(importlib.import_module(_HOMES[name]), name)
    return found


def __dir__() -> list[str]:
    """The public names."""
    return sorted({*globals(), *__all__})
