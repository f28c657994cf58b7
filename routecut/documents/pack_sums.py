"""How each cut length is made up and what the checks found: in full for a screen, as one table for paper."""

from __future__ import annotations

import math
from fractions import Fraction
from xml.etree.ElementTree import Element

from routecut.documents.cautions import is_near, where_nearest
from routecut.documents.cut_list import measure_text
from routecut.documents.figures import Lengths, count, share
from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import anchor, fold, table
from routecut.documents.reading import pulling_order
from routecut.model.plan import CutLength, Plan, PlannedCable, SumLine, Verification

NEVER_SURER = 0.999
"""Nobody knows the errors well enough to promise more."""

_MESH = (
    "How each length is made up, line by line. The mesh is the 3D model of the vehicle that the routes were found on "
    "and checked against."
)

_REASONS = (
    "The reason and the source of each line of a sum stand in this page on a screen, and in plan.json. "
    "A route that does not hold is marked."
)


def sums(plan: Plan) -> Element:
    """How each cut length is made up and what the checks found, in the order of pulling."""
    found = [
        el(
            "div",
            fold(
                el("h3", f"{c.cable.name}: {Lengths(plan.job.length_unit).up(c.cut.length_m)}"),
                _sum(plan, c.cut),
                None if c.verified is None else _verified(plan, c.verified),
                el("p", el("a", f"card of {c.cable.name}", href=f"#{anchor('cable', number)}")),
            ),
        )
        for number, c in enumerate(pulling_order(plan), start=1)
        if c.cut is not None
    ]
    if not found:
        return el("p", "No cable has a length.")
    return el(
        "div",
        el("p", _MESH),
        el("div", el("p", _REASONS), _on_paper(plan), class_="paper"),
        el("div", found, class_="sums screen"),
    )


def _on_paper(plan: Plan) -> Element:
    """All sums in one table, their lines by kind, with what was found on the mesh."""
    lengths = Lengths(plan.job.length_unit)
    cables = [c for c in pulling_order(plan) if c.cut is not None]
    sums = [_by_kind(lengths, c.cut) for c in cables if c.cut is not None]
    kinds = list(dict.fromkeys(_order(sums)))
    rows: list[list[Child]] = [
        [
            el("b", c.cable.name),
            *(lengths.number(float(found[kind])) if kind in found else "" for kind in kinds),
            el("b", lengths.number(c.cut.length_m, "up") if c.cut is not None else ""),
            *_found(plan, c),
        ]
        for c, found in zip(cables, sums, strict=True)
    ]
    unit = lengths.column_unit
    heads = ["cable", *kinds, "cut", "free span", "bend", "keep-outs near"]
    return el("div", el("p", f"In {unit}."), table(heads, rows, kind="sums-table"))


def _order(sums: list[dict[str, Fraction]]) -> list[str]:
    """Kinds in the order of a sum: what every sum ends with stays last."""
    longest = max(sums, key=len)
    others = [kind for found in sums for kind in found if kind not in longest]
    first, last = list(longest)[:-2], list(longest)[-2:]
    return [*first, *others, *last]


def _by_kind(lengths: Lengths, cut: CutLength) -> dict[str, Fraction]:
    """The lines of a sum as they are printed, those of a kind together. [m]"""
    found: dict[str, Fraction] = {}
    pieces = lengths.pieces_m([line.length_m for line in cut.lines], cut.length_m)
    for line, piece in zip(cut.lines, pieces, strict=True):
        kind = line.what.split(" at ")[0]
        found[kind] = found.get(kind, Fraction(0)) + piece
    return found


def _found(plan: Plan, planned: PlannedCable) -> list[str]:
    lengths, verified = Lengths(plan.job.length_unit), planned.verified
    if verified is None:
        return ["not checked", "", ""]
    near = ", ".join(
        f"{name} {_finite(lengths, m)}{where_nearest(lengths, planned, name)}"
        for name, m in _near(plan, verified)
    )
    span, bend = verified.longest_span_m, verified.least_bend_radius_m
    return [
        ("" if verified.ok else "DOES NOT HOLD ") + (lengths.number(span) if math.isfinite(span) else ""),
        lengths.number(bend, "down") if math.isfinite(bend) else "none",
        near or "none",
    ]


def _near(plan: Plan, verified: Verification) -> list[tuple[str, float]]:
    """The keep-outs near a route, the nearest three of them."""
    asked = {k.name: k.clearance_m for k in plan.job.keep_outs}
    clear = verified.least_clearance_m
    near = [name for name, m in clear.items() if is_near(m, asked.get(name, 0.0))]
    return [(name, clear[name]) for name in sorted(near, key=lambda name: (clear[name], name))[:3]]


def _sum(plan: Plan, cut: CutLength) -> Element:
    lengths = Lengths(plan.job.length_unit)
    texts = lengths.sum_texts([line.length_m for line in cut.lines], cut.length_m)
    rows: list[list[Child]] = [
        [text, el("span", el("b", line.what), f": {line.why}", _source(line))]
        for line, text in zip(cut.lines, texts, strict=True)
    ]
    rows.append([el("b", lengths.up(cut.length_m)), el("span", el("b", "cut length"), _sure(cut))])
    found = table(["length", "what for"], rows, kind="sum")
    tip = measure_text(lengths, cut)
    return found if not tip else el("div", found, el("p", el("strong", "Measure this: "), f"{tip}."))


def _source(line: SumLine) -> Element | None:
    """Who says so, where the reason does not say it already."""
    if not line.source or line.source in line.why or "shop practice" in line.why:
        return None
    return el("small", f" [{line.source}]")


def _sure(cut: CutLength) -> str:
    """How sure the length is to be enough, what the rounding adds counted."""
    asked = f": long enough with a probability of {share(cut.probability)}"
    if cut.holds is None or cut.holds <= cut.probability:
        return asked
    sure = min(math.floor(cut.holds * 1000) / 1000, NEVER_SURER)
    return f"{asked}; with the rounding up {share(max(sure, cut.probability))}"


def _verified(plan: Plan, verified: Verification) -> Element:
    """What the checks on the mesh found, in one paragraph."""
    lengths = Lengths(plan.job.length_unit)
    bend = verified.least_bend_radius_m
    span = _finite(lengths, verified.longest_span_m)
    facts = [
        f"{count(verified.crossings, 'sheet') if verified.crossings else 'no sheet'} crossed away from holes",
        f"longest free span {span}, allowed {lengths.text(plan.job.routing.bridge_m)}",
        "no bend" if bend == float("inf") else f"tightest bend radius {_finite(lengths, bend)}",
        "keep-outs near it: "
        + (", ".join(f"{n} {_finite(lengths, m)}" for n, m in _near(plan, verified)) or "none"),
    ]
    result = "holds" if verified.ok else "DOES NOT HOLD: see the findings"
    return el(
        "p",
        "Checked on the whole 3D model: ",
        el("strong", result),
        f"; {'; '.join(facts)}.",
        class_="checked",
    )


def _finite(lengths: Lengths, length_m: float) -> str:
    return lengths.free(length_m) if abs(length_m) < float("inf") else "beyond measure"
