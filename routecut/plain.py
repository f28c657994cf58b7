"""The user's own words, made safe to print: nothing in a name acts on what shows it; nearest names, names in a row."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import date, time
from typing import Final

REPLACEMENT: Final = "\N{REPLACEMENT CHARACTER}"

# Controls that turn the direction of text round: a name could pass for another with them.
_TURNS: Final = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_DEFUSED: Final = frozenset("=+-@\uff1d\uff0b\uff0d\uff20")  # also full width
_SHOWN: Final = 60
_SPACES: Final = frozenset("\t\n\r\v\f\u0085\u2028\u2029")

# Comparing letters with more names than this takes longer than it helps.
_COMPARED: Final = 400


def plain(text: str) -> str:
    r"""One line of visible text: breaks become spaces, control characters a visible mark.

    Examples
    --------
    >>> plain("left\nside")
    'left side'
    """
    if text.isprintable():  # nothing to look for; pictures as data are long
        return text
    return "".join(_visible(character) for character in text)


def _visible(character: str) -> str:
    if character in _SPACES:
        return " "
    if character in _TURNS or unicodedata.category(character) in {"Cc", "Cs"}:
        return REPLACEMENT
    return character


def defused(text: str) -> str:
    """`plain` text that no spreadsheet takes for a formula.

    A spreadsheet computes a field that begins with ``=``, ``+``, ``-`` or ``@``; an
    apostrophe in front makes it text. Only names begin that way, no figure does.

    Examples
    --------
    >>> defused("=1+1"), defused("P1")
    ("'=1+1", 'P1')
    """
    field = plain(text)
    return f"'{field}" if field.lstrip()[:1] in _DEFUSED and field.strip() else field


def shown(value: object) -> str:
    r"""A found value as it is quoted in a message, as TOML has it, cut short.

    Examples
    --------
    >>> shown(True), shown("left\nside"), len(shown("x" * 1_000_000))
    ('true', "'left\\nside'", 60)
    """
    if isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, date | time):
        text = value.isoformat()
    else:
        text = repr(value)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


def nearest_name(found: str, known: Iterable[str]) -> str:
    """The known name most like the found one; empty when none is near.

    Examples
    --------
    >>> nearest_name("battery.postive", ["battery.positive", "battery.negative"])
    'battery.positive'
    """
    names = sorted(set(known))
    if len(names) <= _COMPARED and len(found) <= _COMPARED:
        near = difflib.get_close_matches(found, names, n=1, cutoff=0.6)
        if near:
            return near[0]
    folded = {name.casefold(): name for name in reversed(names)}
    return folded.get(found.casefold(), "")


def enumerated(words: Sequence[str], last: str = "and") -> str:
    """One; one and two; or one, two and three, as they are read aloud.

    Examples
    --------
    >>> enumerated(["P1", "P2", "P3"])
    'P1, P2 and P3'
    >>> enumerated(["left", "up"], "or")
    'left or up'
    """
    return f" {last} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
