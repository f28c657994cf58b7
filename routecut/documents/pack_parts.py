"""Pieces that several sections of the job pack share."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from xml.etree.ElementTree import Element

from routecut.documents.caution_texts import DEFER
from routecut.documents.cautions import Placed
from routecut.documents.markup import Child, el

Row = Sequence[Child]


def anchor(kind: str, number: int) -> str:
    """The id of a card: numbered, so that no name of the user's becomes an id."""
    return f"{kind}-{number}"


def in_3d(number: int, kind: str = "cable") -> Element:
    """A button that lights a cable or a hole in the 3D view; seen only where there is one."""
    return el("button", "in 3D", type="button", data_show=anchor(kind, number), class_="in-3d")


def table(headers: Sequence[str], rows: Iterable[Row], *, kind: str = "") -> Element:
    """A table that becomes a list of cards where the page is narrow.

    Each cell carries its header, which the style sheet prints in front of it there.
    """
    head = el("thead", el("tr", [el("th", h, scope="col") for h in headers]))
    body = el(
        "tbody",
        [el("tr", [_cell(h, c) for h, c in zip(headers, row, strict=True)]) for row in rows],
    )
    return el("div", el("table", head, body, class_=kind or "plain"), class_="wide")


def _cell(header: str, content: Child) -> Element:
    empty = content is None or (isinstance(content, str) and not content)
    cell = el("td", content, data_label=header)
    if empty:
        cell.set("class", "empty")
    return cell


def pairs(entries: Iterable[tuple[str, Child]]) -> Element:
    """A list of terms and what they are."""
    return el("dl", [el("div", el("dt", term), el("dd", what)) for term, what in entries])


def fold(head: Element | str, *content: Child | Iterable[Child], key: str = "") -> Element:
    """Something with a head that the script folds away on a phone; open everywhere else, and on paper.

    Parameters
    ----------
    head : Element or str
        A heading stands everywhere; plain words only where it can be folded.
    *content : children
    key : str
        Its id.
    """
    quiet = isinstance(head, str)
    summary = el("summary", head, **({"class_": "quiet"} if quiet else {}))
    return el("details", summary, *content, open="open", class_="fold", **({"id": key} if key else {}))


def steps(entries: Iterable[tuple[str, Element]]) -> Element:
    """A list in the order of the work: where, and what is there."""
    return el(
        "ol",
        [el("li", el("span", where, class_="at"), what) for where, what in entries],
        class_="run",
    )


def class_mark(cable_class: str, colour: str = "") -> Element:
    """The class of a cable: its word, with a mark in a pattern and in colour beside it.

    Parameters
    ----------
    cable_class : str
    colour : str
        Of the insulation (`routecut.scene.palette.insulation`), where it is known.
    """
    look = f"mark {cable_class} {colour}".rstrip()
    return el("span", el("i", class_=look, aria_hidden="true"), cable_class, class_="class")


def caution_list(placed: Iterable[Placed], *, keyed: bool = False) -> Element | None:
    """Cautions in full, and once for all of them what comes first; None when there are none.

    Parameters
    ----------
    placed : iterable of Placed
    keyed : bool
        Each has its id (`caution_key`): once in a page.
    """
    entries = [
        el(
            "div",
            el("p", el("strong", f"CAUTION: {p.caution.topic}")),
            el("p", el("em", "Here: "), f"{p.because}.") if p.because else None,
            el("p", p.caution.text),
            el("p", f"Source: {p.caution.source}", class_="source"),
            class_="caution",
            **({"id": caution_key(p.caution.topic)} if keyed else {}),
        )
        for p in placed
    ]
    if not entries:
        return None
    first = el("p", el("strong", DEFER))
    return el("div", first, el("div", entries, class_="flow"), class_="cautions")


def caution_lines(placed: Iterable[Placed]) -> Element | None:
    """Cautions in short, for a card: what and why; each leads to its text in full, `in_full` stands over the cards."""
    entries = [
        el(
            "li",
            el("a", el("strong", f"CAUTION: {p.caution.topic}"), href=f"#{caution_key(p.caution.topic)}"),
            f": {p.because}" if p.because else "",
        )
        for p in placed
    ]
    return el("div", el("ul", entries), class_="caution short") if entries else None


def caution_key(topic: str) -> str:
    """The id of a caution in full, under "Before work"."""
    return f"caution-{re.sub('[^a-z]+', '-', topic)}"


def in_full() -> Element:
    """Where the cautions stand in full, and what comes first."""
    return el(
        "p",
        "Cautions are in short here, in full under ",
        el("a", "Before work", href="#before"),
        f". {DEFER}",
        class_="defer",
    )


def tick(label: str, key: str) -> Element:
    """A box to tick, with a finger or on paper with a pen.

    Parameters
    ----------
    label : str
    key : str
        What is ticked, once in the page: the script keeps it in the browser under this name.
    """
    box = el("input", type="checkbox", data_tick=f"{key} {label}", autocomplete="off")
    return el("label", box, label, class_="tick")


def ticks_told(revision: str) -> Element:
    """How many boxes are ticked, and a button that clears them; seen where the script runs."""
    panel = el(
        "p",
        el("span", id="ticks-told", role="status"),
        " ",
        el("button", "clear all boxes", type="button", id="ticks-clear"),
        id="ticks",
        data_revision=revision,
        hidden="hidden",
    )
    return el("div", panel, class_="ticks")
