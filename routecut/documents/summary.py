"""The plan on a terminal: what is cut, what is drilled, what was noticed."""

from __future__ import annotations

from collections.abc import Sequence

from routecut.documents.alike import counted, together
from routecut.documents.figures import Lengths, count, millimetres
from routecut.documents.look_first import mounting_text, seen_mark, unchecked_text
from routecut.documents.reading import (
    NO_ROUTE,
    SEVERITIES,
    all_findings,
    holes_to_drill,
    holes_used,
    pulling_order,
    verification_text,
)
from routecut.model.drilled import was_drilled
from routecut.model.finding import Severity
from routecut.model.plan import Plan, PlannedCable, PlannedHole
from routecut.plain import plain

_HEADERS = ("pull", "cable", "class", "from", "to", "cut", "holes")
_WIDEST_NAME = 34


def summary_text(plan: Plan) -> str:
    """A short table of cables, the holes, and the findings that matter.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    str
        Plain text, one trailing newline; notes are counted, errors and warnings printed.
    """
    cables = pulling_order(plan)
    lines = [plain(plan.job.title), verification_text(plan)]
    lines += [plain(unchecked_text(plan.job)), ""] if unchecked_text(plan.job) else [""]
    lines += _table([_HEADERS, *(_row(plan, k, c) for k, c in enumerate(cables, start=1))])
    lines += ["", *_drilling(plan), *_holes("use", holes_used(plan))]
    lines += [plain(mounting_text(plan.job))] if mounting_text(plan.job) else []
    findings = all_findings(plan)
    numbers = [counted([f for f in findings if f.severity is s], str(s)) for s in SEVERITIES]
    lines += ["", ", ".join(numbers)]
    lines += [plain(str(f)) for f in together(f for f in findings if f.severity is not Severity.NOTE)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _row(plan: Plan, number: int, planned: PlannedCable) -> tuple[str, ...]:
    lengths = Lengths(plan.job.length_unit)
    cable, route = planned.cable, planned.route
    if route is None:
        cut = NO_ROUTE
    elif planned.lead is not None:
        cut = "lead " + (" + ".join(lengths.up(m) for m in planned.lead.lengths_m) or "not in stock")
    else:
        cut = "-" if planned.cut is None else lengths.up(planned.cut.length_m)
    if route is not None and (planned.verified is None or not planned.verified.ok):
        cut += " (not verified)"
    through = "" if route is None else " > ".join(_short(p.name) for p in route.passages)
    return (
        str(number),
        _short(cable.name),
        str(cable.cable_class),
        _short(cable.from_port),
        _short(cable.to_port),
        cut,
        through,
    )


def _short(name: str) -> str:
    shown = plain(name)
    return shown if len(shown) <= _WIDEST_NAME else shown[: _WIDEST_NAME - 1] + "\N{HORIZONTAL ELLIPSIS}"


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[k]) for row in rows) for k in range(len(_HEADERS))]
    ruled = [rows[0], ["-" * width for width in widths], *rows[1:]]
    return ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)) for row in ruled]


def _drilling(plan: Plan) -> list[str]:
    """The holes to drill, and those that are drilled by now."""
    drill = holes_to_drill(plan)
    done = [h for h in drill if was_drilled(plan, h)]
    told = [f"{count(len(done), 'hole')} drilled, by the record"] if done else []
    return [*_holes("drill", [h for h in drill if h not in done]), *told]


def _holes(verb: str, holes: Sequence[PlannedHole]) -> list[str]:
    head = f"{count(len(holes), 'hole')} to {verb}" + (":" if holes else "")
    return [
        head,
        *(
            f"  {_short(h.pass_through.name)}{seen_mark(h.pass_through)}, {millimetres(h.pass_through.diameter_m)}, "
            f"{' / '.join(_short(s) for s in h.pass_through.joins)}: "
            f"{', '.join(_short(c) for c in h.cables)}"
            for h in holes
        ),
    ]
