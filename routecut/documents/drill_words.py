"""A drill card in words: what the pack, the schedule and the study print alike.

Units      m in; the job's unit out
Safe side  what is free is rounded down, an error is rounded up, what is not known is said loudly
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from routecut.documents.figures import Lengths, count, millimetres
from routecut.documents.part_words import spoken
from routecut.model.drilling import DrillCard, HoleSide, Met, TapeFix

NOTHING_SEEN: Final = "nothing seen behind: probe by hand"

NO_CHECK: Final = (
    "there is no third tape: no other landmark is in sight of this place. Have a second person lay out both tapes anew "
    "and compare; or name one more landmark on this side (a bolt, a corner, an insert) in the job and plan again"
)

STEPS: Final = (
    "looked or probed behind",
    "measured twice",
    "check distance holds",
    "centre-punched",
    "pilot drilled, stop on",
    "drilled to size",
    "deburred both faces",
    "raw edge painted",
    "grommet in",
    "sealed",
)
"""The boxes of a card, in the order of the work."""

BETWEEN: Final = "looked between the sheets"
"""One more, where there are several sheets."""


def met_text(lengths: Lengths, met: Met, *, spaces: Iterable[str] = ()) -> str:
    """The first thing on the way, and how near it is."""
    what = spoken(met.what, spaces=spaces) if met.reason is None else met.what
    if met.reason is not None and met.reason != "other":
        what += f" ({str(met.reason).replace('-', ' ')})"
    return f"{lengths.free(met.free_m)} free, then {what}"


def side_text(lengths: Lengths, side: HoleSide, *, spaces: Iterable[str] = ()) -> str:
    """What lies on one side, in one line."""
    told = NOTHING_SEEN if side.met is None else met_text(lengths, side.met, spaces=spaces)
    return f"{told} ({side.space})" if side.space else told


def tapes_text(lengths: Lengths, fix: TapeFix) -> str:
    """The distances to lay out."""
    told = "; ".join(f"{lengths.both(t.distance_m)} from {t.landmark}" for t in fix.tapes)
    if fix.which:
        told += f"; the arcs cross twice: take the crossing further {fix.which}"
    return told


def check_text(lengths: Lengths, fix: TapeFix) -> str:
    """The distance to measure afterwards; empty when no landmark is left for it."""
    if fix.check is None:
        return ""
    return (
        f"{lengths.both(fix.check.distance_m)} from {fix.check.landmark}; stop where it is more than "
        f"{lengths.text(fix.check_within_m, 'up')} off (then something is wrong: tape, landmark or 3D model)"
    )


def error_text(lengths: Lengths, fix: TapeFix) -> str:
    """How far the mark may be off with the tape alone: half axes of the ellipse that holds 95 of 100."""
    long, short = (lengths.up(a) for a in fix.axes_m)
    return (
        f"with the tape alone the mark may be {long} off one way and {short} across that way, 19 times in 20 (tape "
        f"read to {millimetres(max(t.sigma_m for t in fix.tapes))} two times in three, arcs crossing at "
        f"{fix.crossing_deg:.0f} degrees)"
    )


def sure_text(lengths: Lengths, fix: TapeFix) -> str:
    """The one figure to go by for how far off the hole may be, and why others on the card differ from it."""
    long = lengths.up(fix.model_axes_m[0])
    told = (
        f"within {long} of the planned place, 19 times in 20: tape and 3D model together. This is the figure to go by; "
        "measure the place again on the vehicle"
    )
    if fix.check is not None:
        told += (
            f"; the check stops at {lengths.text(fix.check_within_m, 'up')}, beyond which something is wrong, not just "
            "unsure"
        )
    return f"{told}; the tape by itself is surer than the 3D model"


def screw_text(lengths: Lengths, card: DrillCard) -> str:
    """The longest screw beside the hole."""
    if card.longest_screw_m is None:
        return "not known: no screw until somebody has looked behind"
    return (
        f"of anything screwed on beside the hole: no longer than {lengths.free(card.longest_screw_m)} under the head, "
        f"driven from {card.near.space}"
    )


def stop_text(lengths: Lengths, card: DrillCard) -> str:
    """Where the stop sits, and of what the figure is made up: it is not the depth the job gives."""
    metal = max(card.near.face_m + card.far.face_m, 0.0)
    told = f"on the pilot drill, {lengths.both(card.stop_m)} from its point: "
    if card.size.sheets > 1:
        told += f"all the sheets, which lie within {lengths.text(metal)}, then the point and a little more"
    else:
        told += "the sheet, then the point and a little more"
    return f"{told}; no larger drill or cutter goes deeper"


def between_text(lengths: Lengths, card: DrillCard) -> str:
    """What a double sheet asks for: how far apart the sheets are, and to look between; empty for one sheet."""
    return " ".join(between_texts(lengths, card))


def between_texts(lengths: Lengths, card: DrillCard) -> tuple[str, ...]:
    """The same in two pieces: the fact, and what to do about it."""
    if card.size.sheets < 2:
        return ()
    gap = max(card.near.face_m + card.far.face_m, 0.0)
    told = (
        f"{count(card.size.sheets, 'sheet')} about {lengths.both(gap)} apart from first to last; the drill goes "
        "through every one of them."
    )
    todo = (
        "What lies between is not in the 3D model: the vehicle's own wiring, an airbag's "
        "inflator or lead, a drain hose, a bow, padding. Have the lining down and look between before you drill"
    )
    if card.stop_first_m > 0.0:
        todo += (
            f"; or set the stop {lengths.both(card.stop_first_m)} from the point, pilot the first sheet alone, look in "
            "with a camera, and only then reset the stop and go on"
        )
    return told, todo


def size_text(card: DrillCard) -> str:
    """Pilot and final size."""
    each = f", one in each of the {card.size.sheets} sheets" if card.size.sheets > 1 else ""
    return (
        f"pilot {millimetres(card.size.pilot_m)}, then {millimetres(card.size.drill_m)} for a grommet with "
        f"{millimetres(card.size.clear_m)} bore{each}"
    )


def groove_text(card: DrillCard) -> str:
    """What the grommet has to fit."""
    each = f", {card.size.sheets} of them, one in each sheet" if card.size.sheets > 1 else ""
    if card.size.groove_m <= 0:
        return f"measure the sheet: the job does not say how thick it is{each}"
    return (
        f"groove for {millimetres(card.size.groove_m)} of sheet, hole {millimetres(card.size.drill_m)}{each}"
    )


def why_size(card: DrillCard) -> str:
    """What decides the size, and what would do with less or without a grommet."""
    size = card.size
    told = f"{millimetres(size.needed_m)} needed: {size.by}"
    if 0 < size.enough_m < size.clear_m:
        told += f"; the job asks for {millimetres(size.clear_m)}, a clear hole of {millimetres(size.enough_m)} would do"
    if size.needed_m > size.clear_m * (1 + 1e-6):
        told += f"; {millimetres(size.clear_m)} is TOO SMALL"
    if size.alternative_m > 0:
        saved = size.clear_m - size.alternative_m
        told += (
            f". With {size.alternative} a clear hole of {millimetres(size.alternative_m)} will do, "
            f"{millimetres(saved)} less"
        )
    if size.bare_m > 0:
        told += (
            f". Without a grommet the rim has to be 9.5 mm away all round (FAA AC 43.13-1B par. 11-115): that "
            f"takes a hole of {millimetres(size.bare_m)}"
        )
    return told
