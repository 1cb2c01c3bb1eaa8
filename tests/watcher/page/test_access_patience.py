"""Who holds the line without asking is hung up on, and cannot keep others from the bench."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack

import pytest
from opened_bench import LAN, Served

from watcher.service import patience

pytestmark = pytest.mark.skipif(LAN is None, reason="this machine has no address on a network")


@pytest.fixture(autouse=True)
def short_patience(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(patience.PatientProtocol, "patience_s", 0.5)
    yield


def closed_within(line: socket.socket, seconds: float) -> bool:
    line.settimeout(seconds)
    try:
        while line.recv(65536):
            pass
    except TimeoutError:
        return False
    except ConnectionError:
        return True
    return True


@pytest.mark.parametrize(
    "begun",
    [
        b"", b"GET /health.json HTTP/1.1\r\nHost:",
        b"POST /join.json HTTP/1.1\r\nHost: 192.0.2.2\r\n"
        b"Content-Type: application/json\r\nContent-Length: 99\r\n\r\n{",
    ],
    ids=["says nothing", "half a head", "half a body"],
)  # fmt: skip
def test_who_never_finishes_a_request_is_hung_up_on(served: Served, begun: bytes) -> None:
    with socket.create_connection((LAN, served.web.port)) as line:
        line.sendall(begun.replace(b"192.0.2.2", str(LAN).encode()))
        assert closed_within(line, 5.0)


def test_who_sends_a_letter_now_and_then_is_hung_up_on_too(served: Served) -> None:
    with socket.create_connection((LAN, served.web.port)) as line:
        line.sendall(f"GET /health.json HTTP/1.1\r\nHost: {LAN}\r\nX: ".encode())
        began = time.monotonic()
        with pytest.raises(ConnectionError):
            while time.monotonic() - began < 8.0:
                line.sendall(b"a")
                time.sleep(0.1)
        assert time.monotonic() - began < 5.0


def test_a_live_stream_is_not_hung_up_on(served: Served) -> None:
    phone = served.joined()
    began = time.monotonic()
    with phone.stream("GET", "/live") as live:
        for _ in live.iter_lines():
            if time.monotonic() - began > 3.0:
                break
    assert time.monotonic() - began > 3.0


def test_one_that_opens_hundreds_of_lines_keeps_nobody_else_out(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patience.PatientProtocol, "patience_s", 30.0)
    with ExitStack() as stack:
        lines = [
            stack.enter_context(socket.create_connection((LAN, served.web.port)))
            for _ in range(patience.MOST_FROM_ONE + 40)
        ]
        assert sum(closed_within(line, 2.0) for line in lines[-20:]) == 20
        assert not closed_within(lines[0], 0.1)
        assert served.own().get("/bench.json").status_code == 200  # this machine itself is never too many
