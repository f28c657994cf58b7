"""The page of the comparison."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

_HEAD = """# Benchmarks

Written by `python -m tests.bench`. Generated vans of our own (`tests/bench/vans.py`), the same mesh, holes,
keep-outs and cables for every planner; each in a process of its own, one after the other. Time is processor
time of one run and to be read as a ratio. Ours is the whole plan: search, tightening, bends, sizing, cut
lengths, order and verification; a peer finds ways and no more. *Over* is the length over the shortest way
that any planner found without a fault, median and worst. *Faulty* are cables that by our verifier meet a
sheet, come too near to something or end elsewhere; nobody but us is held to bends and clips. The peers are
general-purpose libraries, each set up as somebody would write it first, by the authors of this program: a
lattice of 26 neighbours in networkx, `MCP_Geometric` of scikit-image on cells of the same size, sampling
planners of OMPL. A peer may lie anywhere in its band, up to 37 mm (25 mm cells), 52 mm (wavefront) or 62 mm
(50 mm cells) off a panel, and cuts inside corners that a clipped cable follows at 12 mm: a peer that is
shorter by a few per cent is no shorter way for a cable.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One planner on one van."""

    planner: str
    faces: int
    cables: int
    routed: int
    faulty: int
    over_percent: tuple[float, float]
    seconds: float
    ratio: float
    peak_mb: float
    what_if_seconds: float


def exponent(rows: Sequence[Row], by: str) -> float:
    """Slope of our time over faces or cables in log-log, between the least and the most; nan without two."""
    other = "cables" if by == "faces" else "faces"
    pairs = [
        (getattr(a, by), a.seconds, getattr(b, by), b.seconds)
        for a in rows
        for b in rows
        if a.planner == b.planner == "routecut"
        and getattr(a, other) == getattr(b, other)
        and getattr(a, by) < getattr(b, by)
    ]
    if not pairs:
        return math.nan
    x, t, y, u = max(pairs, key=lambda pair: pair[2] / pair[0])
    return math.log(u / t) / math.log(y / x)


def _lacking(rows: Sequence[Row], wanted: Sequence[tuple[int, int]]) -> list[str]:
    """Usual cases, by faces and cables, that no row is about: a van has up to a tenth fewer faces than asked."""
    done = [(r.faces, r.cables) for r in rows]
    return [
        f"{faces} faces with {cables} cables"
        for faces, cables in wanted
        if not any(0.9 * faces < f <= faces and c == cables for f, c in done)
    ]


def page(
    rows: Sequence[Row], machine: str, left_out: Sequence[str], wanted: Sequence[tuple[int, int]] = ()
) -> str:
    """The whole page; `wanted` are the cases it ought to have."""
    lines = [
        _HEAD,
        f"Machine and versions: {machine}." + (f" Not installed: {', '.join(left_out)}." if left_out else ""),
        "",
        "| planner | faces | cables | routed | faulty | over, median / worst | time | ratio to ours | peak memory |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    lines += [
        f"| {r.planner} | {r.faces} | {r.cables} | {r.routed} | {r.faulty} | {r.over_percent[0]:+.1f} / "
        f"{r.over_percent[1]:+.1f} % | {r.seconds:.1f} s | {r.ratio:.2f} | {r.peak_mb:.0f} MB |"
        for r in rows
    ]
    lines += ["", "One device moved by 30 mm after the first plan, answered with all cables verified:", ""]
    for r in (r for r in rows if r.planner == "routecut"):
        peers = [
            o.seconds for o in rows if o.planner != "routecut" and (o.faces, o.cables) == (r.faces, r.cables)
        ]
        against = (
            f"; the quickest peer plans anew in {min(peers) / r.what_if_seconds:.1f} times that"
            if peers
            else ""
        )
        lines.append(f"- {r.faces} faces, {r.cables} cables: {r.what_if_seconds:.1f} s{against}.")
    lacking = _lacking(rows, wanted)
    if lacking:
        lines += ["", f"Not run for this page: {'; '.join(lacking)}."]
    growth = [(by, exponent(rows, by)) for by in ("faces", "cables")]
    told = [f"{by} to the power of {value:.2f}" for by, value in growth if not math.isnan(value)]
    if told:
        lines += ["", f"Our time grows with {', with '.join(told)}."]
    return "\n".join(lines) + "\n"
