"""Wire, fuse, coax and bonds in `plan.json`.

Units      A, V, mm2, milliohm, MHz, dB, per cent, degrees C; lengths m
"""

from __future__ import annotations

import math
from dataclasses import asdict, replace
from typing import Any

from routecut.model.plan import Plan
from routecut.model.sizing import Bond, CoaxLoss, Electrical, Fuse


def electrical(plan: Plan, name: str) -> dict[str, Any] | None:
    """What was sized of a cable, or None: power, coax and bonds have different keys."""
    sizing = plan.sizing
    if sizing is None:
        return None
    if name in sizing.electrical:
        return _power(sizing.electrical[name])
    if name in sizing.coax:
        return _coax(sizing.coax[name])
    if name in sizing.bonds:
        return _bond(sizing.bonds[name])
    return None


def rules(plan: Plan) -> dict[str, Any] | None:
    """The limits everything was sized by, each with its source."""
    if plan.sizing is None:
        return None
    return {
        "profile": plan.sizing.profile,
        "limits": [
            {
                "name": limit.name,
                "value": _number(limit.value),
                "unit": limit.unit,
                "meaning": limit.meaning,
                "source": limit.source,
                "provenance": limit.provenance,
                "deviation": limit.deviation,
                "lowest": _number(limit.lowest),
                "highest": _number(limit.highest),
            }
            for limit in plan.sizing.limits
        ],
    }


def supplies(plan: Plan) -> list[dict[str, Any]]:
    """What each device gets, at duty and at peak."""
    if plan.sizing is None:
        return []
    return [
        {
            "device": s.device,
            "amps": _number(s.amps),
            "peak_amps": _number(s.peak_amps),
            "drop_v": _number(s.drop_v),
            "drop_percent": _number(s.drop_percent, 2),
            "peak_drop_v": _number(s.peak_drop_v),
            "peak_drop_percent": _number(s.peak_drop_percent, 2),
            "volts": _number(s.volts, 3),
            "peak_volts": _number(s.peak_volts, 3),
            "ok": s.ok,
        }
        for s in plan.sizing.supplies
    ]


def _power(e: Electrical) -> dict[str, Any]:
    # Rounded first: what may be carried is the product of the factors as they are printed.
    ampacity = replace(
        e.ampacity,
        table_a=round(e.ampacity.table_a, 2),
        heat_factor=round(e.ampacity.heat_factor, 4),
        bundle_factor=round(e.ampacity.bundle_factor, 4),
        air_c=round(e.ampacity.air_c, 1),
    )
    return {
        "conductor": e.conductor.name,
        "area_mm2": _number(e.conductor.area_mm2, 3),
        "copper": {
            "r20_mohm_per_m": _number(e.conductor.r20_ohm_per_m * 1000.0, 4),
            "insulation_c": _number(e.conductor.insulation_c, 1),
            "rated_a": _number(e.conductor.rated_a, 2),
            "source": e.conductor.source,
        },
        "polarity": str(e.polarity),
        "picked": e.picked,
        "amps": _number(e.amps),
        "peak_amps": _number(e.peak_amps),
        "length_m": _number(e.length_m),
        "return_length_m": _number(e.return_length_m),
        "drop_v": _number(e.drop_v),
        "drop_percent": _number(e.drop_percent, 2),
        "peak_drop_v": _number(e.peak_drop_v),
        "peak_drop_percent": _number(e.peak_drop_percent, 2),
        "max_drop_percent": _number(e.max_drop_percent, 2),
        "resistance_mohm": _number(e.resistance_ohm * 1000.0, 3),
        "conductor_c": _number(e.conductor_c, 1),
        "ampacity_a": _number(ampacity.allowed_a, 2),
        "ampacity": asdict(ampacity),
        "least_fuse_a": _number(e.least_fuse_a, 2),
        "fuse_a": None if e.fuse is None else _number(e.fuse.rating_a),
        "fuse_distance_m": None if e.fuse is None else _number(e.fuse.distance_m),
        "fuse": None if e.fuse is None else _fuse(e.fuse),
        "ok": e.ok,
        "why": list(e.why),
    }


def _fuse(fuse: Fuse) -> dict[str, Any]:
    return {
        "series": fuse.series,
        "at": fuse.at,
        "in_block": fuse.in_block,
        "space": fuse.space,
        "access": fuse.access or None,
        "why": fuse.why,
    }


def _coax(c: CoaxLoss) -> dict[str, Any]:
    return {
        "mhz": _number(c.mhz),
        "length_m": _number(c.length_m),
        "connectors": c.connectors,
        "cable_db": _number(c.cable_db, 3),
        "loss_db": _number(c.loss_db, 3),
        "low_db": _number(c.low_db, 3),
        "high_db": _number(c.high_db, 3),
        "max_loss_db": _number(c.max_loss_db, 3),
        "share_percent": _number(c.share_percent, 1),
        "watts": _number(c.watts, 2),
        "watts_left": _number(c.watts_left, 2),
        "reflected_percent": _number(c.reflected_percent, 2),
        "open_percent": _number(c.open_percent, 1),
        "half_wave_m": _number(c.half_wave_m, 6),
        "half_waves": c.half_waves,
        "rating_watts": _number(c.rating_watts, 2),
        "picked": c.picked,
        "inside_tables": c.inside,
        "ok": c.ok,
        "why": list(c.why),
    }


def _bond(b: Bond) -> dict[str, Any]:
    return {
        "area_mm2": _number(b.area_mm2, 3),
        "length_m": _number(b.length_m),
        "max_length_m": _number(b.longest_m),
        "width_m": _number(b.width_m),
        "resistance_mohm": _number(b.resistance_ohm * 1000.0, 3),
        "max_resistance_mohm": _number(b.limit_ohm * 1000.0, 3),
        "ok": b.ok,
        "why": list(b.why),
    }


def _number(value: float | None, decimals: int = 4) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), decimals) + 0.0
