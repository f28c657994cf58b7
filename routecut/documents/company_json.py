"""Bundles, separation and other ways for `plan.json`.

Units      m
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from routecut.documents.reading import natural
from routecut.model.plan import Plan

_DECIMALS = 4


def bundles_json(plan: Plan) -> list[dict[str, Any]]:
    """Each bundle with its members, in the order of the plan."""
    return [
        {
            "name": bundle.name,
            "cables": [m.cable for m in bundle.members],
            "members": [
                {
                    "cable": m.cable,
                    "from_route_m": _m(m.from_m),
                    "to_route_m": _m(m.to_m),
                    "place_m": [round(v, 6) for v in m.place_m],
                }
                for m in bundle.members
            ],
            "length_m": _m(bundle.length_m),
            "diameter_m": round(bundle.diameter_m, 6),
            "bend_radius_m": _m(bundle.bend_radius_m),
            "from_m": [round(v, 6) for v in bundle.from_at_m],
            "to_m": [round(v, 6) for v in bundle.to_at_m],
        }
        for bundle in plan.bundles
    ]


def company_json(plan: Plan) -> dict[str, Any]:
    """What laying like with like bought, and where separation is not kept."""
    return {
        "shared_m": _m(sum(b.length_m for b in plan.bundles)),
        "beside_m": _m(sum(b.length_m for b in plan.beside)),
        "beside": [
            {
                "cable": b.cable,
                "noise_source" if b.noise else "other": b.other,
                "from_route_m": _m(b.from_m),
                "to_route_m": _m(b.to_m),
                "least_m": _m(b.least_m),
                "asked_m": _m(b.wanted_m),
                "at_m": [round(v, 6) for v in b.at_m],
                "pass_throughs": list(b.holes),
            }
            for b in plan.beside
        ],
        "rounds": None
        if plan.bought is None
        else {key: round(value, _DECIMALS) for key, value in asdict(plan.bought).items()},
    }


def others_json(plan: Plan) -> dict[str, Any]:
    """The nearest other way of each cable that has one, with what it costs more by cause."""
    return {
        name: {
            "pass_throughs": list(other.holes),
            "length_m": _m(other.length_m),
            "taken_m": _m(other.taken_m),
            "costs_more_m": {cause: _m(more) for cause, more in other.more_m.items()},
        }
        for name, other in sorted(plan.others.items(), key=lambda pair: natural(pair[0]))
    }


def _m(length_m: float) -> float:
    return round(length_m, _DECIMALS) + 0.0
