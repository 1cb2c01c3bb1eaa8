"""Notice when the computer's clock is set: the bench goes by steady seconds, but the times shown jump."""

from __future__ import annotations

import logging
from threading import Lock

from watcher.clock import Clock

_LOG = logging.getLogger(__name__)
STEP_S = 2.0
"""What the network corrects without a jump stays far below this between two looks. [s]"""

SAID_FOR_S = 3600.0
"""A step is spoken of for an hour. [s]"""


class ClockWatch:
    """Compares the clock on the wall with the steady seconds, from any thread.

    Parameters
    ----------
    clock : Clock
    went_back_s : float
        By how much the clock had gone back while the service did not run; 0 where it had not. [s]
    """

    def __init__(self, clock: Clock, went_back_s: float = 0.0) -> None:
        self._clock = clock
        self._lock = Lock()
        self._apart_s = self._apart()
        self._why, self._since_s = "", 0.0
        if went_back_s > 0.0:
            self._note(-went_back_s, " over the restart: casts from before it are dated less surely")

    def look(self) -> float:
        """Return by how much the clock was set since the last look, 0 where it was not. [s]."""
        with self._lock:
            apart_s = self._apart()
            step_s = apart_s - self._apart_s
            self._apart_s = apart_s
            if abs(step_s) < STEP_S:
                return 0.0
            self._note(step_s, "; casts go on by the steady clock, only the times shown before are off")
            return step_s

    def why(self) -> str:
        """Return what is to be said of it; empty when an hour has gone."""
        with self._lock:
            fresh = self._why and self._clock.now_s() - self._since_s < SAID_FOR_S
            return self._why if fresh else ""

    def _apart(self) -> float:
        return self._clock.now_at().timestamp() - self._clock.now_s()

    def _note(self, step_s: float, rest: str) -> None:
        direction = "forward" if step_s > 0.0 else "back"
        self._why = f"its clock went {direction} by {_span(abs(step_s))}{rest}"
        self._since_s = self._clock.now_s()
        _LOG.warning("event=clock_stepped by_s=%.1f", step_s)


def _span(seconds: float) -> str:
    if seconds < 120.0:
        return f"{seconds:.0f} s"
    if seconds < 2.0 * 3600.0:
        return f"{seconds / 60.0:.0f} min"
    return f"{seconds / 3600.0:.0f} h" if seconds < 48.0 * 3600.0 else f"{seconds / 86400.0:.0f} days"
