"""Fuses and their holders for the order list."""

from __future__ import annotations

from collections import defaultdict

from routecut.model.plan import OrderLine
from routecut.model.sizing import Sizing

SPARES_PER_RATING = 1
"""Of every fuse rating one more: common practice, no source."""


def fuse_lines(sizing: Sizing) -> tuple[OrderLine, ...]:
    """Fuses by series and rating with a spare of each, and a holder for every one outside a block.

    Parameters
    ----------
    sizing : Sizing

    Returns
    -------
    tuple of OrderLine
        Fuses first, by rating; then holders.
    """
    fuses: dict[tuple[float, str], list[str]] = defaultdict(list)
    holders: dict[str, list[str]] = defaultdict(list)
    for name in sorted(sizing.electrical):
        fuse = sizing.electrical[name].fuse
        if fuse is None:
            continue
        fuses[fuse.rating_a, fuse.series].append(name)
        if not fuse.in_block:
            holders[fuse.series].append(name)
    lines = [
        OrderLine(
            what=f"fuse {amps:g} A, {series}",
            quantity=float(len(names) + SPARES_PER_RATING),
            unit="piece",
            for_cables=tuple(names),
            why="one each, and a spare that stays with the vehicle (common practice, no source)",
        )
        for (amps, series), names in sorted(fuses.items())
    ]
    lines += [
        OrderLine(
            what=f"fuse holder, {series}",
            quantity=float(len(names)),
            unit="piece",
            for_cables=tuple(names),
            why="in the lead, sealed where it is wet",
        )
        for series, names in sorted(holders.items())
    ]
    return tuple(lines)
