"""Parts of the mesh in the words of whoever takes them off: ``sill-trim-left`` is the left sill trim.

Stage      documents; names only, nothing is looked up in the mesh
Safe side  a name somebody wrote as words stays as it is, so does one that no rule fits
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

_BY_MACHINE: Final = re.compile(r"[A-Za-z0-9]+(?:[-_.][A-Za-z0-9]+)+")
_SIDES: Final = frozenset(
    [
        "left",
        "right",
        "front",
        "rear",
        "upper",
        "lower",
        "top",
        "bottom",
        "inner",
        "outer",
        "middle",
        "centre",
        "driver",
        "passenger",
        "center",
    ]
)
_LETTERED: Final = frozenset(["post", "pillar"])


def spoken(part: str, *, spaces: Iterable[str] = ()) -> str:
    """A part as one says it: hyphens are blanks, the side comes first, the space before the thing.

    Parameters
    ----------
    part : str
        As the mesh has it.
    spaces : iterable of str
        The spaces of the job: a last word that begins the name of one is where the part is.

    Examples
    --------
    >>> spoken("sill-trim-left"), spoken("a-post-foot-right"), spoken("cross-member-3"), spoken("seat-driver")
    ('left sill trim', 'right A-post foot', 'cross member 3', 'driver seat')
    >>> spoken("floor-load", spaces=["load area"]), spoken("kick panel, left")
    ('load floor', 'kick panel, left')
    """
    if not _BY_MACHINE.fullmatch(part):
        return part
    words = re.split(r"[-_.]", part)
    where = {space.split()[0].lower() for space in spaces if space.split()}
    ahead: list[str] = []
    while len(words) > 1 and words[-1].lower() in _SIDES | where:
        ahead.insert(0, words.pop())
    return " ".join([*ahead, *_lettered(words)])


def _lettered(words: list[str]) -> list[str]:
    """The posts of a body go by a letter: A-post, B-post."""
    if len(words) > 1 and len(words[0]) == 1 and words[0].isalpha() and words[1].lower() in _LETTERED:
        return [f"{words[0].upper()}-{words[1]}", *words[2:]]
    return words
