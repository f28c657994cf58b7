"""What moving a device or a candidate does, in words and for programs.

Units      m in; the job's unit out
Safe side  a cable that is lost is said first; what was not moved along is said
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from routecut.documents.figures import Lengths, count, signed
from routecut.model.plan import Plan
from routecut.model.whatif import CableState, Moved, NewHole, WhatIf

_SAME_PLACE_M: Final = 0.001
# What is printed is whole millimetres, tenths of a per cent and hundredths of a decibel.
_SAME_M: Final = 0.0005
_SAME_PERCENT: Final = 0.05
_SAME_DB: Final = 0.005


def moved_text(what: WhatIf, plan: Plan) -> str:
    """What changes against the job as it is, ready to print.

    Parameters
    ----------
    what : WhatIf
    plan : Plan
        Of the job with the moves.
    """
    lengths = Lengths(plan.job.length_unit)
    lines = ["What if: nothing is written, job.toml stays as it is."]
    for one in what.moved:
        lines += _moved(one, lengths)
    lines += [f"  {f.severity.upper():<10} {f.where}: {f.message}" for f in what.findings]
    lines += ["", "Against the job as it is:", *_lost(what)]
    lines.append(f"  holes      {_holes(what, lengths)}")
    lines.append(f"  cable      {_total(what)}")
    changed = [line for name, pair in what.cables.items() for line in _cable(name, *pair, lengths)]
    lines += changed or ["  no cable changes"]
    return "\n".join(lines) + "\n"


def _moved(one: Moved, lengths: Lengths) -> Iterator[str]:
    places = [", ".join(lengths.number(v) for v in at) for at in (one.from_m, one.to_m)]
    spaces = ["", ""]
    if one.to_space != one.from_space:
        spaces = [f" ({one.from_space})", f" ({one.to_space})"]
    far = lengths.text(math.dist(one.from_m, one.to_m))
    yield (
        f"  {one.name} moved by {far}: from {places[0]}{spaces[0]} to {places[1]}{spaces[1]} "
        f"{lengths.column_unit}"
    )
    if one.along:
        yield f"    goes along: {', '.join(one.along)} (given by an offset)"
    if one.stay:
        nothing = "" if one.along else "; no cable ends elsewhere for this move"
        yield (
            f"    STAYS where it is: {', '.join(one.stay)} (given by coordinates or tapes of its own, not by an "
            f"offset{nothing})"
        )
    if one.unmeasured:
        yield (
            f"    {', '.join(one.unmeasured)}: measured with a string to where it was; that no longer holds, "
            "the length is computed"
        )


def _lost(what: WhatIf) -> Iterator[str]:
    lost = [n for n, (was, now) in what.cables.items() if was.route_m is not None and now.route_m is None]
    gained = [n for n, (was, now) in what.cables.items() if was.route_m is None and now.route_m is not None]
    if lost:
        yield f"  LOST       {', '.join(lost)}: laid as it is, not laid any more"
    if gained:
        yield f"  gained     {', '.join(gained)}: not laid as it is, laid now"


def _holes(what: WhatIf, lengths: Lengths) -> str:
    before, after = what.holes_before, what.holes_after
    now = _named(after, lengths)
    if _same_holes(before, after):
        there = [m.name for m in what.moved if m.name in {h.name for h in after}]
        return f"the same: {now}" + (f", {', '.join(there)} at the new place" if there else "")
    return f"{now}; as it is {_named(before, lengths)}"


def _named(holes: Sequence[NewHole], lengths: Lengths) -> str:
    """How many to drill, and which. A place found has a number that counts anew in each study."""
    if not holes:
        return "none to drill"
    names = [
        f"{h.name} at {', '.join(lengths.number(v) for v in h.at_m)} {lengths.column_unit}"
        if h.found
        else h.name
        for h in holes
    ]
    return f"{len(holes)} to drill ({'; '.join(names)})"


def _same_holes(before: Sequence[NewHole], after: Sequence[NewHole]) -> bool:
    return len(before) == len(after) and all(any(_same(a, b) for b in before) for a in after)


def _same(one: NewHole, other: NewHole) -> bool:
    if one.found or other.found:
        return one.found == other.found and math.dist(one.at_m, other.at_m) < _SAME_PLACE_M
    return one.name == other.name


def _total(what: WhatIf) -> str:
    """Cable of those that are laid both ways: with others counted, less cable could be more loss."""
    both = [
        (was, now) for was, now in what.cables.values() if was.route_m is not None and now.route_m is not None
    ]
    old, new = (sum(pair[i].route_m or 0.0 for pair in both) for i in (0, 1))
    old_cut, new_cut = (sum(pair[i].cut_m or 0.0 for pair in both) for i in (0, 1))
    only = "" if len(both) == len(what.cables) else f" ({count(len(both), 'cable')} laid both ways)"
    return (
        f"{new:.2f} m of route instead of {old:.2f} m ({signed(new - old, 2)} m), {new_cut:.2f} m cut instead of "
        f"{old_cut:.2f} m ({signed(new_cut - old_cut, 2)} m){only}"
    )


def _cable(name: str, was: CableState, now: CableState, lengths: Lengths) -> Iterator[str]:
    told = []
    if was.route_m is not None and now.route_m is not None:
        off = now.route_m - was.route_m
        if abs(off) >= _SAME_M:
            word = "longer" if off > 0 else "shorter"
            told.append(
                f"{lengths.text(abs(off))} {word} (route {lengths.text(now.route_m)}, was "
                f"{lengths.text(was.route_m)})"
            )
        if now.holes != was.holes:
            ways = [", ".join(holes) or "no hole" for holes in (now.holes, was.holes)]
            told.append(f"through {ways[0]} instead of {ways[1]}")
        if now.type_name != was.type_name:
            told.append(f"{now.type_name} instead of {was.type_name}")
    if _differ(was.drop_percent, now.drop_percent, _SAME_PERCENT):
        told.append(f"drop {now.drop_percent:.1f} %, was {was.drop_percent:.1f} %")
    if _differ(was.loss_db, now.loss_db, _SAME_DB):
        told.append(f"loss {now.loss_db:.2f} dB, was {was.loss_db:.2f} dB")
    if told:
        yield f"  {name:<10} {'; '.join(told)}"


def _differ(was: float | None, now: float | None, by: float) -> bool:
    return was is not None and now is not None and abs(now - was) >= by
