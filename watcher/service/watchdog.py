"""What a service manager is told: ready, moving on, stopping (the protocol of sd_notify(3)).

Somebody must notice a service that runs but no longer watches. Under systemd it is told every few seconds
that the bench has moved on; when that word stays away, systemd ends the service and starts it again.
"""

from __future__ import annotations

import os
import socket
from collections.abc import Callable, Mapping
from threading import Event, Thread

_SHARE = 4.0
"""Looks in the time that is allowed between two words: one may be late (the manual advises two)."""


class Watchdog:
    """The line to the service manager; without one, nothing is told and nothing fails.

    Parameters
    ----------
    environment : mapping
        Where the manager says how it is reached: `NOTIFY_SOCKET`, `WATCHDOG_USEC`, `WATCHDOG_PID`.
    present_s : callable
        Gives the moment up to which the bench has come, in its own seconds. Only when this has grown since
        the last look is the manager told that all is well. [s]
    """

    def __init__(self, environment: Mapping[str, str], present_s: Callable[[], float | None]) -> None:
        self._place = environment.get("NOTIFY_SOCKET", "")
        self._present_s = present_s
        self._stop = Event()
        self._every_s = _wanted_s(environment) / _SHARE
        self._thread = Thread(target=self._run, name="watchdog", daemon=True)
        if self._place and self._every_s > 0.0:
            self._thread.start()

    def ready(self, status: str) -> None:
        """Say that the bench is being watched now; `status` is shown beside the service's name."""
        self._tell(f"READY=1\nSTATUS={' '.join(status.split())}")

    def close(self, *, stopping: bool) -> None:
        """Say no more, as this bench is watched no longer. Twice is fine.

        Parameters
        ----------
        stopping : bool
            The whole service is on its way out, which the manager is told; False: it goes on with another
            watchdog (told that it stops, the manager would end it within seconds).
        """
        self._stop.set()
        if stopping:
            self._tell("STOPPING=1\nSTATUS=Writing down what is left")

    def _run(self) -> None:
        before_s = self._present_s()
        while not self._stop.wait(self._every_s):
            now_s = self._present_s()
            if now_s != before_s:
                before_s = now_s
                self._tell("WATCHDOG=1")

    def _tell(self, words: str) -> None:
        if not self._place:
            return
        place = "\0" + self._place[1:] if self._place.startswith("@") else self._place
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as line:
                line.setblocking(False)  # a manager that does not listen must not hold up the bench
                line.sendto(words.encode(), place)
        except OSError:
            return  # it hears the next word, or misses it and starts us again: nothing better is left to do


def _wanted_s(environment: Mapping[str, str]) -> float:
    """Return within how many seconds a word is wanted, or 0 for never."""
    microseconds, pid = environment.get("WATCHDOG_USEC", ""), environment.get("WATCHDOG_PID", "")
    if not microseconds.isdigit() or (pid and pid != str(os.getpid())):
        return 0.0
    return int(microseconds) / 1e6
