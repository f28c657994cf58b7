"""No network is ever asked: whoever reaches for a socket in a test fails it."""

from __future__ import annotations

import sys
from typing import Any, Final

_REACHING: Final = ("socket.connect", "socket.bind", "socket.sendto", "socket.sendmsg", "socket.getaddrinfo")
_LOOKED_UP: Final = ("socket.gethostbyname", "socket.gethostbyaddr", "socket.getnameinfo")


class SocketError(AssertionError):
    """A socket was reached for."""


def forbid_sockets() -> None:
    """For as long as this process runs; sockets of the machine itself (AF_UNIX) may be used.

    By a hook of the interpreter, so that no library can have kept a way round it.
    """

    def refuse(event: str, arguments: tuple[Any, ...]) -> None:
        if event in _LOOKED_UP or (event in _REACHING and not _local(arguments)):
            raise SocketError(f"a socket was reached for: {event} {arguments!r}")

    sys.addaudithook(refuse)


def _local(arguments: tuple[Any, ...]) -> bool:
    # the name of one of AF_UNIX is a text, or bytes; that of any other a tuple
    return len(arguments) > 1 and hasattr(arguments[0], "family") and not isinstance(arguments[-1], tuple)
