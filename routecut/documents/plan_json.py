"""`plan.json`: everything in the plan, for programs.

Units      m throughout, mm for hole diameters; positions in ISO 4130 axes
Contract   the keys of format 1 stay; keys may be added
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from routecut.documents.as_built_json import as_built_json
from routecut.documents.built import as_fitted, otherwise
from routecut.documents.company_json import bundles_json, company_json, others_json
from routecut.documents.drill_json import cards_json
from routecut.documents.order_list import ordered_json
from routecut.documents.reading import all_findings, job_digest, natural
from routecut.documents.rounding import DECIMALS, rounded
from routecut.documents.service_json import service_json
from routecut.documents.sizing_json import electrical, rules, supplies
from routecut.model.as_built import AsBuilt
from routecut.model.finding import Finding
from routecut.model.plan import (
    CutLength,
    Lead,
    LeadJoint,
    Plan,
    PlannedCable,
    PlannedHole,
    Route,
    Verification,
)

FORMAT: Final = 1
AXES: Final = "+x rear, +y right, +z up"

_HALVES: Final = re.compile("[\ud800-\udfff]")

# Finer than lengths: a tenth of a millimetre on neighbouring points of a tight bend would
# change the bend radius a program computes from them by some per cent.
_POINT_DECIMALS: Final = 6


def plan_json(plan: Plan) -> str:
    """The plan as JSON text, one trailing newline, UTF-8 when written.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    str
        Same plan, same text. What is not finite or not known is ``null``.

    Notes
    -----
    Lengths are rounded to 0.1 mm; the lines of a sum are rounded so that they still add
    up to the cut length.
    """
    document: dict[str, Any] = {
        "format": FORMAT,
        "routecut": plan.version,
        "title": plan.job.title,
        "length_unit": "m",
        "axes": AXES,
        "complete": plan.complete,
        "inputs": {"job_sha256": job_digest(plan.job), "mesh_sha256": plan.body_digest or None},
        "cables": [_cable(plan, c) for c in plan.cables],
        "holes": [_hole(h) for h in sorted(plan.holes, key=lambda h: natural(h.pass_through.name))],
        "order": [ordered_json(line) for line in plan.order],
        "supplies": supplies(plan),
        "rules": rules(plan),
        "drilling": cards_json(plan),
        "bundles": bundles_json(plan),
        "company": company_json(plan),
        "other_ways": others_json(plan),
        "service": service_json(plan),
        "findings": [_finding(f) for f in all_findings(plan)],
    }
    if plan.as_built is not None:
        document["as_built"] = as_built_json(plan.as_built, plan.job) | {
            "fitted": _fitted(plan, plan.as_built)
        }
    # half a character, as of a file name that is no UTF-8, is written as JSON has it: it can't stand in a file
    written = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1)
    return _HALVES.sub(lambda half: f"\\u{ord(half[0]):04x}", written) + "\n"


def _fitted(plan: Plan, built: AsBuilt) -> dict[str, Any] | None:
    """What was laid again, with the same keys as the plan's; None where nothing was."""
    if not otherwise(built):
        return None
    fitted = as_fitted(plan)
    laid = {name for name, relaid in built.relaid.items() if relaid.route is not None}
    sized = {c.cable.name: electrical(fitted, c.cable.name) for c in fitted.cables}
    return {
        "cables": [
            _cable(fitted, replace(c, cut=built.relaid[c.cable.name].cut))
            for c in fitted.cables
            if c.cable.name in laid
        ],
        "sized": {name: found for name, found in sized.items() if found is not None},
        "supplies": supplies(fitted),
        "bundles": bundles_json(fitted),
        "service": service_json(fitted),
    }


def _cable(plan: Plan, planned: PlannedCable) -> dict[str, Any]:
    cable = planned.cable
    found: dict[str, Any] = {
        "name": cable.name,
        "from": cable.from_port,
        "to": cable.to_port,
        "class": str(cable.cable_class),
        "type": cable.type.name,
        "type_assumed": cable.type_assumed,
        "diameter_m": rounded(cable.type.diameter_m),
        "ready_made": cable.ready_made,
        "ends": {
            "from": _end(plan, cable.from_port),
            "to": _end(plan, cable.to_port),
        },
        "route": None if planned.route is None else _route(planned.route),
        "behind_trim": [
            {
                "trim": c.trim,
                "from_route_m": rounded(c.from_m),
                "to_route_m": rounded(c.to_m),
                "minutes": rounded(c.minutes),
            }
            for c in planned.covered
        ],
        "cut": None if planned.cut is None else _cut(planned.cut),
        "verified": None if planned.verified is None else _verified(planned.verified),
    }
    sized = electrical(plan, cable.name)
    if sized is not None:
        found["electrical"] = sized
    if cable.ready_made:
        found["lead"] = None if planned.lead is None else _lead(planned.lead)
    return found


def _end(plan: Plan, port_name: str) -> dict[str, Any]:
    port = plan.job.port(port_name)
    return {
        "termination": port.termination,
        "made_up": str(port.made_up),
        "service_loop_m": rounded(port.service_loop_m),
        "at_m": _point(port.position.at_m),
    }


