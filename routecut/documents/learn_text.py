"""What was learnt from records: in words, as JSON, and as the shop's own file of defaults.

Stage      documents
Units      shares in, per cent out; m in, the unit of the jobs out
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

from routecut.documents.figures import Lengths, count, signed
from routecut.documents.rounding import rounded
from routecut.model.learnt import FEWEST, LEVEL, Interval, Learnt, Lesson, Proposal, Stretches
from routecut.units import from_m, to_m

_MODEL = (
    "Taken to be normal and independent from cable to cable; Student and chi-square intervals at "
    f"{LEVEL * 100:g} %. What mesh, points and tapes were off is in the spread as well, so it is rather too wide."
)
_STEP_MM = 5.0


def learn_text(learnt: Learnt, jobs: Sequence[str], unit: str) -> str:
    """Everything that was learnt, for a person."""
    lines = [f"{count(len(learnt.taken), 'cable')} of {count(len(jobs), 'record')} say what laying takes"]
    lines += [
        f"  left out, {reason}: {count(number, 'cable')}"
        for reason, number in sorted(Counter(reason for _, reason in learnt.left_out).items())
    ]
    lines += ["", "what the route asks for on top of its length:"]
    lines += [_lesson(found) for found in (learnt.every, *learnt.classes)]
    lines += ["", "by kind of stretch, and for each loop:"]
    lines += [_stretch(found, unit) for found in learnt.stretches] or [f"  not told apart: {learnt.apart}"]
    if learnt.vehicles_differ is not None:
        said = (
            "WARNING: the vehicles differ more than their cables do (by accident with a chance of "
            f"{learnt.vehicles_differ:.2g}): the intervals are too narrow. Look at the scale of the meshes first."
        )
        lines += ["", said]
    lines += ["", _MODEL, ""]
    if learnt.proposals:
        lines += ["proposed for the shop's own file; no job is changed:", "", shop_toml(learnt, jobs, unit)]
    else:
        lines.append(
            f"nothing is proposed: {count(len(learnt.taken), 'cable')}, and {FEWEST} with cut and left-over are wanted"
        )
    return "\n".join(lines).rstrip()


def _lesson(found: Lesson) -> str:
    if found.lay is None or found.spread is None or found.bias is None:
        return f"  {found.about:<22} {count(found.number, 'cable')}: too few, {FEWEST} are wanted"
    return (
        f"  {found.about:<22} {count(found.number, 'cable')}: lay {_percent(found.lay)}, "
        f"{_signed(found.bias)} beside what was planned; spread {_percent(found.spread)}"
    )


def _percent(found: Interval) -> str:
    return f"{100 * found.value:.2f} % ({100 * found.low:.2f} to {100 * found.high:.2f})"


def _signed(found: Interval) -> str:
    return f"{signed(100 * found.value, 2)} % ({signed(100 * found.low, 2)} to {signed(100 * found.high, 2)})"


def _stretch(found: Stretches, unit: str) -> str:
    f = found.figure
    if found.unit == "%":
        figures = f"lay {_percent(f)}, planned {100 * found.planned:.2f} %"
    else:
        text = Lengths(unit).text
        figures = f"{text(f.value)} each ({text(f.low)} to {text(f.high)}), planned {text(found.planned)}"
    return f"  {found.about:<22} in {count(found.number, 'cable')}: {figures}"


def shop_toml(learnt: Learnt, jobs: Sequence[str], unit: str) -> str:
    """The proposals as a file that a job can name under `defaults` in its ``[lengths]``.

    Values are rounded to the safe side: lay to 0.1 %, loops up to 5 mm or a quarter of an inch.
    """
    lines = [
        f"# Learnt from {count(len(learnt.taken), 'cable')} of {', '.join(jobs)}.".replace("\n", " "),
        '# Copy it into a job folder and say so in job.toml: [lengths] defaults = "shop.toml".',
        f'length_unit = "{unit}"',
        "",
        "[lengths]",
    ]
    lines += [
        f"{found.key} = {_value(found, unit)}".ljust(26) + f"# {_was(found, unit)}{found.why}"
        for found in learnt.proposals
    ]
    return "\n".join(lines) + "\n"


def _value(found: Proposal, unit: str) -> str:
    if found.key.endswith("_percent"):
        return f"{math.ceil(found.value * 10 - 1e-6) / 10:.1f}"
    step_m = to_m(0.25, "in") if unit in {"in", "ft"} else _STEP_MM / 1000.0
    return f"{from_m(math.ceil(found.value / step_m - 1e-6) * step_m, unit):.6g}"


def _was(found: Proposal, unit: str) -> str:
    if found.now is None:
        return ""
    if found.key.endswith("_percent"):
        return f"was {found.now:.3g}; "
    return f"was {Lengths(unit).text(found.now)}; "


def learn_json(learnt: Learnt, jobs: Sequence[str]) -> str:
    """The same for programs: shares as fractions, lengths in m."""
    document: dict[str, Any] = {
        "jobs": list(jobs),
        "level": LEVEL,
        "fewest": FEWEST,
        "cables": [
            {
                "job": t.vehicle,
                "cable": t.cable,
                "class": t.cable_class,
                "used_m": rounded(t.used_m),
                "planned_m": rounded(t.planned_m),
                "computed_m": rounded(t.open_m),
                "lay": rounded(t.lay, 6),
                "behind_trim": rounded(t.trim),
            }
            for t in learnt.taken
        ],
        "left_out": [{"cable": name, "why": why} for name, why in learnt.left_out],
        "lessons": [_lesson_json(x) for x in (learnt.every, *learnt.classes)],
        "stretches": [
            {
                "about": s.about,
                "cables": s.number,
                "unit": "m" if s.unit == "m" else "share",
                "planned": rounded(s.planned, 6),
                **(_interval(s.figure) or {}),
            }
            for s in learnt.stretches
        ],
        "not_told_apart": learnt.apart,
        "vehicles_differ": learnt.vehicles_differ,
        "proposals": [
            {"key": p.key, "value": rounded(p.value, 6), "now": rounded(p.now, 6), "why": p.why}
            for p in learnt.proposals
        ],
    }
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1)


def _lesson_json(found: Lesson) -> dict[str, Any]:
    return {
        "about": found.about,
        "cables": found.number,
        "lay": _interval(found.lay),
        "bias": _interval(found.bias),
        "spread": _interval(found.spread),
    }


def _interval(found: Interval | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {"value": rounded(found.value, 6), "low": rounded(found.low, 6), "high": rounded(found.high, 6)}
