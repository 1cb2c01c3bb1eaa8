"""How damp each mould is now, for the cards: worked out now and then, not at every present."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import datetime

from watcher.page.port import BenchPort
from watcher.storage.writer import JournalFailed

AGAIN_AFTER_S = 300.0
"""Plaster dries over hours: a figure some minutes old is as good. [s]"""


class DampShelf:
    """Keeps each mould's free water for some minutes.

    Parameters
    ----------
    port : BenchPort
    ask : callable
        Works one mould's out; None where it is not known.
    """

    def __init__(self, port: BenchPort, ask: Callable[[str], float | None]) -> None:
        self._port = port
        self._ask = ask
        self._lock = threading.Lock()
        self._kept: dict[str, tuple[datetime, str | None, float | None]] = {}

    def of(self, name: str) -> float | None:
        """Return a mould's free water over its dry plaster, or None. A new cast is a new figure."""
        now = self._port.now()
        state = self._port.bench().moulds.get(name)
        cast = state.cast.cast_id if state is not None and state.cast is not None else None
        with self._lock:
            kept = self._kept.get(name)
            if kept is not None and kept[1] == cast and abs((now - kept[0]).total_seconds()) < AGAIN_AFTER_S:
                return kept[2]
            try:
                found = self._ask(name)
            except JournalFailed:
                found = None  # the memory's own trouble is said elsewhere
            self._kept[name] = (now, cast, found)
            return found