def _route(route: Route) -> dict[str, Any]:
    return {
        "length_m": rounded(route.length_m),
        "points_m": [_point(p) for p in route.points_m.tolist()],
        "pass_throughs": [p.name for p in route.passages],
        "spaces": list(route.spaces),
        "bend_radius_m": rounded(route.bend_radius_m),
        "measured": bool(route.measured),
        "passages": [
            {
                "name": p.name,
                "at_route_m": rounded(p.at_route_m),
                "from_space": p.from_space,
                "to_space": p.to_space,
            }
            for p in route.passages
        ],
        "hinges": [{"name": h.name, "at_route_m": rounded(h.at_route_m)} for h in route.hinges],
        "stretches": [
            {
                "from": s.from_name,
                "to": s.to_name,
                "computed_m": rounded(s.computed_m),
                "measured_m": rounded(s.measured_m),
            }
            for s in route.measured
        ],
        "parts": [
            {"part": part, "from_route_m": rounded(start), "to_route_m": rounded(end)}
            for part, start, end in route.parts
        ],
    }


def _cut(cut: CutLength) -> dict[str, Any]:
    lines, running, before = [], 0.0, 0.0
    for number, line in enumerate(cut.lines, start=1):
        running += line.length_m
        exact = cut.length_m if number == len(cut.lines) else running
        now = round(exact, DECIMALS)
        lines.append(
            {
                "what": line.what,
                "length_m": rounded(now - before),
                "why": line.why,
                "source": line.source,
                "at_route_m": rounded(line.at_route_m),
            }
        )
        before = now
    measure = cut.measure
    return {
        "length_m": rounded(cut.length_m),
        "probability": rounded(cut.probability),
        "holds": rounded(cut.holds),
        "sum": lines,
        "errors": [
            {"what": e.what, "sigma_m": rounded(e.sigma_m), "why": e.why, "over_m": rounded(e.over_m)}
            for e in cut.errors
        ],
        "measure": None
        if measure is None
        else {"from": measure.from_name, "to": measure.to_name, "saves_m": rounded(measure.saves_m)},
    }


def _lead(lead: Lead) -> dict[str, Any]:
    return {
        "lengths_m": [rounded(length) for length in lead.lengths_m],
        "surplus_m": rounded(lead.surplus_m) if lead.lengths_m else None,
        "joints": [_joint(j) for j in lead.joints],
        "price": rounded(lead.price),
        "why": lead.why,
        "parked": lead.parked,
        "others": [
            {
                "lengths_m": [rounded(length) for length in option.lengths_m],
                "surplus_m": rounded(option.surplus_m),
                "joints": [_joint(j) for j in option.joints],
                "price": rounded(option.price),
                "why_not": option.why_not,
            }
            for option in lead.others
        ],
    }


def _joint(joint: LeadJoint) -> dict[str, Any]:
    return {
        "at_route_m": rounded(joint.at_route_m),
        "space": joint.space,
        "access": str(joint.access),
        "minutes": rounded(joint.minutes),
        "behind": joint.behind,
        "from_m": rounded(joint.from_m),
        "to_m": rounded(joint.to_m),
    }


def _verified(verified: Verification) -> dict[str, Any]:
    return {
        "ok": verified.ok,
        "crossings": verified.crossings,
        "least_clearance_m": _numbers(verified.least_clearance_m),
        "least_clearance_at_route_m": _numbers(verified.least_clearance_at_m),
        "longest_span_m": rounded(verified.longest_span_m),
        "free_spans": [
            {"from_route_m": rounded(start), "to_route_m": rounded(end)}
            for start, end in verified.free_spans_m
        ],
        "least_bend_radius_m": rounded(verified.least_bend_radius_m),
        "least_sheet_m": rounded(verified.least_sheet_m),
        "length_m": rounded(verified.length_m),
    }


def _hole(hole: PlannedHole) -> dict[str, Any]:
    through = hole.pass_through
    return {
        "name": through.name,
        "state": str(hole.state),
        "drill": hole.drill,
        "at_m": _point(hole.at_m),
        "axis": _point(hole.axis),
        "diameter_mm": rounded(through.diameter_m * 1000.0),
        "joins": list(through.joins),
        "cables": list(hole.cables),
        "behind_m": _numbers(hole.behind_m),
        "refused": hole.refused,
        "why": hole.why,
        "filled": rounded(hole.filled),
        "fill_most": rounded(hole.fill_most),
        "confirmed": through.confirmed,
        "depth_m": rounded(through.depth_m),
        "in_use_m": rounded(through.in_use_m),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    found: dict[str, Any] = {
        "code": finding.code,
        "severity": str(finding.severity),
        "where": finding.where,
        "message": finding.message,
    }
    parts = {k: getattr(finding, k) for k in ("file", "table", "key", "found", "allowed", "nearest", "about")}
    return found | {k: v for k, v in parts.items() if v}


def _numbers(named: Mapping[str, float | None]) -> dict[str, float | None]:
    return {name: rounded(named[name]) for name in sorted(named, key=natural)}


def _point(point: Sequence[float]) -> list[float | None]:
    return [rounded(coordinate, _POINT_DECIMALS) for coordinate in point]
