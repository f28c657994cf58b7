"""Cable from reels and ready-made leads for the order list.

Stage      ordering, after the cut lengths
Units      m
Safe side  shelves of several jobs that read alike are one shelf; every cut is in one piece
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from routecut.model.finding import Finding, Severity
from routecut.model.job import Stock
from routecut.model.plan import OrderLine, PlannedCable
from routecut.ordering.leads import needed_length_m
from routecut.ordering.needs import Fitted
from routecut.ordering.stock_cutting import CuttingPlan, Reel, cut_reels
from routecut.units import format_length


@dataclass(frozen=True, slots=True)
class _Cut:
    name: str
    length_m: float


def reel_lines(fits: Sequence[Fitted]) -> tuple[list[OrderLine], list[Finding]]:
    """Cable by the metre with the reels it is cut from, by type; cuts that no reel holds are findings."""
    by_type: dict[str, list[_Cut]] = {}
    for fitted in fits:
        for planned in fitted.made_up:
            assert planned.cut is not None  # noqa: S101 - only such cables are asked for
            cut = _Cut(fitted.named(planned.cable.name), planned.cut.length_m)
            by_type.setdefault(planned.cable.type.name, []).append(cut)
    lines, findings = [], []
    for name in sorted(by_type):
        line, more = _reel_line(fits, name, by_type[name])
        lines.append(line)
        findings += more
    return lines, findings


def _stock(fits: Sequence[Fitted], name: str) -> list[Stock]:
    """What is said of a type in any of the jobs, each entry once."""
    return list(dict.fromkeys(s for fitted in fits for s in fitted.job.stock if s.type == name))


def reels_of(stock: Sequence[Stock]) -> list[tuple[Reel, float | None]]:
    """Kinds of reels with their price: what is on the shelf, and what can be bought.

    A reel whose price is not known costs as much a metre as the others do, or its length.
    """
    entries = [s for s in stock if s.reel_m]
    known = [s.price / s.reel_m for s in entries if s.price is not None and s.reel_m]
    rate = sum(known) / len(known) if known else 1.0
    found: list[tuple[Reel, float | None]] = []
    for s in entries:
        assert s.reel_m is not None  # noqa: S101 - asked for above
        if s.quantity:
            found.append((Reel(length_m=s.reel_m, cost=0.0, most=s.quantity, shelf=True), None))
        if s.quantity is None or s.price is not None:
            cost = s.price if s.price is not None else rate * s.reel_m
            found.append((Reel(length_m=s.reel_m, cost=max(cost, 1e-6 * s.reel_m)), s.price))
    return found


def _reel_line(fits: Sequence[Fitted], name: str, cuts: list[_Cut]) -> tuple[OrderLine, list[Finding]]:
    job = fits[0].job
    unit, practice = job.length_unit, job.lengths
    total = math.fsum(c.length_m for c in cuts)
    told = ", ".join(f"{c.name} {format_length(c.length_m, unit, 'up')}" for c in cuts)
    why = f"cut lengths {told}"
    kinds = reels_of(_stock(fits, name))
    line = OrderLine(
        what=name,
        quantity=total,
        unit="m",
        for_cables=tuple(c.name for c in cuts),
        why=why,
        group="cable",
    )
    if not kinds:
        return line, []
    plan, short = _cut(cuts, kinds, fits)
    findings = [_no_reel(name, cuts[k], kinds, unit) for k in plan.too_long]
    bought = [r.reel for r in plan.reels if not r.reel.shelf]
    texts = [_cutting(plan, k, cuts, unit) for k in range(len(plan.reels))]
    prices = {id(reel): price for reel, price in kinds}
    paid = [prices.get(id(reel)) for reel in bought]
    price = None if any(p is None for p in paid) else math.fsum(p for p in paid if p is not None)
    shelf = math.fsum(cuts[k].length_m for r in plan.reels if r.reel.shelf for k in r.pieces)
    lost = format_length(practice.cut_loss_m, unit)
    end = format_length(practice.end_waste_m, unit)
    why += f"; every cut in one piece, {lost} lost with each, {end} at the end of a reel"
    if short:
        why += "; more is needed than lies on the shelf, and no price is known"
    if plan.too_long:
        why += f"; no reel holds {', '.join(cuts[k].name for k in plan.too_long)}"
    return (
        OrderLine(
            what=name,
            quantity=total,
            unit="m",
            for_cables=line.for_cables,
            why=why,
            group="cable",
            on_hand=shelf,
            buy=_buy(bought, unit),
            price=price,
            cutting=tuple(texts),
        ),
        findings,
    )


def _cut(
    cuts: list[_Cut], kinds: list[tuple[Reel, float | None]], fits: Sequence[Fitted]
) -> tuple[CuttingPlan, bool]:
    """The cutting plan, and whether more reels are needed than anybody has or sells."""
    practice = fits[0].job.lengths
    pieces = [c.length_m for c in cuts]
    reels = [reel for reel, _ in kinds]

    def cut(of: list[Reel]) -> CuttingPlan:
        return cut_reels(
            pieces,
            of,
            cut_loss_m=practice.cut_loss_m,
            end_waste_m=practice.end_waste_m,
            useful_m=practice.useful_offcut_m,
        )

    try:
        return cut(reels), False
    except ValueError:  # the shelf does not do: the same reels again, whatever they cost
        more = [Reel(length_m=r.length_m, cost=1e3 * r.length_m) for r in reels if r.shelf]
        return cut([*reels, *more]), True


def _buy(reels: Sequence[Reel], unit: str) -> str:
    counts: dict[float, int] = {}
    for reel in reels:
        counts[reel.length_m] = counts.get(reel.length_m, 0) + 1
    return ", ".join(
        f"{n} {'reel' if n == 1 else 'reels'} of {format_length(length, unit)}"
        for length, n in sorted(counts.items())
    )


def _cutting(plan: CuttingPlan, k: int, cuts: list[_Cut], unit: str) -> str:
    reel = plan.reels[k]
    which = "from the shelf" if reel.reel.shelf else "bought"
    pieces = ", ".join(f"{cuts[i].name} {format_length(cuts[i].length_m, unit, 'up')}" for i in reel.pieces)
    rest = format_length(max(reel.left_m, 0.0), unit, "down")
    kept = "kept" if reel.kept else "waste"
    return f"reel {k + 1}, {format_length(reel.reel.length_m, unit)}, {which}: {pieces}; {rest} left, {kept}"


def _no_reel(name: str, cut: _Cut, kinds: list[tuple[Reel, float | None]], unit: str) -> Finding:
    longest = format_length(max(reel.length_m for reel, _ in kinds), unit, "down")
    wanted = format_length(cut.length_m, unit, "up")
    return Finding(
        code="no-reel",
        severity=Severity.WARNING,
        where=f"cable {cut.name}",
        message=f"its {wanted} of {name} are longer than any reel: the longest holds {longest}. It is cut in one "
        "piece; add a longer reel to [[stock]].",
        table="stock",
        key=name,
        found=wanted,
        allowed=longest,
    )


def lead_lines(fits: Sequence[Fitted]) -> tuple[list[OrderLine], list[Finding]]:
    """Ready-made leads by type and length; a shelf that does not do is a finding."""
    users: dict[tuple[str, float], list[tuple[Fitted, PlannedCable]]] = {}
    for fitted in fits:
        for planned in fitted.planned:
            for length in planned.lead.lengths_m if planned.lead is not None else ():
                users.setdefault((planned.cable.type.name, length), []).append((fitted, planned))
    lines, findings = [], []
    for name, length in sorted(users):
        line, more = _lead_line(fits, name, length, users[name, length])
        lines.append(line)
        findings += more
    return lines, findings


def _lead_line(
    fits: Sequence[Fitted], name: str, length_m: float, users: list[tuple[Fitted, PlannedCable]]
) -> tuple[OrderLine, list[Finding]]:
    unit = fits[0].job.length_unit
    entries = [s for s in _stock(fits, name) if length_m in s.lengths_m]
    shelf = sum(s.quantity or 0 for s in entries)
    prices = [s.price for s in entries if s.price is not None]
    free = any(s.quantity is None for s in entries) or bool(prices)
    on_hand = min(len(users), shelf)
    missing = len(users) - on_hand
    told = dict.fromkeys(
        f"{f.named(c.cable.name)} needs {format_length(needed_length_m(c.cut), unit, 'up')}"
        for f, c in users
        if c.cut is not None
    )
    what = f"{name}, ready-made lead {format_length(length_m, unit)}"
    findings = []
    if missing and not free:
        findings.append(
            Finding(
                code="lead-shelf",
                severity=Severity.WARNING,
                where=what,
                message=f"{len(users)} are needed and {shelf} on the shelf; give [[stock]] a price if more can be "
                "bought.",
                table="stock",
                key=name,
                found=str(len(users)),
                allowed=str(shelf),
            )
        )
    joined = any(c.lead is not None and len(c.lead.lengths_m) > 1 for _, c in users)
    reason = (
        "the shortest stock length that reaches, or the best to be joined"
        if joined
        else ("the shortest stock length that reaches")
    )
    return (
        OrderLine(
            what=what,
            quantity=float(len(users)),
            unit="piece",
            for_cables=tuple(sorted({f.named(c.cable.name) for f, c in users})),
            why=f"{reason}: {', '.join(told)}",
            group="ready-made lead",
            on_hand=float(on_hand),
            price=min(prices) * missing if prices else (0.0 if not missing else None),
        ),
        findings,
    )
