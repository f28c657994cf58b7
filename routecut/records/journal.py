"""`record.jsonl`: a file that only grows, each line checking itself and the one before it.

Stage      records; knows lines and digests, nothing of what they tell
Leaves     at every moment, also after a crash or a power cut: every line that was accepted. What a writer
           that died left behind it is told from a line that somebody changed
Safe side  nothing is ever rewritten; what can't be checked is not used, and is said

A line is one JSON object. Its last key `digest` is the SHA-256 of all that stands before it, and
`previous` is the beginning of the digest of the line before. So a line that was changed no longer
fits its digest, and one that was taken out, put in or replaced no longer fits its neighbour.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import stat
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from routecut.errors import OutputError
from routecut.model.finding import Finding, Severity
from routecut.plain import shown

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

RECORD_FILE: Final = "record.jsonl"
LARGEST_BYTES: Final = 50_000_000
"""A larger file is not one of ours."""

MOST_LINES: Final = 20_000
"""More are not of one vehicle: every line is checked each time."""

_MOST_SAID: Final = 100  # faults of lines; a file of nothing else is told in short

LINKED: Final = 16
"""Letters of the digest of the line before that a line repeats."""

_SHAPE: Final = re.compile(rb'(\{.*), "digest": "([0-9a-f]{64})"\}', re.DOTALL)
_BEGINS: Final = b'{"line": '
"""Every line that was ever written begins so, and what is left of a torn one."""
_BOM: Final = b"\xef\xbb\xbf"
_WIDE: Final = (b"\xff\xfe", b"\xfe\xff")
"""How a file begins that some editors save: UTF-8 with a mark, which is read; UTF-16, which is not."""
_FAR: Final = 2**40  # the byte that is locked where only bytes can be: beyond every record
_UNREADABLE: Final = "can't be read any more"


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A line that is whole: its number, what it says, its digest."""

    number: int
    table: Mapping[str, Any]
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Journal:
    """A record file as far as it can be trusted.

    Attributes
    ----------
    lines : tuple of Written
        In their order; those that were changed are left out.
    findings : tuple of Finding
        Torn lines (warnings), changed, missing and added ones (errors).
    physical : int
        Lines in the file, the unusable counted.
    ended : bool
        The last line has its end.
    last_digest : str
        Of the last line that can be read, also where it was changed: what the next one refers to.
    """

    lines: tuple[Written, ...] = ()
    findings: tuple[Finding, ...] = ()
    physical: int = 0
    ended: bool = True
    last_digest: str = ""


def read_journal(folder: Path) -> Journal:
    """Read and check the record of a job folder; an empty one where there is none.

    Raises
    ------
    OutputError
        It is there and can't be read.
    """
    path = folder / RECORD_FILE
    if not os.path.lexists(path):
        return Journal()
    with _reporting(path, "read"):
        handle = _open(path, os.O_RDONLY)
        try:
            with _locked(handle, path, shared=True):
                return check(_whole(handle, path))
        finally:
            os.close(handle)


def append(folder: Path, tables: Sequence[Mapping[str, Any]]) -> tuple[Written, ...]:
    """Add lines to the record of a job folder; they are on the disk when this returns.

    Parameters
    ----------
    folder : Path
        There already; the record is made where there is none.
    tables : sequence of mappings
        What each line says; `line`, `previous` and `digest` are added.

    Returns
    -------
    tuple of Written
        With their numbers. Lines of one call follow each other, whoever else is writing.

    Raises
    ------
    OutputError
        They could not be written; what was there before is as it was.
    """
    path = folder / RECORD_FILE
    made = not os.path.lexists(path)
    with _reporting(path, "written"):
        handle = _open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT)
        try:
            with _locked(handle, path, shared=False):
                data = _whole(handle, path)
                before = check(data)
                text, lines = _lines(before, tables)
                try:
                    _write(handle, text)
                    os.fsync(handle)
                except BaseException:
                    # nobody was told that these lines are there: the file goes back to what it was
                    with contextlib.suppress(OSError):
                        os.ftruncate(handle, len(data))
                    raise
                if made:
                    _sync_folder(folder)
        finally:
            os.close(handle)
    return lines


