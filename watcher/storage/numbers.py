"""The numbers that one bench gives to its rows, each one once."""

from __future__ import annotations

from threading import Lock


class Numbers:
    """Count upwards from the last number given. Any thread may take one."""

    def __init__(self, last: int) -> None:
        self._last = last
        self._lock = Lock()

    def take(self) -> int:
        """Return a number that no row of this bench has."""
        with self._lock:
            self._last += 1
            return self._last

    @property
    def last(self) -> int:
        """The newest number given."""
        return self._last
