"""Somebody outside notices when we stop; a real web server on the loopback listens."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

import pytest

from watcher.alerts.senders import UnusableChannel
from watcher.alerts.sign_of_life import SignOfLife


class Outside:
    def __init__(self) -> None:
        self.times: list[float] = []
        self.status = 200
        self.url = ""


@contextmanager
def outside() -> Iterator[Outside]:
    told = Outside()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            told.times.append(time.monotonic())
            self.send_response(told.status)
            self.send_header("Location", "file:///etc/passwd")
            self.end_headers()

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    told.url = f"http://127.0.0.1:{server.server_port}/ping/secret-key-77"
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield told
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def until(good: Callable[[], bool], seconds: float = 4.0) -> None:
    end = time.monotonic() + seconds
    while not good():
        assert time.monotonic() < end
        time.sleep(0.02)


def test_signs_come_while_all_is_well_and_stop_when_it_is_not() -> None:
    well = True
    with outside() as told:
        life = SignOfLife(told.url, lambda: well, every_s=0.1)
        until(lambda: len(told.times) >= 3)
        well = False
        time.sleep(0.3)
        stopped = len(told.times)
        time.sleep(0.4)
        assert len(told.times) == stopped
        well = True
        until(lambda: len(told.times) > stopped)
        life.close()
        life.close()


def test_an_address_that_refuses_is_told_without_its_key_and_tried_again() -> None:
    with outside() as told:
        told.status = 404
        life = SignOfLife(told.url, lambda: True, every_s=0.1)
        until(lambda: bool(life.trouble))
        assert "404" in life.trouble
        assert "secret-key-77" not in life.trouble
        told.status = 200
        until(lambda: not life.trouble)
        life.close()


def test_an_answer_that_points_to_a_file_is_not_followed() -> None:
    with outside() as told:
        told.status = 302
        life = SignOfLife(told.url, lambda: True, every_s=0.1)
        until(lambda: "302" in life.trouble)
        life.close()


@pytest.mark.parametrize("address", ["", "ftp://host/", "file:///etc/passwd", "http://", "host/path"])
def test_only_web_addresses_are_taken(address: str) -> None:
    with pytest.raises(UnusableChannel, match="http"):
        SignOfLife(address, lambda: True)
