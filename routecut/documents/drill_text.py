"""The drill study as text: what a careful colleague would say before the body is touched.

Units      m in; the job's unit out
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from routecut.documents.caution_texts import CAUTIONS, DEFER, Topic
from routecut.documents.cautions import at, placed_cautions
from routecut.documents.drill_words import (
    NO_CHECK,
    between_text,
    check_text,
    error_text,
    groove_text,
    screw_text,
    side_text,
    size_text,
    tapes_text,
    why_size,
)
from routecut.documents.figures import Lengths, count, signed
from routecut.documents.look_first import NOT_SEEN, mounting_text, unchecked_text
from routecut.documents.reading import all_findings
from routecut.model.drilling import Change, ChoiceRow, DrillCard, DrillStudy, Place
from routecut.model.finding import Severity
from routecut.model.job import ANY, HoleState, Job
from routecut.model.plan import Plan


def study_text(study: DrillStudy, plan: Plan, *, asked: Job) -> str:
    """The whole study, ready to print.

    Parameters
    ----------
    study : DrillStudy
    plan : Plan
        Of the job with the best choice.
    asked : Job
        As it was given: with the candidates that were not chosen, which nobody has checked either.
    """
    return "\n".join(_lines(study, plan, asked)) + "\n"


def _lines(study: DrillStudy, plan: Plan, asked: Job) -> Iterator[str]:
    lengths = Lengths(plan.job.length_unit)
    best = study.rows[study.best]
    yield f"{plan.job.title}: where to drill"
    yield ""
    mounting = mounting_text(plan.job)
    yield from _advice(study, best, lengths, also=" for a cable" if mounting else "")
    yield from filter(None, (mounting, unchecked_text(asked)))
    yield ""
    yield "What each number of new holes buys (lengths along the panels before tightening, some per cent long):"
    for number, row in enumerate(study.rows):
        yield from _row(row, best, lengths, chosen=number == study.best)
    yield from _not_chosen(study, best, lengths)
    if unused := _unused_candidates(study, asked):
        yield f"  in none of these choices, though the job proposes to drill it: {', '.join(unused)}"
    for line in study.plugs:
        yield f"  {line}"
    if study.refused:
        yield ""
        yield "Not to be drilled:"
        for name, why in sorted(study.refused.items()):
            yield f"  {name}: {why}"
    places = {p.name: p for p in study.places}
    for card in study.cards:
        yield ""
        yield from _card(card, places.get(card.name), plan, lengths)
    yield ""
    yield from _routed(study, plan)
    cautions = placed_cautions(plan)
    if study.looked_at:
        yield f"Looked at {study.looked_at} points of the panels; at {study.kept} a hole would keep its distances."
    else:
        yield (
            "No place was looked for: the job says of no panel that it may be drilled "
            "(drill = true in its [[surface]])."
        )
    if study.cards or mounting:
        topics = [
            Topic.DRILLING,
            *(p.caution.topic for c in study.cards for p in at(cautions, "hole", c.name)),
        ]
        for topic in dict.fromkeys(topics):
            yield f"CAUTION {topic}: {CAUTIONS[topic].text}"
        yield DEFER


def _advice(study: DrillStudy, best: ChoiceRow, lengths: Lengths, *, also: str) -> Iterator[str]:
    nothing = next((row for row in study.rows if not row.new), None)
    if not best.new:
        if best.unreached:
            lost = ", ".join(best.unreached)
            if study.places:
                yield f"Drill nothing of what is allowed: {lost} can't be reached either way."
            else:
                yield f"No place to drill was found that would help: {lost} can't be reached."
        else:
            yield f"Drill nothing{also}: every cable is reached through holes that are there, and no new hole pays."
        return
    yield f"Drill {count(len(best.new), 'hole')}: {', '.join(best.new)}."
    if nothing is not None and nothing.unreached:
        yield f"Without drilling {', '.join(nothing.unreached)} can't be reached; all other cables can."
    for name, more in study.others:
        if math.isinf(more):
            yield f"Nothing else does what {name} does: without it a cable is lost."
        else:
            yield (
                f"Every choice without {name} costs at least the worth of {lengths.text(max(more, 0.0))} of cable more "
                "(hole_cost counted for each new hole)."
            )
    if best.unreached:
        yield f"Still not reached: {', '.join(best.unreached)}."
    if not best.optimal:
        yield "This is the best found; that nothing is better could not be proved in the time given."


def _row(row: ChoiceRow, best: ChoiceRow, lengths: Lengths, *, chosen: bool) -> Iterator[str]:
    which = f"{count(len(row.new), 'new hole')}: {', '.join(row.new)}" if row.new else "no new hole"
    lost = f"; {', '.join(row.unreached)} can't be reached" if row.unreached else ""
    proof = "" if row.optimal else " (not proved the best)"
    yield (f"{'>' if chosen else ' '} {which}; about {row.cable_m:.1f} m of cable{lost}{proof}")
    for change in row.changes if row is not best else ():
        if math.isfinite(change.longer_m):
            yield f"      {_change(change, lengths)}"


def _not_chosen(study: DrillStudy, best: ChoiceRow, lengths: Lengths) -> Iterator[str]:
    """Where the places found are that only another row drills: their names alone say nothing."""
    named = {name for row in study.rows for name in row.new} - set(best.new)
    for place in study.places:
        if place.found and place.name in named:
            at_text = ", ".join(lengths.number(v) for v in place.at_m)
            parts = ", ".join(place.parts) or "a panel"
            yield (
                f"  {place.name} is at {at_text} {lengths.column_unit} on {parts}, between {place.joins[0]} and "
                f"{place.joins[1]}; nobody has looked at it yet."
            )


def _unused_candidates(study: DrillStudy, asked: Job) -> list[str]:
    """Candidates of the job that no row drills: else nothing is said of them."""
    drilled = {name for row in study.rows for name in row.new} | set(study.refused)
    return [h.name for h in asked.pass_throughs if h.state is HoleState.CANDIDATE and h.name not in drilled]


def _change(change: Change, lengths: Lengths) -> str:
    word = "longer" if change.longer_m > 0 else "shorter"
    told = f"{change.cable} about {lengths.text(abs(change.longer_m))} {word}"
    if change.drop_percent is not None:
        told += f", {signed(change.drop_percent, 1)} % drop"
    if change.loss_db is not None:
        told += f", {signed(change.loss_db, 2)} dB loss"
    return told


def _card(card: DrillCard, place: Place | None, plan: Plan, lengths: Lengths) -> Iterator[str]:
    unseen = any(h.name == card.name and not h.confirmed for h in plan.job.pass_throughs)
    if place and place.found:
        yield f"{card.name} (found on the panel, nobody has looked at it yet)"
    else:
        yield f"{card.name}{f' ({NOT_SEEN})' if unseen else ''}"
    if card.refused:
        yield f"  DO NOT DRILL: {card.refused}"
    yield f"  for        {', '.join(card.cables) or 'no cable'}"
    yield f"  drill from {card.near.space}, through {', '.join(card.parts) or 'no sheet of the 3D model'}"
    if between := between_text(lengths, card):
        yield f"  between    {between}"
    spaces = [s.name for s in plan.job.spaces]
    yield f"  behind     {side_text(lengths, card.far, spaces=spaces)}"
    if card.near.met is not None:
        yield f"  in front   {side_text(lengths, card.near, spaces=spaces)}"
    if card.fix is None:
        yield f"  find it    not with a tape: {card.no_fix}"
    else:
        yield f"  find it    {tapes_text(lengths, card.fix)} (tape held in {card.fix.from_space})"
        check = check_text(lengths, card.fix)
        yield f"  check      {check or NO_CHECK}"
        yield f"  error      {error_text(lengths, card.fix)}"
        if card.fix.better:
            yield f"  better     {card.fix.better}"
    yield f"  trust      {card.trust}"
    yield f"  size       {size_text(card)}; {why_size(card)}"
    yield f"  grommet    {groove_text(card)}"
    yield f"  stop       {lengths.text(card.stop_m)} from the point of the pilot drill"
    yield f"  screws     {screw_text(lengths, card)}"
    for note in card.notes:
        yield f"  mind       {note}"
    for placed in at(placed_cautions(plan), "hole", card.name):
        because = f": {placed.because}" if placed.because else ""
        yield f"  CAUTION    {placed.caution.topic}{because}"
    if place is not None and place.found:
        yield "  To have it in the job, look at the place first, then add to job.toml:"
        yield from (f"    {line}" for line in _toml(card, place, lengths))


def _toml(card: DrillCard, place: Place, lengths: Lengths) -> Iterator[str]:
    """The lines of a pass-through for a place that was found."""
    unit = lengths.column_unit
    if unit != lengths.unit:
        yield f"# lengths in {unit}"
    at_text = ", ".join(lengths.number(v) for v in place.at_m)
    axis = ", ".join(f"{v:.4f}" for v in place.axis)
    joins = ", ".join(f'"{name}"' for name in place.joins)
    yield "[[pass_through]]"
    yield f'name = "{place.name}"'
    yield f"at = [{at_text}]"
    yield f"axis = [{axis}]"
    yield f"diameter = {lengths.number(card.size.clear_m)}"
    if place.depth_m > 0:
        yield f"depth = {lengths.number(place.depth_m, 'up')}"
    yield 'state = "candidate"'
    yield f"joins = [{joins}]"
    if place.classes and ANY not in place.classes:
        classes = ", ".join(f'"{c}"' for c in place.classes)
        yield f"classes = [{classes}]"


def _routed(study: DrillStudy, plan: Plan) -> Iterator[str]:
    """How the choice came out when it was routed."""
    wanted = study.rows[study.best].ways
    routed = {c.cable.name: c.route for c in plan.cables if c.route is not None}
    total = sum(route.length_m for route in routed.values())
    yield f"Routed through these holes: {count(len(routed), 'cable')}, {total:.1f} m of route in all."
    lost = [name for name in wanted if name not in routed]
    if lost:
        yield f"NOT laid, although a way was found: {', '.join(lost)}."
    for finding in all_findings(plan):
        if finding.severity is Severity.ERROR:
            yield f"ERROR: {finding.where}: {finding.message}"
