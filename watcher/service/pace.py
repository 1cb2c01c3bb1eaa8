"""A recording's own time while it plays: the computer's steady seconds, stretched."""

from __future__ import annotations

from datetime import datetime, timedelta

from watcher.clock import Clock


class Pace:
    """Recorded time at `speed` recorded seconds to a real one, held at the recording's end.

    Parameters
    ----------
    clock : Clock
        The clock that the playing goes by.
    started_at : datetime
        Moment of the recording's second 0, aware, UTC.
    first_s, last_s : float
        Where the playing begins and where it is held. [s]
    speed : float
        Recorded seconds to one real second, above 0.
    """

    def __init__(
        self, clock: Clock, started_at: datetime, *, first_s: float, last_s: float, speed: float
    ) -> None:
        self._clock = clock
        self._started_at = started_at
        self._first_s = first_s
        self._last_s = last_s
        self._speed = speed
        self._began_s = clock.now_s()

    def now_s(self) -> float:
        """Return the recording's present second [s]."""
        played = (self._clock.now_s() - self._began_s) * self._speed
        return min(self._first_s + played, self._last_s)

    def at(self, time_s: float) -> datetime:
        """Turn a second of the recording into a moment for people."""
        return self._started_at + timedelta(seconds=time_s)
