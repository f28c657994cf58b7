"""Writes a new job folder whole or not at all.

Stage      planning; knows bytes and names, nothing of what they say
Leaves     a folder with all its files, or what was there before
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from routecut.errors import OutputError
from routecut.planning.kept import yours_names
from routecut.planning.output import write_files

LAST: Final = "job.toml"
"""Put into place last: a folder without it is no job, so one cut short is not taken for one."""


def refuse_taken(folder: Path, *, force: bool, example: str, what: str = "the new job's files") -> None:
    """Say before any work that a folder can't be used for a new job.

    Parameters
    ----------
    folder : Path
    force : bool
        A folder that holds something is used all the same.
    example : str
        A name to offer instead.
    what : str
        What `force` would put over files of the same name.

    Raises
    ------
    OutputError
        It is a file, or it is not empty and `force` is not set.
    """
    try:
        if folder.exists() and not folder.is_dir():
            raise OutputError(f"{folder}: is a file; name a new folder, for example {example}")
        if folder.is_dir() and any(folder.iterdir()) and not force:
            raise OutputError(
                f"{folder}: is not empty; name a new folder, or use --force to put {what} over those of the "
                "same name"
            )
    except OSError as error:
        raise OutputError(f"{error.filename or folder}: {error.strerror or error}") from error


def write_job_folder(
    folder: Path, files: Mapping[str, bytes], *, keep: Callable[[str, bytes], bool] | None = None
) -> tuple[str, ...]:
    """Put files into a folder, all or none; folders that are missing are made.

    Parameters
    ----------
    folder : Path
        What else is in it stays.
    files : mapping of str to bytes
        Content by name; no folders within.
    keep : callable, optional
        Says of a file that would be replaced, by name and content, whether it is the user's:
        it is then kept beside the new one, as ``job.yours.toml``.

    Returns
    -------
    tuple of str
        Names under which files were kept.

    Raises
    ------
    OutputError
        It could not be written; what was there before is untouched.
    ValueError
        A name that is no plain file name.
    """
    for name in files:
        if name in {"", ".", ".."} or "/" in name or "\\" in name:
            raise ValueError(f"{name!r} is no file name")
    missing = [place for place in (folder, *folder.parents) if not place.exists()]
    try:
        kept = _kept(folder, files, keep) if keep is not None else {}
        folder.mkdir(parents=True, exist_ok=True)
        every = {**kept, **files}
        write_files({folder / name: every[name] for name in sorted(every, key=lambda n: (n == LAST, n))})
    except BaseException as error:
        for place in missing:  # innermost first; only what this call has made, and only while empty
            with contextlib.suppress(OSError):
                place.rmdir()
        if isinstance(error, OSError):
            raise OutputError(f"{error.filename or folder}: {error.strerror or error}") from error
        raise
    return tuple(sorted(kept))


def _kept(folder: Path, files: Mapping[str, bytes], keep: Callable[[str, bytes], bool]) -> dict[str, bytes]:
    """What the user had under the names of the new files, under names that are free."""
    found: dict[str, bytes] = {}
    for name, new in files.items():
        place = folder / name
        if not place.is_file():
            continue
        old = place.read_bytes()
        if old == new or not keep(name, old):
            continue
        for other in yours_names(name):
            there = folder / other
            if other == name or other in files:
                continue
            if not os.path.lexists(there):
                found[other] = old
            elif not (there.is_file() and there.read_bytes() == old):
                continue
            break
    return found
