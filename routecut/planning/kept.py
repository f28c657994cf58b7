"""What in a plan folder is not the tool's: found, and carried over into the next one.

Stage      planning, below `output`
Safe side  a file is the tool's only if the list beside it has its name and its digest;
           everything else belongs to the user and is carried over, an edited cut list too

Carrying over makes second names for the same files (hard links), so nothing is moved out
of the old folder and a crash at any moment loses none. Where a file system has no hard
links, files are copied.
"""

from __future__ import annotations

import filecmp
import hashlib
import json
import os
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Final

from routecut.errors import OutputError

MANIFEST: Final = ".routecut-files.json"
"""In every plan folder: the SHA-256 of each file the tool wrote, by its path in it."""

_YOURS: Final = "yours"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The user's files in a plan folder, by path in it.

    Attributes
    ----------
    where_it_was : tuple of str
    renamed : tuple of (str, str)
        Old and new name of those whose name the plan needs itself.
    """

    where_it_was: tuple[str, ...] = ()
    renamed: tuple[tuple[str, str], ...] = ()


def manifest(files: Mapping[str, bytes]) -> bytes:
    """The list of the tool's own files, as it is written beside them."""
    listed = {name: hashlib.sha256(files[name]).hexdigest() for name in sorted(files)}
    return (json.dumps(listed, indent=1) + "\n").encode()


def own_files(folder: Path) -> tuple[str, ...]:
    """The tool's files in a folder, as they were written, by path in it and sorted."""
    return tuple(
        name for name, digest in sorted(_own(folder).items()) if _is_own(folder / PurePosixPath(name), digest)
    )


def carry_over(source: Path, target: Path) -> Kept:
    """Give every file of the user in one folder a place in another.

    What is in `target` stays as it is; where a name is taken by something else, the
    user's file is called ``name.yours.ending`` there. What has been carried over before
    is not carried over again.

    Raises
    ------
    OSError, OutputError
        A file can't be carried over; it is still in `source`.
    """
    stayed, renamed = [], []
    # Those whose place is free come first: another one's new name must not take it.
    names = sorted(_users(source), key=lambda name: os.path.lexists(target / name))
    for name in names:
        found = source.joinpath(*name.parts)
        place = _carry(found, target, name)
        if place == name:
            stayed.append(str(name))
        elif place is not None:
            renamed.append((str(name), str(place)))
    return Kept(where_it_was=tuple(stayed), renamed=tuple(renamed))


def _users(folder: Path) -> Iterator[PurePosixPath]:
    """Every file, link and empty folder that the tool did not write, as a path in the folder."""
    own = _own(folder)

    def stop(error: OSError) -> None:
        raise error

    for here, folders, files in os.walk(folder, onerror=stop):
        folders.sort()
        at = Path(here)
        inside = PurePosixPath(at.relative_to(folder).as_posix())
        if at != folder and not folders and not files:
            yield inside
        links = [name for name in folders if (at / name).is_symlink()]
        for name in sorted(files + links):
            path = inside / name
            if str(path) != MANIFEST and not _is_own(at / name, own.get(str(path))):
                yield path


def _own(folder: Path) -> dict[str, str]:
    """The list in a folder; empty when there is none, or none of ours.

    Trouble of the disk is not taken for a missing list: all would be the user's then.
    """
    try:
        listed = json.loads((folder / MANIFEST).read_bytes())
    except (FileNotFoundError, IsADirectoryError, ValueError, RecursionError):
        return {}
    return listed if isinstance(listed, dict) else {}


def of_a_plan(path: Path) -> bool:
    """Whether a file is one of those that `routecut plan` wrote and will write again."""
    path = path.resolve()
    return any(
        path.relative_to(folder).as_posix() in _own(folder)
        for folder in path.parents
        if (folder / MANIFEST).is_file()
    )


def _is_own(path: Path, digest: object) -> bool:
    if digest is None or path.is_symlink() or not path.is_file():
        return False
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest() == digest


def _carry(found: Path, target: Path, name: PurePosixPath) -> PurePosixPath | None:
    """Where in the target it is now; None when nothing had to be saved."""
    folder, made = target, PurePosixPath()
    for part in name.parts[:-1]:
        folder, made = next(
            (folder / called, made / called)
            for called in yours_names(part)
            if _is_folder(folder / called) or not os.path.lexists(folder / called)
        )
        if not folder.exists():
            folder.mkdir()
    for called in yours_names(name.name):
        place = folder / called
        if not os.path.lexists(place):
            _link(found, place)
            return made / called
        if _same(found, place):
            return made / called if called != name.name else None
    return None  # not reached: names never end


def yours_names(name: str) -> Iterator[str]:
    """The name itself, then others that say whose it is: ``a.yours.csv``, ``a.yours-2.csv``."""
    yield name
    path = PurePosixPath(name)
    number = 1
    while True:
        yield f"{path.stem}.{_YOURS}{f'-{number}' if number > 1 else ''}{path.suffix}"
        number += 1


def _is_folder(path: Path) -> bool:
    return path.is_dir() and not path.is_symlink()


def _same(one: Path, other: Path) -> bool:
    if one.is_symlink() or other.is_symlink():
        return one.is_symlink() and other.is_symlink() and one.readlink() == other.readlink()
    if one.is_dir() or other.is_dir():
        return one.is_dir() and other.is_dir()
    return one.samefile(other) or (
        one.is_file() and other.is_file() and filecmp.cmp(one, other, shallow=False)
    )


def _link(found: Path, place: Path) -> None:
    if found.is_symlink():
        place.symlink_to(found.readlink())
    elif found.is_dir():
        place.mkdir()
    else:
        try:
            place.hardlink_to(found)
        except OSError:  # no hard links here, or not of a file that belongs to somebody else
            if not found.is_file():
                raise OutputError(f"{found}: is no file that could be kept; move it away") from None
            _copy(found, place)


def _copy(found: Path, place: Path) -> None:
    try:
        shutil.copy2(found, place)
        with place.open("rb+") as file:
            os.fsync(file.fileno())
    except OSError as error:
        raise OutputError(
            f"{found}: is not the tool's and could not be kept: {error.strerror or error}; move it away"
        ) from error
