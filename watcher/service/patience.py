"""Connections that ask nothing, or ask for ever, are hung up on before they use up what the bench needs."""

from __future__ import annotations

import asyncio
from collections import Counter
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

from watcher.page.guard import is_loopback

PATIENCE_S = 10.0
"""A request that is not whole after this long to twice as long is given up."""

MOST_FROM_OTHERS = 256
"""A process may hold some 1000 files open by default; camera, journal and log must always get theirs."""

MOST_FROM_ONE = 64
"""A browser opens six connections to a bench; a proxy on another machine brings many browsers."""


class PatientProtocol(H11Protocol):
    """HTTP as uvicorn speaks it, with a limit on how many may hold the line, and for how long unheard."""

    patience_s = PATIENCE_S

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a caller in, unless there are too many."""
        super().connection_made(transport)
        self._waited = False
        self._timer = self.loop.call_later(self.patience_s, self._look)
        if self._too_many():
            transport.abort()

    def connection_lost(self, exc: Exception | None) -> None:
        """Let the caller go."""
        self._timer.cancel()
        super().connection_lost(exc)

    def handle_events(self) -> None:
        """Take in what came; a whole request begins the waiting anew."""
        before: Any = self.cycle
        super().handle_events()
        if self.cycle is not before:
            self._waited = False

    def _look(self) -> None:
        # Asked and not yet answered in full is our own time (or a live stream); all else is theirs.
        at_work = self.cycle is not None and not self.cycle.response_complete and not self.cycle.more_body
        if not at_work and self._waited:
            self.transport.abort()
            return
        self._waited = not at_work
        self._timer = self.loop.call_later(self.patience_s, self._look)

    def _too_many(self) -> bool:
        if self.client is None or is_loopback(self.client[0]):
            return False
        others = Counter(
            one.client[0]
            for one in self.connections
            if isinstance(one, H11Protocol) and one.client is not None and not is_loopback(one.client[0])
        )
        return others.total() > MOST_FROM_OTHERS or others[self.client[0]] > MOST_FROM_ONE
