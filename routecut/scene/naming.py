"""Picked entries get their names and whatever else they need, field after field, from single keys.

Stage      scene; a window hands the keys on and shows `prompt`. The page has boxes to type into instead
           (`documents/assets/view_picks.js`): the same fields, in the same order, with the same faults;
           `tests/documents/test_survey_page.py` holds one against the other
Units      m; a size is typed in the job's unit, or with a unit of its own
"""

from __future__ import annotations

import contextlib
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from routecut.errors import OutOfRangeError
from routecut.model.job import Job, Reason
from routecut.plain import plain
from routecut.scene.tagging import HOLE_STATES, NAME_WORDS, Tag, Tagger, taken_names
from routecut.units import METRES_PER_UNIT, parse_length, plain_number

LONGEST_NAME: Final = 120
"""As many characters as the page takes."""

_KEYS: Final = (
    "Enter keeps what stands there, Esc leaves it, PgUp and PgDn: other picks, Delete: take it back"
)
_ACCENTS: Final = {
    "diaeresis": "DIAERESIS", "acute": "ACUTE", "grave": "GRAVE", "circumflex": "CIRCUMFLEX", "tilde": "TILDE",
    "ring": "RING ABOVE", "cedilla": "CEDILLA", "caron": "CARON", "ogonek": "OGONEK",
}  # fmt: skip
_LETTERS: Final = {"ssharp": "ß", "ae": "æ", "AE": "Æ", "oslash": "ø", "Oslash": "Ø", "lstroke": "ł"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """What is asked of an entry: a key of its values, in words; a choice where there is one, or a size."""

    key: str
    words: str
    choices: tuple[str, ...] = ()
    size: bool = False


def fields(tag: Tag, job: Job) -> tuple[Field, ...]:
    """What can be said of a picked entry, in the order it is asked."""
    spaces = tuple(space.name for space in job.spaces)
    found = []
    if "device" in tag.values:
        found.append(Field(key="device", words="device"))
    found.append(Field(key="name", words="port" if "device" in tag.values else "name"))
    if "diameter" in tag.values:
        found.append(Field(key="diameter", words=f"diameter, {job.length_unit}", size=True))
    if "state" in tag.values:
        found.append(Field(key="state", words="it is", choices=HOLE_STATES))
        found.append(Field(key="first", words="joins", choices=spaces))
        found.append(Field(key="second", words="and", choices=spaces))
    if "reason" in tag.values:
        found.append(Field(key="reason", words="reason", choices=tuple(str(r) for r in Reason)))
    if "device" in tag.values:
        found.append(Field(key="space", words="in", choices=spaces))
    return tuple(found)


def fault(tag: Tag, tags: Sequence[Tag], job: Job) -> str:
    """What `routecut add` would refuse of an entry, and what to do; empty when it may stand."""
    values, taken = tag.values, taken_names(job)
    name, device = str(values["name"]), values.get("device")
    if not name.strip() or (device is not None and not str(device).strip()):
        return "It needs a name."
    same = [
        other
        for other in tags
        if NAME_WORDS[other.kind] == NAME_WORDS[tag.kind]
        and (other.values["name"], other.values.get("device")) == (name, device)
    ]
    if len(same) > 1:
        return "This name is picked twice."
    if tag.kind != "port" and name in taken[tag.kind]:
        return "The job has this name already."
    if "state" in values and not (values["first"] and values["second"]):
        return "Say which spaces it joins."
    if "state" in values and values["first"] == values["second"]:
        return "It joins a space with itself: say which lies on its other side."
    if tag.kind == "port" and not values["space"] and device not in taken["port"]:
        return "Say which space it is in."
    return ""


def faults(tags: Sequence[Tag], job: Job) -> list[str]:
    """Of all entries, what `routecut add` would refuse, with the name of each."""
    told = [(called(tag), fault(tag, tags, job)) for tag in tags]
    return [f"{plain(name) or 'a pick'}: {words}" for name, words in told if words]


def called(tag: Tag) -> str:
    """What a picked entry is marked with in the picture."""
    return str(tag.values.get("device", tag.values["name"]))


def letter(key: str, code: str) -> str:
    """The character of a key: by its code, or by the name window systems have for one beyond ASCII.

    Examples
    --------
    >>> letter("a", "a"), letter("adiaeresis", chr(0xC3)), letter("Escape", chr(27)), letter("Up", chr(0))
    ('a', 'ä', '', '')
    """
    if key in _LETTERS:
        return _LETTERS[key]
    if key[1:] in _ACCENTS:
        size = "CAPITAL" if key[0].isupper() else "SMALL"
        with contextlib.suppress(KeyError):
            return unicodedata.lookup(f"LATIN {size} LETTER {key[0].upper()} WITH {_ACCENTS[key[1:]]}")
    return code if len(code) == 1 and code.isprintable() else ""


@dataclass(slots=True)
class Naming:
    """The entry and field that keys go to, what was typed of it, and what to show.

    Attributes
    ----------
    tagger : Tagger
        Its entries are changed in place.
    on : bool
        Whether keys are text now.
    """

    tagger: Tagger
    on: bool = False
    entry: int = 0
    place: int = 0
    typed: str = ""
    said: str = ""

    def key(self, key: str, char: str) -> bool:
        """Take one key, by its name and its character; False when it is none of ours."""
        if key in ("Return", "KP_Enter"):
            self._accept() if self.on else self._go_to(len(self.tagger.tags) - 1)
        elif key == "Delete":
            self._take_back()
        elif not self.on:
            return False
        elif key in ("Prior", "Next"):
            self._go_to(self.entry + (1 if key == "Next" else -1))
        elif key == "Escape":
            self._end()
        elif key == "BackSpace":
            self.typed = self.typed[:-1]
        elif len(self.typed) < LONGEST_NAME:
            self.typed += char
        return True

    @property
    def prompt(self) -> str:
        """What is asked, with what stands and what was typed; or what there is to say."""
        if not self.on:
            return self.said
        tag, field = self._at()
        stands = self._shown(tag, field)
        choices = ", ".join(f"{n} {plain(words)}" for n, words in enumerate(field.choices, start=1))
        words = f"joins {plain(str(tag.values['first']))} and" if field.key == "second" else field.words
        asked = f"{plain(called(tag))} - {words}" + (f" ({choices})" if choices else "")
        lines = [f"{asked} [{plain(stands)}]: {self.typed}_", _KEYS]
        return "\n".join([self.said, *lines] if self.said else lines)

    def _at(self) -> tuple[Tag, Field]:
        tag = self.tagger.tags[self.entry]
        return tag, fields(tag, self.tagger.job)[self.place]

    def _go_to(self, entry: int) -> None:
        count = len(self.tagger.tags)
        self.on, self.place, self.typed, self.said = count > 0, 0, "", ""
        self.entry = min(max(entry, 0), max(count - 1, 0))
        if not count:
            self.said = "Nothing is picked yet."

    def _end(self) -> None:
        tag = self.tagger.tags[self.entry]
        told = fault(tag, self.tagger.tags, self.tagger.job)
        self.on, self.typed = False, ""
        self.said = f"{called(tag) or 'a pick'}: {told or 'named'}"

    def leave(self) -> None:
        """Keys are no text any more; what was typed last is kept as if by Enter, where it can be."""
        if self.on and self.typed:
            self._accept()
        self.on = False

    def _take_back(self) -> None:
        if not self.on and self.tagger.pending:
            self.tagger.pending.pop()
            self.said = f"tap taken back; {len(self.tagger.pending)} wait for more"
            return
        if not self.tagger.tags:
            self.said = "Nothing is picked yet."
            return
        gone = self.tagger.tags.pop(self.entry if self.on else -1)
        self.on, self.typed, self.said = False, "", f"{called(gone)}: taken back"

    def _accept(self) -> None:
        tag, field = self._at()
        text, self.typed, self.said = self.typed.strip(), "", ""
        if text:
            value = self._read(field, text)
            if value is None:
                return
            tag.values[field.key] = value
        self.place += 1
        if self.place == len(fields(tag, self.tagger.job)):
            self._end()

    def _read(self, field: Field, text: str) -> str | float | None:
        """What was typed, as a value; None, with `said`, when it can't be."""
        if field.size:
            number = plain_number(text.replace(",", "."))
            try:
                size_m = (
                    parse_length(text)
                    if number is None
                    else number * float(METRES_PER_UNIT[self.tagger.job.length_unit])
                )
            except OutOfRangeError as error:
                self.said = str(error)
                return None
            if size_m > 0.0:
                return size_m
            self.said = "A number above 0 is wanted."
            return None
        if not field.choices:
            return text
        meant = [c for c in field.choices if c == text] or [c for c in field.choices if c.startswith(text)]
        if text.isdecimal() and not meant and 0 < int(text) <= len(field.choices):
            meant = [field.choices[int(text) - 1]]
        if len(meant) == 1:
            return meant[0]
        self.said = (
            f"{plain(text)} is none of these: its number, or enough letters to tell it from the others."
        )
        return None

    def _shown(self, tag: Tag, field: Field) -> str:
        value = tag.values[field.key]
        if isinstance(value, float):
            return f"{value / float(METRES_PER_UNIT[self.tagger.job.length_unit]):.4g}"
        return str(value)