def _lines(before: Journal, tables: Sequence[Mapping[str, Any]]) -> tuple[bytes, tuple[Written, ...]]:
    """New lines as they are written, after what is there."""
    # a line that was torn keeps what it has: the next one begins on a line of its own
    text = b"" if before.ended else b"\n"
    number = max([before.physical, *(line.number for line in before.lines)])
    previous, made = before.last_digest, []
    for table in tables:
        number += 1
        said = {"line": number, **table, "previous": previous[:LINKED]}
        body = json.dumps(said, ensure_ascii=False, allow_nan=False).encode("utf-8", "surrogatepass")[:-1]
        previous = hashlib.sha256(body).hexdigest()
        text += body + f', "digest": "{previous}"}}\n'.encode()
        made.append(Written(number=number, table=said, digest=previous))
    return text, tuple(made)


def check(data: bytes) -> Journal:
    """The lines in the bytes of a record, and what is wrong with them."""
    pieces = data.removeprefix(_BOM).split(b"\n")
    ended = not pieces[-1]
    if ended:
        pieces.pop()
    lines: list[Written] = []
    findings: list[Finding] = []
    unread: list[int] = []
    last, numbers = "", set[int]()
    for place, piece in enumerate(pieces, start=1):
        told = _line(piece)
        if told is None:
            unread.append(place)
            continue
        table, digest, sound = told
        linked = table.get("previous") == last[:LINKED]
        findings += [_torn(gone) if linked else _changed(gone, _UNREADABLE) for gone in unread]
        if not linked and not unread:
            findings.append(_broken(place))
        if why := _at_fault(table, sound=sound, numbers=numbers):
            findings.append(_changed(place, why))
        else:
            if place == len(pieces) and not ended:
                findings.append(_torn(place, whole=True))
            numbers.add(table["line"])
            lines.append(Written(number=table["line"], table=table, digest=digest))
        unread, last = [], digest
    findings += [_unread(place, pieces[place - 1]) for place in unread]
    return Journal(
        lines=tuple(lines),
        findings=_in_short(findings),
        physical=len(pieces),
        ended=ended,
        last_digest=last,
    )


def _line(piece: bytes) -> tuple[dict[str, Any], str, bool] | None:
    """What a line says, its digest, and whether the two fit; None for what is no line."""
    found = _SHAPE.fullmatch(piece.removesuffix(b"\r"))
    if found is None:
        return None
    body, digest = found[1], found[2].decode()
    try:
        table = json.loads(body + b"}")
    except (ValueError, RecursionError):
        return None
    if not isinstance(table, dict):
        return None
    return table, digest, hashlib.sha256(body).hexdigest() == digest


def _at_fault(table: Mapping[str, Any], *, sound: bool, numbers: set[int]) -> str:
    """Why a line that can be read is not used; empty when it is. `numbers`: of the lines used before it."""
    number = table.get("line")
    if not sound:
        return "no longer fits its digest"
    if type(number) is not int or not 0 < number <= MOST_LINES + 1:
        return f"has no number of a line (line is {shown(number)})"
    if number in numbers:
        return f"has the number {number} of another line"
    return ""


def _in_short(findings: list[Finding]) -> tuple[Finding, ...]:
    """The first faults, and how many more there are."""
    left = findings[_MOST_SAID:]
    if not left:
        return tuple(findings)
    worst = min(left, key=lambda f: f.severity is not Severity.ERROR)
    more = replace(
        worst,
        where=RECORD_FILE,
        table="",
        message=f"{len(left)} more lines are at fault; they are not listed.",
    )
    return (*findings[:_MOST_SAID], more)


def _finding(code: str, severity: Severity, place: int, message: str) -> Finding:
    return Finding(
        code=code,
        severity=severity,
        where=f"{RECORD_FILE}, line {place}",
        message=message,
        file=RECORD_FILE,
        table=f"line {place}",
    )


