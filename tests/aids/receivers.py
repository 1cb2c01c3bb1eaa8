"""Real receivers on the loopback that a message is sent to: a web address that can misbehave."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Event, Thread
from typing import Any


@dataclass
class Receiver:
    """What arrived, and how to answer: a status, or silence until `speak` is set."""

    url: str = ""
    status: int = 200
    silent: bool = False
    speak: Event = field(default_factory=Event)
    arrived: Event = field(default_factory=Event)
    got: list[dict[str, Any]] = field(default_factory=list)


@contextmanager
def http_receiver(status: int = 200, *, silent: bool = False) -> Iterator[Receiver]:
    receiver = Receiver(status=status, silent=silent)

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            length = int(self.headers["Content-Length"])
            body = self.rfile.read(length)
            if len(body) < length:
                return  # the sender was killed in the middle of it
            receiver.got.append(json.loads(body))
            receiver.arrived.set()
            if receiver.silent:
                receiver.speak.wait(20)
            try:
                self.send_response(receiver.status)
                self.end_headers()
            except OSError:
                pass  # the sender has hung up

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    receiver.url = f"json://127.0.0.1:{server.server_port}/secret-key-77"
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        receiver.speak.set()
        server.shutdown()
        server.server_close()
        thread.join()
