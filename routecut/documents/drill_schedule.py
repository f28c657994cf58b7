"""`drill-schedule.csv`: one line for each hole to drill."""

from __future__ import annotations

import csv
import io
import re

from routecut.documents.drill_words import NOTHING_SEEN, between_text
from routecut.documents.figures import Lengths, millimetres
from routecut.documents.look_first import NOT_SEEN_SENTENCE
from routecut.documents.reading import natural
from routecut.model.drilling import DrillCard
from routecut.model.plan import Plan
from routecut.plain import defused


def columns(unit: str) -> tuple[str, ...]:
    """The headers; every length carries its unit here, not in the fields."""
    shown = Lengths(unit).column_unit
    return (
        "hole",
        "drill from",
        "mark in",
        "panel",
        "material",
        f"X [{shown}]",
        f"Y [{shown}]",
        f"Z [{shown}]",
        "landmark 1",
        f"distance 1 [{shown}]",
        "landmark 2",
        f"distance 2 [{shown}]",
        "landmark 3",
        f"distance 3 [{shown}]",
        "check landmark",
        f"check distance [{shown}]",
        f"check within [{shown}]",
        f"error long axis [{shown}]",
        f"error short axis [{shown}]",
        "pilot [mm]",
        "drill [mm]",
        "clear hole [mm]",
        "grommet groove [mm]",
        f"stop from the point [{shown}]",
        "behind",
        f"free behind [{shown}]",
        f"longest screw [{shown}]",
        "cables",
        "why",
        "refused",
        "notes",
    )


def drill_schedule_csv(plan: Plan) -> str:
    """The drill schedule for a spreadsheet, comma separated as RFC 4180 has it.

    Returns
    -------
    str
        A header line and one line for each hole to drill. A field that a spreadsheet would
        take for a formula has an apostrophe in front of it; write it as UTF-8.
    """
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow(columns(plan.job.length_unit))
    for card in sorted(plan.drilling, key=lambda c: natural(c.name)):
        writer.writerow([_field(text) for text in _row(plan, card)])
    return written.getvalue()


def _field(text: str) -> str:
    """A name that a spreadsheet would take for a formula is defused; a negative number is none."""
    return text if re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", text) else defused(text)


def _row(plan: Plan, card: DrillCard) -> list[str]:
    lengths = Lengths(plan.job.length_unit)
    tapes: list[str] = []
    for number in range(3):
        taped = card.fix.tapes[number] if card.fix is not None and number < len(card.fix.tapes) else None
        tapes += ["", ""] if taped is None else [taped.landmark, lengths.number(taped.distance_m)]
    check = card.fix.check if card.fix is not None else None
    hole = next((h for h in plan.holes if h.pass_through.name == card.name), None)
    why = "" if hole is None else hole.why
    unseen = "" if hole is None or hole.pass_through.confirmed else NOT_SEEN_SENTENCE
    return [
        card.name,
        card.near.space,
        card.marked_in,
        " > ".join(card.parts),
        card.material,
        *(lengths.number(v) for v in card.at_m),
        *tapes,
        "" if check is None else check.landmark,
        "" if check is None else lengths.number(check.distance_m),
        "" if check is None or card.fix is None else lengths.number(card.fix.check_within_m, "up"),
        "" if card.fix is None else lengths.number(card.fix.axes_m[0], "up"),
        "" if card.fix is None else lengths.number(card.fix.axes_m[1], "up"),
        *(_mm(v) for v in (card.size.pilot_m, card.size.drill_m, card.size.clear_m, card.size.groove_m)),
        lengths.number(card.stop_m),
        NOTHING_SEEN if card.far.met is None else card.far.met.what,
        "" if card.far.met is None else lengths.number(card.far.met.free_m, "down"),
        "" if card.longest_screw_m is None else lengths.number(card.longest_screw_m, "down"),
        ", ".join(card.cables),
        why,
        card.refused or "",
        " ".join(filter(None, [unseen, between_text(lengths, card), card.no_fix, card.trust, *card.notes])),
    ]


def _mm(value_m: float) -> str:
    return millimetres(value_m).removesuffix(" mm") if value_m > 0 else ""