def _torn(place: int, *, whole: bool = False) -> Finding:
    said = (
        "The line has no end, but is whole: it is used."
        if whole
        else "The line is torn: its writer was stopped before it was accepted. It is not used; all others "
        "are. Record it again if it was yours."
    )
    return _finding("record-torn", Severity.WARNING, place, said)


def _unread(place: int, piece: bytes) -> Finding:
    """A line at the end that can't be read: torn where it is the beginning of one, or nothing but zeros."""
    left = piece.rstrip(b"\0")
    if _SHAPE.fullmatch(left):
        return _changed(place, _UNREADABLE)
    begun = left.startswith(_BEGINS) or _BEGINS.startswith(left)
    return _torn(place) if begun else _changed(place, "is no line of a record")


def _changed(place: int, why: str) -> Finding:
    return _finding(
        "record-changed",
        Severity.ERROR,
        place,
        f"The line {why}: somebody or something changed it. It is not used. Put it back from a copy, or record "
        f"what is right with --corrects {place}.",
    )


def _broken(place: int) -> Finding:
    return _finding(
        "record-changed",
        Severity.ERROR,
        place,
        "The line does not follow the one that stands before it: lines between them were taken out or put in, or "
        f"line {place - 1} was replaced." if place > 1 else "Lines that stood before it are gone.",
    )  # fmt: skip


# --- the file ------------------------------------------------------------------------------


def _write(handle: int, text: bytes) -> None:
    while text:
        text = text[os.write(handle, text) :]


def _open(path: Path, flags: int) -> int:
    if path.is_symlink():
        raise OutputError(f"{path}: is a link; the record is a real file only")
    # without waiting: a pipe of this name would be waited for until somebody writes into it
    more = getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    return os.open(path, flags | more, 0o666)


def _whole(handle: int, path: Path) -> bytes:
    found = os.fstat(handle)
    if not stat.S_ISREG(found.st_mode):
        raise OutputError(f"{path}: is no file; move it away, the record has this name")
    if found.st_size > LARGEST_BYTES:
        raise OutputError(f"{path}: is larger than {LARGEST_BYTES // 1_000_000} MB; it is no record")
    os.lseek(handle, 0, os.SEEK_SET)
    data = b""
    while piece := os.read(handle, 1 << 20):
        data += piece
    if data.startswith(_WIDE):
        raise OutputError(
            f"{path}: is saved as UTF-16, so some program has rewritten it; put it back from a copy, or save it as "
            "UTF-8 and change nothing else"
        )
    if data.count(b"\n") > MOST_LINES:
        raise OutputError(f"{path}: has more than {MOST_LINES:,} lines; it is no record")
    return data


@contextlib.contextmanager
def _locked(handle: int, path: Path, *, shared: bool) -> Iterator[None]:
    """Hold the file against other writers; ends with the process.

    Raises
    ------
    OutputError
        The file system has no locks, and it was to be written.
    """
    try:
        if sys.platform == "win32":
            os.lseek(handle, _FAR, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_SH if shared else fcntl.LOCK_EX)
    except OSError as error:
        if not shared:
            raise OutputError(
                f"{path}: can't be locked against other writers here ({error.strerror or error}); keep the job "
                "on a disk of this machine"
            ) from error
    try:
        yield
    finally:
        if sys.platform == "win32":
            with contextlib.suppress(OSError):
                os.lseek(handle, _FAR, os.SEEK_SET)
                msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)


@contextlib.contextmanager
def _reporting(path: Path, done: str) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        kept = "; nothing was added" if done == "written" else ""
        raise OutputError(f"{path}: could not be {done}: {error.strerror or error}{kept}") from error


def _sync_folder(folder: Path) -> None:
    """Put the name of a new file on the disk, where the system can do that."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):  # some file systems can't, and need not
            os.fsync(handle)
    finally:
        os.close(handle)
