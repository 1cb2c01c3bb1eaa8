"""What a sender needs from an outbox."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Protocol

from watcher.records.letters import Letter, Outgoing, SendFailed


class Outbox(Protocol):
    """Letters on their way. Every method may be called from any thread."""

    def put(self, letters: Sequence[Letter]) -> None:
        """Take letters in; when this returns they survive a power cut (where the outbox is on disk)."""
        ...

    def claim(
        self, channel: str, now_s: float, holds: Callable[[Letter], bool] | None = None
    ) -> Outgoing | None:
        """Mark the oldest due letter of this channel that is not held as about to be sent; return it."""
        ...

    def told(self, outgoing: Outgoing) -> None:
        """Note that the channel took it."""
        ...

    def failed(self, outgoing: Outgoing, failure: SendFailed, now_s: float) -> None:
        """Note that it was not taken: tried again after a growing pause, or given up with the reason."""
        ...

    def withdraw(self, alert_ids: Collection[str]) -> int:
        """Drop letters not yet sent that are about nothing but these alerts; return how many."""
        ...
