"""That tests run without a network is not taken on trust."""

from __future__ import annotations

import socket
import urllib.error
import urllib.request

import pytest

from tests.offline import SocketError


def test_a_socket_that_is_reached_for_fails_the_test() -> None:
    with socket.socket() as one, pytest.raises(SocketError):
        one.connect(("127.0.0.1", 9))
    with pytest.raises(SocketError):
        socket.getaddrinfo("localhost", 80)
    with pytest.raises((SocketError, urllib.error.URLError)):
        urllib.request.urlopen("http://127.0.0.1:9/")


def test_a_socket_of_the_machine_itself_may_be_used(tmp_path: object) -> None:
    one, other = socket.socketpair()
    with one, other, socket.socket(socket.AF_UNIX) as third:
        one.sendall(b"x")
        assert other.recv(1) == b"x"
        with pytest.raises(FileNotFoundError):
            third.connect(f"{tmp_path}/none")
