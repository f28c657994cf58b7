"""As built, in the job pack: planned beside what was really done, deviations marked, and the record itself."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from routecut.documents.difference_text import change_text, sides
from routecut.documents.figures import Lengths, count
from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import table
from routecut.documents.reading_marks import reading_marks
from routecut.documents.record_text import about_text, fact_text, ohm_text, power_text, told_text, volts_text
from routecut.model.as_built import AsBuilt, Difference
from routecut.model.plan import Plan
from routecut.model.record import Fact, Kind, RecordLine, What

_HOW_TO_READ = (
    "The 3D view, the cards of the cables and what runs together show what was laid again as built, marked DEVIATES; "
    "everything else in this pack is as planned. What is recorded stands here beside it; a mark is where the two "
    "differ, or where a reading is not what was expected, to either side; how far it may differ, and what it may mean, "
    "is common practice, no source. A cable that was not recorded is taken to lie as planned."
)


def recorded(plan: Plan) -> AsBuilt | None:
    """What was really built, where anything is recorded."""
    built = plan.as_built
    return built if built is not None and built.record.lines else None


def built_text(plan: Plan) -> str:
    """How much is recorded and how much of it deviates; nothing where nothing is."""
    built = recorded(plan)
    if built is None:
        return ""
    return f"Built already: {count(len(built.record.lines), 'line')} recorded, {_deviations(built)}."


def _deviations(built: AsBuilt) -> str:
    return count(sum(row.marked for row in built.rows), "deviation")


def as_built_section(plan: Plan, built: AsBuilt) -> Element:
    """The section "As built"."""
    lines = [_line(plan, line) for line in built.record.lines]
    record = built.record
    return el(
        "div",
        el("p", _HOW_TO_READ),
        el("p", el("b", f"{_deviations(built)}."))
        if built.rows
        else el("p", "Nothing recorded can be set beside a planned figure."),
        table(
            ["about", "what", "planned", "as built", "difference", ""],
            [_row(plan, row) for row in built.rows],
            kind="as-built",
        )
        if built.rows
        else None,
        el("h3", f"The record: {count(len(record.lines), 'line')}"),
        table(["line", "about", "what was recorded", "who", "when"], lines, kind="as-built"),
        el("p", el("small", f"record.jsonl, digest of its last line: {record.digest}"), class_="digest"),
    )


def _row(plan: Plan, row: Difference) -> list[Child]:
    mark: Child = ""
    if row.marked:
        mark = el("b", f"DEVIATES{': ' + row.why if row.why else ''}", class_="none")
    elif row.why:
        mark = row.why
    before, after = sides(row, plan.job)
    return [
        el("b", row.about),
        row.what,
        before,
        el("b", after) if row.marked else after,
        change_text(row, plan.job),
        mark,
    ]


def _line(plan: Plan, line: RecordLine) -> list[Child]:
    about = about_text(line.fact)
    told = told_text(line, fact_text(line.fact, plan.job).removeprefix(f"{about}: "))
    said: Child = told
    if not line.stands and line.fact.what is not What.WITHDRAWN:
        said = el("span", el("s", told), " no longer holds")
    return [str(line.number), about, said, line.who, line.when]


def recorded_texts(plan: Plan, kind: Kind, name: str) -> list[str]:
    """What stands in the record about one thing, each line in words without its name."""
    built = recorded(plan)
    lines = () if built is None else built.record.standing
    return [
        told_text(x, fact_text(x.fact, plan.job).removeprefix(f"{about_text(x.fact)}: "))
        for x in lines
        if (x.fact.kind, x.fact.name) == (kind, name)
    ]


def cut_text(plan: Plan, name: str) -> list[str]:
    """What a cable was cut to, and what was left over; nothing where it is not recorded."""
    built = recorded(plan)
    if built is None:
        return []
    found = [built.record.told(what, name) for what in (What.CUT, What.LEFT_OVER)]
    return [fact_text(f, plan.job).removeprefix(f"{about_text(f)}: ") for f in found if f is not None]


def cut_numbers(plan: Plan, name: str) -> tuple[str, str]:
    """The same as bare figures for a spreadsheet; empty where not recorded."""
    built, lengths = recorded(plan), Lengths(plan.job.length_unit)
    if built is None:
        return "", ""

    def number(what: What) -> str:
        fact = built.record.told(what, name)
        if fact is None or fact.length_m is None:
            return ""
        number = lengths.number(abs(fact.length_m))
        return number if fact.length_m >= 0 else f"{number} too short"

    return number(What.CUT), number(What.LEFT_OVER)


def measured(plan: Plan, what: What, name: str, *, kind: Kind = Kind.CABLE) -> Child:
    """A reading in place of the room for it, marked where it is not what was expected; empty where none is recorded."""
    built = recorded(plan)
    fact = None if built is None else built.record.told(what, name)
    if built is None or fact is None or fact.kind is not kind:
        return ""
    marks = reading_marks(built.rows, what, kind, name)
    told = _reading(fact)
    return el("div", told, [el("p", el("b", mark, class_="none")) for mark in marks]) if marks else told


def _reading(fact: Fact) -> str:
    if fact.what is What.VOLTS:
        return volts_text(fact)
    return power_text(fact) if fact.what is What.POWER else ohm_text(fact).removesuffix(" end to end")
