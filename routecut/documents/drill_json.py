"""Drill cards and the drill study for programs.

Units      m, degrees, per cent, dB as the keys say; what is not finite is null
"""

from __future__ import annotations

import dataclasses
import json
from typing import Any

from routecut.documents.rounding import rounded
from routecut.model.drilling import DrillCard, DrillStudy
from routecut.model.plan import Plan
from routecut.model.whatif import WhatIf

_DECIMALS = 5  # directions are among them


def cards_json(plan: Plan) -> list[dict[str, Any]]:
    """The drill cards of a plan; keys are the fields of `routecut.model.drilling.DrillCard`."""
    return [card_json(card) for card in plan.drilling]


def card_json(card: DrillCard) -> dict[str, Any]:
    """One card."""
    found: dict[str, Any] = plain_json(card)
    return found


def study_json(study: DrillStudy, plan: Plan, what: WhatIf | None = None) -> str:
    """The drill study as JSON text, one trailing newline; a what-if stands under ``what_if``."""
    found: dict[str, Any] = plain_json(study)
    for row, told in zip(found["rows"], study.rows, strict=True):
        row["cable_m"] = rounded(told.cable_m, _DECIMALS)
    found["others"] = [{"hole": n, "more_m": rounded(more, _DECIMALS)} for n, more in study.others]
    routed = {c.cable.name: c.route.length_m for c in plan.cables if c.route is not None}
    # rounded as plan.json is, from which the routes may have been read
    found["routed_m"] = {name: rounded(length) for name, length in routed.items()}
    found["complete"] = plan.complete
    if what is not None:
        found["what_if"] = plain_json(what) | {
            "cables": {
                n: {"before": plain_json(a), "after": plain_json(b)} for n, (a, b) in what.cables.items()
            }
        }
    return json.dumps(found, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def plain_json(value: Any) -> Any:
    """Dataclasses as objects of their fields, figures rounded to 0.01 mm."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain_json(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(k): plain_json(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [plain_json(v) for v in value]
    if isinstance(value, float):
        return rounded(value, _DECIMALS)
    return str(value) if isinstance(value, str) else value
