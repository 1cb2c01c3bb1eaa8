"""Ways to cut a bench off from its database: a wire that loses what is put in, a network of its own."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

_ALL = 65_536


class Wire:
    """Takes TCP connections and passes them on to a unix socket; cut, it swallows everything in silence."""

    def __init__(self, host: str, to: str) -> None:
        self._to = to
        self._open = threading.Event()
        self._open.set()
        self._over = False
        self._ends: list[socket.socket] = []
        self._server = socket.create_server((host, 0))
        self.port = int(self._server.getsockname()[1])
        threading.Thread(target=self._take, daemon=True).start()

    def cut(self) -> None:
        """Let nothing through any more, and end nothing: who waits gets no answer."""
        self._open.clear()

    def mend(self) -> None:
        """Let everything through again; what was swallowed is lost, so old connections end."""
        self._hang_up()
        self._open.set()

    def close(self) -> None:
        self._over = True
        self._server.close()
        self._open.set()
        self._hang_up()

    def _hang_up(self) -> None:
        for end in self._ends:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
        self._ends.clear()

    def _take(self) -> None:
        with suppress(OSError):
            while not self._over:
                near, _ = self._server.accept()
                self._open.wait()
                far = socket.socket(socket.AF_UNIX)
                far.connect(self._to)
                self._ends += [near, far]
                for one, other in ((near, far), (far, near)):
                    threading.Thread(target=self._pass_on, args=(one, other), daemon=True).start()

    def _pass_on(self, one: socket.socket, other: socket.socket) -> None:
        with suppress(OSError):
            while data := one.recv(_ALL):
                if self._open.is_set():
                    other.sendall(data)
            other.shutdown(socket.SHUT_WR)


class Namespace:
    """A network of its own with one cable to this one, which can be pulled: packets then go nowhere."""

    def __init__(self, number: int) -> None:
        self._name, self._near, self._far = f"bench{number}", f"tbn{number}", f"tbf{number}"
        self.host = f"10.231.{number % 250}.1"
        self._own = f"10.231.{number % 250}.2"

    @property
    def before(self) -> list[str]:
        """What a command begins with so that it runs in there."""
        return ["ip", "netns", "exec", self._name]

    def cut(self) -> None:
        """Pull the cable."""
        _ip("link", "set", self._near, "down")

    def mend(self) -> None:
        """Plug it in again."""
        _ip("link", "set", self._near, "up")

    def lay(self) -> None:
        """Make it."""
        _ip("netns", "add", self._name)
        _ip("link", "add", self._near, "type", "veth", "peer", "name", self._far)
        _ip("link", "set", self._far, "netns", self._name)
        _ip("addr", "add", f"{self.host}/24", "dev", self._near)
        _ip("link", "set", self._near, "up")
        _ip("-n", self._name, "addr", "add", f"{self._own}/24", "dev", self._far)
        _ip("-n", self._name, "link", "set", self._far, "up")
        _ip("-n", self._name, "link", "set", "lo", "up")

    def clear(self) -> None:
        """Take it away."""
        for words in (("link", "del", self._near), ("netns", "del", self._name)):
            with suppress(subprocess.CalledProcessError):
                _ip(*words)


@contextmanager
def namespace() -> Iterator[Namespace | str]:
    """Lay one; where that is not allowed here, the reason why not."""
    if shutil.which("ip") is None:
        yield "there is no program `ip` here"
        return
    laid = Namespace(os.getpid() % 10_000)
    try:
        laid.lay()
    except subprocess.CalledProcessError as fault:
        laid.clear()
        yield f"no network of its own may be made here: {fault.stderr.strip()}"
        return
    try:
        yield laid
    finally:
        laid.clear()


def _ip(*words: str) -> None:
    subprocess.run(["ip", *words], check=True, capture_output=True, text=True)
