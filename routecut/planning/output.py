"""Writes the plan folder whole or not at all.

Stage      planning, last step; knows bytes and names, nothing of what they say
Leaves     at every moment, also after a crash or a power cut: the last good plan or the
           new one, never a mix; what the user put into it is in both

The new folder is built beside the old one, given the user's files (`planning.kept`), put
on the disk, and swapped in by two renames. A crash between the two leaves no folder of the
right name; `_recover` puts the old one back and is run before anything else.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath

from routecut.errors import OutputError
from routecut.planning.kept import MANIFEST, Kept, carry_over, manifest

if sys.platform != "win32":
    import fcntl


def write_plan_folder(folder: Path, files: Mapping[str, bytes]) -> Kept:
    """Replace a folder by one that holds the files given, their list, and what is the user's.

    Parameters
    ----------
    folder : Path
        The folder to replace or make; the folder it stands in must exist.
    files : mapping of str to bytes
        Content by path inside the folder, parts joined by ``/``.

    Returns
    -------
    Kept
        Files the tool did not write, or that were changed since: none of them is lost.

    Raises
    ------
    OutputError
        It could not be written, or is a link or a file, or another run is writing it; what
        was there before is untouched.
    ValueError
        A path that is empty, absolute or leaves the folder.
    """
    for name in files:
        _require_inside(name)
    if MANIFEST in files:
        raise ValueError(f"{MANIFEST} is the name of the list of files")
    with _reporting(folder), _one_at_a_time(folder):
        _recover(folder)
        new, old = _new(folder), _old(folder)
        try:
            kept = _build(new, files, folder)
            replaces = folder.exists()
            if replaces:
                folder.rename(old)
            try:
                new.rename(folder)
            except BaseException:
                if replaces:
                    _put_back(old, folder)
                raise
            with contextlib.suppress(OSError):  # the new plan is in place: no reason to call it a failure
                _sync_folder(folder.parent)
        finally:
            # Best effort: what can't be removed now is removed by the next run.
            shutil.rmtree(new, ignore_errors=True)
            if folder.exists():
                with contextlib.suppress(OSError, OutputError):
                    _remove_old(old, folder)
    return kept


def _remove_old(old: Path, folder: Path) -> None:
    """Remove the old folder once nothing is in it that came while the new one was made."""
    gone = _gone(folder)
    if old.is_dir():
        carry_over(old, folder)
        # A removal that is cut short leaves a folder nobody can tell apart: so this name says
        # that nothing in it is wanted any more.
        old.rename(gone)
    if gone.is_dir():
        shutil.rmtree(gone)


def refuse_unwritable(folder: Path) -> None:
    """Say before long work what would stop `write_plan_folder` after it; also puts back a plan.

    A job folder that does not exist is left to the reader of the job, which says it better.

    Raises
    ------
    OutputError
        As `write_plan_folder`.
    """
    if not folder.parent.is_dir():
        return
    with _reporting(folder), _one_at_a_time(folder):
        _recover(folder)
        _new(folder).mkdir()
        _new(folder).rmdir()


def write_file(path: Path, data: bytes) -> None:
    """Write one file whole or not at all; see `write_files`."""
    write_files({path: data})


def write_files(files: Mapping[Path, bytes]) -> None:
    """Write files, all of them or none; a link of that name is replaced, not followed.

    Each is whole at every moment. A power cut while they are put into place can leave some new
    and some as they were, none half written.

    Raises
    ------
    OutputError
        One could not be written; what was there before is untouched.
    """
    placed: list[Path] = []
    try:
        for path, data in files.items():
            with _reporting(path):
                if path.exists() and not path.is_file():
                    raise OutputError(f"{path}: is no ordinary file; it was not replaced")
                _clear(path)  # of a run that was killed
                _write_new(_new(path), data)
                _keep(path)
        for path in files:
            with _reporting(path):
                _new(path).replace(path)
                placed.append(path)
                _sync_folder(path.parent)
    except BaseException:
        for path in placed:
            if os.path.lexists(_old(path)):
                _old(path).replace(path)
            else:
                path.unlink()
        raise
    finally:
        for path in files:
            with contextlib.suppress(OSError):
                _clear(path)


def _keep(path: Path) -> None:
    """Give what is there a second name to go back to."""
    if path.is_symlink():
        _old(path).symlink_to(path.readlink())
    elif path.exists():
        try:
            _old(path).hardlink_to(path)
        except OSError:  # no hard links here
            shutil.copy2(path, _old(path))


def _clear(path: Path) -> None:
    _new(path).unlink(missing_ok=True)
    _old(path).unlink(missing_ok=True)


def _new(path: Path) -> Path:
    return path.with_name(f".{path.name}.routecut-new")


def _old(path: Path) -> Path:
    return path.with_name(f".{path.name}.routecut-old")


def _gone(path: Path) -> Path:
    return path.with_name(f".{path.name}.routecut-gone")


def _require_inside(name: str) -> None:
    parts = PurePosixPath(name).parts
    if not parts or name.startswith("/") or ".." in parts or "\\" in name:
        raise ValueError(f"{name!r} is not a path inside the plan folder")


def _recover(folder: Path) -> None:
    """Bring the place into order after a run that was cut short."""
    if folder.is_symlink():
        raise OutputError(f"{folder}: is a link; remove it, the plan is written into a real folder only")
    if folder.exists() and not folder.is_dir():
        raise OutputError(f"{folder}: is a file; move it away, the plan folder has this name")
    new, old, gone = _new(folder), _old(folder), _gone(folder)
    if old.exists() and not folder.exists():
        old.rename(folder)
    for leftover in (new, old, gone):
        if leftover.is_symlink():
            leftover.unlink()
    for leftover in (new, gone):  # nothing but copies and second names, or carried over already
        if leftover.exists():
            shutil.rmtree(leftover)
    _remove_old(old, folder)


def _put_back(old: Path, folder: Path) -> None:
    try:
        old.rename(folder)
    except OSError as error:
        raise OutputError(
            f"{folder}: could not be written, nor the last plan put back: {error.strerror or error}; "
            f"it is whole in {old}, and the next run puts it back"
        ) from error


def _build(new: Path, files: Mapping[str, bytes], last: Path) -> Kept:
    """Make the folder and put it on the disk, contents first."""
    new.mkdir()
    for name, data in (*files.items(), (MANIFEST, manifest(files))):
        path = new.joinpath(*PurePosixPath(name).parts)
        path.parent.mkdir(parents=True, exist_ok=True)
        _write_new(path, data)
    kept = carry_over(last, new) if last.is_dir() else Kept()
    folders = [Path(here) for here, _, _ in os.walk(new)]
    for made in sorted(folders, reverse=True):
        _sync_folder(made)
    return kept


def _write_new(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Put the names in a folder on the disk, where the system can do that."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some file systems can't, and need not
            raise
    finally:
        os.close(handle)


@contextlib.contextmanager
def _reporting(path: Path) -> Iterator[None]:
    """Any trouble of the file system becomes an OutputError that names the path."""
    try:
        yield
    except OSError as error:
        why = error.strerror or str(error)
        raise OutputError(
            f"{path}: could not be written: {why}; what was there before is untouched"
        ) from error


@contextlib.contextmanager
def _one_at_a_time(folder: Path) -> Iterator[None]:
    """Hold a lock on the folder around it, so that two runs never mix; ends with the process."""
    if sys.platform == "win32":  # two runs at once are not noticed there
        yield
        return
    handle = os.open(folder.parent, os.O_RDONLY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise OutputError(
                f"{folder}: another routecut is writing it; run this again when it is done"
            ) from None
        except OSError:
            pass  # a file system without locks (some network shares)
        yield
    finally:
        os.close(handle)
