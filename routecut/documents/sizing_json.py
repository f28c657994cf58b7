"""Wire, fuse, coax and bonds in `plan.json`.

Units      A, V, mm2, milliohm, MHz, dB, per cent, degrees C; lengths m
"""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

from routecut.documents.rounding import rounded
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
                "value": rounded(limit.value),
                "unit": limit.unit,
                "meaning": limit.meaning,
                "source": limit.source,
                "provenance": limit.provenance,
                "deviation": limit.deviation,
                "lowest": rounded(limit.lowest),
                "highest": rounded(limit.highest),
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
            "amps": rounded(s.amps),
            "peak_amps": rounded(s.peak_amps),
            "drop_v": rounded(s.drop_v),
            "drop_percent": rounded(s.drop_percent, 2),
            "peak_drop_v": rounded(s.peak_drop_v),
            "peak_drop_percent": rounded(s.peak_drop_percent, 2),
            "volts": rounded(s.volts, 3),
            "peak_volts": rounded(s.peak_volts, 3),
            "body_v": rounded(s.body_v),
            "peak_body_v": rounded(s.peak_body_v),
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
        "area_mm2": rounded(e.conductor.area_mm2, 3),
        "copper": {
            "r20_mohm_per_m": rounded(e.conductor.r20_ohm_per_m * 1000.0, 4),
            "insulation_c": rounded(e.conductor.insulation_c, 1),
            "rated_a": rounded(e.conductor.rated_a, 2),
            "source": e.conductor.source,
        },
        "polarity": str(e.polarity),
        "picked": e.picked,
        "amps": rounded(e.amps),
        "peak_amps": rounded(e.peak_amps),
        "length_m": rounded(e.length_m),
        "return_length_m": rounded(e.return_length_m),
        "drop_v": rounded(e.drop_v),
        "drop_percent": rounded(e.drop_percent, 2),
        "peak_drop_v": rounded(e.peak_drop_v),
        "peak_drop_percent": rounded(e.peak_drop_percent, 2),
        "max_drop_percent": rounded(e.max_drop_percent, 2),
        "resistance_mohm": rounded(e.resistance_ohm * 1000.0, 3),
        "conductor_c": rounded(e.conductor_c, 1),
        "ampacity_a": rounded(ampacity.allowed_a, 2),
        "ampacity": asdict(ampacity),
        "least_fuse_a": rounded(e.least_fuse_a, 2),
        "fuse_a": None if e.fuse is None else rounded(e.fuse.rating_a),
        "fuse_distance_m": None if e.fuse is None else rounded(e.fuse.distance_m),
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
        "mhz": rounded(c.mhz),
        "length_m": rounded(c.length_m),
        "connectors": c.connectors,
        "cable_db": rounded(c.cable_db, 3),
        "loss_db": rounded(c.loss_db, 3),
        "low_db": rounded(c.low_db, 3),
        "high_db": rounded(c.high_db, 3),
        "max_loss_db": rounded(c.max_loss_db, 3),
        "share_percent": rounded(c.share_percent, 1),
        "watts": rounded(c.watts, 2),
        "watts_left": rounded(c.watts_left, 2),
        "reflected_percent": rounded(c.reflected_percent, 2),
        "open_percent": rounded(c.open_percent, 1),
        "half_wave_m": rounded(c.half_wave_m, 6),
        "half_waves": c.half_waves,
        "rating_watts": rounded(c.rating_watts, 2),
        "bears_watts": rounded(c.bears_watts, 1),
        "air_c": rounded(c.air_c, 1),
        "picked": c.picked,
        "inside_tables": c.inside,
        "ok": c.ok,
        "why": list(c.why),
    }


def _bond(b: Bond) -> dict[str, Any]:
    return {
        "area_mm2": rounded(b.area_mm2, 3),
        "length_m": rounded(b.length_m),
        "max_length_m": rounded(b.longest_m),
        "width_m": rounded(b.width_m),
        "resistance_mohm": rounded(b.resistance_ohm * 1000.0, 3),
        "max_resistance_mohm": rounded(b.limit_ohm * 1000.0, 3),
        "ok": b.ok,
        "why": list(b.why),
    }
