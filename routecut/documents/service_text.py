"""Answers about service as text, and the list of what can be asked."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from routecut.documents.caution_texts import DEFER
from routecut.documents.part_words import spoken
from routecut.documents.reading import natural
from routecut.documents.service_cautions import caution_text, topics
from routecut.documents.service_damage import damage_sections
from routecut.documents.service_words import headline, sections
from routecut.model.plan import Plan
from routecut.model.record import NO_RECORD, Record
from routecut.model.service import Answer, Asked, Focus

_WIDE: Final = 110

_HEADS: Final[dict[Asked, str]] = {
    Asked.DEVICE: "devices",
    Asked.CABLE: "cables",
    Asked.HOLE: "holes",
    Asked.TRIM: "trim",
    Asked.SPACE: "spaces",
    Asked.KEEP_OUT: "keep-outs",
    Asked.FUSE: "fuses",
    Asked.JOINT: "joints",
    Asked.CONNECTOR: "connectors",
}


def service_text(plan: Plan, answers: Sequence[Answer], record: Record = NO_RECORD) -> str:
    """Answers, one after the other, the cautions in full once at the end."""
    lines: list[str] = []
    for alike in _together(answers):
        heads = [headline(plan, answer) for answer in alike]
        lines += [*heads, *_answer(plan, alike[0], record), ""]
    told = dict.fromkeys(topic for answer in answers for topic in topics(plan, answer))
    for topic in told:
        lines += textwrap.wrap(caution_text(topic), _WIDE, subsequent_indent="  ")
    return "\n".join([*lines, DEFER]) + "\n"


def _together(answers: Sequence[Answer]) -> list[list[Answer]]:
    """Answers that say the same are said once: things that hang on the same fuses."""
    found: list[list[Answer]] = []
    for answer in answers:
        alike = [a for a in found if answer.focus is Focus.FUSES and a[0].fuses == answer.fuses]
        if alike:
            alike[0].append(answer)
        else:
            found.append([answer])
    return found


def _answer(plan: Plan, answer: Answer, record: Record) -> Iterator[str]:
    for section in (*damage_sections(plan, answer, record), *sections(plan, answer, record)):
        yield f"  {section.title}:"
        for number, line in enumerate(section.lines, start=1):
            mark = f"{number}. " if section.numbered else ""
            yield from textwrap.wrap(
                f"{mark}{line}",
                _WIDE,
                initial_indent="    ",
                subsequent_indent="      ",
                break_on_hyphens=False,
            )


def names_text(plan: Plan, known: Mapping[Asked, Sequence[str]]) -> str:
    """Everything that can be asked about, by kind."""
    spaces = [s.name for s in plan.job.spaces]
    lines = [f"{plan.job.title}: ask about one of these by name, or everything with --strip"]
    for asked, names in known.items():
        if names:
            told = (spoken(n, spaces=spaces) if asked is Asked.TRIM else n for n in names)
            text = f"{_HEADS[asked]}: {', '.join(sorted(told, key=natural))}"
            lines += textwrap.wrap(text, _WIDE, subsequent_indent="  ", break_on_hyphens=False)
        elif len(known) == 1:
            lines.append(f"{_HEADS[asked]}: none")
    return "\n".join(lines) + "\n"
