"""What does not work just now, beside the camera: a plain sentence each, for the page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from threading import Lock

from watcher.records.letters import SendFailed, Sent


class Troubles:
    """Gathers what its parts complain of.

    Parameters
    ----------
    parts : sequence of callable
        Each gives a sentence, or an empty text while all is well.
    """

    def __init__(self, parts: Sequence[Callable[[], str]] = ()) -> None:
        self._parts = list(parts)
        self._lock = Lock()
        self._channels: dict[str, str] = {}

    def add(self, part: Callable[[], str]) -> None:
        """Let one more part complain."""
        self._parts.append(part)

    def heard(self, outcome: Sent | SendFailed) -> None:
        """Note how a channel took its newest letter; a channel that takes one is well again."""
        with self._lock:
            if isinstance(outcome, SendFailed):
                self._channels[outcome.channel] = outcome.why
            else:
                self._channels.pop(outcome.channel, None)

    def __call__(self) -> tuple[str, ...]:
        """Return every trouble that there is."""
        with self._lock:
            channels = list(self._channels.values())
        return tuple(said for said in (*(part() for part in self._parts), *channels) if said)
