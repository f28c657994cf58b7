"""Room for one more cable, on the service sheet of the pack: hole by hole, and from space to space.

Stage      documents; what `routecut.service` found, in the words of `service_more`
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.figures import millimetres, share
from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import anchor, fold, table
from routecut.documents.service_more import MIND, follow_text, got_at, off_text, room_text, way_text
from routecut.model.job import ANY
from routecut.model.later import Later
from routecut.model.plan import Plan

ROOM_KEY: Final = "service-room"
"""Where the sheet tells of room for one more cable."""


def room_sheet(plan: Plan, later: Later) -> Element | None:
    """The holes with their room, and the ways between spaces; None where there is no hole."""
    if not later.holes:
        return None
    keys, through = room_anchors(later), {h.pass_through.name: h.pass_through for h in plan.holes}
    rows: list[list[Child]] = []
    for hole in later.holes:
        port = through[hole.hole]
        own = f", {millimetres(port.in_use_m)} of the vehicle's own in it" if port.in_use_m > 0.0 else ""
        used = (
            f"{share(round(hole.filled, 2))} by {', '.join(hole.used_by)}"
            if hole.used_by
            else "UNUSED, spare"
        )
        only = "" if ANY in port.classes else f"; only for {', '.join(port.classes)}"
        rows.append(
            [
                el("b", hole.hole, id=keys[hole.hole]),
                " / ".join(hole.joins),
                f"{millimetres(hole.clear_m)}{own}",
                used,
                el("div", el("b", room_text(hole) if hole.largest_m > 0.0 else "takes no more"), only),
                got_at(plan, hole),
            ]
        )
    ways: list[list[Child]] = [
        [f"{w.start} to {w.end}", way_text(w), follow_text(plan, w), off_text(plan, w)]
        for w in later.ways
        if w.crossings
    ]
    heads = ["hole", "between", "clear", "filled", "takes one more up to", "to get at it"]
    return fold(
        el("h3", "Room for one more cable"),
        el("p", MIND),
        table(heads, rows, kind="service"),
        table(["from, to", "way", "follow", "take off"], ways, kind="service") if ways else None,
        key=ROOM_KEY,
    )


def room_anchors(later: Later) -> dict[str, str]:
    """The id of the row of each hole."""
    return {h.hole: anchor("room", n) for n, h in enumerate(later.holes, start=1)}


def room_entries(later: Later) -> Iterator[tuple[str, str, str]]:
    """For the list of what can be found: key, name, what it tells."""
    if later.holes:
        yield ROOM_KEY, "one more cable", "spare room, unused holes and conduits, on the service sheet"
    for hole in later.holes:
        if not hole.used_by:
            room = f"takes up to {millimetres(hole.largest_m)}" if hole.largest_m > 0.0 else "takes no more"
            yield room_anchors(later)[hole.hole], f"spare: {hole.hole}", f"unused hole, {room}"
