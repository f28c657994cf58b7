"""Where in a TOML text new entries go, so that not a byte that is there changes.

Stage      survey; text in, text out, nothing of what the keys mean
Safe side  every text that comes out is read again: the old one is whole in it, and it says what
           it should; a place is tried only where the text before it is TOML by itself
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array

from routecut.errors import RoutecutError

Data = dict[str, Any]

_HEADER: Final = re.compile(r"(?m)^[ \t]*(\[\[?)[ \t]*([^\]\n]*?)[ \t]*\]\]?")
_ABOVE: Final = re.compile(r"(?:^[ \t]*(?:#[^\n]*)?\r?\n)+\Z", re.MULTILINE)


class PlaceError(RoutecutError):
    """An entry can't be put into this text by machine; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Header:
    at: int
    path: tuple[str, ...]
    listed: bool
    """In double brackets."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """An entry of an array of tables: its lines with their comments, what they say, entries inside it.

    `above` are the comments right above its header.
    """

    body: str
    data: Data
    above: str = ""
    inner: tuple[tuple[str, Entry], ...] = ()


def entries_of(text: str, kind: str) -> list[Entry]:
    """Every entry of an array of tables.

    Parameters
    ----------
    text : str
        Valid TOML.
    kind : str
        A key at the top, or in a table at the top: ``vehicle.tape_check``.
    """
    path = tuple(kind.split("."))
    found: Any = tomlkit.parse(text)
    for key in path:
        found = found.get(key, {})
    entries = _entries(found)
    headers = [h for h in _headers(text) if h.listed and h.path == path]
    if len(headers) != len(entries):  # written in brackets
        return entries
    return [replace(e, above=_comments_above(text, h.at)) for e, h in zip(entries, headers, strict=True)]


def _comments_above(text: str, at: int) -> str:
    found = re.search(r"(?:^[ \t]*#[^\n]*\n)+\Z", text[:at], re.MULTILINE)
    return found.group() if found is not None else ""


def _entries(found: Any) -> list[Entry]:
    entries: list[Entry] = []
    for item in found or []:
        table = item
        if not isinstance(found, AoT):  # written in brackets
            table = tomlkit.table()
            table.update(item.unwrap())
        listed = {key: value for key, value in table.items() if isinstance(value, AoT)}
        lines = table.as_string()
        first = _HEADER.search(lines)
        own = {key: plain_value(value) for key, value in table.items() if key not in listed}
        inner = tuple((key, entry) for key, value in listed.items() for entry in _entries(value))
        if first and listed:
            lines = lines[: first.start()]
        # what stands above the next header is that one's
        entries.append(Entry(body=_ABOVE.sub("", lines), data=own, inner=inner))
    return entries


def plain_value(item: Any) -> Any:
    """What is written, as Python has it: true and false come out of tomlkit bare, all else in its own types."""
    return item.unwrap() if hasattr(item, "unwrap") else item


def with_entry(text: str, path: Sequence[str], entry: Entry, *, of: int | None = None) -> str:
    """The text with one more entry of an array of tables.

    Parameters
    ----------
    text : str
        Valid TOML.
    path : sequence of str
        The array: ``("landmark",)``, ``("vehicle", "tape_check")``, or ``("device", "port")`` with `of`.
    entry : Entry
        Without those inside it.
    of : int, optional
        Which entry of the outer array the new one belongs to.

    Returns
    -------
    str
        The old text with one stretch of new text in it.

    Raises
    ------
    PlaceError
        There is no such place: the array is written in a way that can't be added to.
    """
    line = "\r\n" if "\r\n" in text else "\n"
    wanted = _grown(tomllib.loads(text), path, entry.data, of)
    header = "[[" + ".".join(path) + "]]"
    block = line.join([*entry.above.splitlines(), header, *entry.body.strip("\r\n").splitlines(), ""])
    for at in _places(text, path, of):
        before, after = text[:at], text[at:]
        lead = "" if not before else line if before.endswith("\n") else line + line
        if before.endswith((line + line, "\n\n")):
            lead = ""
        tail = line if after and not after.startswith(("\n", "\r\n")) else ""
        new = before + lead + block + tail + after
        if _says(new, wanted):
            return new
    put_in = _inline(text, path, entry.data, of)
    if put_in is not None and _says(put_in, wanted) and is_whole_in(text, put_in):
        return put_in
    raise PlaceError(
        f"{'.'.join(path)} is written in the job in a way that nothing can be added to by machine; write it as "
        f"[[{'.'.join(path)}]], or add the entry by hand"
    )


def is_whole_in(old: str, new: str) -> bool:
    """Whether a text is another one with one stretch added."""
    same = next(
        (k for k, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), min(len(old), len(new))
    )
    rest = len(old) - same
    return rest == 0 or new.endswith(old[same:])


def _grown(data: Data, path: Sequence[str], entry: Data, of: int | None) -> Data:
    if len(path) == 1:
        return {**data, path[0]: [*data.get(path[0], []), entry]}
    if of is None:
        return {**data, path[0]: _grown(data.get(path[0], {}), path[1:], entry, None)}
    outer = [dict(item) for item in data[path[0]]]
    outer[of] = _grown(outer[of], path[1:], entry, None)
    return {**data, path[0]: outer}


def _says(text: str, wanted: Data) -> bool:
    try:
        return repr(_sorted(tomllib.loads(text))) == repr(_sorted(wanted))
    except ValueError:
        return False


def _sorted(value: Any) -> Any:
    """With keys in order, so that what is not a number, which never equals itself, can be compared."""
    if isinstance(value, dict):
        return {key: _sorted(value[key]) for key in sorted(value)}
    return [_sorted(item) for item in value] if isinstance(value, list) else value


def _places(text: str, path: Sequence[str], of: int | None) -> Iterator[int]:
    """Where an entry may go, best first: after the last of its kind, at the end."""
    headers = [*_headers(text), _Header(at=len(text), path=(), listed=False)]
    if of is None and len(path) > 1:  # after the last of its kind, else after what else the table holds
        own = [k for k, h in enumerate(headers[:-1]) if h.path == tuple(path)]
        own = own or [k for k, h in enumerate(headers[:-1]) if h.path[:1] == (path[0],)]
    else:
        own = [k for k, h in enumerate(headers[:-1]) if h.listed and h.path == (path[0],)]
    if of is not None:
        own = own[of : of + 1]
    for k in own[-1:]:
        inside = [h.path[:1] == (path[0],) and len(h.path) > 1 for h in headers[k + 1 :]]
        end = headers[k + 1 + inside.index(False)].at
        yield _below_comments(text, headers[k].at, end)
        yield end
    if of is None:
        yield len(text)


def _below_comments(text: str, start: int, end: int) -> int:
    """Before the blank lines and comments that lead over to the next header: they belong to that.

    Comments right under an entry, with a blank line after them, are its own.
    """
    if end == len(text):
        return end
    above = _ABOVE.search(text, start, end)
    if above is None:
        return end
    blank = re.search(r"(?m)^[ \t]*\r?$", above.group())
    return above.start() + (blank.start() if blank is not None else 0)


def _headers(text: str) -> list[_Header]:
    """The headers of tables; what only looks like one, in a text of several lines, is left out."""
    marks = list(_HEADER.finditer(text))
    found: list[_Header] = []
    start = 0
    for mark in marks:
        try:
            tomllib.loads(text[start : mark.start()])
            read = tomllib.loads(mark.group())
        except ValueError:
            # inside a text of several lines or a list: the stretch goes on
            continue
        start = mark.start()
        found.append(_Header(at=mark.start(), path=_path(read), listed=mark[1] == "[["))
    return found


def _path(read: Data) -> tuple[str, ...]:
    names: list[str] = []
    inner: Any = read
    while isinstance(inner, dict) and inner:
        name, inner = next(iter(inner.items()))
        names.append(name)
        inner = inner[0] if isinstance(inner, list) else inner
    return tuple(names)


def _inline(text: str, path: Sequence[str], data: Data, of: int | None) -> str | None:
    """Into an array that is written in brackets, ``landmark = [{..}, {..}]``."""
    try:
        document = tomlkit.parse(text)
        holder: Any = document
        if of is not None:
            holder = document[path[0]][of]
        elif len(path) > 1:
            holder = document[path[0]]
        array = holder.get(path[-1])
        if not isinstance(array, Array):
            return None
        entry = tomlkit.inline_table()
        entry.update(data)
        array.append(entry)
        return tomlkit.dumps(document)
    except (TOMLKitError, KeyError, IndexError, TypeError, ValueError):
        return None
