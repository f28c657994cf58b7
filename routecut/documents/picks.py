"""Picked points as TOML, as the 3D view of the job pack writes them (`assets/view_picks.js`)."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Final

from routecut.model.plan import Plan
from routecut.plain import plain
from routecut.scene import Picked
from routecut.units import from_m

PICK_DECIMALS: Final = {"mm": 0, "cm": 1, "m": 3, "in": 2, "ft": 3}
"""Of a coordinate: about a millimetre, finer than anybody points."""


def picks_toml(plan: Plan, picks: Sequence[Picked]) -> str:
    """Points as a TOML text, in the unit of the job; empty when there are none.

    Parameters
    ----------
    plan : Plan
    picks : sequence of Picked
        Numbered in this order.
    """
    if not picks:
        return ""
    unit = plan.job.length_unit
    lines = [
        f"# Points picked on the body of {_quoted(plan.job.title)}.",
        f"# ISO 4130 axes, lengths in {unit}.",
    ]
    for number, pick in enumerate(picks, start=1):
        at = ", ".join(f"{from_m(v, unit):.{PICK_DECIMALS[unit]}f}" for v in pick.at_m)
        lines += [
            "",
            "[[pick]]",
            f'name = "point {number}"',
            f"at = [{at}]",
            f"part = {_quoted(pick.part)}",
            f"normal = [{', '.join(f'{v:.3f}' for v in pick.normal)}]",
        ]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """A basic string of TOML: JSON writes one, but for the delete character, which `plain` leaves out."""
    return json.dumps(plain(text), ensure_ascii=False)
