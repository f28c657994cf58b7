"""Runs the command line in processes of their own, and measures what each takes.

One process reads the program once and makes a copy of itself for each command, so that a command
costs what it does and not what starting Python costs. Each copy is killed after a time, may not take
more memory than the machine can spare, and may not open a socket.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NoReturn

from routecut.planning.chart_cache import OFF, VARIABLE
from tests.offline import forbid_sockets

LONGEST_S: Final = 120
"""A command is killed after so much processor time; what it may take at most is for the test to say."""

_LONGEST_BY_THE_CLOCK_S: Final = 600.0
"""And after this where it waits for something: on a machine with other work the clock says little."""

_SPARED_BYTES: Final = 6_000_000_000
_TOP: Final = Path(__file__).parents[2]


@dataclass(frozen=True, kw_only=True)
class Ended:
    """How a command ended, what it said, and what it took.

    `code` is negative when a signal ended it, as of subprocess; `seconds` are of processor time, so that
    other work of the machine does not count; `peak_bytes` is the most memory that was resident, what
    Python and the libraries take included.
    """

    code: int
    out: str
    err: str
    seconds: float
    peak_bytes: int


class Runner:
    """Commands, one after another; use `running`."""

    def __init__(self, server: subprocess.Popen[str]) -> None:
        self._server = server

    def __call__(self, *arguments: str | Path, upset: str = "") -> Ended:
        """Run ``routecut ARGUMENTS`` without drawing; `upset` names what goes wrong meanwhile (`upsets`)."""
        assert self._server.stdin is not None
        assert self._server.stdout is not None
        asked = {"arguments": [str(a) for a in arguments], "upset": upset}
        self._server.stdin.write(json.dumps(asked) + "\n")
        self._server.stdin.flush()
        answer = self._server.stdout.readline()
        assert answer, "the process that runs commands is gone"
        return Ended(**json.loads(answer))


@contextmanager
def running() -> Iterator[Runner]:
    """A `Runner`, for as long as it is wanted."""
    few = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"), "1")
    with subprocess.Popen(
        [sys.executable, "-m", "tests.hostile.runner"],
        cwd=_TOP,
        env={**os.environ, **few, "PYTHONPATH": str(_TOP)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as server:
        yield Runner(server)
        assert server.stdin is not None
        server.stdin.close()


# --- in the process that runs commands --------------------------------------------------------


def _serve() -> None:
    forbid_sockets()
    import scipy.spatial  # noqa: F401 - read once, for every copy
    import trimesh  # noqa: F401

    import routecut.cli
    import routecut.documents
    import routecut.planning  # noqa: F401

    for line in sys.stdin:
        asked = json.loads(line)
        answer = _run(asked["arguments"], asked["upset"])
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


def _run(arguments: list[str], upset: str) -> dict[str, Any]:
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        child = os.fork()
        if child == 0:
            _be_the_command(arguments, upset, out.fileno(), err.fileno())
        status, used = _wait(child)
        said = []
        for file in (out, err):
            file.seek(0)
            said.append(file.read().decode("utf-8", "replace"))
    return {
        "code": os.waitstatus_to_exitcode(status),
        "out": said[0],
        "err": said[1],
        "seconds": used.ru_utime + used.ru_stime,
        "peak_bytes": used.ru_maxrss * 1024,
    }


def _wait(child: int) -> tuple[int, resource.struct_rusage]:
    def too_long(*_: object) -> None:
        os.kill(child, signal.SIGKILL)

    signal.signal(signal.SIGALRM, too_long)
    signal.setitimer(signal.ITIMER_REAL, _LONGEST_BY_THE_CLOCK_S)
    try:
        _, status, used = os.wait4(child, 0)
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
    return status, used


def _be_the_command(arguments: list[str], upset: str, out: int, err: int) -> NoReturn:
    import routecut.preview
    from routecut.cli import main
    from tests.hostile.upsets import UPSETS

    setattr(routecut.preview, "can_draw", lambda: False)  # noqa: B010 - the real one is cached, of another type

    code = 70
    try:
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(out, 1)
        os.dup2(err, 2)
        sys.stdout = sys.__stdout__ = os.fdopen(1, "w", encoding="utf-8", closefd=False)  # type: ignore[misc]
        sys.stderr = sys.__stderr__ = os.fdopen(2, "w", encoding="utf-8", closefd=False)  # type: ignore[misc]
        os.environ[VARIABLE] = OFF
        resource.setrlimit(resource.RLIMIT_AS, (_SPARED_BYTES, _SPARED_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_S, LONGEST_S))
        sys.argv = ["routecut", *arguments]
        if upset:
            UPSETS[upset]()
        main()
    except SystemExit as stop:
        code = int(stop.code or 0)
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


if __name__ == "__main__":
    _serve()
