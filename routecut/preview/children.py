"""Drawing off screen in a child process: where OpenGL is missing, only the child ends."""

from __future__ import annotations

import functools
import os
import subprocess
import sys
from typing import Final

from routecut.errors import OutputError
from routecut.model.body import Body
from routecut.model.plan import Plan
from routecut.preview.handing import from_bytes, to_bytes

INSTALL_HINT: Final = (
    "install the OpenGL libraries (Debian, Ubuntu: apt-get install --no-install-recommends libegl1 libgl1)"
)
"""What cures a machine that can't draw."""

_PROBE_SECONDS: Final = 60.0
_DRAW_SECONDS: Final = 600.0


@functools.cache
def can_draw() -> bool:
    """Whether this machine can draw: a sphere in a child process, and its pixels looked at.

    Asked once in a process; takes about a second.
    """
    try:
        done = _run("routecut.preview.probe_child", b"", _PROBE_SECONDS)
    except (OSError, subprocess.SubprocessError):
        return False
    return done.returncode == 0 and done.stdout.strip().endswith(b"drawn")


def stills(plan: Plan, body: Body) -> dict[str, bytes]:
    """Pictures of the plan, drawn in a child process.

    Parameters
    ----------
    plan : Plan
    body : Body
        The body the plan was made on.

    Returns
    -------
    dict of str to bytes
        File name to PNG, 1600 x 1000: ``left-front.png``, ``right-rear.png``,
        ``above.png``, ``left.png``, ``close-up.png``.

    Raises
    ------
    OutputError
        The pictures could not be drawn; ask `can_draw` first.
    """
    try:
        done = _run("routecut.preview.stills_child", to_bytes((plan, body)), _DRAW_SECONDS)
    except (OSError, subprocess.SubprocessError) as error:
        raise OutputError(f"the pictures could not be drawn: {error}") from error
    if done.returncode != 0:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        reason = said[-1] if said else f"the drawing process ended with code {done.returncode}"
        raise OutputError(f"the pictures could not be drawn ({reason}); {INSTALL_HINT}")
    drawn: dict[str, bytes] = from_bytes(done.stdout)
    return drawn


def _run(module: str, given: bytes, seconds: float) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", module]
    return subprocess.run(  # noqa: S603 - our own interpreter and module
        command, input=given, capture_output=True, timeout=seconds, check=False, env=_environment()
    )


def _environment() -> dict[str, str]:
    """Without a display on Linux the window that needs none; one the user chose stays."""
    environment = dict(os.environ)
    screen = environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY")
    if sys.platform.startswith("linux") and not screen:
        environment.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    return environment
