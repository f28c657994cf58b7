"""What was really built, for `plan.json`: the record, what it makes of routes, planned beside as built.

Units      m, V, ohm, per cent
"""

from __future__ import annotations

from typing import Any

from routecut.documents.difference_text import row_json
from routecut.documents.record_text import line_json
from routecut.documents.rounding import rounded
from routecut.model.as_built import AsBuilt, Relaid
from routecut.model.job import Job


def as_built_json(built: AsBuilt, job: Job) -> dict[str, Any]:
    """The key ``as_built`` of `plan.json`."""
    return {
        "record_sha256": built.record.digest,
        "lines": [line_json(line) for line in built.record.lines],
        "moved": [
            {
                "name": one.name,
                "kind": one.kind,
                "from_m": [rounded(v) for v in one.from_m],
                "to_m": [rounded(v) for v in one.to_m],
            }
            for one in built.moved
        ],
        "cables": [_relaid(c.name, built.relaid[c.name]) for c in job.cables if c.name in built.relaid],
        "differences": [row_json(row) for row in built.rows],
        "fills": {name: rounded(share) for name, share in sorted(built.fills.items())},
    }


def _relaid(name: str, relaid: Relaid) -> dict[str, Any]:
    route, cut = relaid.route, relaid.cut
    return {
        "name": name,
        "why": relaid.why,
        "route_m": None if route is None else rounded(route.length_m),
        "points_m": None if route is None else [[rounded(v, 6) for v in p] for p in route.points_m.tolist()],
        "pass_throughs": [] if route is None else [p.name for p in route.passages],
        "cut_m": None if cut is None else rounded(cut.length_m),
        "verified": None if relaid.verified is None else relaid.verified.ok,
        "type": "" if relaid.cable is None else relaid.cable.type.name,
    }
