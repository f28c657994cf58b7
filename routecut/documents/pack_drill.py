"""A drill card of the job pack: one hole, all that is to be known before the drill starts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.drill_words import (
    BETWEEN,
    NO_CHECK,
    NOTHING_SEEN,
    STEPS,
    between_texts,
    check_text,
    error_text,
    groove_text,
    met_text,
    screw_text,
    size_text,
    stop_text,
    sure_text,
    tapes_text,
    why_size,
)
from routecut.documents.figures import Lengths, millimetres
from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import tick
from routecut.documents.part_words import spoken
from routecut.model.drilling import DrillCard
from routecut.model.plan import Plan

_UNKNOWN_BETWEEN: Final = "between the sheets: not known, look"


def card_of(plan: Plan, name: str) -> DrillCard | None:
    """The drill card of a hole; None when there is none."""
    return next((c for c in plan.drilling if c.name == name), None)


LINING: Final = (
    "; the lining that has to be down to look between the sheets is not in the 3D model, so its time is not "
    "counted"
)
"""Stands where nothing has to come off for a hand, and something for a look between sheets."""


def drill_entries(plan: Plan, card: DrillCard) -> Iterator[tuple[str, Child]]:
    """Terms of a drill card and what they are, in the order of the work."""
    lengths, spaces = Lengths(plan.job.length_unit), [s.name for s in plan.job.spaces]
    if card.refused:
        yield "DO NOT DRILL", el("strong", card.refused)
    sheet = ", ".join(spoken(part, spaces=spaces) for part in card.parts) or "no sheet of the 3D model"
    if card.material:
        sheet += f" ({card.material}, {millimetres(card.thickness_m)} in all)"
    yield "drill from", f"{card.near.space}, through {sheet}"
    if between := between_texts(lengths, card):
        yield "between the sheets", el("span", el("strong", between[0]), " ", between[1])
    if card.fix is None:
        yield "find it", el("strong", f"not with a tape: {card.no_fix}")
    else:
        yield "find it", el("span", f"from {card.marked_in}: ", el("strong", tapes_text(lengths, card.fix)))
        yield "how sure", el("strong", sure_text(lengths, card.fix))
        check = check_text(lengths, card.fix)
        yield "then check", el("strong", check) if check else NO_CHECK
        yield "error", error_text(lengths, card.fix)
        if card.fix.better:
            yield "better", f"{card.fix.better}."
    yield "trust", card.trust
    yield "size", size_text(card)
    yield "why that size", why_size(card)
    yield "grommet", groove_text(card)
    yield "stop", stop_text(lengths, card)
    for side, word in ((card.far, "behind"), (card.near, "in front")):
        told: Child = el("strong", NOTHING_SEEN) if side is card.far else "nothing seen in the way"
        if side.met is not None:
            told = met_text(lengths, side.met, spaces=spaces)
            told = f"in the 3D model: {told}"
            if side is card.far and card.size.sheets > 1:
                told = el("span", told, "; ", el("strong", _UNKNOWN_BETWEEN))
        where = "behind the last sheet" if side is card.far and card.size.sheets > 1 else word
        yield f"{where} ({side.space})", told
    yield "longest screw", screw_text(lengths, card)
    if card.notes:
        yield "mind", " ".join(card.notes)


def sign_off(key: str, *, sheets: int) -> Element:
    """Boxes to tick, and where to sign; `key` names the hole."""
    steps = [*STEPS[:1], *([BETWEEN] if sheets > 1 else []), *STEPS[1:]]
    return el(
        "div",
        el("p", [tick(step, key) for step in steps]),
        el("p", "drilled by: ____________________   date: ______________"),
    )
