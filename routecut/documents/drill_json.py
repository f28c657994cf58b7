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
    found: dict[str, Any] = _plain(card)
    return found


def study_json(study: DrillStudy, plan: Plan, what: WhatIf | None = None) -> str:
    """The drill study as JSON text, one trailing newline; a what-if stands under ``what_if``."""
    found: dict[str, Any] = _plain(study)
    for row, told in zip(found["rows"], study.rows, strict=True):
        row["cable_m"] = rounded(told.cable_m, _DECIMALS)
    found["others"] = [{"hole": n, "more_m": rounded(more, _DECIMALS)} for n, more in study.others]
    routed = {c.cable.name: c.route.length_m for c in plan.cables if c.route is not None}
    found["routed_m"] = {name: rounded(length, _DECIMALS) for name, length in routed.items()}
    found["complete"] = plan.complete
    if what is not None:
        found["what_if"] = _plain(what) | {
            "cables": {n: {"before": _plain(a), "after": _plain(b)} for n, (a, b) in what.cables.items()}
        }
    return json.dumps(found, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(v) for v in value]
    if isinstance(value, float):
        return rounded(value, _DECIMALS)
    return str(value) if isinstance(value, str) else value
