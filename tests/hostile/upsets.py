"""What goes wrong while a command runs: put into place in the process that runs it, just before."""

from __future__ import annotations

import ctypes
import os
import resource
import shutil
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import routecut.planning
from routecut.planning import output

LARGEST_FILE: Final = 20_000
"""Where the disk is full: a few of the plan's files are smaller, the others larger. [bytes]"""

_CAPABILITIES_3: Final = 0x20080522
_CAPSET: Final = 126  # of x86-64
_DAC: Final = 0b110  # CAP_DAC_OVERRIDE and CAP_DAC_READ_SEARCH: what lets root write where nobody may


def disk_full() -> None:
    """No file may grow beyond `LARGEST_FILE`; the system says so as it does of a full disk."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (LARGEST_FILE, LARGEST_FILE))


def plain_user() -> None:
    """Where nobody may write, root may not either."""
    if os.geteuid() != 0:
        return
    head = (ctypes.c_uint32 * 2)(_CAPABILITIES_3, 0)
    data = (ctypes.c_uint32 * 6)()
    libc = ctypes.CDLL(None, use_errno=True)
    assert libc.syscall(_CAPSET - 1, head, data) == 0
    data[0] &= ~_DAC
    assert libc.syscall(_CAPSET, head, data) == 0


def mesh_vanishes() -> None:
    """The mesh is there when it is looked at, and gone when it is read."""
    real = Path.read_bytes

    def gone(self: Path) -> bytes:
        if self.name.startswith("body."):
            self.unlink(missing_ok=True)
        return real(self)

    Path.read_bytes = gone  # type: ignore[method-assign]


def folder_vanishes() -> None:
    """The job folder is removed while the plan is made."""
    _after_planning(lambda: shutil.rmtree(sys.argv[-1]))


def plan_vanishes() -> None:
    """The last plan is removed while the new one is made."""
    _after_planning(lambda: shutil.rmtree(Path(sys.argv[-1]) / "plan"))


def interrupted_planning() -> None:
    """Ctrl-C while the plan is made."""
    _after_planning(lambda: os.kill(os.getpid(), signal.SIGINT))


def ended_planning() -> None:
    """SIGTERM while the plan is made."""
    _after_planning(lambda: os.kill(os.getpid(), signal.SIGTERM))


def interrupted_writing() -> None:
    """Ctrl-C while the files are written."""
    _at_third_sync(lambda: os.kill(os.getpid(), signal.SIGINT))


def ended_writing() -> None:
    """SIGTERM while the files are written."""
    _at_third_sync(lambda: os.kill(os.getpid(), signal.SIGTERM))


def killed_writing() -> None:
    """SIGKILL while the files are written: nothing can be tidied up."""
    _at_third_sync(lambda: os.kill(os.getpid(), signal.SIGKILL))


def _after_planning(do: Callable[[], object]) -> None:
    real = routecut.planning.make_plan

    def make_plan(*a: Any, **k: Any) -> Any:
        done = real(*a, **k)
        do()
        return done

    routecut.planning.make_plan = make_plan


def _at_third_sync(do: Callable[[], object]) -> None:
    real, calls = os.fsync, []

    def fsync(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 3:
            do()
        real(handle)

    output.os.fsync = fsync  # type: ignore[attr-defined]


UPSETS: Final[dict[str, Callable[[], None]]] = {
    f.__name__: f
    for f in (
        *(disk_full, plain_user, mesh_vanishes, folder_vanishes, plan_vanishes, interrupted_planning),
        *(ended_planning, interrupted_writing, ended_writing, killed_writing),
    )
}
