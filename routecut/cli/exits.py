"""What the exit code of every command means."""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """The exit codes, for all commands alike."""

    DONE = 0
    NOT_AS_ASKED = 1
    BAD_INPUT = 2
    STOPPED = 130
    ENDED = 143

    @property
    def meaning(self) -> str:
        """One line for the documents."""
        return _MEANINGS[self]


_MEANINGS = {
    ExitCode.DONE: "Done.",
    ExitCode.NOT_AS_ASKED: (
        "The job can't be done as asked: a cable can't be routed, a rule is broken, a result can't be "
        "written. The reason is printed, with the nearest way out where there is one."
    ),
    ExitCode.BAD_INPUT: "Bad input: a fault in the job or its mesh, or a command given wrongly.",
    ExitCode.STOPPED: "Stopped from the keyboard (Ctrl-C). What was there before is untouched.",
    ExitCode.ENDED: "Ended from outside (SIGTERM). What was there before is untouched.",
}
